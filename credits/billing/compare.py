"""What changed since a proof, and why."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeVar

from credits.billing.credits import Credits, Held, Section
from credits.billing.proof import credits_from_json, is_same
from credits.model.facts import EntryNumber, Proof, ProofMark
from credits.model.ledger import Ledger
from credits.model.log import Change, LogLine, Verb, WrittenLog
from credits.model.words import numbers, one_line, some_of
from credits.text import fold_words

T = TypeVar("T", bound=Hashable)


class ChangeKind(StrEnum):
    """What happened, in the order in which changes are told."""

    CAME = "came"
    WENT = "went"
    MOVED = "moved"
    ROLE = "role"
    RESPELLED = "respelled"
    ORDER = "order"
    HELD = "held"
    SECTION = "section"


@dataclass(frozen=True, slots=True)
class CreditChange:
    """One change. ``person`` empty: a section changed. ``heading``: where it is now, or was.

    ``what``: one sentence. ``why``: the causes in words. ``entries``: lines of the log that were
    written since and are about the person.
    """

    kind: ChangeKind
    person: str
    name: str
    heading: str
    what: str
    why: tuple[str, ...] = ()
    entries: tuple[EntryNumber, ...] = ()

    @property
    def words(self) -> str:
        """The sentence and its causes: ``Ana moved from A to B. Why: the plan changed.``"""
        return f"{self.what} Why: {'; '.join(self.why)}." if self.why else self.what


@dataclass(frozen=True, slots=True)
class Comparison:
    """A proof against the credits as they stand. ``same``: exactly those, by plan and cut too."""

    mark: ProofMark
    same: bool
    changes: tuple[CreditChange, ...]

    @property
    def rows(self) -> tuple[tuple[str, str, str], ...]:
        """The changes as a table: kind, name, what happened and why."""
        return tuple((str(c.kind), c.name or c.heading, c.words) for c in self.changes)


def shown(heading: str) -> str:
    """A heading as it stands in a sentence."""
    return f"'{one_line(heading)}'" if heading else "no heading"


def with_role(role: str | None) -> str:
    """A role as it stands in a sentence."""
    return f"'{one_line(role)}'" if role else "none"


def moved_among(before: Sequence[T], after: Iterable[T]) -> list[T]:
    """The fewest items that were moved to turn one order into the other, in the new order.

    Only items that are in both orders, each once, are looked at: what stays is a longest
    increasing subsequence of the old places (Schensted 1961).
    """
    places = {item: place for place, item in enumerate(before)}
    items = [item for item in dict.fromkeys(after) if item in places]
    ends: list[int] = []  # the lowest place that ends a run of each length
    lengths: list[int] = []
    for item in items:
        length = bisect_left(ends, places[item])
        ends[length : length + 1] = [places[item]]
        lengths.append(length)
    stays: set[T] = set()
    wanted = len(ends) - 1
    for item, length in zip(reversed(items), reversed(lengths), strict=True):
        if length == wanted:
            stays.add(item)
            wanted -= 1
    return [item for item in items if item not in stays]


Key = tuple[str, int]
"""A heading without regard to case, and which of those that are called so."""


def _by_key(credits: Credits) -> dict[Key, Section]:
    often: Counter[str] = Counter()
    sections: dict[Key, Section] = {}
    for section in credits.sections:
        name = fold_words(section.heading)
        often[name] += 1
        sections[name, often[name]] = section
    return sections


def section_changes(then: Credits, now: Credits) -> Iterator[CreditChange]:
    """Sections that are new, gone, called or set otherwise, with another text or in another place;
    in the order of the credits as they stand, those that are gone last."""
    before, after = _by_key(then), _by_key(now)
    moved = frozenset(moved_among(list(before), after))
    previous: Section | None = None
    for key, section in after.items():
        old = before.get(key)
        if old is None:
            yield _change(section, "is new")
        else:
            yield from _differences(old, section)
        if key in moved:
            where = "first" if previous is None else f"behind {shown(previous.heading)}"
            yield _change(section, f"now stands {where}")
        previous = section
    for key, section in before.items():
        if key not in after:
            yield _change(section, "is gone")


def _change(section: Section, rest: str) -> CreditChange:
    what = f"The section {shown(section.heading)} {rest}."
    return CreditChange(ChangeKind.SECTION, "", "", section.heading, what)


def _differences(old: Section, new: Section) -> Iterator[CreditChange]:
    if old.heading != new.heading:
        yield _change(new, f"was written {shown(old.heading)}")
    if old.text != new.text:
        yield _change(new, "has another text")
    if old.layout is not new.layout:
        yield _change(new, f"is set as {new.layout} (before: {old.layout})")
    elif old.columns != new.columns:
        yield _change(new, f"is set in {new.columns} columns (before: {old.columns})")


# Changes of these tables are told of the person whose they are.
_OWN_TABLES = frozenset({"people", "engagements"})
_PLAIN_COLUMNS = {
    "credit_name": "the credit name",
    "sort_name": "the sort name",
    "department": "the department",
    "job_title": "the job title",
    "guaranteed_heading": "the guaranteed heading",
    "billing_number": "the billing number",
    "starts_on": "the first day",
    "ends_on": "the last day",
}


@dataclass(frozen=True, slots=True)
class AsIf:
    """The credits as they would be if one thing had stayed as it was at the proof.

    ``cause``: the thing, in words. ``entries``: it is the lines of the log. ``credits`` None: they
    cannot be compiled that way any more, and the cause is named wherever it may be one.
    """

    cause: str
    credits: Credits | None
    entries: bool = False


@dataclass(frozen=True, slots=True)
class Since:
    """What was written since a proof: lines by the person they are about, changes of tables."""

    lines: tuple[LogLine, ...]
    lines_of: Mapping[str, tuple[LogLine, ...]]
    rows_of: Mapping[str, tuple[Change, ...]]
    other_tables: tuple[str, ...]
    as_if: tuple[AsIf, ...] = ()


def since(
    written: WrittenLog,
    ledger: Ledger,
    log_lines: int,
    changes: Sequence[Change],
    as_if: tuple[AsIf, ...] = (),
) -> Since:
    """What was written behind the first ``log_lines`` lines, and the changes of tables since."""
    later = written.lines[log_lines:]
    by_number = {line.number: line for line in written.lines} if later else {}
    lines_of: dict[str, dict[EntryNumber, LogLine]] = defaultdict(dict)
    for line in later:
        for person in _about(line, by_number, ledger):
            lines_of[person][line.number] = line
    rows_of: dict[str, list[Change]] = defaultdict(list)
    others: dict[str, None] = {}
    for change in changes:
        if change.table in _OWN_TABLES:
            rows_of[ledger.one_person.get(change.key, change.key)].append(change)
        else:
            others[change.table] = None
    return Since(
        later,
        {person: tuple(own.values()) for person, own in lines_of.items()},
        {person: tuple(own) for person, own in rows_of.items()},
        tuple(sorted(others)),
        as_if,
    )


def _about(line: LogLine, by_number: Mapping[EntryNumber, LogLine], ledger: Ledger) -> set[str]:
    """Whose work the line says, or said before it was corrected."""
    people: set[str] = set()
    at: LogLine | None = line
    seen: set[EntryNumber] = set()
    while at is not None and at.number not in seen:
        seen.add(at.number)
        if at.work is not None:
            people.add(ledger.one_person.get(at.work.person, at.work.person))
            if at is not line:
                break
        at = by_number.get(at.corrects) if at.corrects is not None else None
    return people


def with_causes(change: CreditChange, now: Credits, found: Since, ledger: Ledger) -> CreditChange:
    """The change with its causes: the person's own rows, the log, the plan, the cut."""
    own = found.lines_of.get(change.person, ())
    why = list(_rows(change, found, ledger))
    entries: tuple[EntryNumber, ...] = ()
    for as_if in found.as_if:
        if change.kind is ChangeKind.RESPELLED or not _differs(change, now, as_if.credits):
            continue
        if not as_if.entries:
            why.append(as_if.cause)
        elif own:
            why.append(_lines_words(own))
            entries = tuple(line.number for line in own)
        else:
            why.append(f"entries of others: {numbers([line.number for line in found.lines])}")
    if not why:
        why = _exempt(change, found)
    return CreditChange(
        change.kind, change.person, change.name, change.heading, change.what, tuple(why), entries
    )


