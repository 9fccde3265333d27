"""What the desk shows: a day by place, a row as it is read, the words that fields complete."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from credits.app.kept import FIELDS, RARE_FIELDS, LogState
from credits.app.work.desk import (
    DeskAnswer,
    begun_rows,
)
from credits.app.work.named import Coded, name_of, of_code, with_name
from credits.app.work.rows import TypedRow
from credits.checks.rule import Check
from credits.errors import Finding
from credits.footage.day import Workplace, WorkplaceDay, lacking, workplace, workplaces
from credits.model.ledger import Entry, Ledger
from credits.model.log import WrittenLog
from credits.model.words import counted, listed
from credits.site.render import rendered
from credits.units.film_time import day_text

LABELS = {
    "craft": "Craft",
    "person": "Who",
    "on": "On what",
    "shot": "Shot",
    "take": "Take",
    "frames": "Frames",
    "poses_on": "Poses on",
    "minutes": "Minutes",
    "share": "Share",
    "note": "Note",
}
assert tuple(LABELS) == FIELDS
RARE_LABELS = {
    "wait_minutes": "Minutes waited",
    "started_on": "Begun on",
    "private": "Note for the office alone (yes)",
}
assert tuple(RARE_LABELS) == RARE_FIELDS
_LACKING = {"frames": "no frames", "minutes": "no minutes", "finished_on": "no date"}
_WEEK = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
Fields = Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownEntry:
    """An entry as a row. ``fields``: as they are typed. ``old``: its lines before, in words."""

    number: str
    fields: Fields
    day: str = ""
    stage: str = ""
    lacks: tuple[str, ...] = ()
    old: tuple[str, ...] = ()
    by: str = ""
    is_void: bool = False

    @property
    def rare(self) -> Fields:
        """Return the fields that have no column."""
        return {name: self.fields[name] for name in RARE_FIELDS if name in self.fields}

    @property
    def rare_json(self) -> str:
        """Return them as the page keeps them."""
        return json.dumps(self.rare)

    @property
    def rare_text(self) -> str:
        """Return ``Minutes waited: 20. Begun on: 2026-03-16.``"""
        return " ".join(f"{RARE_LABELS[name]}: {text}." for name, text in self.rare.items())


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownPlace:
    """A stage or a workshop on the day. ``begun``: the rows it is likely to have, as JSON."""

    key: str
    kind: str
    name: str
    unit: str
    rows: tuple[ShownEntry, ...] = ()
    before: tuple[ShownEntry, ...] = ()
    before_on: str = ""
    idle: tuple[str, ...] = ()
    begun: str = "[]"
    is_shown: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownDay:
    """A day of the desk."""

    on: str
    title: str
    before: str
    after: str
    summary: str
    places: tuple[ShownPlace, ...]
    undated: tuple[ShownEntry, ...]
    labels: Mapping[str, str] = field(default_factory=lambda: LABELS)
    rare_labels: Mapping[str, str] = field(default_factory=lambda: RARE_LABELS)

    @property
    def others(self) -> tuple[ShownPlace, ...]:
        """Return the places that have nothing on the day; a row may still be typed there."""
        return tuple(place for place in self.places if not place.is_shown)


def weekday_text(day: date) -> str:
    """Return ``Thursday 5 March 2026``."""
    return f"{_WEEK[day.weekday()]} {day_text(day)}"


def place_key(place: Workplace) -> str:
    """Return what a place is called in an address and as the id of its part of the page."""
    return f"p{hashlib.sha256(repr(tuple(place)).encode()).hexdigest()[:16]}"


def place_of(key: str, ledger: Ledger) -> Workplace | None:
    """Find the place of a key."""
    return next((place for place in workplaces(ledger) if place_key(place) == key), None)


_AMENDS = re.compile(r"credits (amend \S+)(?: --[a-z-]+ \S+?)*(?=[;,.]?\s|[;.]?$)")


def question(check: Check) -> str:
    """Say what a check asks, and what settles it, but for commands: nobody types them here.

    The command that amends an entry has its button here, and is said to be that.
    """
    sentences = _AMENDS.sub(r"\1", check.hint).replace(". ", ".\n").splitlines()
    plain = [sentence for sentence in sentences if "credits " not in sentence]
    return " ".join((f"{str(check.severity).capitalize()}: {check.message}", *plain))


def shown_entry(
    state: LogState,
    entry: Entry,
    is_void: bool = False,
) -> ShownEntry:
    """Return an entry as a row of the page."""
    work = entry.work
    lacks = () if is_void else lacking(state.ledger, entry)
    return ShownEntry(
        number=str(entry.number),
        fields=state.words.fields(work),
        day=work.finished_on.isoformat() if work.finished_on else "",
        stage=work.stage or "",
        lacks=tuple(_LACKING[column] for column in lacks),
        old=state.old_lines(entry, is_voided=is_void),
        by=entry.logged_by or "",
        is_void=is_void,
    )


def shown_day(state: LogState, on: date) -> ShownDay:
    """Return the day as the page shows it: every place, those with nothing on it at the end."""
    ledger, day, voided = state.ledger, state.day(on), state.voided(on)

    def rows(entries: Iterable[Entry]) -> list[ShownEntry]:
        return [shown_entry(state, entry) for entry in entries]

    def shown(place: WorkplaceDay) -> ShownPlace:
        void = [v.entry for v in voided if v.place == place.place]
        of_day = [*rows(place.entries), *(shown_entry(state, e, True) for e in void)]
        stage = ledger.stages.get(place.place.stage or "")
        return ShownPlace(
            key=place_key(place.place),
            kind="Stage" if place.place.stage else "Workshop",
            name=place.place.name,
            unit=(stage.unit or "") if stage else "",
            rows=tuple(of_day),
            before=tuple(shown_entry(state, entry) for entry in place.before),
            before_on=weekday_text(place.before_on) if place.before_on else "",
            idle=tuple(ledger.people[person].credit_name for person in place.idle),
            begun=json.dumps(begun_rows(state, place)),
            is_shown=bool(of_day or place.before or place.idle),
        )

    every = {place.place: place for place in day.places}
    for place in (*(v.place for v in voided), *workplaces(ledger)):
        nothing = WorkplaceDay(place=place, entries=(), before=(), before_on=None, idle=())
        every.setdefault(place, nothing)
    shown_places = [shown(place) for place in every.values()]
    return ShownDay(
        on=on.isoformat(),
        title=weekday_text(on),
        before=_other_day(on, -1),
        after=_other_day(on, 1),
        summary=_summary(shown_places, len(day.undated)),
        places=tuple(shown_places),
        undated=tuple(rows(day.undated)),
    )


def _other_day(on: date, days: int) -> str:
    try:
        return (on + timedelta(days=days)).isoformat()
    except OverflowError:
        return ""


def _summary(places: Sequence[ShownPlace], undated: int) -> str:
    """Return ``14 entries. 2 people have nothing. 1 entry with no minutes.``"""
    rows = [row for place in places for row in place.rows if not row.is_void]
    idle = sum(len(place.idle) for place in places)
    said = [counted(len(rows), "entry", "entries") if rows else "nothing logged yet"]
    if idle:
        said.append(f"{counted(idle, 'person has', 'people have')} nothing yet")
    for word in dict.fromkeys(word for row in rows for word in row.lacks):
        lack = sum(word in row.lacks for row in rows)
        said.append(f"{counted(lack, 'entry', 'entries')} with {word}")
    if undated:
        said.append(f"{counted(undated, 'entry', 'entries')} without a date")
    return f"{'; '.join(said)}.".capitalize()


def day_html(day: ShownDay) -> str:
    """Render the places of a day."""
    return rendered("desk/_day.html", day=day)


def entry_html(row: ShownEntry) -> str:
    """Render one entry as it stands in its place's table."""
    return rendered("desk/_row.html", row=row, labels=LABELS)


