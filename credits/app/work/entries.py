"""Log, amend and void an entry: one line of the log each, made of the words that were typed.

And the sentence that says afterwards what the entry was.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from fractions import Fraction
from operator import attrgetter
from pathlib import Path
from typing import NamedTuple, TypeVar

from credits.app.work.line import (
    TARGETS,
    LineReader,
    Word,
    character_reader,
    each_person,
    filled,
)
from credits.app.work.named import number_meant
from credits.app.work.opened import EntryLog
from credits.app.work.rows import TypedRow, planned_line, read_row
from credits.checks.around import CHECKS_AROUND_AN_ENTRY
from credits.checks.rule import Check, Known, find_checks
from credits.errors import Finding, Place, ProblemsFound, WrongCall
from credits.footage.claims import claim_runs
from credits.footage.footage import footage
from credits.formats.tables.columns import TABLES
from credits.hands.reach import shots_reached
from credits.model.facts import DID, EntryNumber, Purpose, Work
from credits.model.grown import ledger_of_some, ledger_with, turned
from credits.model.ledger import Entry, Ledger
from credits.model.lines import index_of
from credits.model.log import Batch, LogLine, NewLine, Verb, WrittenLog
from credits.model.replay import current_lines
from credits.model.words import counted
from credits.store.log import open_log
from credits.text import fold_code
from credits.units.film_time import day_text
from credits.units.frames import Frames
from credits.units.rounding import Exact, largest_remainder

T = TypeVar("T")

MOST_PEOPLE = 6
LAST = "last"
DAYS = {"finished_on", "started_on"}


def cells_of(work: Work) -> dict[str, str]:
    """Return a piece of work as the cells of a row, without the empty ones."""
    cells: dict[str, str] = {}
    for column in TABLES["entries"].column_names:
        value = getattr(work, column, None)
        if isinstance(value, Frames):
            cells[column] = value.text
        elif value is True:
            cells[column] = "yes"
        elif value is not None and value is not False:
            cells[column] = str(value)
    return cells


class Logged(NamedTuple):
    """What a call did to the log.

    number: the line that was written; where none was, the one that says the same already.
    line: what was written; None: nothing was, for the log says it already.
    entry: the entry as the line makes it; None: it makes none.
    ledger: the log with that line, its entries looked up when they are asked for; in_brief: the
    same with entries in brief.
    holds: the line that says it already, or that was to be corrected.
    asked: the entry that was to be corrected, which ``holds`` says now.
    """

    number: EntryNumber
    line: NewLine | None
    entry: Entry | None
    ledger: Ledger
    in_brief: Ledger
    holds: LogLine | None
    asked: EntryNumber | None

    @property
    def changes(self) -> dict[str, tuple[str | None, str | None]]:
        """Every column that an amendment changes, with what it said and says."""
        old = self.holds and self.holds.work
        new = self.line and self.line.work
        before, now = (cells_of(work) if work else {} for work in (old, new))
        return {
            column: (before.get(column), now.get(column))
            for column in dict.fromkeys((*before, *now))
            if before.get(column) != now.get(column)
        }


class PlannedLine(NamedTuple):
    """The line to write, if any; the one that says the entry already, or that is corrected; the
    entry that was asked for."""

    line: NewLine | None
    holds: LogLine | None = None
    asked: EntryNumber | None = None


Plan = Callable[[WrittenLog, str], Sequence[PlannedLine]]
"""Plans the lines to write of the log and of its origin."""


def write_planned(log: EntryLog, plan: Plan, *, write: bool = True) -> tuple[Logged, ...]:
    """Write the lines that are planned, all of them or none.

    write: False: nothing is written, and the answer is what would have been.
    """

    def make(written: WrittenLog) -> tuple[Batch | None, Sequence[PlannedLine]]:
        planned = plan(written, log.origin)
        lines = tuple(each.line for each in planned if each.line is not None)
        return Batch(lines=lines) if lines else None, planned

    planned, receipt, before = log.write(make, write=write)
    now, numbers = datetime.now(UTC), iter(receipt.numbers)
    said: list[tuple[EntryNumber, PlannedLine]] = []
    for each in planned:
        if each.line is None:
            assert each.holds is not None
            said.append((each.holds.number, each))
        else:
            said.append((next(numbers), each))
    new = tuple(each.line.written(number, now) for number, each in said if each.line is not None)
    turn = turned(before.written, new)
    ledger, in_brief = (
        ledger_with(each, before.written, turn) for each in (before.ledger, before.in_brief)
    )
    entries = {entry.number: entry for entry in turn.come}
    return tuple(
        Logged(number, each.line, entries.get(number), ledger, in_brief, each.holds, each.asked)
        for number, each in said
    )


def log_entries(
    folder: Path,
    cells_of_line: Callable[[WrittenLog, str], Mapping[str, str]],
    again: bool = False,
    *,
    write: bool = True,
) -> tuple[Logged, ...]:
    """Log the entries that cells say, one for each person: all of them or none.

    cells_of_line: gives the columns of the entries table, as ``cells_said`` does.
    again: also what an entry says already. write: as in ``write_planned``. Raises WrongCall.
    """

    def plan(written: WrittenLog, origin: str) -> list[PlannedLine]:
        return new_entries(cells_of_line(written, origin), written, date.today(), again)

    with open_log(folder) as log:
        return write_planned(EntryLog(log), plan, write=write)


MISSING = {"craft": "CRAFT", "person": "PERSON", "character": "TARGET"}
"""What an entry cannot be without, and what the command calls it."""


def cells_said(
    words: Sequence[str],
    cells: Mapping[str, str],
    like: str | None,
    written: WrittenLog,
    origin: str,
) -> dict[str, str]:
    """Return the cells of a line: what words and options say, the rest as an entry like it.

    words: craft, person and what it was done on; without the first two in their places where an
    entry is to be like another. like: the number of that entry, or ``last``.
    Without ``like`` a day is there only where it was said.
    Raises WrongCall for a word that is unknown, ambiguous, or one too many.
    """
    today = date.today()
    reader = LineReader(written, today, option="--")
    first = () if like else ("craft", "person")
    is_shot_known = bool(like or cells.get("shot"))
    said = reader.read([Word(word) for word in words], is_shot_known=is_shot_known, first=first)
    for column, text in cells.items():
        if text and column in said:
            what = f"the {column} is named by a word and by --{column}"
            raise WrongCall(Finding(what, "Name it once.", value=said[column]))
    said |= cells
    if like is None:
        return said
    other = find_entry(like, written, origin)[1]
    before = cells_of(other.work) if other.work is not None else {}
    meant = dict.fromkeys(said, "") | dict(read_row(said, written, today).cells)
    return filled(meant, before, character_reader(written))


def dated(cells: Mapping[str, str]) -> dict[str, str]:
    """Return the cells, with today as their day where none is said."""
    if DAYS & cells.keys():
        return dict(cells)
    return {**cells, "finished_on": date.today().isoformat()}


def takes_of(shot: str, written: WrittenLog) -> list[str]:
    """Return the numbers of the takes of a shot that the takes table has, the last one last."""
    wanted = fold_code(shot)
    return [str(take.number) for take in written.takes if fold_code(take.shot) == wanted]


def missing_of(cells: Mapping[str, str]) -> tuple[str, ...]:
    """Return the columns that are missing of what an entry cannot be without."""
    has = {**{column: cells.get(column) for column in ("craft", "person")}, "character": ""}
    has["character"] = next((cells[kind] for kind in TARGETS if cells.get(kind)), "")
    return tuple(column for column in MISSING if not (has[column] or "").strip())


def new_entries(
    cells: Mapping[str, str], written: WrittenLog, today: date, again: bool = False
) -> list[PlannedLine]:
    """Plan the entries that cells say, one for each person. Raises WrongCall."""
    if missing := missing_of(cells):
        hint = "Write for example: credits log animation ana wick 010-020 1-30."
        raise WrongCall(Finding(f"{MISSING[missing[0]]} is missing", hint))
    rows = [(each, read_row(each, written, today)) for each in each_person(cells)]
    if findings := dict.fromkeys(finding for _, row in rows for finding in row.findings):
        raise WrongCall(*findings)
    planned = [_new_entry(row, written, again) for _, row in rows]
    if len({each.line.work for each in planned if each.line}) < sum(
        each.line is not None for each in planned
    ):
        raise WrongCall(Finding("names one person twice", "Name each once.", None, "person"))
    return planned


def _new_entry(row: TypedRow, written: WrittenLog, again: bool) -> PlannedLine:
    if ref := row.cells.get("ref", ""):
        near = index_of(written.lines).with_ref(ref)
        line = planned_line(row.cells, written, near)
        holds = next((now for _, now in current_lines(near)[0]), None)
        if line is None and holds is None:
            what = "the entry with this ref was voided"
            raise WrongCall(Finding(what, "Give another --ref, or none.", None, "ref", ref))
        return PlannedLine(line, None if line is not None else holds)
    if row.said_by is not None and not again:
        return PlannedLine(None, index_of(written.lines).line(row.said_by))
    return PlannedLine(row.line)


def amend_entries(
    folder: Path,
    numbers: Sequence[str],
    changes: Mapping[str, str],
    why: str | None = None,
    *,
    write: bool = True,
) -> tuple[Logged, ...]:
    """Correct entries in the columns that are named; an empty text takes a value away.

    All of them or none. Raises WrongCall for an unknown entry, ProblemsFound for a voided one.
    """
    with open_log(folder) as log:
        return write_planned(EntryLog(log), amending(numbers, changes, why), write=write)


def amending(numbers: Sequence[str], changes: Mapping[str, str], why: str | None) -> Plan:
    """Return what plans the amendments; a name or a day among the changes is as it is typed."""

    def amendment(holds: LogLine, written: WrittenLog) -> NewLine | None:
        assert holds.work is not None
        row = read_row({**cells_of(holds.work), **changes}, written, date.today())
        if row.line is None:
            raise WrongCall(*row.findings)
        ref = changes.get("ref", "").strip() or None
        if row.line.work == holds.work and ref in (None, holds.ref):
            return None
        return replace(row.line, verb=Verb.AMEND, corrects=holds.number, why=why or None, ref=ref)

    return _correcting(numbers, amendment)


def void_entries(
    folder: Path, numbers: Sequence[str], why: str, by: str | None = None, *, write: bool = True
) -> tuple[Logged, ...]:
    """Void entries: they were never done. All of them or none; raises as ``amend_entries``."""
    with open_log(folder) as log:
        return write_planned(EntryLog(log), voiding(numbers, why, by), write=write)


def voiding(numbers: Sequence[str], why: str, by: str | None = None) -> Plan:
    """Return what plans the lines that void entries."""

    def void(holds: LogLine, _: WrittenLog) -> NewLine:
        return NewLine(verb=Verb.VOID, corrects=holds.number, logged_by=by or None, why=why)

    return _correcting(numbers, void)


def _correcting(
    numbers: Sequence[str], line_of: Callable[[LogLine, WrittenLog], NewLine | None]
) -> Plan:
    def corrections(written: WrittenLog, origin: str) -> list[PlannedLine]:
        found: dict[EntryNumber, PlannedLine] = {}
        findings: list[Finding] = []
        for text in numbers:
            asked, holds = find_entry(text, written, origin)
            if holds.number in found:
                hint = "Name each entry once."
                raise WrongCall(
                    Finding(f"is {holds.number}, which is named twice", hint, value=text)
                )
            found[holds.number] = PlannedLine(None, holds, asked)
            try:
                found[holds.number] = PlannedLine(line_of(holds, written), holds, asked)
            except WrongCall as error:
                place = Place(str(asked)) if len(numbers) > 1 else None
                findings += [replace(finding, place=place) for finding in error.findings]
        if findings:
            raise WrongCall(*findings)
        return list(found.values())

    return corrections


def find_entry(text: str, written: WrittenLog, origin: str) -> tuple[EntryNumber, LogLine]:
    """Find the entry of a number: the number, and the line that says the entry now.

    ``last``: the last entry of this origin that was not voided.
    Raises WrongCall for an unknown one, ProblemsFound for a voided.
    """
    index = index_of(written.lines)
    if text.strip().lower() == LAST:
        last = index.last_entry(origin)
        if last is None:
            hint = "Log one first."
            raise WrongCall(Finding("the log has no entry of its own yet", hint, value=text))
        return last.number, last
    number = number_meant(text, origin)
    chain = index.entry(number)
    if not chain:
        known = index.last_number(number.origin)
        none = "The log has no entries of this origin."
        hint = none if known is None else f"The last one is {known}."
        raise WrongCall(Finding("the log has no such entry", hint, value=text))
    current = current_lines(chain)[0]
    if not current:
        void = next(line for line in reversed(chain) if line.verb is Verb.VOID)
        why = f" ({void.why})" if void.why else ""
        what = f"was voided by {void.number}{why}"
        raise ProblemsFound(Finding(what, "If it was done after all, log it again.", value=text))
    return number, current[0][1]


def thing(work: Work, ledger: Ledger) -> str:
    """Say what was worked on: ``Wick``, ``Wick (wick-1)``, ``face kit wick-face-3 of Wick``."""
    puppet = ledger.puppets.get(work.puppet or "")
    part = ledger.parts.get(work.part or "")
    code = work.character or (puppet and puppet.character) or (part and part.character)
    character = ledger.characters.get(code or "")
    whose = character.name if character else code
    if part is not None:
        on = f" of {puppet.code}" if puppet else f" of {whose}" if whose else ""
        return f"{part.kind} {part.code}{on}"
    if puppet is not None:
        return f"{whose} ({puppet.code})"
    return whose or "nothing named"


def place(work: Work) -> str:
    """Say where: `` in 010-020 take 2, frames 1-30``; empty where no shot or sequence is named."""
    if work.shot is None:
        return f" in sequence {work.sequence}" if work.sequence else ""
    take = f" take {work.take}" if work.take is not None else ""
    frames = ""
    if work.frames is not None:
        frames = f", frame{'' if work.frames.count == 1 else 's'} {work.frames.text}"
    return f" in {work.shot}{take}{frames}"


def when(work: Work, today: date | None = None) -> str:
    """Say when: ``2 March 2026``, ``today, 2 March 2026``, ``begun 1 March 2026``."""
    if work.started_on and work.finished_on and work.started_on != work.finished_on:
        return f"{day_text(work.started_on)} to {day_text(work.finished_on)}"
    if work.finished_on is None and work.started_on is not None:
        return f"begun {day_text(work.started_on)}"
    lead = "today, " if today is not None and work.day == today else ""
    return lead + day_text(work.day)


def _rest(work: Work) -> list[str]:
    said = {
        f"stage {work.stage}": work.stage,
        f"share {work.share}": work.share not in (None, Fraction(1)),
        f"poses on {work.poses_on}": work.poses_on,
        counted(work.minutes or 0, "minute"): work.minutes is not None,
        f"waited {counted(work.wait_minutes or 0, 'minute')}": work.wait_minutes,
        "private": work.private,
    }
    return [text for text, is_said in said.items() if is_said]


def deed(work: Work, ledger: Ledger) -> str:
    """Say who did what on what and where: ``Ana animated Wick in 010-020, frames 1-30``."""
    person = ledger.people.get(work.person)
    who = person.credit_name if person else work.person
    craft = ledger.crafts.get(work.craft)
    did = f"did {craft.name if craft else work.craft} on"
    if craft:
        did = DID.get((craft.code, craft.name), did)
    return f"{who} {did} {thing(work, ledger)}{place(work)}"


def sentence(work: Work, ledger: Ledger, today: date | None = None) -> str:
    """Say the whole entry: ``Ana animated Wick in 010-020, frames 1-30, …``; no full stop."""
    return ", ".join([deed(work, ledger), when(work, today), *_rest(work)])


def written_line(line: LogLine, ledger: Ledger) -> str:
    """Say a line of the log as it was written: what it did, when, by whom, and why."""
    by = f" by {line.logged_by}" if line.logged_by else ""
    stamp = f"logged {line.logged_at:%Y-%m-%d %H:%M} UTC{by}"
    if line.verb is Verb.VOID:
        said = f"voids {line.corrects}"
    else:
        corrects = f"amends {line.corrects}: " if line.corrects else ""
        said = corrects + (sentence(line.work, ledger) if line.work else "nothing")
    why = f" Why: {line.why}." if line.why else ""
    ref = f", ref {line.ref}" if line.ref else ""
    source = f", from {line.source}" if line.source else ""
    note = f" Note: {line.work.note}" if line.work and line.work.note else ""
    return f"{line.number}: {said} ({stamp}{ref}{source}).{why}{note}"


def _kept_frames(ledger: Ledger, entry: Entry) -> str:
    """Say ``Wick in 010-020: Ana now 24 of 48 kept frames, Ben 24. Nobody's yet: 49-60.``"""
    shot, character, take = entry.shot or "", entry.character or "", entry.take or 1
    own = claim_runs(ledger, [shot]).get((shot, take))
    if own is None:
        return ""
    kept: dict[str, Exact] = {entry.person: 0}
    for cell in footage(ledger, {(shot, take): own}, None).cells:
        if cell.character == character:
            kept[cell.person] = kept.get(cell.person, 0) + cell.totals.character.kept
    people = sorted(kept, key=lambda person: (person != entry.person, -kept[person], person))
    frames = largest_remainder([kept[person] for person in people])
    who, *others = (ledger.people[person].credit_name for person in people)
    said = [f"{name} {count}" for name, count in zip(others, frames[1:], strict=True)]
    if len(said) > MOST_PEOPLE:
        said = [*said[:MOST_PEOPLE], counted(len(said) - MOST_PEOPLE, "other")]
    where = f"{shot} take {take}" if take != 1 else shot
    lead = f"{ledger.characters[character].name} in {where}: {who} now {frames[0]}"
    lead += f" of {counted(sum(frames), 'kept frame')}"
    left = ledger.shots[shot].frames - own.kept_of(character)
    nobodys = f" Nobody's yet: {left.text}." if left and len(left.ranges) <= 4 else ""
    return f"{', '.join([lead, *said])}.{nobodys}"