def _exempt(change: CreditChange, found: Since) -> list[str]:
    """What may be the cause where no one thing alone is."""
    why = [f"the {some_of(found.other_tables)} changed"] if found.other_tables else []
    if change.kind is not ChangeKind.RESPELLED:
        why += [as_if.cause for as_if in found.as_if]
    return why or ["credits are compiled in another way than when the proof was made"]


def _differs(change: CreditChange, now: Credits, other: Credits | None) -> bool:
    """Whether the change, or a part of it, would not be there in the other credits."""
    if other is None:
        return True
    if change.kind is ChangeKind.ORDER:
        return _sequence(now, change.heading) != _sequence(other, change.heading)
    if not change.person:
        return _sections(now) != _sections(other)
    return _standing(now, change.person) != _standing(other, change.person)


def _sequence(credits: Credits, heading: str) -> list[str]:
    key = fold_words(heading)
    return [x.person for s in credits.sections if fold_words(s.heading) == key for x in s.lines]


def _sections(credits: Credits) -> list[tuple[object, ...]]:
    return [(s.heading, s.layout, s.columns, s.text) for s in credits.sections]


def _standing(credits: Credits, person: str) -> tuple[object, ...]:
    lines = [(fold_words(section.heading), line.role) for section, line in credits.lines_of(person)]
    held = [
        (h.heading, h.reason) for h in (*credits.held, *credits.held_lines) if h.person == person
    ]
    return (lines, held)