# --- a row as it was read


def finding_text(finding: Finding) -> str:
    """Say what is wrong beside its own field: without column and value, which stand there."""
    said = f"{finding.what[:1].upper()}{finding.what[1:]}"
    return f"{said}{'' if said[-1:] in '.?!' else '.'} {finding.hint}".strip()


def read_json(row: TypedRow, fields: Fields, written: WrittenLog) -> dict[str, object]:
    """Return a row that was read: what is wrong by field, what is meant, what is said already."""
    wrong = {finding.column or "": finding_text(finding) for finding in row.findings}
    meant = _meant(row, fields, written)
    return {
        "wrong": wrong,
        "meant": {name: text for name, text in meant.items() if name not in wrong},
        "said": None if row.said_by is None else str(row.said_by),
    }


def _meant(row: TypedRow, fields: Fields, written: WrittenLog) -> dict[str, str]:
    """Say what a field means where that is not what stands in it."""
    meant = {}
    for column, table in (("craft", "crafts"), ("person", "people")):
        fact: Coded | None = of_code(row.cells.get(column, ""), getattr(written, table))
        if fact is not None:
            meant[column] = with_name(fact)
    codes = [row.cells[column] for column in ("puppet", "part") if row.cells.get(column)]
    character = of_code(row.cells.get("character", ""), written.characters)
    if character is not None and fields.get("on", "").strip() != character.name:
        whose = f"{listed(codes)} of {character.name}" if codes else with_name(character)
        meant["on"] = whose
    minutes = row.cells.get("minutes", "")
    if minutes != fields.get("minutes", "").strip():
        meant["minutes"] = f"{minutes} minutes"
    return meant


def answer_json(state: LogState, answer: DeskAnswer) -> dict[str, object]:
    """Return what is said of a line that was written, its row, and the place where that stands."""
    entry = answer.entry
    return {
        "text": f"{answer.said} {answer.effect}".strip(),
        "questions": [question(check) for check in answer.questions],
        "place": "" if entry is None else place_key(workplace(state.ledger, entry)),
        "html": "" if entry is None else entry_html(shown_entry(state, entry)),
    }


# --- completion


def words_json(state: LogState) -> dict[str, list[list[str]]]:
    """Return for each field that completes its words: word, code, what stands beside it."""
    words, written = state.words, state.written
    whose = {character.code: character.name for character in written.characters}
    on = [[words.characters[c.code], c.code, c.name] for c in written.characters]
    on += [
        [p.code, p.code, f"puppet of {whose.get(p.character, p.character)}"]
        for p in written.puppets
    ]
    on += [
        [p.code, p.code, f"{p.kind} of {whose[p.character]}" if p.character in whose else p.kind]
        for p in written.parts
    ]
    shots = [[s.code, s.code, s.description or ""] for s in written.shots]
    shots += [[s.code, s.code, f"sequence {s.name or ''}"] for s in written.sequences]
    return {
        "craft": [[words.crafts[c.code], c.code, c.department] for c in written.crafts],
        "person": [
            [words.people[p.code], p.code, name_of(p) or ""]
            for p in written.people
            if not p.same_as
        ],
        "on": on,
        "shot": shots,
        "stage": [[s.code, s.code, s.unit or ""] for s in written.stages],
    }
