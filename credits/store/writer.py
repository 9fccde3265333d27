"""What writes, inside one transaction of the log."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from itertools import count, islice, repeat
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Executable, bindparam, delete, func, insert, select, update

from credits.errors import Finding, Place, ProblemsFound
from credits.model.facts import Confirmation, Cut, EntryNumber, Proof, ProofMark, Settlement
from credits.model.log import (
    Batch,
    NewConfirmation,
    NewLine,
    NewProof,
    NewSettlement,
    Receipt,
    TableCount,
    Verb,
    WrittenLog,
)
from credits.store.reading import (
    USES,
    VERSIONS,
    Position,
    next_mark,
    read_cut,
    read_cut_versions,
    read_log,
    read_position,
    read_proof,
    read_proofs,
)
from credits.store.refused import refused
from credits.store.rows import (
    CLIPS,
    CONFIRMATIONS,
    FACT_TABLES,
    LINES,
    PROOFS,
    SETTLEMENTS,
    WORK,
    FactTable,
    Values,
)
from credits.store.settings import read_settings
from credits.store.sqlite import LOG_NAME, NOT_STORABLE, in_words
from credits.store.tables import METADATA

FaceSheets = Sequence[tuple[str, int | None]]

_NO_WORK: Values = {**dict.fromkeys(WORK.names), "private": False}
_AT = "at"
AT_ONCE = 5000


class LogWriter:
    """Writes batches; given out by ``Log.writing()``, which commits when its block ends well."""

    def __init__(
        self,
        folder: Path,
        connection: Connection,
        origin: str,
        clock: Callable[[], datetime],
    ) -> None:
        self._folder = folder
        self._connection = connection
        self._origin = origin
        self._clock = clock

    def position(self) -> Position:
        """Say how far the log goes now; equal to ``Log.position()`` when nothing was written
        since that was asked."""
        with in_words(self._folder / LOG_NAME):
            return read_position(self._connection)

    def read(self) -> WrittenLog:
        """Read everything written, with what this transaction has written so far."""
        production = read_settings(self._folder)
        with in_words(self._folder / LOG_NAME):
            return read_log(self._connection, production)

    def proofs(self) -> tuple[ProofMark, ...]:
        """Read what every proof says of itself, the first one first."""
        with in_words(self._folder / LOG_NAME):
            return read_proofs(self._connection)

    def proof(self, number: int) -> Proof:
        """Read one proof with what it froze. WrongCall when there is none of this number."""
        with in_words(self._folder / LOG_NAME):
            return read_proof(self._connection, number)

    def write(self, batch: Batch) -> Receipt:
        """Write the whole batch, or nothing of it.

        Lines get the next numbers of the log's origin in their order. Reference rows that are
        there already with the same values are left alone. Raises ProblemsFound with every row
        that the log refuses, of the first table that has such rows.
        """
        now = self._clock()
        with in_words(self._folder / LOG_NAME), self._all_or_nothing():
            counts: dict[str, TableCount] = {}
            for table in FACT_TABLES:
                facts = getattr(batch, table.name)
                cleared = batch.cleared_face_sheets if table.name == "replacements" else ()
                if facts or cleared:
                    counts[table.name] = self._put(table, facts, cleared)
            if batch.people:
                self._check_same_as()
            numbers = self._append(batch.lines, now)
            if batch.lines:
                new = sum(line.verb is Verb.RECORD for line in batch.lines)
                counts["entries"] = TableCount(new=new, changed=len(batch.lines) - new)
            version = None if batch.cut is None else self._import(batch.cut, now)
            answers = [_settlement(new, now) for new in batch.settlements]
            self._insert("settlements", answers, _counted("answers"))
            words = [_confirmation(new, now) for new in batch.confirmations]
            self._insert("confirmations", words, _counted("confirmations"))
            proof = None if batch.proof is None else self._freeze(batch.proof, now)
        return Receipt(numbers, version, counts, proof)

    def use_cut(self, version: int) -> None:
        """Make a version of the cut the current one. Raises WrongCall when there is none such."""
        with in_words(self._folder / LOG_NAME), self._all_or_nothing():
            read_cut(self._connection, version)
            current = [v.version for v in read_cut_versions(self._connection) if v.current]
            if current != [version]:
                self._use(version, self._clock())

    @contextmanager
    def _all_or_nothing(self) -> Iterator[None]:
        """Leave nothing of a batch that fails, even if its caller goes on with the transaction."""
        if not self._connection.in_transaction():
            raise RuntimeError("the writer is used outside the block of Log.writing()")
        with self._connection.begin_nested():
            yield

    def _many(
        self, table: str, statement: Executable, rows: Iterable[Values], places: Iterable[Place]
    ) -> None:
        """Execute the statement for every row. places: where each row was read."""
        placed = zip(rows, places, strict=False)
        while part := list(islice(placed, AT_ONCE)):
            try:
                with self._connection.begin_nested():
                    self._connection.execute(statement, [row for row, _ in part])
            except NOT_STORABLE as error:
                rest = [*part, *placed]
                raise refused(self._connection, table, statement, rest, error) from error

    def _insert(self, name: str, rows: Iterable[Values], places: Iterable[Place]) -> None:
        self._many(name, insert(METADATA.tables[name]), rows, places)

    def _put(self, table: FactTable, facts: Sequence[Any], cleared: FaceSheets) -> TableCount:
        """Insert what is new, update what has other values, remove cleared face sheet rows."""
        there = {
            table.key_of(old): (place, old)
            for place, fact in table.rows(self._connection)
            for old in [table.values(fact)]
        }
        wanted = {table.key_of(row): row for row in map(table.values, facts)}
        gone = [
            {_AT: place}
            for key, (place, old) in there.items()
            if key not in wanted and (old.get("shot"), old.get("take")) in cleared
        ]
        inserts: list[Values] = []
        updates: list[Values] = []
        for key, row in wanted.items():
            if key not in there:
                inserts.append(row)
                continue
            place, old = there[key]
            # The first spelling of a code stays: rows of an append-only log name it.
            new = {**row, table.names[0]: old[table.names[0]]}
            if new != old:
                updates.append({**new, _AT: place})
        at = table.place == bindparam(_AT)
        for statement, rows in (
            (delete(table.table).where(at), gone),
            (update(table.table).where(at), updates),
            (insert(table.table), inserts),
        ):
            self._many(table.name, statement, rows, repeat(Place(table.name)))
        changed = len(updates) + len(gone)
        return TableCount(len(inserts), changed, len(wanted) - len(inserts) - len(updates))

    def _check_same_as(self) -> None:
        people = METADATA.tables["people"].c
        lost = self._connection.execute(
            select(people.person, people.same_as).where(
                people.same_as.is_not(None), people.same_as.not_in(select(people.person))
            )
        ).all()
        if lost:
            hint = "Name a code of the people table."
            raise ProblemsFound(
                *(
                    Finding(f"{person} is the same as nobody", hint, Place("people"), "same_as", of)
                    for person, of in lost
                )
            )

    def _append(self, lines: Sequence[NewLine], now: datetime) -> tuple[EntryNumber, ...]:
        if not lines:
            return ()
        of_ours = LINES.c.origin == self._origin
        last = self._connection.scalar(select(func.max(LINES.c.number)).where(of_ours)) or 0
        numbers = tuple(
            EntryNumber(self._origin, number) for number in range(last + 1, last + 1 + len(lines))
        )
        rows = (_line(number, line, now) for number, line in zip(numbers, lines, strict=True))
        self._insert("entries", rows, _of_lines(lines))
        return numbers

    def _freeze(self, new: NewProof, now: datetime) -> int:
        """Number the proof and note how far the log goes, this transaction included."""
        mark = next_mark(self._connection, new, now)
        row = {**PROOFS.values(mark), "content": new.content}
        self._insert("proofs", [row], [Place("the proof")])
        return mark.number

    def _import(self, cut: Cut, now: datetime) -> int:
        version = 1 + (self._connection.scalar(select(func.max(VERSIONS.c.version))) or 0)
        row: Values = {
            "version": version,
            "source": cut.source,
            "length": cut.length,
            "brought_in_on": cut.brought_in_on or now.date(),
        }
        self._insert("cut_versions", [row], [Place("the cut")])
        clips = [{"version": version, **CLIPS.values(clip)} for clip in cut.clips]
        self._insert("cut_clips", clips, (Place("the cut", clip.order) for clip in cut.clips))
        self._use(version, now)
        return version

    def _use(self, version: int, now: datetime) -> None:
        self._connection.execute(insert(USES), {"version": version, "used_at": now})


def _counted(name: str) -> Iterator[Place]:
    return (Place(name, at) for at in count(1))


def _of_lines(lines: Sequence[NewLine]) -> Iterator[Place]:
    for at, line in enumerate(lines, start=1):
        yield Place(line.source) if line.source else Place("entry", at)


def _line(number: EntryNumber, line: NewLine, now: datetime) -> Values:
    """A new line as a row of the entries."""
    origin, corrected = line.corrects or (None, None)
    return {
        "origin": number.origin,
        "number": number.number,
        "verb": line.verb,
        "logged_at": now,
        **(_NO_WORK if line.work is None else WORK.values(line.work)),
        "corrects_origin": origin,
        "corrects_number": corrected,
        "logged_by": line.logged_by,
        "why": line.why,
        "ref": line.ref,
        "source": line.source,
    }


def _settlement(new: NewSettlement, now: datetime) -> Values:
    """A new answer to a check as a row of the settlements."""
    return SETTLEMENTS.values(
        Settlement(new.check, new.subjects, new.facts, now, new.why, new.settled_by, new.taken_back)
    )


def _confirmation(new: NewConfirmation, now: datetime) -> Values:
    """A new word on a spelling as a row of the confirmations."""
    day = new.confirmed_on or now.date()
    return CONFIRMATIONS.values(
        Confirmation(new.person, new.name, day, new.is_right, new.confirmed_by or None, now)
    )
