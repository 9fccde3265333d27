"""Join the log of another unit with ours, and say what that brings; what is to be decided first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from credits.app.lists.correct import row_text
from credits.app.logs.merge_near import Joining, NearMatch, joining, near_matches
from credits.app.logs.merge_sheet import (
    ALIKE,
    BOTH,
    CUT,
    ROW,
    SAME,
    Decided,
    MergeChoices,
    MergeQuestion,
)
from credits.app.work.named import with_name
from credits.app.work.writing import open_to_write
from credits.errors import CreditsError, Finding, LogUnusable, Place, ProblemsFound, WrongCall
from credits.formats.tables.columns import TABLES
from credits.formats.tables.lists import plain_cell
from credits.model.facts import EntryNumber
from credits.model.log import ListCorrection, LogLine
from credits.model.merging import WHOLE_ROW, Keep, Key, RowConflict, RowMerge, RowOf
from credits.model.words import counted, some_of
from credits.store.file import LOG_NAME
from credits.store.log import Log, open_log
from credits.store.logs.merge import LogMerge, plan_merge, write_merge
from credits.store.logs.merge_read import MergeReader, first_difference
from credits.store.logs.merge_same import called_otherwise
from credits.store.logs.restore import copied_beside, not_sound
from credits.store.place import log_of
from credits.store.seals.verify import verify
from credits.store.settings import SETTINGS_NAME, read_settings
from credits.text import fold_code

PEOPLE = "people"


@dataclass(frozen=True, slots=True)
class ListRows:
    """How many rows of a list came in, changed, and were voided."""

    new: int = 0
    changed: int = 0
    voided: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class MergedLog:
    """What a merge brings, or would bring.

    lines: how many of each origin. lists: what their rows become; rows that were only decided as
    they are here are not counted. questions: what is to be decided first; then nothing is written.
    asked: these, and what was decided already. again: lines that say word for word what a line of
    another origin says that is here, and that line. is_new: there is something that ours had not.
    """

    origin: str
    lines: Mapping[str, int]
    lists: Mapping[str, ListRows]
    cuts: int = 0
    cut_in_use: int | None = None
    answers: int = 0
    confirmations: int = 0
    questions: tuple[MergeQuestion, ...] = ()
    asked: tuple[MergeQuestion, ...] = ()
    again: tuple[tuple[EntryNumber, EntryNumber], ...] = ()
    notes: tuple[Finding, ...] = ()
    is_new: bool = True
    is_written: bool = field(default=False)


def merge_logs(
    folder: Path, other: Path, choices: MergeChoices | None = None, *, write: bool = True
) -> MergedLog:
    """Join another log with the log of a production; the other is only read.

    other: a production's folder, its log, or a copy of it. choices: what was decided. write:
    False: nothing is written. Where something is to be decided nothing is written either. Raises
    ProblemsFound where lines differ that must be the same, or where it is another production.
    """
    made = choices or MergeChoices()
    file = _log_of(other)
    own = log_of(folder)
    if isinstance(own, Path) and own.exists() and file.samefile(own):
        hint = "Name the folder of the other unit, or a copy of its log."
        raise WrongCall(Finding("is the log itself", hint, value=str(other)))
    others = _same_production(folder, file)
    with _copy_of(file, folder) as theirs, open_to_write(folder) as log:
        position = log.position()
        plan = _Plan(log, theirs, made, others)
        if not write or plan.questions or plan.merge.is_empty:
            return plan.told()
        with log.writing() as writer:
            if writer.position() != position:  # somebody has written meanwhile
                plan = _Plan(log, theirs, made, others)
                if plan.questions:
                    return plan.told()
            now = datetime.now().astimezone()
            receipt = write_merge(writer, plan.merge, plan.decisions(now), now)
        told = plan.told()
        return replace(told, is_written=True, cut_in_use=receipt.cut_version)


def _log_of(other: Path) -> Path:
    if other.is_dir():
        log = log_of(other, "Name the folder of a production, or a copy of its log.")
        if not isinstance(log, Path):
            hint = "Make a copy of it there, and take that in: credits backup"
            raise WrongCall(Finding("has its log on a server", hint, value=str(other)))
        return log
    if not other.is_file():
        hint = "Name the folder of the other unit, or a copy of its log."
        raise WrongCall(Finding("is not there", hint, value=str(other)))
    return other


_OF_ONE_FILM = {
    "code": "Logs of one film have one code: write the same in both, if it is one film.",
    "frame_rate": "Frames of two rates cannot be added up: correct the one that is wrong.",
}


def _same_production(folder: Path, file: Path) -> tuple[Finding, ...]:
    """Refuse the log of another film; return what is otherwise in the settings of the other.

    A copy that lies by itself says nothing of its film.
    """
    if file.name != LOG_NAME or not (file.parent / SETTINGS_NAME).exists():
        return ()
    ours, theirs = read_settings(folder), read_settings(file.parent)
    said = {"code": (ours.code, theirs.code), "frame_rate": (ours.rate.text, theirs.rate.text)}
    found = [
        Finding(f"{own} here", _OF_ONE_FILM[key], Place(str(file.parent)), key, other)
        for key, (own, other) in said.items()
        if own != other
    ]
    if found:
        raise ProblemsFound(*found)
    otherwise = {
        "gauge": (ours.gauge.name, theirs.gauge.name),
        "day_minutes": (ours.day_minutes, theirs.day_minutes),
    }
    hint = "What is counted by it differs: write the same in both."
    return tuple(
        Finding(f"{own} here", hint, Place(str(file.parent)), key, str(other))
        for key, (own, other) in otherwise.items()
        if own != other
    )


@contextmanager
def _copy_of(file: Path, folder: Path) -> Iterator[Log]:
    """Open a copy of the other log, of this release's version. Raises LogUnusable, unsound."""
    with ExitStack() as ends:
        try:
            beside = ends.enter_context(copied_beside(file, folder))
            found = [each for each in verify(beside) if each.place == Place(LOG_NAME)]
            found = [each for each in found if not each.what.startswith("is of an older version")]
            if found:
                raise LogUnusable(*found)
            log = open_log(beside)
        except LogUnusable as error:
            raise _not_taken(file, error.findings) from error
        with log:
            yield log