def _lines_words(lines: Sequence[LogLine]) -> str:
    """``new entries A-18 and A-20; A-3 amended by A-19``."""
    said = []
    new = [line.number for line in lines if line.verb is Verb.RECORD]
    if new:
        said.append(f"new {'entry' if len(new) == 1 else 'entries'} {numbers(new)}")
    for verb, did in ((Verb.AMEND, "amended"), (Verb.VOID, "voided")):
        own = [f"{line.corrects} {did} by {line.number}" for line in lines if line.verb is verb]
        if own:
            said.append(some_of(own))
    return "; ".join(said)


def _rows(change: CreditChange, found: Since, ledger: Ledger) -> list[str]:
    """What changed in the person's own rows, as far as it can make this change."""
    if not change.person:
        return []
    why: dict[str, None] = {}
    for row in found.rows_of.get(change.person, ()):
        for words in _row_words(row, change.kind):
            why[words] = None
    word = ledger.confirmation(change.person)
    if change.kind is ChangeKind.RESPELLED and word is not None and ledger.confirmed(change.person):
        why[f"confirmed on {word.confirmed_on}"] = None
    return list(why)


def _row_words(row: Change, kind: ChangeKind) -> list[str]:
    spelling = kind in (ChangeKind.RESPELLED, ChangeKind.ORDER)
    if row.table == "engagements":
        if spelling and kind is not ChangeKind.ORDER:
            return []
        if row.verb == "insert":
            job = row.columns.get("job_title", (None, ""))[1]
            return [f"a new engagement as {one_line(str(job))}"]
        return [_column_words(column, *values) for column, values in row.columns.items()]
    if row.verb == "insert":
        return []
    said = []
    for column, (old, new) in row.columns.items():
        if column in ("credit_name", "sort_name"):
            if spelling:
                said.append(_column_words(column, old, new))
        elif kind is ChangeKind.RESPELLED:
            continue
        elif column == "credit_wish":
            said.append(f"the credit wish is now {new}")
        elif column == "same_as":
            said.append(f"{row.key} is {f'the same person as {new}' if new else 'a person apart'}")
    return said


