"""Another log joined with ours: what is to be written is found first, then written whole.

Lines come in as they were written, under their own numbers, so that their chain of seals is the
same in both logs. Proofs stay in the log that made them: a proof says how far that log had come.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from credits.model.facts import Confirmation, EntryNumber
from credits.model.log import ListCorrection, Receipt, TableCount
from credits.model.merging import Decide, Keep, MergedLists, RowMerge, merge_lists
from credits.model.pasts import Later, later, later_value, to_be_noted
from credits.model.replay import one_person
from credits.store.file import LOG_NAME, Driver, in_words
from credits.store.logs.merge_read import (
    CLIP_COLUMNS,
    CUT_COLUMNS,
    ENTRIES,
    LINE_COLUMNS,
    REFERS,
    KeptCut,
    MergeReader,
    Row,
    Shown,
    cuts_of,
)
from credits.store.logs.merge_same import Instead, called_otherwise
from credits.store.reading import (
    CONFIRMATIONS,
    FACT_TABLES,
    LIST_CORRECTIONS,
    SETTLEMENTS,
    FactTable,
)
from credits.store.schema.records import RECORDS
from credits.store.schema.statements import (
    as_kept,
    delete_text,
    insert_rows,
    insert_text,
    update_text,
)
from credits.store.writer import LogWriter

_BY_NAME = {table.name: table for table in FACT_TABLES}
_AS_THEY_ARE = (SETTLEMENTS.name, LIST_CORRECTIONS.name)
"""The tables that only grow whose rows come in as they are."""


@dataclass(frozen=True, slots=True)
class CutConflict:
    """Each log uses a cut that the other does not know; by the versions of each log."""

    ours: int
    theirs: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MergedCuts:
    """The cuts that come in, and what is used after one another; each use with its moment, where
    the other log has used it. None: now."""

    new: tuple[KeptCut, ...] = ()
    uses: tuple[tuple[Shown, str | None], ...] = ()
    conflict: CutConflict | None = None
    keep: Keep | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LogMerge:
    """Everything that another log has and ours has not, and what is to be decided before.

    lines, rows: as they are kept; rows of those tables that only grow, by table. words: on how
    names are spelled: those of both logs. proofs: how many stay in the other log. other_proofs:
    numbers under which each log has a proof of its own. again: lines that come in and say word for
    word what a line of ours says, and that line.
    """

    lists: MergedLists
    lines: tuple[Row, ...]
    rows: Mapping[str, tuple[Row, ...]]
    words: tuple[tuple[Confirmation, ...], tuple[Confirmation, ...]]
    cuts: MergedCuts
    proofs: int = 0
    other_proofs: tuple[int, ...] = ()
    again: tuple[tuple[EntryNumber, EntryNumber], ...] = ()

    @property
    def is_decided(self) -> bool:
        """Tell whether nothing is left for somebody to decide."""
        return not self.lists.conflicts and self.cuts.conflict is None

    @property
    def new_words(self) -> tuple[Confirmation, ...]:
        """The words on names that ours has not."""
        return _missing_words(*self.words)

    @property
    def is_empty(self) -> bool:
        """Tell whether there is nothing that ours has not."""
        found = (self.lists.rows, self.lines, *self.rows.values(), self.cuts.new, self.cuts.uses)
        return self.is_decided and not any(found) and not self.new_words

    @property
    def numbers(self) -> tuple[EntryNumber, ...]:
        """The numbers of the lines that come in, by origin."""
        return tuple(sorted(EntryNumber(row[0], row[1]) for row in self.lines))

    def lines_by_origin(self) -> dict[str, int]:
        """Count the lines that come in, by origin."""
        return dict(sorted(Counter(row[0] for row in self.lines).items()))


def plan_merge(
    ours: MergeReader,
    theirs: MergeReader,
    decide: Decide,
    cut: Keep | None = None,
    same: Mapping[str, str] | None = None,
    instead: tuple[Instead, Instead] = ({}, {}),
) -> LogMerge:
    """Find what the other log has and ours has not. Lines that both have must be the same.

    decide: what was decided of rows. cut: of the cut in use. same: codes of people, folded, that
    are the same as another, and that other. instead: rows of ours and of theirs that go, since a
    row of the other log stands for them.
    """
    named = [*ours.named(), *theirs.named()]
    seals = ours.proofs()
    left = {number: seal for number, seal in theirs.proofs().items() if seal not in seals.values()}
    lines = tuple(theirs.lines_after(ours.last_numbers))
    return LogMerge(
        lists=merge_lists(
            called_otherwise(ours.lists, instead[0]),
            called_otherwise(theirs.lists, instead[1]),
            REFERS,
            named,
            decide,
            same,
            ours.lists,
        ),
        lines=lines,
        again=tuple(_said_again(ours, theirs, lines)),
        rows={
            table: tuple(_missing(ours.every_row(table), theirs.every_row(table)))
            for table in _AS_THEY_ARE
        },
        words=(ours.confirmations(), theirs.confirmations()),
        cuts=_merge_cuts(ours, theirs, cut),
        proofs=len(left),
        other_proofs=tuple(number for number in left if number in seals),
    )


def _said_again(
    ours: MergeReader, theirs: MergeReader, lines: Sequence[Row]
) -> Iterator[tuple[EntryNumber, EntryNumber]]:
    """Find lines that come in and say what a line of ours says: a sheet that came to both units."""
    if not lines:
        return
    known = {work: number for number, work in ours.uncorrected().items()}
    there = theirs.uncorrected()
    for number in sorted(EntryNumber(row[0], row[1]) for row in lines):
        like = known.get(there[number]) if number in there else None
        if like is not None and like.origin != number.origin:
            yield number, like


def _missing(ours: Iterable[Any], theirs: Sequence[Any]) -> list[Any]:
    """Return what theirs has oftener than ours, in its order; of equal ones the last."""
    more = Counter(theirs) - Counter(ours)
    found = []
    for row in reversed(theirs):
        if more[row] > 0:
            more[row] -= 1
            found.append(row)
    return found[::-1]


def _merge_cuts(ours: MergeReader, theirs: MergeReader, keep: Keep | None) -> MergedCuts:
    known = {cut.shows for cut in ours.cuts.values()}
    new: dict[Shown, KeptCut] = {}
    for cut in theirs.cuts.values():
        if cut.shows not in known:
            new.setdefault(cut.shows, cut)
    own, other = ours.past_of_cuts(), theirs.past_of_cuts()
    is_apart = later(own, other) is Later.APART
    if is_apart and keep is None:
        conflict = CutConflict(ours.uses()[-1][0], theirs.uses()[-1][0])
        return MergedCuts(new=tuple(new.values()), conflict=conflict)
    now = later_value(own, other, other.said if keep is Keep.THEIRS else own.said)
    used_at = {theirs.cuts[version].shows: at for version, at in theirs.uses()}
    order = [*dict.fromkeys((*other.values, *own.values))]
    noted = to_be_noted(own, other, now)
    seen = [shown for shown in order for _ in range(noted[shown]) if shown != now]
    uses = [(shown, used_at.get(shown)) for shown in seen if shown is not None]
    again = noted[now] + (now != own.said)
    if now is not None and (uses or again):
        uses += [(now, used_at.get(now))] * max(1, again)
    return MergedCuts(new=tuple(new.values()), uses=tuple(uses), keep=keep if is_apart else None)


# --- writing


def write_merge(
    writer: LogWriter, merge: LogMerge, decisions: Sequence[ListCorrection], now: datetime
) -> Receipt:
    """Write what comes in: all of it, or nothing.

    decisions: what was decided of rows, and why. Raises what the log refuses.
    """
    driver = writer.driver
    with in_words(writer.folder / LOG_NAME):
        writer.takes_lines_of(merge.lines_by_origin())
        counts = _write_lists(driver, merge.lists.rows)
        if merge.lines:
            _insert_kept(driver, ENTRIES, LINE_COLUMNS, merge.lines)
            counts[ENTRIES] = TableCount(new=len(merge.lines))
        version = _write_cuts(driver, merge.cuts, now)
        for table, rows in merge.rows.items():
            columns = [name for name in RECORDS[table].columns if name != RECORDS[table].key]
            _insert_kept(driver, table, columns, rows)
        _insert_facts(driver, LIST_CORRECTIONS, decisions)
        _take_out(driver, merge.lists.rows)
        _note_seen(driver, merge.lists.rows, now)
        _write_words(driver, merge, now)
    receipt = Receipt(numbers=merge.numbers, counts=counts, cut_version=version)
    writer.receipts.append(receipt)
    return receipt


def _insert_kept(driver: Driver, table: str, columns: Sequence[str], rows: Sequence[Row]) -> None:
    """Insert rows that hold what is kept, as it is."""
    if rows:
        driver.executemany(insert_text(table, columns), rows)


def _insert_facts(driver: Driver, table: FactTable, facts: Sequence[Any]) -> None:
    if facts:
        rows = [table.values(fact) for fact in facts]
        columns = tuple(rows[0])
        insert_rows(driver, table.name, columns, [tuple(row.values()) for row in rows])


def _write_lists(driver: Driver, rows: Sequence[RowMerge]) -> dict[str, TableCount]:
    """Write rows that are new or say something else; a list comes after those that it names."""
    counts: dict[str, TableCount] = {}
    for table in FACT_TABLES:
        own = [row for row in rows if row.table == table.name and row.becomes != row.ours]
        new = [row.becomes for row in own if row.ours is None]
        changed = [row for row in own if row.ours is not None and row.becomes is not None]
        _insert_facts(driver, table, new)
        places = _places(driver, table) if changed else {}
        for row in changed:
            values = table.values(row.becomes)
            kept = [*_kept(table.name, values).values(), places[row.key]]
            driver.execute(update_text(table.name, list(values)), tuple(kept))
        if own:
            counts[table.name] = TableCount(len(new), len(own) - len(new))
    return counts


def _places(driver: Driver, table: FactTable) -> dict[Any, int]:
    return {table.key_of(table.values(fact)): place for place, fact in table.rows(driver)}


def _kept(table: str, values: Mapping[str, Any]) -> dict[str, Any]:
    """Return values of columns as they are kept."""
    return {name: next(iter(as_kept(table, name, [value]))) for name, value in values.items()}


def _take_out(driver: Driver, rows: Sequence[RowMerge]) -> None:
    """Take out the rows that the other log has voided; a list comes before those that it names."""
    for table in reversed(FACT_TABLES):
        gone = [row for row in rows if row.table == table.name and row.becomes is None and row.ours]
        if gone:
            places = _places(driver, table)
            driver.executemany(delete_text(table.name), [(places[row.key],) for row in gone])


def _note_seen(driver: Driver, rows: Sequence[RowMerge], now: datetime) -> None:
    """Note in the history what rows have said in either log: a change from a value to itself."""
    noted: list[Row] = []
    for row in rows:
        table = _BY_NAME[row.table]
        said = [
            fact for fact in (row.becomes, row.ours, row.theirs, *row.noted) if fact is not None
        ]
        for fact, times in row.noted.items():
            values = _kept(row.table, table.values(said[0] if fact is None else fact))
            own = {name: values[name] for name in RECORDS[row.table].said_columns}
            text = json.dumps(own, ensure_ascii=False, separators=(",", ":"))
            code = str(own[RECORDS[row.table].said_columns[0]])
            verb = "delete" if fact is None else "update"
            noted += [(row.table, code, verb, text, text, now)] * times
    if noted:
        columns = ("table_name", "code", "verb", "old_row", "new_row", "changed_at")
        insert_rows(driver, "history", columns, noted)


def _write_cuts(driver: Driver, cuts: MergedCuts, now: datetime) -> int | None:
    """Import the cuts behind those here, and use what is to be used. Returns the cut in use."""
    versions: dict[Shown, int] = {}
    known = cuts_of(driver)
    for version, cut in known.items():
        versions[cut.shows] = version
    for version, cut in enumerate(cuts.new, 1 + max(known, default=0)):
        versions[cut.shows] = version
        _insert_kept(driver, "cut_versions", ("version", *CUT_COLUMNS), [(version, *cut.row)])
        clips = [(version, *clip) for clip in cut.clips]
        _insert_kept(driver, "cut_clips", ("version", *CLIP_COLUMNS), clips)
    [used_now] = as_kept("cut_uses", "used_at", [now])
    uses = [(versions[shown], at or used_now) for shown, at in cuts.uses]
    _insert_kept(driver, "cut_uses", ("version", "used_at"), uses)
    return uses[-1][0] if uses else None


# --- words on how names are spelled


def _says(word: Confirmation) -> tuple[Any, ...]:
    return word.person, word.name, word.confirmed_on, word.is_right, word.confirmed_by


def _missing_words(
    ours: Sequence[Confirmation], theirs: Sequence[Confirmation]
) -> tuple[Confirmation, ...]:
    missing = Counter(_missing([_says(w) for w in ours], [_says(w) for w in theirs]))
    found = []
    for word in reversed(theirs):
        if missing[_says(word)] > 0:
            missing[_says(word)] -= 1
            found.append(word)
    return tuple(found[::-1])


def _write_words(driver: Driver, merge: LogMerge, now: datetime) -> None:
    """Write the words that are missing, and see that the last word on each name is the last one.

    A day that came into the list of people with a row has made the log write a word of its own,
    now: where it is not the last of those that people gave, that is said again.
    """
    ours, theirs = merge.words
    _insert_facts(driver, CONFIRMATIONS, _missing_words(CONFIRMATIONS.facts(driver), theirs))
    people = _BY_NAME["people"].facts(driver)
    one = one_person(people)

    def last(words: Iterable[Confirmation]) -> dict[str, Confirmation]:
        return {one.get(w.person, w.person): w for w in words}

    given = sorted({*ours, *theirs}, key=lambda w: (w.confirmed_on, w.written_at, repr(_says(w))))
    wanted = last(given)
    found = last(sorted(CONFIRMATIONS.facts(driver), key=lambda w: w.confirmed_on))
    again = []
    for person, word in wanted.items():
        is_last = found[person]
        if _says(is_last) != _says(word):
            after = max(now, is_last.written_at + timedelta(milliseconds=1))
            again.append(replace(word, written_at=after))
    _insert_facts(driver, CONFIRMATIONS, again)