def _not_taken(file: Path, findings: Sequence[Finding]) -> CreditsError:
    what = not_sound(file, findings).findings[0].what.replace("put back", "merged")
    hint = "See `credits verify FILE`, and ask the other unit for a sound copy."
    return LogUnusable(Finding(what, hint, Place(file.name)))


class _Plan:
    """What the other log brings, and what was decided of what is in doubt."""

    def __init__(
        self, log: Log, theirs: Log, choices: MergeChoices, notes: Sequence[Finding] = ()
    ) -> None:
        self._choices, self._known_notes = choices, notes
        self._log, self._theirs = log, theirs
        self._ours = MergeReader(log)
        self._other = MergeReader(theirs, self._ours.spelling)
        different = first_difference(self._ours, self._other)
        if different is not None:
            raise _went_on_apart(different.number.origin, different.ours, different.theirs)
        self._asked: dict[tuple[str, Key, str], MergeQuestion] = {}
        self._alike = list(near_matches(self._ours.lists, self._other.lists))
        named = {*self._ours.named(), *self._other.named()}
        self._joinings = [joining(match, self._alike, named) for match in self._alike]
        self._joined: dict[tuple[str, str], Decided] = {}
        self._instead: tuple[dict[RowOf, str], dict[RowOf, str]] = {}, {}
        self._gone: list[tuple[str, Joining, Decided]] = []
        open_questions = [*self._of_alike()]
        self._said = tuple(
            called_otherwise(side.lists, instead)
            for side, instead in zip((self._ours, self._other), self._instead, strict=True)
        )
        self.merge = self._planned()
        open_questions += self._of_rows(self.merge.lists.conflicts)
        open_questions += self._of_cut()
        self.questions = tuple(open_questions)

    # -- what is asked ----------------------------------------------------------------------------

    def _of_alike(self) -> Iterator[MergeQuestion]:
        for match, joins in zip(self._alike, self._joinings, strict=True):
            question = _alike_question(match, joins)
            found = self._choices.of(question)
            if found is None:
                yield question
            elif found.keep == SAME and match.table == PEOPLE:
                one, other = sorted((match.ours.code, match.theirs.code))
                self._joined[other, one] = found
            elif found.keep == SAME:
                of_theirs = joins.goes is match.theirs
                row = match.table, (fold_code(joins.goes.code),)
                self._instead[of_theirs][row] = joins.stays.code
                self._gone.append((match.table, joins, found))

    def _planned(self) -> LogMerge:
        cut = self._decided_cut()
        same = {fold_code(code): one for code, one in self._joined}
        return plan_merge(self._ours, self._other, self._decide, cut, same, self._instead)

    def _row_question(self, table: str, key: Key, name: str) -> MergeQuestion:
        at = table, key, name
        if at not in self._asked:
            ours, theirs = (lists[table][key].said for lists in self._said)
            self._asked[at] = _row_question(table, ours, theirs, name)
        return self._asked[at]

    def _decide(self, table: str, key: Key, name: str) -> Keep | None:
        found = self._choices.of(self._row_question(table, key, name))
        return None if found is None else Keep(found.keep)

    def _of_rows(self, conflicts: Iterable[RowConflict]) -> Iterator[MergeQuestion]:
        for conflict in conflicts:
            for name in conflict.fields:
                yield self._row_question(conflict.table, conflict.key, name)

    def _cut_question(self) -> MergeQuestion | None:
        ours, theirs = self._ours.uses(), self._other.uses()
        if not ours or not theirs:
            return None
        said = [
            _cut_text(log, uses[-1][0]) for log, uses in ((self._log, ours), (self._theirs, theirs))
        ]
        return MergeQuestion(list=CUT, row="", column="in use", ours=said[0], theirs=said[1])

    def _decided_cut(self) -> Keep | None:
        question = self._cut_question()
        found = None if question is None else self._choices.of(question)
        return None if found is None else Keep(found.keep)

    def _of_cut(self) -> Iterator[MergeQuestion]:
        question = self._cut_question()
        if self.merge.cuts.conflict is not None and question is not None:
            yield question

    def _every_question(self) -> Iterator[MergeQuestion]:
        """Yield what was asked, and what would have been if it were not decided."""
        yield from map(_alike_question, self._alike, self._joinings)
        yield from self._asked.values()
        cut = self._cut_question()
        is_asked = self.merge.cuts.conflict is not None or self.merge.cuts.keep is not None
        if cut is not None and is_asked:
            yield cut

    # -- what is kept of it -----------------------------------------------------------------------

    def decisions(self, now: datetime) -> list[ListCorrection]:
        """Return what was decided of rows, to be kept in the log."""
        origin = self._theirs.origin
        found = []
        for row in self.merge.lists.rows:
            for name, keep in row.decided:
                question = self._row_question(row.table, row.key, name)
                kept, other = question.ours, question.theirs
                if keep is Keep.THEIRS:
                    kept, other = other, kept
                said = f"{question.column} '{kept}' is kept, not '{other}'"
                why = self._choices.of(question)
                found.append(self._correction(row, f"Merged with {origin}: {said}.", why, now))
        people = {row.key: row for row in self.merge.lists.rows if row.table == PEOPLE}
        for (code, one), decided in self._joined.items():
            if (fold_code(code),) in people:
                said = f"Merged with {origin}: the same person as {one}."
                row = people[(fold_code(code),)]
                found.append(self._correction(row, said, decided, now))
        for table, joins, decided in self._gone:
            code, stays = joins.goes.code, joins.stays.code
            said = f"Merged with {origin}: the same {TABLES[table].one} as {stays}."
            found.append(self._corrected(table, code, stays, said, decided, now))
        return found

    def _correction(
        self, row: RowMerge, said: str, decided: Decided | None, now: datetime
    ) -> ListCorrection:
        there = row.becomes if row.becomes is not None else row.ours or row.theirs
        key = row_text(TABLES[row.table], there)
        instead = None if row.becomes is None else key
        return self._corrected(row.table, key, instead, said, decided, now)

    def _corrected(
        self,
        table: str,
        key: str,
        instead: str | None,
        said: str,
        decided: Decided | None,
        now: datetime,
    ) -> ListCorrection:
        given = decided.why if decided is not None else ""
        return ListCorrection(
            table=table,
            row=key,
            instead=instead,
            why=f"{said} {given}".rstrip(),
            corrected_by=self._choices.by,
            written_at=now,
        )

    # -- what is told -----------------------------------------------------------------------------

    def told(self) -> MergedLog:
        """Return what a person is told."""
        merge = self.merge
        lists: dict[str, ListRows] = {}
        for row in merge.lists.rows:
            if row.becomes == row.ours:
                continue
            count = lists.get(row.table, ListRows())
            lists[row.table] = ListRows(
                count.new + (row.ours is None),
                count.changed + (row.ours is not None and row.becomes is not None),
                count.voided + (row.becomes is None),
            )
        return MergedLog(
            origin=self._theirs.origin,
            lines=merge.lines_by_origin(),
            lists=lists,
            cuts=len(merge.cuts.new),
            answers=len(merge.rows["settlements"]),
            confirmations=len(merge.new_words),
            questions=self.questions,
            asked=tuple(self._every_question()),
            again=merge.again,
            notes=tuple(self._notes()),
            is_new=not merge.is_empty,
        )

    def _notes(self) -> Iterator[Finding]:
        yield from self._known_notes
        for row in self.merge.lists.rows:
            if row.is_kept:
                key = row_text(TABLES[row.table], row.becomes)
                what = "was voided in one log, and the other names it: it stays"
                yield Finding(what, "", None, TABLES[row.table].one, key)
        for table, joins, _ in self._gone:
            what = f"is {joins.stays.code}: one {TABLES[table].one}, in every list"
            hint = "A credit plan, sheets and pictures that name it are to name that, too."
            yield Finding(what, hint, None, TABLES[table].one, joins.goes.code)
        if self.merge.again:
            pairs = [f"{number} is like {like}" for number, like in self.merge.again]
            what = f"{counted(len(pairs), 'line')} of the other log say word for word what is here"
            last = self.merge.again[0][0]
            hint = (
                f"If a sheet came to both units, void one of each: credits void {last} --why TEXT"
            )
            yield Finding(f"{what}: {some_of(pairs)}", hint)
        if self.merge.proofs:
            numbers = self.merge.other_proofs
            what = f"{self.merge.proofs} of its proofs stay in the other log"
            if numbers:
                also = some_of(map(str, numbers))
                what += f"; each log has a proof {also} of its own"
            yield Finding(what, "Make the proofs of a film in one log alone.")
        if self._log.origin == self._theirs.origin and self.merge.lines:
            what = f"both logs number their lines with {self._log.origin}"
            hint = (
                "Log in one of them alone: where both go on, they can no longer be joined. A second"
                " unit begins with letters of its own: credits start TITLE DIR --origin B"
            )
            yield Finding(what, hint)


