"""What an entry is about, from the words of a command."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Annotated, Any

import typer

from credits.cli import printing
from credits.cli.codes import (
    Coded,
    fact_named,
    production_codes,
    relative_day,
    spellings,
    with_name,
)
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.formats.tables.cells import Unreadable, name, stripped
from credits.formats.tables.codes import codes_of
from credits.formats.tables.load import plan_load
from credits.formats.tables.sheets import Sheet, Sheets
from credits.model.facts import EntryNumber, Work
from credits.model.log import LogLine, NewLine, Verb, WrittenLog
from credits.model.replay import current_lines, entries_with
from credits.text import nearest
from credits.units.frames import Frames

TARGET_COLUMNS = frozenset({"character", "puppet", "part", "sequence", "shot"})


def _option(name: str, metavar: str, text: str, *tables: str) -> Any:
    completion = production_codes(*tables) if tables else None
    return typer.Option(*name.split(), metavar=metavar, help=text, autocompletion=completion)


CharacterOption = Annotated[
    str | None, _option("--character", "CODE", "The character.", "characters")
]
PuppetOption = Annotated[str | None, _option("--puppet", "CODE", "The puppet.", "puppets")]
PartOption = Annotated[str | None, _option("--part", "CODE", "The part.", "parts")]
SequenceOption = Annotated[str | None, _option("--sequence", "CODE", "The sequence.", "sequences")]
ShotOption = Annotated[str | None, _option("--shot", "CODE", "The shot.", "shots")]
TakeOption = Annotated[str | None, _option("--take", "N", "The take of the shot.")]
FramesOption = Annotated[str | None, _option("--frames", "FRAMES", "Such as 1-48 or 1-20,25-48.")]
PosesOnOption = Annotated[
    str | None, _option("--poses-on", "N", "Frames each pose is held: 1, 2, 3.")
]
ShareOption = Annotated[
    str | None, _option("--share", "SHARE", "Such as 2 or 1/2; 1 if not given.")
]
BegunOption = Annotated[
    str | None,
    _option("--from --started-on", "DATE", "When it was begun; alone: still being done."),
]
MinutesOption = Annotated[str | None, _option("--minutes", "N", "How long it took.")]
WaitOption = Annotated[
    str | None, _option("--wait --wait-minutes", "N", "Minutes that the stage waited for it.")
]
StageOption = Annotated[str | None, _option("--stage", "CODE", "On which stage.", "stages")]
NoteOption = Annotated[str | None, _option("--note", "TEXT", "A note; Markdown is allowed.")]
ByOption = Annotated[str | None, _option("--by --logged-by", "NAME", "Who logs it.", "people")]
RefOption = Annotated[
    str | None, _option("--ref", "REF", "Your own spreadsheet's key for the entry.")
]


KINDS = {
    "character": "characters",
    "puppet": "puppets",
    "part": "parts",
    "sequence": "sequences",
    "shot": "shots",
}

_LOOKS_LIKE_FRAMES = re.compile(r"[0-9,;–—-]+")


def _is_frames(word: str) -> bool:
    try:
        Frames.parse(word)
    except ProblemsFound:
        return False
    return True


class _TargetReader:
    def __init__(self, written: WrittenLog) -> None:
        books = codes_of(written)
        self._books = {kind: books[table] for kind, table in KINDS.items()}
        self._written = written
        self.found: dict[str, str] = {}

    def _take(self, kind: str, value: str) -> None:
        if kind in self.found:
            what = f"the entry names two {kind}s: {self.found[kind]} and {value}"
            if kind == "frames":
                what = f"the entry names frames twice: {self.found[kind]} and {value}"
            raise WrongCall(Finding(what, "Log one entry for each."))
        self.found[kind] = value

    def word(self, word: str) -> None:
        """Read one word."""
        fitting = {
            kind: code for kind, book in self._books.items() if (code := book.get(word)) is not None
        }
        frames = "shot" in self.found and _is_frames(word)
        if len(fitting) + frames > 1:
            raise self._ambiguous(word, fitting, frames)
        if fitting:
            ((kind, code),) = fitting.items()
            self._take(kind, code)
        elif frames:
            self._take("frames", word)
        elif not self._shot_and_take(word):
            raise self._unknown(word)

    def _shot_and_take(self, word: str) -> bool:
        shot, slash, take = word.rpartition("/")
        code = self._books["shot"].get(shot) if slash else None
        if code is None or not (take.isascii() and take.isdigit()):
            return False
        self._take("shot", code)
        self._take("take", take)
        return True

    def _ambiguous(self, word: str, fitting: dict[str, str], frames: bool) -> WrongCall:
        kinds = [*fitting, *(["frames"] if frames else [])]
        names = [kind if kind == "frames" else f"a {kind}" for kind in kinds]
        ways = " or ".join(f"--{kind} {word}" for kind in kinds)
        return WrongCall(
            Finding(f"is {' and '.join(names)}", f"Say which is meant: {ways}.", value=word)
        )

    def _unknown(self, word: str) -> WrongCall:
        if "shot" in self.found and _LOOKS_LIKE_FRAMES.fullmatch(word):
            try:
                Frames.parse(word)
            except ProblemsFound as error:
                return WrongCall(*error.findings)
        facts: list[Coded] = [
            fact for table in KINDS.values() for fact in getattr(self._written, table)
        ]
        like = nearest(word, facts, spellings)
        hint = f"Did you mean {' or '.join(with_name(fact) for fact in like)}?"
        if not like:
            hint = "Write the code of one, or load it into its table first; see `credits find`."
        if _is_frames(word):
            hint = "Frames stand behind their shot: 010-020 1-30. " * (not like) + hint
        what = "no character, puppet, part, sequence or shot has this code"
        return WrongCall(Finding(what, hint, value=word))


def read_targets(words: Sequence[str], written: WrittenLog, given: Iterable[str]) -> dict[str, str]:
    """What the words name: columns of the entries table and their values.

    ``given``: the columns that options name already; a word for one of these is one too many.
    Raises WrongCall for a word that is unknown, stands for two things, or is one too many.
    """
    reader = _TargetReader(written)
    for word in words:
        reader.word(word)
    for column in given:
        if column in reader.found:
            what = f"the {column} is named by a word and by --{column}"
            raise WrongCall(Finding(what, "Name it once.", value=reader.found[column]))
    return reader.found


def craft_and_person(craft: str, person: str, written: WrittenLog) -> dict[str, str]:
    """The codes of the craft and the person as first spelled. Raises WrongCall with the nearest."""
    return {
        "craft": fact_named("crafts", craft, written.crafts).code,
        "person": fact_named("people", person, written.people).code,
    }


# The columns of the entries table and the words of the command that stand for them.
WORD_FOR = {
    "ref": "--ref",
    "craft": "CRAFT",
    "person": "PERSON",
    "character": "--character",
    "puppet": "--puppet",
    "part": "--part",
    "sequence": "--sequence",
    "shot": "--shot",
    "take": "--take",
    "frames": "--frames",
    "poses_on": "--poses-on",
    "share": "--share",
    "started_on": "--from",
    "finished_on": "--on",
    "minutes": "--minutes",
    "wait_minutes": "--wait",
    "stage": "--stage",
    "note": "--note",
    "private": "--private",
    "logged_by": "--by",
}
DAYS = ("started_on", "finished_on")


def with_days(cells: Mapping[str, str]) -> dict[str, str]:
    """The cells with the words ``today`` and ``yesterday`` as dates."""
    return {
        column: relative_day(text) or text if column in DAYS else text
        for column, text in cells.items()
    }


def cells_of(work: Work) -> dict[str, str]:
    """A piece of work as the cells of a row, without the empty ones."""
    cells: dict[str, str] = {}
    for column in WORD_FOR:
        value = getattr(work, column, None)
        if value is None or value is False:
            continue
        if isinstance(value, Frames):
            cells[column] = value.text
        else:
            cells[column] = "yes" if value is True else str(value)
    return cells


def _in_words_of_the_command(finding: Finding) -> Finding:
    column = WORD_FOR.get(finding.column or "", finding.column)
    if column in ("CRAFT", "PERSON"):
        column = column.lower()
    return replace(finding, place=None, column=column)


def planned_line(cells: Mapping[str, str], written: WrittenLog) -> NewLine | None:
    """The line that a row with these cells would append; None when the log says the same already.

    In: columns of the entries table and their text; the log. Raises WrongCall with everything that
    a load would refuse.
    """
    filled = {column: text.strip() for column, text in cells.items() if text.strip()}
    sheet = Sheet(
        table="entries",
        file="command line",
        header=tuple(filled),
        numbers=(2,),
        cells=(tuple(filled.values()),),
    )
    plan = plan_load(Sheets([sheet]), written)
    if plan.problems:
        raise WrongCall.of(map(_in_words_of_the_command, plan.problems))
    lines: Iterable[NewLine] = plan.batch.lines
    # The words of a command are no file: a later load must not take them for what a sheet says.
    return next((replace(line, source=None) for line in lines), None)


@dataclass(frozen=True, slots=True)
class Meant:
    """The line that was asked for and the one that says the entry now."""

    asked: EntryNumber
    holds: LogLine


def number_meant(text: str, origin: str) -> EntryNumber:
    """``A-17``, or ``17`` for an entry of this log's own origin. Raises WrongCall."""
    word = text.strip()
    if word.isascii() and word.isdigit():
        return EntryNumber(origin, int(word))
    try:
        return EntryNumber.parse(word)
    except ValueError:
        hint = f"Entries are numbered like {origin}-17."
        raise WrongCall(Finding("is not the number of an entry", hint, value=text)) from None