def _column_words(column: str, old: object, new: object) -> str:
    name = _PLAIN_COLUMNS.get(column, column)
    return f"{name} was {_value(old)} and is {_value(new)}"


def _value(value: object) -> str:
    return "empty" if value is None else f"'{one_line(str(value))}'"


Spot = tuple[str, str | None]
"""A heading, and the role opposite the name there."""

GONE = "the log has no work and the crew list no engagement of this person any more"


class _Side:
    """The credits of one side, by person: where they stand, how they are spelled, who is held."""

    def __init__(self, credits: Credits, one_person: Mapping[str, str]) -> None:
        self.spots: dict[str, list[Spot]] = defaultdict(list)
        self.names: dict[str, dict[str, None]] = defaultdict(dict)
        self.held: dict[str, Held] = {}
        self.held_lines: dict[tuple[str, str], Held] = {}
        self.order: dict[str, list[str]] = defaultdict(list)
        self.headings: dict[str, str] = {}
        for section in credits.sections:
            self._take(section, one_person)
        for held in credits.held:
            person = one_person.get(held.person, held.person)
            self.held.setdefault(person, held)
            self.names[person][held.name] = None
        for held in credits.held_lines:
            person = one_person.get(held.person, held.person)
            self.held_lines[person, fold_words(held.heading)] = held

    def _take(self, section: Section, one_person: Mapping[str, str]) -> None:
        key = fold_words(section.heading)
        self.headings.setdefault(key, section.heading)
        for line in section.lines:
            person = one_person.get(line.person, line.person)
            self.spots[person].append((section.heading, line.role))
            self.names[person][line.name] = None
            self.order[key].append(person)


def _key(spot: Spot) -> tuple[str, str | None]:
    return fold_words(spot[0]), spot[1]


def _left(own: Sequence[Spot], other: Sequence[Spot]) -> list[Spot]:
    """The spots of one side that the other does not have."""
    there = Counter(map(_key, other))
    left = []
    for spot in own:
        if there[_key(spot)] > 0:
            there[_key(spot)] -= 1
        else:
            left.append(spot)
    return left