def _row_question(table: str, ours: Any, theirs: Any, name: str) -> MergeQuestion:
    sheet = TABLES[table]
    there = ours if ours is not None else theirs
    row = row_text(sheet, there)
    if name == WHOLE_ROW:
        said = ["void" if each is None else _whole(table, each) for each in (ours, theirs)]
        return MergeQuestion(list=table, row=row, column=ROW, ours=said[0], theirs=said[1])
    column = next(column for column in sheet.columns if column.field == name)
    said = [plain_cell(getattr(each, name)) for each in (ours, theirs)]
    return MergeQuestion(list=table, row=row, column=column.name, ours=said[0], theirs=said[1])


def _whole(table: str, row: Any) -> str:
    cells = ((c.name, plain_cell(getattr(row, c.field))) for c in TABLES[table].columns)
    return ", ".join(f"{name}={cell}" for name, cell in cells if cell)


def _alike_question(match: NearMatch, joins: Joining) -> MergeQuestion:
    can_be_one = match.table == PEOPLE or joins.goes is not None
    return MergeQuestion(
        list=match.table,
        row=f"{match.ours.code} {match.theirs.code}",
        column=ALIKE,
        ours=with_name(match.ours),
        theirs=with_name(match.theirs),
        answers=(BOTH, SAME) if can_be_one else (BOTH,),
        why_not=joins.why_not,
    )


def _cut_text(log: Log, version: int) -> str:
    cut = log.cut_but_clips(version)
    return f"version {version}, {cut.source}, {cut.brought_in_on}, {cut.length} frames"


def _went_on_apart(origin: str, ours: LogLine, theirs: LogLine) -> ProblemsFound:
    what = (
        f"line {ours.number} is '{_line_text(ours)}' here and '{_line_text(theirs)}' there: both"
        " logs have numbered lines of their own with the same letters"
    )
    hint = (
        f"Keep one of them. What was logged in the other from {ours.number} on, log or load again"
        " in a log with letters of its own (credits start TITLE DIR --origin B), which can be"
        " merged every night."
    )
    return ProblemsFound(Finding(what, hint, Place(f"{origin} in both logs")))


def _line_text(line: LogLine) -> str:
    work = line.work
    if work is None:
        return f"{line.verb} of {line.corrects}"
    named = (work.character, work.puppet, work.part, work.sequence, work.shot)
    day = "" if work.day is None else str(work.day)
    said = (work.craft, work.person, *named, work.frames and work.frames.text, day)
    return " ".join(str(each) for each in said if each)