def entry_meant(text: str, written: WrittenLog, origin: str) -> Meant:
    """The entry of that number. Raises WrongCall for an unknown one, ProblemsFound for a voided."""
    number = number_meant(text, origin)
    chain = entries_with(written, lambda line: line.number == number).lines
    if not chain:
        known = [line.number for line in written.lines if line.number.origin == number.origin]
        hint = (
            f"The last one is {max(known)}." if known else "The log has no entries of this origin."
        )
        raise WrongCall(Finding("the log has no such entry", hint, value=text))
    current = current_lines(chain)[0]
    if not current:
        void = next(line for line in reversed(chain) if line.verb is Verb.VOID)
        why = f" ({void.why})" if void.why else ""
        what = f"was voided by {void.number}{why}"
        raise ProblemsFound(Finding(what, "If it was done after all, log it again.", value=text))
    return Meant(number, current[0][1])


def text_meant(text: str, option: str) -> str:
    """A reason or a name on one line. Raises WrongCall for control characters and endless texts."""
    try:
        return name(stripped(text))
    except Unreadable as found:
        raise WrongCall(Finding(found.what, found.hint, column=option, value=text)) from None


def say_followed(meant: Meant) -> None:
    """Say so when the entry was amended already, so that another line is corrected."""
    if meant.holds.number != meant.asked:
        printing.remark(
            f"{meant.asked} was amended already; {meant.holds.number} says it now and is corrected."
        )
