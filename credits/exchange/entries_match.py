"""Which entries of a load are new, which correct an entry of the log, and which are there already.

With a ``ref`` (compared with regard to case): the row is what the sheet now says under that key.

- It says what the log says, or what this key said when it was last loaded: nothing new. So a
  correction made by hand stands until the sheet itself changes.
- It says something else: an amendment of the line that counts now.
- The entry was voided: what it ever said stays voided; another content is a new entry.

Without a ``ref``: rows are matched one to one, by their whole content, with the entries that have
no ``ref`` either. An entry matches with everything it ever said, amended or voided since, so that a
sheet that was corrected by hand in the log does not come in a second time. Who logged it, and the
file and row, are not content.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from credits.exchange.entries_in import EntryRow
from credits.exchange.pairing import most_pairs
from credits.model.batch import NewLine, TableCount
from credits.model.facts import EntryNumber, Work
from credits.model.replay import current_lines
from credits.model.written import Verb, Written


@dataclass(slots=True)
class Chain:
    """An entry of the log with its corrections: all it ever said, and the line that counts (None
    when it is voided)."""

    record: Written
    lines: list[Written] = field(default_factory=list)
    counts: Written | None = None

    def last_loaded(self, ref: str) -> Work | None:
        """What the sheet said under this key when it was last loaded."""
        for line in reversed(self.lines):
            if line.ref == ref and line.source is not None:
                return line.work
        return None

    def ever_said(self) -> set[Work]:
        """Every content the entry ever had."""
        return {line.work for line in self.lines if line.work is not None}


def chains_of(lines: Sequence[Written]) -> list[Chain]:
    """Every entry ever recorded, by number, with its amendments in the order they were written."""
    chains: dict[EntryNumber, Chain] = {}
    corrects: dict[EntryNumber, EntryNumber] = {}
    for line in lines:
        if line.verb is Verb.RECORD:
            chains[line.number] = Chain(line, [line])
        elif line.corrects is not None:
            corrects[line.number] = line.corrects
    for line in lines:
        if line.verb is Verb.AMEND:
            at = line.number
            seen = {at}
            while at in corrects and corrects[at] not in seen:
                at = corrects[at]
                seen.add(at)
            if at in chains:
                chains[at].lines.append(line)
    for record, holds in current_lines(lines)[0]:
        chains[record.number].counts = holds
    for chain in chains.values():
        if len(chain.lines) > 2:
            chain.lines.sort(key=lambda line: (line.logged_at, line.number))
    return list(chains.values())


@dataclass(slots=True)
class EntryPlan:
    """The lines to append, and how many rows were new, changed and already there."""

    lines: list[NewLine] = field(default_factory=list)
    count: TableCount = field(default_factory=TableCount)


def plan_entries(rows: Sequence[EntryRow], lines: Sequence[Written]) -> EntryPlan:
    """The lines that a load of these rows appends, in the order of the rows."""
    chains = chains_of(lines)
    with_ref: dict[str, list[Chain]] = defaultdict(list)
    without: list[Chain] = []
    for chain in chains:
        refs = {line.ref for line in chain.lines if line.ref is not None}
        for ref in refs:
            with_ref[ref].append(chain)
        if not refs:
            without.append(chain)
    found: dict[int, NewLine] = {}
    changed = _by_ref(rows, with_ref, found)
    _by_content(rows, without, found)
    new = sum(line.verb is Verb.RECORD for line in found.values())
    plan = EntryPlan([found[at] for at in sorted(found)])
    plan.count = TableCount(new, changed, len(rows) - new - changed)
    return plan


def _line(verb: Verb, row: EntryRow, corrects: EntryNumber | None = None) -> NewLine:
    return NewLine(verb, row.work, corrects, row.logged_by, None, row.ref, row.source)


def _by_ref(
    rows: Sequence[EntryRow], known: dict[str, list[Chain]], found: dict[int, NewLine]
) -> int:
    """Plan the rows with a ``ref``; returns how many are amendments."""
    changed = 0
    first: dict[str, EntryRow] = {}
    for at, row in enumerate(rows):
        if row.ref is None:
            continue
        earlier = first.setdefault(row.ref, row)
        if earlier is not row:
            if earlier.work != row.work:
                what = f"{earlier.source} has the same ref with another content"
                row.rows.problem(row.index, "ref", row.ref, what, "Give each row its own ref.")
            continue
        line = _line_for_ref(row, known.get(row.ref, ()))
        if line is not None:
            found[at] = line
            changed += line.verb is Verb.AMEND
    return changed


def _line_for_ref(row: EntryRow, chains: Iterable[Chain]) -> NewLine | None:
    ref, work = row.ref, row.work
    assert ref is not None
    counting = [chain for chain in chains if chain.counts is not None]
    if not counting:
        voided_already = any(work in chain.ever_said() for chain in chains)
        return None if voided_already else _line(Verb.RECORD, row)
    if any(chain.counts and chain.counts.work == work for chain in counting):
        return None
    if any(chain.last_loaded(ref) == work for chain in counting):
        return None
    if len(counting) > 1:
        numbers = ", ".join(str(chain.counts.number) for chain in counting if chain.counts)
        what = f"this ref belongs to several entries ({numbers}), and the row is like none of them"
        row.rows.problem(row.index, "ref", ref, what, "Amend the right one by its number.")
        return None
    holds = counting[0].counts
    assert holds is not None
    return _line(Verb.AMEND, row, holds.number)


def _by_content(
    rows: Sequence[EntryRow], chains: Sequence[Chain], found: dict[int, NewLine]
) -> None:
    """Plan the rows without a ``ref``: pair as many as can be with what the log has."""
    waiting: dict[Work, int] = defaultdict(int)
    amended: list[set[Work]] = []
    for chain in chains:
        if len(chain.lines) == 1:
            # An entry that only ever said one thing can be paired with that content alone.
            waiting[chain.record.work] += 1  # type: ignore[index]
        else:
            amended.append(chain.ever_said())
    left: list[int] = []
    for at, row in enumerate(rows):
        if row.ref is None:
            if waiting.get(row.work):
                waiting[row.work] -= 1
            else:
                left.append(at)
    paired = most_pairs([rows[at].work for at in left], amended) if amended else frozenset()
    for position, at in enumerate(left):
        if position not in paired:
            found[at] = _line(Verb.RECORD, rows[at])
