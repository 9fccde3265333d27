"""Sheets that come again: which of their rows the log has, which changed, which are gone."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields
from datetime import UTC, datetime
from math import inf
from operator import attrgetter, itemgetter

from credits.formats.tables.entries import Chain, SheetEntry, chains_of, entry_of_key
from credits.formats.tables.lists import plain_cell
from credits.formats.tables.pairs import Likely, like_pairs, most_pairs
from credits.model.facts import EntryNumber, Work, said_by
from credits.model.log import LogLine, NewLine, TableCount, Verb
from credits.text import fold_code

CharacterOf = Callable[[Work], str | None]

_OTHER_WORK = attrgetter("craft", "person", "shot", "day")
"""Where one of these or the character would change, the row is about another piece of work."""

_COLUMNS = tuple(column.name for column in fields(Work))
_all_columns = attrgetter(*_COLUMNS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """What the caller of a load has decided.

    ``sheet``: the name by which the one sheet of entries is known, instead of the file's.
    ``amend``: changed rows amend their entries. ``again``: rows that are like an entry, or say
    what an entry of another sheet says, are new ones. ``void_missing``: why the entries are void
    that the sheet has no more; None: they stay.
    """

    sheet: str | None = None
    amend: bool = False
    again: bool = False
    void_missing: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RowOfEntry:
    """A row of a sheet, by its number, and the entry that says it."""

    row: int
    entry: EntryNumber


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangedRow(RowOfEntry):
    """A row that says something else than its entry. ``columns``: old and new text of each.

    ``other_work``: it is about another piece of work. ``is_written``: the entry says it now.
    """

    columns: Mapping[str, tuple[str, str]]
    other_work: bool
    is_written: bool


@dataclass(slots=True, kw_only=True)
class SheetReport:
    """What became of one sheet of entries.

    ``file`` is how findings name it, ``sheet`` the name by which it is known. ``new``: the entries
    that it adds. ``said_again``: rows that say what an entry of another sheet, or one logged by
    hand, says. ``corrected``: rows whose entries stay as they were corrected or voided by hand.
    ``gone``: its entries that it has no row for any more; ``voided``: they are void.
    ``needs_word``: nothing of the load is written before somebody says that it may change so much.
    """

    file: str
    sheet: str
    rows: int = 0
    same: int = 0
    new: list[RowOfEntry] = field(default_factory=list)
    changed: list[ChangedRow] = field(default_factory=list)
    said_again: list[RowOfEntry] = field(default_factory=list)
    corrected: list[RowOfEntry] = field(default_factory=list)
    gone: list[EntryNumber] = field(default_factory=list)
    voided: bool = False
    needs_word: bool = False

    @property
    def not_written(self) -> list[ChangedRow]:
        """The changed rows that were not written."""
        return [row for row in self.changed if not row.is_written]

    @property
    def count(self) -> TableCount:
        """How many rows are new, changed and written, and there already."""
        changed = sum(row.is_written for row in self.changed)
        same = self.same + len(self.said_again) + len(self.corrected)
        return TableCount(new=len(self.new), changed=changed, same=same)


class KnownEntries:
    """The entries that a sheet meets: those of the log, and what the sheets before it add.

    What sheets add is looked into when the next sheet comes: most loads are of one.

    origin: the letters under which the log numbers what is written.
    ``said``: the rows of this load that have keys of the production.
    """

    def __init__(self, lines: Sequence[LogLine], origin: str) -> None:
        self.said: dict[str, SheetEntry] = {}
        self._origin = origin
        own = (line.number.number for line in lines if line.number.origin == origin)
        self._last = max(own, default=0)
        epoch = datetime(1970, 1, 1, tzinfo=UTC)
        self._now = max((line.logged_at for line in lines), default=epoch)
        self._folded: dict[str | None, str | None] = {None: None}
        self._of_sheet: dict[str | None, list[Chain]] = defaultdict(list)
        # By the folded name of a sheet; None: keys of the production, and of what was typed.
        self._with_key: dict[str | None, dict[str, list[Chain]]] = defaultdict(dict)
        self._chains = chains_of(lines)
        self._numbered: dict[EntryNumber, Chain] | None = None
        self._saying: dict[Work, list[Chain]] | None = None
        self._added: list[tuple[EntryNumber, NewLine]] = []
        for chain in self._chains:
            self._let_be_found(chain)

    def _let_be_found(self, chain: Chain, start: int = 0) -> None:
        """Let a chain be found by what its lines say, from a position on."""
        sheets: set[str | None] = {None}
        if start:
            sheets.update(self._fold(line.sheet) for line in chain.lines[:start])
        for line in chain.lines[start:]:
            sheet = self._fold(line.sheet)
            if sheet not in sheets:
                sheets.add(sheet)
                self._of_sheet[sheet].append(chain)
            if line.ref is not None:
                is_of_all = line.ref.startswith("=")
                with_key = self._with_key[None if is_of_all else sheet]
                chains = with_key.setdefault(line.ref, [])
                if chain not in chains:
                    chains.append(chain)
            if self._saying is not None:
                self._let_be_found_by_work(self._saying, chain, line)

    def _let_be_found_by_work(
        self, saying: dict[Work, list[Chain]], chain: Chain, line: LogLine
    ) -> None:
        if line.work is not None:
            chains = saying[line.work]
            if not chains or chains[-1] is not chain:
                chains.append(chain)

    def _fold(self, sheet: str | None) -> str | None:
        if sheet not in self._folded:
            assert sheet is not None
            self._folded[sheet] = fold_code(sheet)
        return self._folded[sheet]

    @property
    def is_empty(self) -> bool:
        """Whether there is no entry that a row could meet."""
        return not self._chains and not self._added

    def of_sheet(self, sheet: str) -> list[Chain]:
        """Return the entries that a sheet said, in their order."""
        self._take_in()
        return list(self._of_sheet.get(sheet, ()))

    def with_key(self, sheet: str | None, ref: str) -> Sequence[Chain]:
        """Return the entries of a row's key; of a day sheet's, the entry that the row shows."""
        self._take_in()
        is_of_all = ref.startswith("=")
        chains = self._with_key[None if is_of_all else sheet].get(ref)
        if chains is None and is_of_all and (number := entry_of_key(ref)) is not None:
            if self._numbered is None:
                self._numbered = {chain.number: chain for chain in self._chains}
            chains = [self._numbered[number]] if number in self._numbered else None
        return chains or ()

    def saying(self, work: Work) -> Sequence[Chain]:
        """Return the entries that say this, or once said it."""
        self._take_in()
        if self._saying is None:
            saying: dict[Work, list[Chain]] = defaultdict(list)
            for chain in self._chains:
                for line in chain.lines:
                    self._let_be_found_by_work(saying, chain, line)
            self._saying = saying
        return self._saying.get(work, ())

    def add(self, line: NewLine, chain: Chain | None = None) -> EntryNumber:
        """Add a line as it will be written, to an entry or as a new one; return its number."""
        self._last += 1
        number = EntryNumber(self._origin, self._last)
        if chain is None:
            self._added.append((number, line))
            return number
        self._take_in()
        written = line.written(number, self._now)
        if line.verb is Verb.VOID:
            chain.counts, chain.void = None, written
            return number
        chain.lines.append(written)
        chain.counts = written
        self._let_be_found(chain, len(chain.lines) - 1)
        return number

    def _take_in(self) -> None:
        """Let what was added as new be found."""
        if not self._added:
            return
        added, self._added = self._added, []
        for number, line in added:
            written = line.written(number, self._now)
            chain = Chain([written], written)
            self._chains.append(chain)
            if self._numbered is not None:
                self._numbered[number] = chain
            self._let_be_found(chain)


def line_by_hand(row: SheetEntry, lines: Sequence[LogLine]) -> NewLine | None:
    """Return the line that a row appends which was typed, not loaded; None: it is said already.

    lines: those that may have its ``ref``, which is a key among what was logged by hand.
    """
    line = NewLine(verb=Verb.RECORD, work=row.work, ref=row.ref, logged_by=row.logged_by)
    if row.ref is None:
        return line
    chains = KnownEntries(lines, "").with_key(None, row.ref)
    counting = [chain.counts for chain in chains if chain.counts is not None]
    if any(holds.work == row.work for holds in counting):
        return None
    if not counting:
        is_void = any(row.work in chain.ever_said() for chain in chains)
        return None if is_void else line
    if len(counting) > 1:
        _say_several(row, row.ref, chains)
        return None
    amends: dict[str, object] = {"verb": Verb.AMEND, "corrects": counting[0].number}
    return NewLine(**{**said_by(line), **amends})


def _say_several(row: SheetEntry, ref: str, chains: Iterable[Chain]) -> None:
    numbers = ", ".join(str(chain.counts.number) for chain in chains if chain.counts)
    what = f"this ref belongs to several entries ({numbers}), and the row is like none of them"
    row.rows.problem(row.at, "ref", ref, what, "Amend the right one by its number.")


def plan_sheet(
    rows: Sequence[SheetEntry],
    report: SheetReport,
    known: KnownEntries,
    choices: Choices,
    character_of: CharacterOf,
) -> list[NewLine]:
    """Plan the lines that one sheet appends, in the order of its rows; ``known`` has them then.

    report: the sheet's, which is filled in.
    """
    plan = _SheetPlan(rows, report, known, choices, character_of)
    plan.match_refs()
    plan.match_content()
    plan.match_likeness()
    return plan.lines()


class _SheetPlan:
    """One sheet beside the entries that are known: what each row is."""

    def __init__(
        self,
        rows: Sequence[SheetEntry],
        report: SheetReport,
        known: KnownEntries,
        choices: Choices,
        character_of: CharacterOf,
    ) -> None:
        self._rows = rows
        self._report = report
        self._known = known
        self._choices = choices
        self._character_of = character_of
        self._sheet = fold_code(report.sheet)
        # What the sheet itself made void is as if it had never been.
        of_sheet = known.of_sheet(self._sheet)
        self._own = [chain for chain in of_sheet if not self._made_void(chain)]
        self._met: set[Chain] = set()
        self._rest: list[int] = []
        self._by_ref: dict[int, Chain] = {}
        self._like: dict[int, Chain] = {}
        self._place_of: dict[Chain, int] = {}
        report.rows = len(rows)

    def _made_void(self, chain: Chain) -> bool:
        """Whether it is void because a sheet had no row for it any more."""
        return chain.counts is None and chain.void is not None and chain.void.sheet is not None

    def _row_number(self, at: int) -> int:
        row = self._rows[at]
        return row.rows.sheet.numbers[row.at]

    def _met_by(self, at: int, chain: Chain) -> RowOfEntry:
        return RowOfEntry(row=self._row_number(at), entry=chain.number)

    # --- by their own key

    def match_refs(self) -> None:
        """Find the entries of the rows that have a ``ref`` which was loaded before."""
        first: dict[str, SheetEntry] = {}
        for at, row in enumerate(self._rows):
            if row.ref is None:
                self._rest.append(at)
                continue
            # A key of the production says one thing in a load, whatever file it stands in.
            own = self._known.said if row.ref.startswith("=") else first
            earlier = own.setdefault(row.ref, row)
            if earlier is row:
                chains = self._known.with_key(self._sheet, row.ref)
                chains = [chain for chain in chains if not self._made_void(chain)]
                self._met.update(chains)
                if chains:
                    self._match_ref(at, row, row.ref, chains)
                else:
                    self._rest.append(at)
            elif earlier.work == row.work:
                self._report.same += 1
            else:
                what = f"{earlier.source} has the same ref with another content"
                row.rows.problem(row.at, "ref", row.ref, what, "Give each row its own ref.")

    def _match_ref(self, at: int, row: SheetEntry, ref: str, chains: list[Chain]) -> None:
        counting = [chain for chain in chains if chain.counts is not None]
        for chain in counting:
            if chain.counts is not None and chain.counts.work == row.work:
                self._report.same += 1
                return
        for chain in counting:
            if chain.last_loaded(ref, self._sheet) == row.work:
                self._report.corrected.append(self._met_by(at, chain))
                return
        if not counting:
            stays = [chain for chain in chains if row.work in chain.ever_said()]
            if stays:
                self._report.corrected.append(self._met_by(at, stays[-1]))
                return
        if len(counting) > 1:
            _say_several(row, ref, counting)
            return
        self._by_ref[at] = (counting or chains)[-1]

    # --- by what they say

    def match_content(self) -> None:
        """Find the entries that say what a row says: the sheet's own, then all others."""
        if not self._rest or self._known.is_empty:
            return
        left = self._match_single()
        own = [chain for chain in self._own if chain not in self._met]
        works = {self._rows[at].work for at in left} if own else set()
        own = [chain for chain in own if not works.isdisjoint(chain.ever_said())]
        offered = [self._offer(chain, works) for chain in own]
        of_own: Mapping[int, int] = {}
        if own:
            of_own = most_pairs(self._wanted(left), offered, self._said_now(left, own))
        others, left, of_own = self._match_others(left, of_own)
        offered += [{(keyed, work) for keyed in (True, False) for work in chain.ever_said()}
                    for chain in others]  # fmt: skip
        pairs = most_pairs(self._wanted(left), offered, of_own) if others else of_own
        for position, offer in sorted(pairs.items()):
            at = left[position]
            if offer < len(own):
                self._meet(at, own[offer])
            else:
                self._say_again(at, others[offer - len(own)])
        self._rest = [at for position, at in enumerate(left) if position not in pairs]

    def _wanted(self, rows: Sequence[int]) -> list[tuple[bool, Work]]:
        return [(self._rows[at].ref is not None, self._rows[at].work) for at in rows]

    def _offer(self, chain: Chain, works: set[Work]) -> set[tuple[bool, Work]]:
        keyed = (False,) if chain.has_key_in(self._sheet) else (True, False)
        return {(key, work) for key in keyed for work in chain.ever_said() & works}

    def _match_others(
        self, left: Sequence[int], pairs: Mapping[int, int]
    ) -> tuple[list[Chain], list[int], dict[int, int]]:
        """Pair rows that no entry of this sheet says with those of others that say one thing.

        Returns the others that may be paired yet, and the rows and pairs that are left.
        """
        spare: dict[Work, list[Chain]] = {}
        more: dict[Chain, None] = {}
        rows: list[int] = []
        kept: dict[int, int] = {}
        for position, at in enumerate(left):
            work = self._rows[at].work
            saying = () if self._choices.again else self._known.saying(work)
            if saying and work not in spare:
                spare[work] = []
                for chain in reversed(saying):
                    if chain.is_of(self._sheet) or self._made_void(chain):
                        continue
                    if len(chain.lines) == 1 and chain.counts is not None:
                        spare[work].append(chain)
                    else:
                        more[chain] = None
            if saying and position not in pairs and spare[work]:
                self._say_again(at, spare[work].pop())
                continue
            if position in pairs:
                kept[len(rows)] = pairs[position]
            rows.append(at)
        others = [*(chain for chains in spare.values() for chain in chains), *more]
        others.sort(key=lambda chain: (chain.counts is None, chain.number))
        return others, rows, kept

    def _match_single(self) -> list[int]:
        """Pair rows with entries that only ever said one thing; return the rows that are left.

        Such an entry can be paired with that content alone, so it may be taken at once.
        """
        # Whether they have a key, what they say, and the entries, the first one last.
        waiting: dict[bool, dict[Work | None, list[Chain]]] = {True: {}, False: {}}
        for chain in reversed(self._own):
            if len(chain.lines) == 1 and chain not in self._met:
                saying = waiting[chain.has_key_in(self._sheet)]
                saying.setdefault(chain.lines[0].work, []).append(chain)
        if not any(waiting.values()):
            return self._rest
        left = []
        for at in self._rest:
            row = self._rows[at]
            for keyed in (False,) if row.ref is not None else (True, False):
                if waiting[keyed] and (own := waiting[keyed].get(row.work)):
                    self._meet(at, own.pop())
                    break
            else:
                left.append(at)
        return left

    def _said_now(self, left: Sequence[int], own: Sequence[Chain]) -> dict[int, int]:
        """Pair rows with what entries say now, before what they once said."""
        now: dict[Work | None, list[int]] = defaultdict(list)
        for offer, chain in reversed(list(enumerate(own))):
            if chain.counts is not None and not chain.has_key_in(self._sheet):
                now[chain.counts.work].append(offer)
        return {
            position: now[self._rows[at].work].pop()
            for position, at in enumerate(left)
            if now.get(self._rows[at].work)
        }

    def _meet(self, at: int, chain: Chain) -> None:
        """Note that an entry of this sheet is the row's."""
        self._met.add(chain)
        self._place_of[chain] = at
        holds = chain.counts
        if holds is not None and holds.work == self._rows[at].work:
            self._report.same += 1
        elif holds is not None and holds.sheet and fold_code(holds.sheet) == self._sheet:
            self._like[at] = chain  # the sheet itself said otherwise in the meantime
        else:
            self._report.corrected.append(self._met_by(at, chain))

    def _say_again(self, at: int, chain: Chain) -> None:
        holds = chain.counts
        is_said = holds is not None and holds.work == self._rows[at].work
        into = self._report.said_again if is_said else self._report.corrected
        into.append(self._met_by(at, chain))

    # --- by likeness

    def match_likeness(self) -> None:
        """Find the entries of this sheet that the rows left over are changed from."""
        left = [chain for chain in self._own if chain.counts is not None and chain not in self._met]
        if left and self._rest and (self._choices.amend or not self._choices.again):
            entries = [self._likely(chain) for chain in left]
            for position, offer in like_pairs(self._likely_rows(), entries).items():
                self._like[self._rest[position]] = left[offer]
            self._met.update(self._like.values())
            self._rest = [at for at in self._rest if at not in self._like]
        self._report.gone = [
            chain.number
            for chain in left
            if chain not in self._met and not _is_of_a_day_sheet(chain, self._sheet)
        ]

    def _likely(self, chain: Chain) -> Likely:
        assert chain.counts is not None
        assert chain.counts.work is not None
        last = [line.work for line in chain.lines if line.sheet and line.work]
        works = tuple(dict.fromkeys([chain.counts.work, *last[-1:]]))
        keyed = chain.has_key_in(self._sheet)
        return Likely(works=works, keyed=keyed, at=chain.number.number)

    def _likely_rows(self) -> list[Likely]:
        """The rows that are left; each between the entries of the nearest rows that have one."""
        met = sorted((at, chain.number.number) for chain, at in self._place_of.items())
        places = [at for at, _ in met]
        rows = []
        for at in self._rest:
            row, before = self._rows[at], bisect_left(places, at)
            place = met[before - 1][1] if before else -1
            until = met[before][1] if before < len(met) else inf
            rows.append(
                Likely(
                    works=(row.work,),
                    keyed=row.ref is not None,
                    at=place,
                    until=until if met else None,
                )
            )
        return rows

    # --- what is written

    def lines(self) -> list[NewLine]:
        """Return what is appended: new and changed rows in their order, then what is void."""
        report, choices = self._report, self._choices
        # A key of the production says which entry is meant, however many of them change.
        of_sheet = sum(not (self._rows[at].ref or "").startswith("=") for at in self._by_ref)
        many = of_sheet > 1 and 4 * of_sheet > report.rows
        keyed = ((at, chain) for at, chain in self._by_ref.items() if not choices.amend)
        report.needs_word = any(many or self._is_other_work(at, chain) for at, chain in keyed)
        like = {**self._like, **self._by_ref, **dict.fromkeys(self._rest)}
        lines: list[NewLine] = []
        for at, chain in sorted(like.items(), key=itemgetter(0)):
            is_written = choices.amend or (at in self._by_ref and not report.needs_word)
            if chain is not None and (chain.counts is not None or not is_written):
                report.changed.append(self._change(at, chain, is_written))
                if not is_written:
                    continue
            # An entry that was voided by hand stays void: what its row says now is a new one.
            holds = chain.counts if chain is not None else None
            line = self._line(at, holds)
            number = self._known.add(line, chain if holds is not None else None)
            lines.append(line)
            if holds is None:
                report.new.append(RowOfEntry(row=self._row_number(at), entry=number))
        if choices.void_missing is not None and report.gone:
            report.voided = True
            gone = set(report.gone)
            for chain in [chain for chain in self._own if chain.number in gone]:
                assert chain.counts is not None
                void = NewLine(
                    verb=Verb.VOID,
                    corrects=chain.counts.number,
                    why=choices.void_missing,
                    sheet=report.sheet,
                )
                self._known.add(void, chain)
                lines.append(void)
        return lines

    def _line(self, at: int, corrects: LogLine | None = None) -> NewLine:
        row = self._rows[at]
        return NewLine(
            verb=Verb.RECORD if corrects is None else Verb.AMEND,
            work=row.work,
            corrects=None if corrects is None else corrects.number,
            logged_by=row.logged_by,
            ref=row.ref,
            source=row.source,
            sheet=self._report.sheet,
        )

    def _change(self, at: int, chain: Chain, is_written: bool = False) -> ChangedRow:
        holds = chain.counts or chain.lines[-1]
        assert holds.work is not None
        old, new = _all_columns(holds.work), _all_columns(self._rows[at].work)
        columns = {
            column: (plain_cell(before), plain_cell(after))
            for column, before, after in zip(_COLUMNS, old, new, strict=True)
            if before != after
        }
        return ChangedRow(
            row=self._row_number(at),
            entry=chain.number,
            columns=columns,
            other_work=self._is_other_work(at, chain),
            is_written=is_written,
        )

    def _is_other_work(self, at: int, chain: Chain) -> bool:
        old, new = (chain.counts or chain.lines[-1]).work, self._rows[at].work
        assert old is not None
        is_other = _OTHER_WORK(old) != _OTHER_WORK(new)
        return is_other or self._character_of(old) != self._character_of(new)


def _is_of_a_day_sheet(chain: Chain, sheet: str) -> bool:
    """Whether a sheet only says it by keys of the production: such a sheet is one of many."""
    return any(
        line.ref is not None and line.ref.startswith("=")
        for line in chain.lines
        if line.sheet and fold_code(line.sheet) == sheet
    )
