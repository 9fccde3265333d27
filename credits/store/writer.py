"""Writing to a log: batches of rows, whole or not at all, and what is said of a row refused."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from functools import partial
from itertools import islice
from operator import attrgetter
from pathlib import Path
from typing import Any

from credits.errors import Finding, Place, ProblemsFound
from credits.model.facts import Cut, EntryNumber
from credits.model.log import (
    Batch,
    ListCorrection,
    NewLine,
    NewProof,
    Receipt,
    RowCorrection,
    TableCount,
    Verb,
)
from credits.store import reading
from credits.store.engines.driver import Driver, begin
from credits.store.file import LOG_NAME, in_words
from credits.store.refused import NOT_STORABLE, Run, failing, savepoint, worded
from credits.store.schema.records import RECORDS
from credits.store.schema.statements import (
    delete_text,
    insert_rows,
    rows_as_kept,
    update_text,
)
from credits.store.seals.chain import chain_of_lines, ends, seal_new
from credits.store.seals.seal import seal_of_values
from credits.written import note, unbroken

FaceSheets = Sequence[tuple[str, int | None]]

Row = tuple[Any, ...]
"""Values in the order of columns that are named once for all rows."""

PlaceOf = Callable[[int], Place]
"""Says where a row was read, by its position: asked for rows that are refused."""

_AS_SAID = ("verb", "logged_by", "why", "ref", "source", "sheet")
_OF_A_LINE = (
    "origin", "number", "logged_at", *reading.WORK.names, "corrects_origin", "corrects_number",
    *_AS_SAID,
)  # fmt: skip
_as_said = attrgetter(*_AS_SAID)
_all_of_work = attrgetter(*reading.WORK.fields)
_NO_WORK = tuple(False if name == "private" else None for name in reading.WORK.names)
AT_ONCE = 5000


class LogWriter(reading.LogReader):
    """Writes batches; given out by ``Log.writing()``, which commits when its block ends well."""

    def __init__(
        self, folder: Path, driver: Driver, origin: str, clock: Callable[[], datetime]
    ) -> None:
        super().__init__(folder, driver)
        self._origin = origin
        self._clock = clock
        self._row_by_row = False
        self._ends = ends(driver, origin)
        self.receipts: list[Receipt] = []
        self.is_open = True
        """Whether the block in which it was given out goes on."""

    def write(self, batch: Batch) -> Receipt:
        """Write the whole batch, or nothing of it.

        Lines get the next numbers of the log's origin in their order. Reference rows that are
        there already with the same values are left alone. Raises ProblemsFound with every row
        that the log refuses, of the first table that has such rows.
        """
        now = self._clock()
        with self._in_words(), self._all_or_nothing():
            try:
                receipt = self._write(batch, now)
            except NOT_STORABLE:
                if self._row_by_row:
                    raise
                self._begin_anew()
                self._row_by_row = True
                receipt = self._write(batch, now)
        self.receipts.append(receipt)
        return receipt

    def _write(self, batch: Batch, now: datetime) -> Receipt:
        counts: dict[str, TableCount] = {}
        for correction in batch.corrections:
            self._correct(correction, now)
        for table in reading.FACT_TABLES:
            facts = getattr(batch, table.name)
            cleared = batch.cleared_face_sheets if table.name == "replacements" else ()
            if facts or cleared:
                counts[table.name] = self._put(table, facts, cleared)
        if batch.people or batch.corrections:
            self._check_same_as()
        numbers = self._append(batch.lines, now)
        if batch.lines:
            new = sum(line.verb is Verb.RECORD for line in batch.lines)
            counts["entries"] = TableCount(new=new, changed=len(batch.lines) - new)
        version = None if batch.cut is None else self._import(batch.cut, now)
        answers = [reading.SETTLEMENTS.values(new.written(now)) for new in batch.settlements]
        self._insert("settlements", answers, _counted("answers"))
        words = [reading.CONFIRMATIONS.values(new.written(now)) for new in batch.confirmations]
        self._insert("confirmations", words, _counted("confirmations"))
        proof = None if batch.proof is None else self._freeze(batch.proof, now)
        return Receipt(numbers=numbers, cut_version=version, counts=counts, proof=proof)

    def use_cut(self, version: int) -> None:
        """Make a version of the cut the current one. Raises WrongCall when there is none such."""
        with self._in_words(), self._all_or_nothing():
            self.cut(version)
            current = [v.version for v in self.cut_versions() if v.current]
            if current != [version]:
                self._use(version, self._clock())
                self.receipts.append(Receipt(cut_version=version))

    @contextmanager
    def _all_or_nothing(self) -> Iterator[None]:
        """Leave nothing of a batch that fails, even if its caller goes on with the transaction.

        In a savepoint a row costs half as much again. Before the first batch nothing was written,
        so the transaction itself may begin anew.
        """
        if not self.is_open:
            raise RuntimeError("the writer is used outside the block of Log.writing()")
        self._row_by_row = bool(self.receipts)
        if self.receipts:
            with savepoint(self.driver):
                yield
            return
        try:
            yield
        except BaseException:
            self._begin_anew()
            raise

    def _begin_anew(self) -> None:
        self.driver.rollback()
        begin(self.driver, writing=True)
        self._ends = ends(self.driver, self._origin)

    def takes_lines_of(self, origins: Iterable[str]) -> None:
        """Seal lines of other origins too, which come in from another log behind those here."""
        for origin in origins:
            last = reading.last_number(self.driver, origin)
            self._ends = {chain_of_lines(origin): last, **self._ends}

    def seal(self) -> None:
        """Seal everything that was written."""
        with self._in_words():
            seal_new(self.driver, self._ends, self._clock())

    def _many(
        self,
        table: str,
        run: Run,
        columns: Sequence[str],
        rows: Iterable[Row],
        place_of: PlaceOf,
    ) -> None:
        """Run a statement for every row. Raises one of NOT_STORABLE where a row is refused; row by
        row, ProblemsFound that says of every such row why it is.

        columns: those of which the rows have the values.
        """
        left, done = iter(rows), 0
        while part := list(islice(left, AT_ONCE)):
            if not self._row_by_row:
                run(part)
                continue
            try:
                with savepoint(self.driver):
                    run(part)
            except NOT_STORABLE as error:
                placed = [(row, place_of(at)) for at, row in enumerate([*part, *left], done)]
                findings = [
                    finding
                    for row, place, why in failing(self.driver, run, placed)
                    for finding in worded(
                        self.driver, table, dict(zip(columns, row, strict=True)), place, why
                    )
                ]
                other = Finding(str(error), place=Place(table))
                raise ProblemsFound(*(findings or [other])) from error
            done += len(part)

    def _insert(self, name: str, values: Sequence[reading.Values], place_of: PlaceOf) -> None:
        """Insert rows that all have the columns of the first."""
        if values:
            rows = (tuple(row.values()) for row in values)
            self._insert_rows(name, tuple(values[0]), rows, place_of)

    def _insert_rows(
        self, name: str, columns: Sequence[str], rows: Iterable[Row], place_of: PlaceOf
    ) -> None:
        run = partial(insert_rows, self.driver, name, columns)
        self._many(name, run, columns, rows, place_of)

    def _change_rows(self, name: str, rows: Sequence[tuple[int, reading.Values]]) -> None:
        """Change rows at their places; all of them have the columns of the first."""
        if not rows:
            return
        columns = (*rows[0][1], RECORDS[name].key)
        text = update_text(name, columns[:-1])

        def run(some: Sequence[Row]) -> None:
            self.driver.executemany(text, rows_as_kept(name, columns, some))

        changed = ((*values.values(), place) for place, values in rows)
        self._many(name, run, columns, changed, _always(Place(name)))

    def _put(
        self, table: reading.FactTable, facts: Sequence[Any], cleared: FaceSheets
    ) -> TableCount:
        """Insert what is new, update what has other values, remove cleared face sheet rows."""
        there = {
            table.key_of(old): (place, old)
            for place, fact in table.rows(self.driver)
            for old in [table.values(fact)]
        }
        wanted = {table.key_of(row): row for row in map(table.values, facts)}
        gone = [
            (place,)
            for key, (place, old) in there.items()
            if key not in wanted and (old.get("shot"), old.get("take")) in cleared
        ]
        inserts: list[reading.Values] = []
        updates: list[tuple[int, reading.Values]] = []
        for key, row in wanted.items():
            if key not in there:
                inserts.append(row)
                continue
            place, old = there[key]
            # The first spelling of a code stays: rows of an append-only log name it.
            new = {**row, table.names[0]: old[table.names[0]]}
            if new != old:
                updates.append((place, new))
        place_of_all = _always(Place(table.name))
        remove = partial(self.driver.executemany, delete_text(table.name))
        self._many(table.name, remove, (table.place,), gone, place_of_all)
        self._change_rows(table.name, updates)
        self._insert(table.name, inserts, place_of_all)
        changed = len(updates) + len(gone)
        return TableCount(len(inserts), changed, len(wanted) - len(inserts) - len(updates))

    def _correct(self, new: RowCorrection, now: datetime) -> None:
        """Take a row of a list out, or put another in its place, and note why.

        A row whose code (or first column) stays is changed where it is: entries may name it, and
        its history is one. Of others the history has an end and a beginning.
        """
        table = next(table for table in reading.FACT_TABLES if table.name == new.table)
        key = table.key_of(table.values(new.row))
        rows = table.rows(self.driver)
        of_key = (pair for pair in rows if table.key_of(table.values(pair[1])) == key)
        at, old = next(of_key, (None, None))
        place = Place(table.name)
        if at is None:
            raise ProblemsFound(Finding("is not there", "", place, value=table.key_text(new.row)))
        values = None if new.instead is None else table.values(new.instead)
        first = table.names[0]
        if values is not None and values[first] == table.values(old)[first]:
            self._change_rows(table.name, [(at, values)])
        else:
            try:
                with savepoint(self.driver):
                    self.driver.execute(delete_text(table.name), (at,))
            except NOT_STORABLE as error:
                what = "is named by entries or by rows of other lists, so it stays"
                hint = "Correct these first."
                value = table.key_text(new.row)
                raise ProblemsFound(Finding(what, hint, place, value=value)) from error
            if values is not None:
                self._insert(table.name, [{table.place: at, **values}], _always(place))
        written = ListCorrection(
            table=table.name,
            row=table.key_text(new.row),
            instead=None if new.instead is None else table.key_text(new.instead),
            why=new.why,
            corrected_by=new.corrected_by,
            written_at=now,
        )
        corrections = [reading.LIST_CORRECTIONS.values(written)]
        self._insert("list_corrections", corrections, _always(place))

    def _check_same_as(self) -> None:
        lost = (
            "SELECT person, same_as FROM people"
            " WHERE same_as IS NOT NULL AND same_as NOT IN (SELECT person FROM people)"
        )
        hint = "Name a code of the people table."
        findings = [
            Finding(f"{person} is the same as nobody", hint, Place("people"), "same_as", of)
            for person, of in self.driver.execute(lost)
        ]
        if findings:
            raise ProblemsFound(*findings)

    def _append(self, lines: Sequence[NewLine], now: datetime) -> tuple[EntryNumber, ...]:
        if not lines:
            return ()
        last = reading.last_number(self.driver, self._origin)
        numbers = tuple(
            EntryNumber(self._origin, number) for number in range(last + 1, last + 1 + len(lines))
        )
        rows = (_row(number, line, now) for number, line in zip(numbers, lines, strict=True))

        def place_of(at: int) -> Place:
            source = lines[at].source
            return Place(source) if source else Place("entry", at + 1)

        self._insert_rows("entries", _OF_A_LINE, rows, place_of)
        return numbers

    def _freeze(self, new: NewProof, now: datetime) -> int:
        """Number the proof and note how far the log goes, this transaction included."""
        mark = reading.next_mark(self.driver, new, now)
        row = {**reading.PROOFS.values(mark), "content": new.content}
        row = {**row, "seal": seal_of_values(row)}
        self._insert("proofs", [row], _always(Place("the proof")))
        return mark.number

    def _import(self, cut: Cut, now: datetime) -> int:
        last = self.driver.execute("SELECT max(version) FROM cut_versions").fetchone()[0]
        version = 1 + (last or 0)
        row: reading.Values = {
            "version": version,
            "source": cut.source,
            "length": cut.length,
            "brought_in_on": cut.brought_in_on or now.date(),
        }
        self._insert("cut_versions", [row], _always(Place("the cut")))
        clips = [{"version": version, **reading.CLIPS.values(clip)} for clip in cut.clips]
        self._insert("cut_clips", clips, lambda at: Place("the cut", cut.clips[at].order))
        self._use(version, now)
        return version

    def _use(self, version: int, now: datetime) -> None:
        use = {"version": version, "used_at": now}
        self._insert("cut_uses", [use], _always(Place("the cut")))


@contextmanager
def writing(
    folder: Path, driver: Driver, origin: str, clock: Callable[[], datetime]
) -> Iterator[LogWriter]:
    """Begin one transaction, as ``Log.writing`` says it; the log is open in the driver."""
    log = folder / LOG_NAME
    with in_words(log):
        begin(driver, writing=True)
        try:
            writer = LogWriter(folder, driver, origin, clock)
        except BaseException:
            driver.rollback()
            raise
    try:
        yield writer
        writer.seal()
        with unbroken():
            with in_words(log):
                driver.commit()
            for receipt in writer.receipts:
                note(receipt)
    except BaseException:
        with in_words(log):
            driver.rollback()
        raise
    finally:
        writer.is_open = False


def _counted(name: str) -> PlaceOf:
    return lambda at: Place(name, at + 1)


def _always(place: Place) -> PlaceOf:
    return lambda _: place


def _row(number: EntryNumber, line: NewLine, now: datetime) -> Row:
    """Return a new line as a row of the entries."""
    work = _NO_WORK if line.work is None else _all_of_work(line.work)
    corrected = (None, None) if line.corrects is None else line.corrects
    return (*number, now, *work, *corrected, *_as_said(line))
