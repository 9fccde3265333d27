"""Log, amend and void an entry: one line of the log each, made of the words that were typed.

And the sentence that says afterwards what the entry was.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

from credits.app.named import Coded, fact_named, like_ones, number_meant, relative_day
from credits.checks.around import CHECKS_AROUND_AN_ENTRY
from credits.checks.rule import Check, Known, find_checks
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.footage.claims import claim_runs
from credits.footage.footage import footage
from credits.formats.tables.again import line_by_hand
from credits.formats.tables.columns import TABLES, CodeBooks, Sheet, codes_of
from credits.formats.tables.entries import entry_rows
from credits.formats.tables.lists import Rows, row_of
from credits.hands.hands import Hands, shots_in_question
from credits.model.facts import DID, EntryNumber, Purpose, Work
from credits.model.ledger import Entry, Ledger
from credits.model.log import Batch, LogLine, NewLine, Verb, WrittenLog
from credits.model.replay import Implied, current_lines, entries_with, replay
from credits.model.words import counted
from credits.store.log import open_log
from credits.units.film_time import day_text
from credits.units.frames import Frames
from credits.units.rounding import Exact, largest_remainder

KINDS = {kind: f"{kind}s" for kind in ("character", "puppet", "part", "sequence", "shot")}
DAYS = ("started_on", "finished_on")
MOST_PEOPLE = 6

_LOOKS_LIKE_FRAMES = re.compile(r"[0-9,;–—-]+")


def _wrong_frames(word: str) -> tuple[Finding, ...]:
    """What is wrong with a word as frames; nothing where it is frames."""
    try:
        Frames.parse(word)
    except ProblemsFound as error:
        return error.findings
    return ()


def read_targets(words: Sequence[str], written: WrittenLog, given: Iterable[str]) -> dict[str, str]:
    """Read what the words name: columns of the entries table and their values.

    given: the columns that are named already; a word for one of these is one too many.
    Raises WrongCall for a word that is unknown, stands for two things, or is one too many.
    """
    found: dict[str, str] = {}
    books = codes_of(written)
    for word in words:
        for kind, value in _read_target(word, books, written, "shot" in found).items():
            if kind in found:
                thing = "frames twice" if kind == "frames" else f"two {kind}s"
                what = f"the entry names {thing}: {found[kind]} and {value}"
                raise WrongCall(Finding(what, "Log one entry for each."))
            found[kind] = value
    for column in given:
        if column in found:
            what = f"the {column} is named by a word and by --{column}"
            raise WrongCall(Finding(what, "Name it once.", value=found[column]))
    return found


def _read_target(
    word: str, books: CodeBooks, written: WrittenLog, behind_shot: bool
) -> dict[str, str]:
    """Read one word; frames stand behind their shot, and are no frames elsewhere."""
    codes = {kind: books[table].get(word) for kind, table in KINDS.items()}
    fitting = {kind: code for kind, code in codes.items() if code is not None}
    if behind_shot and not _wrong_frames(word):
        fitting["frames"] = word
    if len(fitting) > 1:
        names = [kind if kind == "frames" else f"a {kind}" for kind in fitting]
        ways = " or ".join(f"--{kind} {word}" for kind in fitting)
        hint = f"Say which is meant: {ways}."
        raise WrongCall(Finding(f"is {' and '.join(names)}", hint, value=word))
    if fitting:
        return fitting
    shot, slash, take = word.rpartition("/")
    code = books["shots"].get(shot) if slash else None
    if code is not None and take.isascii() and take.isdigit():
        return {"shot": code, "take": take}
    raise _unknown(word, written, behind_shot)


def _unknown(word: str, written: WrittenLog, behind_shot: bool) -> WrongCall:
    if behind_shot and _LOOKS_LIKE_FRAMES.fullmatch(word):
        return WrongCall(*_wrong_frames(word))
    facts: list[Coded] = [fact for table in KINDS.values() for fact in getattr(written, table)]
    like = like_ones(word, facts)
    hint = like or "Write the code of one, or load it into its table first; see `credits find`."
    if not like and not _wrong_frames(word):
        hint = f"Frames stand behind their shot: 010-020 1-30. {hint}"
    what = "no character, puppet, part, sequence or shot has this code"
    return WrongCall(Finding(what, hint, value=word))


def with_days(cells: Mapping[str, str]) -> dict[str, str]:
    """Return the cells with the words ``today`` and ``yesterday`` as dates."""
    return {
        column: relative_day(text) or text if column in DAYS else text
        for column, text in cells.items()
    }


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


def planned_line(
    cells: Mapping[str, str], written: WrittenLog, lines: Sequence[LogLine] = ()
) -> NewLine | None:
    """Return the line that a row with these cells would append.

    lines: the lines that may say the same already; then None.
    Raises WrongCall with everything that a load would refuse.
    """
    filled = {column: text.strip() for column, text in cells.items() if text.strip()}
    header, cells_of_row = zip(*filled.items(), strict=True) if filled else ((), ())
    rows = Rows(Sheet(table="entries", file="", header=header, numbers=(2,), cells=(cells_of_row,)))
    checked = {
        name: {fact.code: fact for fact in getattr(written, name)}
        for name in ("parts", "puppets", "shots", "crafts")
    }
    read = entry_rows([rows], codes_of(written), checked)
    new = [line_by_hand(row, lines) for row in read]
    if problems := sorted(rows.findings, key=row_of):
        raise WrongCall(*(replace(finding, place=None) for finding in problems))
    return next(iter(new), None)


class Logged(NamedTuple):
    """What a call did to the log.

    number: the line that was written; where none was, the one that says the same already.
    line: what was written; None: nothing was, for the log says it already.
    after: the log with that line.
    holds: the line that says it already, or that was to be corrected.
    asked: the entry that was to be corrected, which ``holds`` says now.
    """

    number: EntryNumber
    line: NewLine | None
    after: WrittenLog
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


_Plan = tuple[NewLine | None, LogLine | None, EntryNumber | None]
"""The line to write, if any; the one that says the entry already; the entry that was asked for."""


def _write(folder: Path, plan_of: Callable[[WrittenLog, str], _Plan], write: bool) -> Logged:
    """Write the line that is planned of the log and of its origin, or only plan it."""
    with open_log(folder) as log:

        def make(written: WrittenLog) -> tuple[Batch | None, tuple[_Plan, WrittenLog]]:
            plan = plan_of(written, log.origin)
            return None if plan[0] is None else Batch(lines=(plan[0],)), (plan, written)

        ((line, holds, asked), after), receipt = log.write_if_unmoved(make, write=write)
    if line is None:
        assert holds is not None
        return Logged(holds.number, None, after, holds, asked)
    (number,) = receipt.numbers
    lines = (*after.lines, line.written(number, datetime.now(UTC)))
    return Logged(number, line, replace(after, lines=lines), holds, asked)


def log_entry(
    folder: Path,
    craft: str,
    person: str,
    targets: Sequence[str],
    cells: Mapping[str, str],
    again: bool = False,
    write: bool = True,
) -> Logged:
    """Log that a person did a craft on something. Raises WrongCall.

    write: False: nothing is written, and the answer is what would have been.

    targets: words that name what it was done on, and frames behind a shot.
    cells: other columns of the entries table; days may be ``today`` and ``yesterday``.
    """

    def entry(written: WrittenLog, _: str) -> _Plan:
        named = {
            "craft": fact_named("crafts", craft, written.crafts).code,
            "person": fact_named("people", person, written.people).code,
        }
        named |= read_targets(targets, written, [column for column, text in cells.items() if text])
        return _new_entry({**named, **with_days(cells)}, written, again)

    return _write(folder, entry, write)


def _new_entry(cells: Mapping[str, str], written: WrittenLog, again: bool) -> _Plan:
    ref = cells.get("ref", "").strip()
    # The refs of sheets are keys within these; one with ``=`` is a key of the production.
    near = (
        entries_with(
            written,
            lambda line: line.ref == ref and (line.sheet is None or ref.startswith("=")),
        ).lines
        if ref
        else ()
    )
    line = planned_line(cells, written, near)
    if line is None:
        holds = next((now for _, now in current_lines(near)[0]), None)
        if holds is None:
            what = "the entry with this ref was voided"
            raise WrongCall(Finding(what, "Give another --ref, or none.", None, "--ref", ref))
        return None, holds, None
    if not ref and not again:
        same = entries_with(written, lambda other: other.work == line.work).lines
        for _, holds in current_lines(same)[0]:
            if holds.work == line.work:
                return None, holds, None
    return line, None, None


def amend_entry(
    folder: Path,
    number: str,
    changes: Mapping[str, str],
    why: str | None = None,
    write: bool = True,
) -> Logged:
    """Correct an entry in the columns that are named; an empty text takes a value away.

    Raises WrongCall for an unknown entry, ProblemsFound for one that was voided.
    """

    def amendment(holds: LogLine, written: WrittenLog) -> NewLine | None:
        assert holds.work is not None
        line = planned_line({**cells_of(holds.work), **with_days(changes)}, written)
        assert line is not None
        ref = changes.get("ref", "").strip() or None
        if line.work == holds.work and ref in (None, holds.ref):
            return None
        return replace(line, verb=Verb.AMEND, corrects=holds.number, why=why or None, ref=ref)

    return _correct(folder, number, amendment, write)


def void_entry(
    folder: Path, number: str, why: str, by: str | None = None, write: bool = True
) -> Logged:
    """Void an entry: it was never done. Raises WrongCall, ProblemsFound as ``amend_entry``."""

    def voiding(holds: LogLine, _: WrittenLog) -> NewLine:
        return NewLine(verb=Verb.VOID, corrects=holds.number, logged_by=by or None, why=why)

    return _correct(folder, number, voiding, write)


def _correct(
    folder: Path,
    number: str,
    line_of: Callable[[LogLine, WrittenLog], NewLine | None],
    write: bool,
) -> Logged:
    def correction(written: WrittenLog, origin: str) -> _Plan:
        asked, holds = find_entry(number, written, origin)
        return line_of(holds, written), holds, asked

    return _write(folder, correction, write)


def find_entry(text: str, written: WrittenLog, origin: str) -> tuple[EntryNumber, LogLine]:
    """Find the entry of a number: the number, and the line that says the entry now.

    Raises WrongCall for an unknown one, ProblemsFound for a voided.
    """
    number = number_meant(text, origin)
    chain = entries_with(written, lambda line: line.number == number).lines
    if not chain:
        known = [line.number for line in written.lines if line.number.origin == number.origin]
        none = "The log has no entries of this origin."
        hint = f"The last one is {max(known)}." if known else none
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


def _reached(written: WrittenLog, entry: Entry) -> str:
    """Say ``It reaches 12 shots so far.``"""
    near, implied = written, Implied(written)
    if entry.character is not None:
        near = entries_with(
            written,
            lambda line: line.work is not None and implied.character(line.work) == entry.character,
        )
    ledger = replay(near)
    runs = claim_runs(ledger, shots_in_question(ledger, entry))
    hands = Hands(ledger, runs, [entry])
    shots = {shot for shot, take in runs if hands.of_take(shot, take)}
    return f"It reaches {counted(len(shots), 'shot')} so far."


def effect(written: WrittenLog, entry: Entry) -> str:
    """Say what the entry changes: the kept frames of its shot, or how many shots it reaches."""
    if not any(craft.code == entry.craft and craft.footage for craft in written.crafts):
        return _reached(written, entry)
    if entry.shot is None:
        return "It claims no frames: it names no shot."
    ledger = replay(
        entries_with(written, lambda line: line.work is not None and line.work.shot == entry.shot)
    )
    purpose = ledger.purpose(entry)
    if purpose is not Purpose.SHOOT:
        return f"It claims no frames: take {entry.take} is a {purpose}."
    return _kept_frames(ledger, entry)


def doubts(written: WrittenLog, entry: Entry) -> tuple[Check, ...]:
    """Ask about the entry those checks that need only the entries around it."""
    implied = Implied(written)

    def near(line: LogLine) -> bool:
        work = line.work
        return work is not None and (
            implied.persons.get(work.person) == entry.person
            or (entry.shot is not None and work.shot == entry.shot)
            or (entry.puppet is not None and work.puppet == entry.puppet)
            or (work.day == entry.day and implied.character(work) == entry.character)
        )

    return doubts_about(replay(entries_with(written, near)), (entry,))


def doubts_about(ledger: Ledger, entries: Sequence[Entry]) -> tuple[Check, ...]:
    """Ask about some entries those checks that need only the entries around them.

    ledger: has these entries and those around them.
    """
    numbers = {entry.number for entry in entries}
    runs = claim_runs(ledger, {entry.shot for entry in entries if entry.shot is not None})
    found = find_checks(Known(ledger=ledger, runs=runs), CHECKS_AROUND_AN_ENTRY)
    return tuple(check for check in found if not numbers.isdisjoint(check.entries))