def effect(ledger: Ledger, entry: Entry) -> str:
    """Say what the entry changes: the kept frames of its shot, or how many shots it reaches.

    ledger: has the entry; it may be one with entries in brief.
    """
    if not ledger.is_footage(entry):
        return f"It reaches {counted(len(shots_reached(ledger, entry)), 'shot')} so far."
    if entry.shot is None:
        return "It claims no frames: it names no shot."
    if entry.character is None:
        return "It claims no frames: it names no character."
    purpose = ledger.purpose(entry)
    if purpose is not Purpose.SHOOT:
        return f"It claims no frames: take {entry.take} is a {purpose}."
    return _kept_frames(ledger, entry)


def doubts_about(ledger: Ledger, entries: Sequence[Entry]) -> tuple[Check, ...]:
    """Ask about some entries those checks that need only the entries around them.

    ledger: has these entries; those around them are looked up in it.
    """
    numbers = {entry.number for entry in entries}
    near: dict[EntryNumber, Entry] = {}
    for name in ("person", "shot", "puppet"):
        own: Mapping[str, tuple[Entry, ...]] = getattr(ledger, f"entries_by_{name}")
        for code in {getattr(entry, name) for entry in entries} - {None}:
            near |= {each.number: each for each in own.get(code, ())}
    around = ledger_of_some(ledger, near.values())
    around = replace(
        around,
        engagements=_some_of(around.engagements, around.entries_by_person),
        puppets=_some_of(around.puppets, around.entries_by_puppet),
        puppets_of=_some_of(around.puppets_of, around.entries_by_character),
        shots=_some_of(around.shots, around.entries_by_shot),
        takes_of=_some_of(around.takes_of, dict.fromkeys(filter(None, map(_shot, entries)))),
    )
    runs = claim_runs(around, set(filter(None, map(_shot, entries))))
    found = find_checks(Known(ledger=around, runs=runs), CHECKS_AROUND_AN_ENTRY)
    return tuple(check for check in found if not numbers.isdisjoint(check.entries))


_shot = attrgetter("shot")


def _some_of(table: Mapping[str, T], codes: Iterable[str]) -> dict[str, T]:
    """Return what a table has of some codes."""
    return {code: table[code] for code in codes if code in table}


def doubts(ledger: Ledger, entry: Entry) -> tuple[Check, ...]:
    """Ask about one entry as ``doubts_about`` does."""
    return doubts_about(ledger, (entry,))
