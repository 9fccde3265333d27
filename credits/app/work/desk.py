"""What is done at the desk: rows typed, checked, logged together, amended, voided, undone; a sheet.

A row at the desk has fewer fields than the entries table has columns: ``on`` is the character, the
puppet or the part, and stage and day are given by the place whose table it stands in.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from credits.app.kept import FIELDS, RARE_FIELDS, KeptLog, LogState, own_lines, says_it_now
from credits.app.lists.tables import load_tables, read_files
from credits.app.work.entries import cells_of, effect, find_entry, sentence
from credits.app.work.entries import doubts as doubts_of
from credits.app.work.named import Coded, like_ones, of_code
from credits.app.work.rows import TypedRow, read_row
from credits.checks.answers import open_and_settled
from credits.checks.rule import Check
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.footage.day import Workplace, WorkplaceDay, underway
from credits.formats.tables.again import Choices
from credits.formats.tables.load import LoadPlan
from credits.model.facts import EntryNumber, Work
from credits.model.grown import entry_of
from credits.model.ledger import Entry
from credits.model.lines import index_of
from credits.model.log import Batch, NewLine, Verb, WrittenLog
from credits.names import fold

ALSO_AMENDED = ("stage", "finished_on")
"""What the place and the day give to a new row, and an amendment may change."""

TARGETS: dict[str, str] = {"character": "characters", "puppet": "puppets", "part": "parts"}
_FIELD_OF = {**dict.fromkeys(TARGETS, "on"), "sequence": "shot"}
UNDONE = "undone at the desk"


# --- a row: its fields, and what they mean


def on_what(text: str, written: WrittenLog) -> dict[str, str]:
    """Read what was worked on: codes or names of a character, a puppet, a part, or several.

    ``wick``, ``wick-1``, ``part wick-face-3``, ``wick-face-3, wick-1``; a puppet says its
    character. Raises WrongCall.
    """
    whole = " ".join(text.split())
    words = [word.strip() for word in whole.split(",") if word.strip()]
    if len(words) == 1:
        hits = _targets(whole, written)
        blanks = whole.split(" ")
        several = not hits and len(blanks) > 1 and all(_targets(word, written) for word in blanks)
        words = blanks if several else [whole]
    found: dict[str, str] = {}
    for word in words:
        hits = _targets(word, written)
        if not hits:
            facts: list[Coded] = [f for table in TARGETS.values() for f in getattr(written, table)]
            hint = like_ones(word, facts) or "Write the code or the name of one."
            raise WrongCall(
                Finding("no character, puppet or part is called that", hint, None, "on", word)
            )
        if len(hits) > 1:
            ways = " or ".join(f"{kind} {code}" for kind, code in hits)
            what = f"is {' and '.join(f'a {kind}' for kind, _ in hits)}"
            raise WrongCall(Finding(what, f"Write {ways}.", None, "on", word))
        kind, code = hits[0]
        if found.setdefault(kind, code) != code:
            what = f"names two {kind}s: {found[kind]} and {code}"
            raise WrongCall(Finding(what, "Log a row for each.", None, "on", text))
    puppet = of_code(found["puppet"], written.puppets) if "puppet" in found else None
    return {**({"character": puppet.character} if puppet else {}), **found}


def _targets(word: str, written: WrittenLog) -> list[tuple[str, str]]:
    """Find kind and code of everything that a word may be; codes come before names."""
    kind, _, rest = word.partition(" ")
    if kind in TARGETS and rest and (fact := of_code(rest, getattr(written, TARGETS[kind]))):
        return [(kind, fact.code)]
    of_codes = [
        (kind, fact.code)
        for kind, table in TARGETS.items()
        if (fact := of_code(word, getattr(written, table))) is not None
    ]
    return of_codes or [*_named_targets(word, written)]


def _named_targets(word: str, written: WrittenLog) -> Iterator[tuple[str, str]]:
    wanted = fold(word)
    for character in written.characters:
        if wanted and fold(character.name) == wanted:
            yield "character", character.code


def _shot_cells(text: str, written: WrittenLog) -> dict[str, str]:
    """Read a shot, a shot with its take (``010-020/2``), or a sequence."""
    word = text.strip()
    if of_code(word, written.shots) is None:
        shot, slash, take = word.rpartition("/")
        if slash and take.isascii() and take.isdigit() and of_code(shot, written.shots):
            return {"shot": shot, "take": take}
        if of_code(word, written.sequences) is not None:
            return {"sequence": word}
    return {"shot": word}


def _columns(
    fields: Mapping[str, str], written: WrittenLog
) -> tuple[dict[str, str], list[Finding]]:
    """Return the columns of the entries table that the fields of a row mean, and what is wrong."""
    cells: dict[str, str] = {}
    findings: list[Finding] = []
    for field in (*FIELDS, *RARE_FIELDS, *ALSO_AMENDED):
        text = fields.get(field)
        if text is None:
            continue
        if field == "on" and text.strip():
            try:
                cells |= on_what(text, written)
            except WrongCall as error:
                findings += error.findings
        elif field == "shot" and text.strip():
            cells |= _shot_cells(text, written)
        elif field != "on" and not (field == "take" and not text.strip() and "take" in cells):
            cells[field] = text
    return cells, findings


def _in_fields(row: TypedRow, own: Sequence[Finding]) -> TypedRow:
    """Say what is wrong by the fields of the desk, each field once."""
    found = {finding.column or "": finding for finding in own}
    for given in row.findings:
        finding = given
        if finding.column == "column" and finding.value in FIELDS:  # an empty cell has no column
            finding = Finding("is missing", "Every row needs it.", column=finding.value)
        field = _FIELD_OF.get(finding.column or "", finding.column or "")
        found.setdefault(field, replace(finding, column=field))
    return replace(row, findings=tuple(found.values()), line=None if found else row.line)


def place_cells(place: Workplace, on: date) -> dict[str, str]:
    """Return the columns that a place and a day give to every row."""
    return {"finished_on": on.isoformat(), **({"stage": place.stage} if place.stage else {})}


def read_desk_row(
    fields: Mapping[str, str], given: Mapping[str, str], written: WrittenLog, today: date
) -> TypedRow:
    """Read one row as it was typed; findings stand by the fields of the desk.

    given: columns that the place and the day give.
    """
    cells, own = _columns(fields, written)
    return _in_fields(read_row({**cells, **given}, written, today), own)


# --- what is likely to be typed next


def begun_rows(state: LogState, place: WorkplaceDay) -> tuple[dict[str, str], ...]:
    """Return the rows that a place's day is likely to have and has not: what it was on before.

    Whoever did today what another had been on stands in for them in the rows that are left.
    """
    left = list(underway(state.ledger, place))
    others = []
    for entry in place.entries:
        own = (entry.craft, entry.person, entry.character)
        row = next((r for r in left if (r.craft, r.person, r.character) == own), None)
        if row is None:
            others.append(entry)
        else:
            left.remove(row)
    stands_in = {}
    at_work = {entry.person for entry in place.entries}
    for entry in others:
        thing = (entry.craft, entry.character, entry.shot)
        row = next((r for r in left if (r.craft, r.character, r.shot) == thing), None)
        if row is not None and row.person not in at_work:
            left.remove(row)
            stands_in[row.person] = entry.person
    shares = {(e.craft, e.person, e.character): e.work.share for e in place.before}
    words = state.words
    rows = []
    for row in left:
        person, share = stands_in.get(row.person, row.person), None
        if person == row.person:
            share = shares.get((row.craft, row.person, row.character))
        fields = {
            "craft": words.crafts.get(row.craft, row.craft),
            "person": words.people.get(person, person),
            "on": words.on(row.character, row.puppet, row.part),
            "shot": row.shot or "",
            "take": "" if row.take is None else str(row.take),
            "frames": "" if row.next_frame is None else f"{row.next_frame}-",
            "poses_on": "" if row.poses_on is None else str(row.poses_on),
            "share": "" if share is None else str(share),
        }
        rows.append({field: text for field, text in fields.items() if text})
    return tuple(rows)


def next_row(state: LogState, place: Workplace, on: date, last: Work) -> dict[str, str]:
    """Return how the row after one that was logged begins.

    With what the place was on before and nobody has logged yet, first of the same craft; else with
    the same again, from the next frame on.
    """
    words = state.words
    day = next((each for each in state.day(on).places if each.place == place), None)
    begun = begun_rows(state, day) if day else ()
    if begun:
        craft = words.crafts.get(last.craft, last.craft)
        return next((row for row in begun if row["craft"] == craft), begun[0])
    fields = words.fields(last)
    same = ("craft", "person", "shot", "take")
    row: dict[str, str] = {field: fields[field] for field in same if field in fields}
    shot = of_code(last.shot or "", state.written.shots)
    if last.frames is not None and shot is not None:
        row["on"] = fields["on"]
        following = last.frames.last + 1
        if following <= shot.length:
            row["frames"] = f"{following}-"
    return row


# --- writing


@dataclass(frozen=True, slots=True, kw_only=True)
class DeskAnswer:
    """What a line that was written says and changes, and what is asked about it."""

    number: EntryNumber
    entry: Entry | None
    said: str
    effect: str
    questions: tuple[Check, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DeskWritten:
    """What was written at the desk. ``rows``: as they were read; where one of them has findings,
    or says what is said already, nothing was written and ``answers`` is empty."""

    rows: tuple[TypedRow, ...]
    answers: tuple[DeskAnswer, ...] = ()
    numbers: tuple[EntryNumber, ...] = ()
    state: LogState


def answer(state: LogState, number: EntryNumber) -> DeskAnswer:
    """Say what a line did to the log."""
    ledger = state.ledger
    entry = entry_of(state.written, number)
    if entry is None:
        return DeskAnswer(number=number, entry=None, said="", effect="", questions=())
    return DeskAnswer(
        number=number,
        entry=entry,
        said=f"{sentence(entry.work, ledger)}.",
        effect=effect(ledger, entry),
        questions=open_and_settled(doubts_of(ledger, entry), ledger)[0],
    )


def log_rows(
    kept: KeptLog,
    rows: Sequence[Mapping[str, str]],
    given: Mapping[str, str],
    today: date,
    by: str = "",
    again: bool = False,
) -> DeskWritten:
    """Log some rows together, or none of them.

    given: columns that the place and the day give. by: who logs them.
    again: whether to log what an entry, or a row above, says already.
    """

    def make(written: WrittenLog, _: str) -> tuple[Batch | None, tuple[TypedRow, ...]]:
        signed = {**given, **({"logged_by": by} if by.strip() else {})}
        read = tuple(read_desk_row(row, signed, written, today) for row in rows)
        is_said = not again and (any(row.said_by for row in read) or _twice(read))
        if not read or is_said or any(row.line is None for row in read):
            return None, read
        return Batch(lines=tuple(row.line for row in read if row.line)), read

    read, receipt, state = kept.write(make)
    answers = tuple(answer(state, number) for number in receipt.numbers)
    return DeskWritten(rows=read, answers=answers, numbers=receipt.numbers, state=state)


def _twice(rows: Sequence[TypedRow]) -> bool:
    works = [row.line.work for row in rows if row.line is not None]
    return any(work in works[:place] for place, work in enumerate(works))


def _standing(number: str, written: WrittenLog, origin: str) -> tuple[EntryNumber, Work]:
    """Find the entry to correct. Raises ProblemsFound where somebody corrected it meanwhile."""
    asked, holds = find_entry(number, written, origin)
    if holds.number != asked or holds.work is None:
        what = f"was amended meanwhile; {holds.number} says it now"
        raise ProblemsFound(Finding(what, "Look at it again, then correct it.", value=number))
    return asked, holds.work


def amend_row(
    kept: KeptLog,
    number: str,
    fields: Mapping[str, str],
    today: date,
    why: str = "",
    by: str = "",
) -> DeskWritten:
    """Correct an entry in the fields that are named; an empty text takes a value away.

    Raises WrongCall for an unknown entry, ProblemsFound for one that was corrected meanwhile.
    """

    def make(written: WrittenLog, origin: str) -> tuple[Batch | None, tuple[TypedRow, ...]]:
        asked, work = _standing(number, written, origin)
        changes, own = _columns(fields, written)
        if "on" in fields:
            changes = {**dict.fromkeys(TARGETS, ""), **changes}
        if "shot" in fields:
            changes = {"shot": "", "sequence": "", **changes}
        cells = {**cells_of(work), **changes}
        if by.strip():
            cells["logged_by"] = by
        row = _in_fields(read_row(cells, written, today), own)
        if row.line is None or row.line.work == work:
            return None, (replace(row, said_by=None),)
        line = replace(row.line, verb=Verb.AMEND, corrects=asked, why=why.strip() or None)
        return Batch(lines=(line,)), (replace(row, said_by=None),)

    read, receipt, state = kept.write(make)
    answers = tuple(answer(state, each) for each in receipt.numbers)
    return DeskWritten(rows=read, answers=answers, numbers=receipt.numbers, state=state)


def void_row(kept: KeptLog, number: str, why: str, by: str = "") -> DeskWritten:
    """Void an entry: it was never done. Raises WrongCall without a reason."""
    reason = why.strip()
    if not reason:
        raise WrongCall(
            Finding("a void needs a reason", "Write why it does not count.", None, "why")
        )

    def make(written: WrittenLog, origin: str) -> tuple[Batch | None, None]:
        asked, _ = _standing(number, written, origin)
        line = NewLine(verb=Verb.VOID, corrects=asked, why=reason, logged_by=by.strip() or None)
        return Batch(lines=(line,)), None

    _, receipt, state = kept.write(make)
    return DeskWritten(rows=(), numbers=receipt.numbers, state=state)


def undo(kept: KeptLog, numbers: tuple[EntryNumber, ...], by: str = "") -> DeskWritten:
    """Take back lines that were written together: new entries are voided, amendments amended back,
    voided entries logged again.

    Raises ProblemsFound where somebody has corrected one of them since.
    """

    def make(written: WrittenLog, _: str) -> tuple[Batch | None, None]:
        lines = []
        index = index_of(written.lines)
        for own in own_lines(written, numbers):
            now = says_it_now(written, own)
            if now is None:
                what = "was corrected since, so it is not undone"
                raise ProblemsFound(
                    Finding(what, "Correct the entry itself.", value=str(own.number))
                )
            corrected = index.line(own.corrects) if own.corrects is not None else None
            before = corrected.work if corrected is not None else None
            line = NewLine(verb=Verb.RECORD, why=UNDONE, logged_by=by.strip() or None)
            if own.verb is Verb.RECORD:
                lines.append(replace(line, verb=Verb.VOID, corrects=now.number))
            elif own.verb is Verb.AMEND:
                back = replace(line, verb=Verb.AMEND, corrects=now.number, work=before)
                lines.append(back)
            else:
                lines.append(replace(line, work=before))
        return Batch(lines=tuple(lines)), None

    _, receipt, state = kept.write(make)
    return DeskWritten(rows=(), numbers=receipt.numbers, state=state)


# --- a sheet


def load_sheet(folder: Path, sheet: Path, write: bool, choices: Choices | None = None) -> LoadPlan:
    """Load a sheet that was dropped on the page; ``write`` False: only say what would be written.

    What is wrong with the file itself stands in the plan's problems.
    """
    try:
        return load_tables(folder, read_files(folder, [sheet]), write, choices)
    except (WrongCall, ProblemsFound) as error:
        return LoadPlan(problems=error.findings)