class _Comparing:
    """Finds what happened to people between two sides."""

    def __init__(self, before: _Side, now: _Side) -> None:
        self._before = before
        self._now = now

    def changes(self) -> Iterator[CreditChange]:
        """Everything that happened to people, person by person, then the order of the headings."""
        before, now = self._before, self._now
        people = dict.fromkeys((*now.spots, *now.held, *before.spots, *before.held))
        for person in people:
            yield from self._of(person)
        for key, order in now.order.items():
            yield from self._moved_within(key, order)

    def _name(self, person: str) -> str:
        return next(iter(self._now.names.get(person) or self._before.names[person]))

    def _change(self, kind: ChangeKind, person: str, heading: str, rest: str) -> CreditChange:
        name = self._name(person)
        return CreditChange(kind, person, name, heading, f"{one_line(name)} {rest}")

    def _of(self, person: str) -> Iterator[CreditChange]:
        was = self._before.spots.get(person, [])
        now = self._now.spots.get(person, [])
        if was and now:
            yield from self._both(person, was, now)
        elif now:
            yield self._came(person, now)
        elif was:
            yield self._went(person, was)
        else:
            yield from self._never_printed(person)
        yield from self._respelled(person, bool(was), bool(now))

    def _came(self, person: str, now: Sequence[Spot]) -> CreditChange:
        headings = " and ".join(dict.fromkeys(shown(heading) for heading, _ in now))
        held = self._before.held.get(person)
        rest = f"is new, printed under {headings}."
        if held is not None:
            rest = f"was held ({held.reason}) and is now printed under {headings}."
        return self._change(ChangeKind.CAME, person, now[0][0], rest)

    def _went(self, person: str, was: Sequence[Spot]) -> CreditChange:
        headings = " and ".join(dict.fromkeys(shown(heading) for heading, _ in was))
        held = self._now.held.get(person)
        reason = GONE if held is None else " ".join(filter(None, ("held:", held.reason)))
        more = f" {held.because.threshold}" if held and held.because.threshold else ""
        rest = f"is no longer printed (was under {headings}): {reason}.{more}"
        return self._change(ChangeKind.WENT, person, was[0][0], rest)

    def _never_printed(self, person: str) -> Iterator[CreditChange]:
        was, now = self._before.held.get(person), self._now.held.get(person)
        if was is None and now is not None:
            rest = f"is new, and held: {now.reason}."
        elif now is None and was is not None:
            rest = f"was held and is gone: {GONE}."
        elif was is not None and now is not None and was.reason != now.reason:
            rest = f"is held for another reason: {now.reason} (before: {was.reason})."
        else:
            return
        yield self._change(ChangeKind.HELD, person, "", rest)

    def _both(
        self, person: str, was: Sequence[Spot], now: Sequence[Spot]
    ) -> Iterator[CreditChange]:
        left, come = _left(was, now), _left(now, was)
        for old in list(left):
            same = next((new for new in come if fold_words(new[0]) == fold_words(old[0])), None)
            if same is not None:
                left.remove(old)
                come.remove(same)
                rest = (
                    f"has another role under {shown(same[0])}: {with_role(same[1])}"
                    f" (before: {with_role(old[1])})."
                )
                yield self._change(ChangeKind.ROLE, person, same[0], rest)
        for (old_heading, _), (heading, _) in zip(left, come, strict=False):
            rest = f"moved from {shown(old_heading)} to {shown(heading)}."
            yield self._change(ChangeKind.MOVED, person, heading, rest)
        for heading, role in come[len(left) :]:
            as_role = f" as {with_role(role)}" if role else ""
            rest = f"is now also printed under {shown(heading)}{as_role}."
            yield self._change(ChangeKind.CAME, person, heading, rest)
        for heading, role in left[len(come) :]:
            as_role = f" as {with_role(role)}" if role else ""
            held = self._now.held_lines.get((person, fold_words(heading)))
            more = f" {held.because.threshold}" if held and held.because.threshold else ""
            rest = f"is no longer printed under {shown(heading)}{as_role}, but elsewhere.{more}"
            yield self._change(ChangeKind.WENT, person, heading, rest)

    def _respelled(self, person: str, was: bool, now: bool) -> Iterator[CreditChange]:
        before = self._before.names.get(person)
        name = self._name(person)
        if (was or now) and before and name not in before:
            old = " and ".join(f"'{one_line(each)}'" for each in before)
            heading = self._now.spots[person][0][0] if now else ""
            what = f"{old} is now spelled '{one_line(name)}'."
            yield CreditChange(ChangeKind.RESPELLED, person, name, heading, what)

    def _moved_within(self, key: str, order: Sequence[str]) -> Iterator[CreditChange]:
        people = list(dict.fromkeys(order))
        heading = self._now.headings[key]
        for person in moved_among(list(dict.fromkeys(self._before.order.get(key, ()))), people):
            place = people.index(person)
            where = "first" if not place else f"behind {one_line(self._name(people[place - 1]))}"
            rest = f"now stands {where} under {shown(heading)}."
            yield self._change(ChangeKind.ORDER, person, heading, rest)


def compare(proof: Proof, credits: Credits, plan: str, ledger: Ledger, found: Since) -> Comparison:
    """What is not as in the proof, in words, and why.

    ``credits`` are those of the ledger by ``plan`` (its text, or the built-in plan's name);
    ``found``: what was written since. In the order of ``ChangeKind``, then of the credits.
    """
    then = credits_from_json(proof.content)
    one_person = ledger.one_person
    people = _Comparing(_Side(then, one_person), _Side(credits, one_person))
    bare = [*people.changes(), *section_changes(then, credits)]
    bare.sort(key=lambda change: tuple(ChangeKind).index(change.kind))
    changes = tuple(with_causes(change, credits, found, ledger) for change in bare)
    cut = ledger.cut.version if ledger.cut is not None else None
    return Comparison(proof.mark, is_same(proof, credits, plan, cut), changes)
