"""What changed since a proof, and why: data of both sides compared, then told in sentences."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import NamedTuple, TypeVar

from credits.billing.credits import Credits, Held, Section
from credits.billing.proofs import credits_from_json, is_same
from credits.billing.reasons import in_words
from credits.model.facts import EntryNumber, Proof, ProofMark
from credits.model.ledger import Ledger
from credits.model.log import Change, LogLine, Verb
from credits.model.replay import back_to_record, grouped
from credits.model.words import in_sentence, numbers, some_of
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


@dataclass(frozen=True, slots=True, kw_only=True)
class CreditChange:
    """One change. ``person`` empty: a section changed. ``heading``: where it is now, or was.

    ``what``: one sentence. ``why``: the causes in words. ``entries``: lines of the log that were
    written since and are about the person.
    """

    kind: ChangeKind
    person: str = ""
    name: str = ""
    heading: str
    what: str
    why: tuple[str, ...] = ()
    entries: tuple[EntryNumber, ...] = ()

    @property
    def words(self) -> str:
        """The sentence and its causes: ``Ana moved from A to B. Why: the plan changed.``"""
        return f"{self.what} Why: {'; '.join(self.why)}."


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


class AsIf(NamedTuple):
    """The credits as they would be if one thing had stayed as it was at the proof.

    ``cause``: the thing, in words. ``entries``: it is the lines of the log. ``credits`` None: they
    cannot be compiled that way any more, and the cause is named wherever it may be one.
    """

    cause: str
    credits: Credits | None
    entries: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Since:
    """What was written since a proof: lines by the person they are about, changes of tables."""

    lines: Sequence[LogLine] = ()
    lines_of: Mapping[str, Sequence[LogLine]] = field(default_factory=dict)
    rows_of: Mapping[str, Sequence[Change]] = field(default_factory=dict)
    other_tables: Sequence[str] = ()
    as_if: tuple[AsIf, ...] = ()


def compare(proof: Proof, credits: Credits, plan: str, ledger: Ledger, found: Since) -> Comparison:
    """Find what is not as in the proof, and why; by ``ChangeKind``, then as in the credits.

    credits: those of the ledger by ``plan`` (its text, or the built-in plan's name).
    """
    before, now = Side(credits_from_json(proof.content), ledger), Side(credits, ledger)
    changes = [*_people_changes(before, now), *_order_changes(before, now)]
    changes += _section_changes(before, now)
    changes.sort(key=lambda change: tuple(ChangeKind).index(change.kind))
    others = [(one, Side(one.credits, ledger) if one.credits else None) for one in found.as_if]
    cut = ledger.cut.version if ledger.cut is not None else None
    told = tuple(_with_causes(change, now, found, others, ledger) for change in changes)
    return Comparison(proof.mark, is_same(proof, credits, plan, cut), told)


# --- both sides


@dataclass(frozen=True, slots=True)
class Spot:
    """A heading and the role opposite the name there; the same without regard to its case."""

    key: str
    role: str | None
    heading: str = field(compare=False)

    @property
    def words(self) -> str:
        """``'Voice' as 'Wick'``."""
        role = f" as {_role(self.role)}" if self.role else ""
        return f"{_shown(self.heading)}{role}"


class Side:
    """The credits of one side: by person spots, names, who is held; by folded heading the order."""

    def __init__(self, credits: Credits, ledger: Ledger) -> None:
        one = ledger.one_person
        # By heading without regard to case, and which of those that are called so.
        self.sections: dict[tuple[str, int], Section] = {}
        self.spots: dict[str, list[Spot]] = defaultdict(list)
        self.names: dict[str, list[str]] = defaultdict(list)
        self.held: dict[str, Held] = {}
        self.held_lines: dict[str, dict[str, Held]] = defaultdict(dict)
        self.order: dict[str, dict[str, None]] = defaultdict(dict)
        often: Counter[str] = Counter()
        for section in credits.sections:
            key = fold_words(section.heading)
            often[key] += 1
            self.sections[key, often[key]] = section
            for line in section.lines:
                person = one.get(line.person, line.person)
                self.spots[person].append(Spot(key, line.role, section.heading))
                self.names[person].append(line.name)
                self.order[key][person] = None
        for held in credits.held:
            person = one.get(held.person, held.person)
            self.held.setdefault(person, held)
            self.names[person].append(held.name)
        for held in credits.held_lines:
            person = one.get(held.person, held.person)
            self.held_lines[person][fold_words(held.heading)] = held

    def about(self, change: CreditChange) -> object:
        """Return what a change is about as it stands here: an order, sections as set, a person."""
        if change.kind is ChangeKind.ORDER:
            return list(self.order.get(fold_words(change.heading), ()))
        if not change.person:
            return [replace(section, lines=()) for section in self.sections.values()]
        held = self.held.get(change.person)
        held_lines = self.held_lines.get(change.person, {})
        return (
            self.spots.get(change.person, []),
            held.kind if held is not None else None,
            [(key, line.kind) for key, line in held_lines.items()],
        )


# --- what happened to people

GONE = "the log has no work and the crew list no engagement of this person any more"


def _people_changes(before: Side, now: Side) -> Iterator[CreditChange]:
    """Everything that happened to people, person by person."""
    for person in dict.fromkeys((*now.spots, *now.held, *before.spots, *before.held)):
        was, here = before.spots.get(person, []), now.spots.get(person, [])
        if was and here:
            told = _moves(was, here, now.held_lines.get(person, {}))
        else:
            told = _came_or_went(was, here, before.held.get(person), now.held.get(person))
        name, names = _name(person, before, now), before.names.get(person)
        yield from (_person_change(person, name, *one) for one in told)
        if (was or here) and names and name not in names:
            what = " and ".join(f"'{in_sentence(each)}'" for each in dict.fromkeys(names))
            what += f" is now spelled '{in_sentence(name)}'."
            kind, heading = ChangeKind.RESPELLED, here[0].heading if here else ""
            yield CreditChange(kind=kind, person=person, name=name, heading=heading, what=what)


def _name(person: str, before: Side, now: Side) -> str:
    return (now.names.get(person) or before.names[person])[0]


def _person_change(
    person: str, name: str, kind: ChangeKind, heading: str, rest: str
) -> CreditChange:
    what = f"{in_sentence(name)} {rest}"
    return CreditChange(kind=kind, person=person, name=name, heading=heading, what=what)


def _came_or_went(
    was: Sequence[Spot], here: Sequence[Spot], before: Held | None, held: Held | None
) -> Iterator[tuple[ChangeKind, str, str]]:
    """What happened to somebody who prints on one side at most: kind, heading, what of them."""
    headings = " and ".join(dict.fromkeys(_shown(spot.heading) for spot in (*was, *here)))
    if here:
        came = "is new," if before is None else f"was held ({before.reason}) and is now"
        yield ChangeKind.CAME, here[0].heading, f"{came} printed under {headings}."
    elif was:
        reason = GONE if held is None else f"held: {held.reason}"
        rest = f"is no longer printed (was under {headings}): {reason}.{_missing(held)}"
        yield ChangeKind.WENT, was[0].heading, rest
    elif held is None:
        yield ChangeKind.HELD, "", f"was held and is gone: {GONE}."
    elif before is None:
        yield ChangeKind.HELD, "", f"is new, and held: {held.reason}."
    elif before.kind is not held.kind:
        rest = f"is held for another reason: {held.reason} (before: {before.reason})."
        yield ChangeKind.HELD, "", rest


def _moves(
    was: Sequence[Spot], here: Sequence[Spot], held_lines: Mapping[str, Held]
) -> Iterator[tuple[ChangeKind, str, str]]:
    """What happened to somebody who prints on both sides."""
    left = list((Counter(was) - Counter(here)).elements())
    come = list((Counter(here) - Counter(was)).elements())
    for old in list(left):
        new = next((new for new in come if new.key == old.key), None)
        if new is not None:
            left.remove(old)
            come.remove(new)
            roles = f"{_role(new.role)} (before: {_role(old.role)})"
            rest = f"has another role under {_shown(new.heading)}: {roles}."
            yield ChangeKind.ROLE, new.heading, rest
    for old, new in zip(left, come, strict=False):
        rest = f"moved from {_shown(old.heading)} to {_shown(new.heading)}."
        yield ChangeKind.MOVED, new.heading, rest
    for new in come[len(left) :]:
        yield ChangeKind.CAME, new.heading, f"is now also printed under {new.words}."
    for old in left[len(come) :]:
        missing = _missing(held_lines.get(old.key))
        rest = f"is no longer printed under {old.words}, but elsewhere.{missing}"
        yield ChangeKind.WENT, old.heading, rest


def _order_changes(before: Side, now: Side) -> Iterator[CreditChange]:
    """Who stands in another place under a heading."""
    for key, order in now.order.items():
        heading = now.sections[key, 1].heading
        people = list(order)
        for person in moved_among(before.order.get(key, ()), people):
            place = people.index(person)
            ahead = in_sentence(_name(people[place - 1], before, now))
            where = f"behind {ahead}" if place else "first"
            rest = f"now stands {where} under {_shown(heading)}."
            name = _name(person, before, now)
            yield _person_change(person, name, ChangeKind.ORDER, heading, rest)


def moved_among(before: Iterable[T], after: Iterable[T]) -> list[T]:
    """Find the fewest items that were moved to turn one order into the other, in the new order.

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


def _shown(heading: str) -> str:
    return f"'{in_sentence(heading)}'" if heading else "no heading"


def _role(role: str | None) -> str:
    return f"'{in_sentence(role)}'" if role else "none"


def _missing(held: Held | None) -> str:
    """What somebody who is held was short of, behind a sentence."""
    return f" {in_words(held.because).threshold}".rstrip() if held is not None else ""


# --- what happened to sections


def _section_changes(before: Side, now: Side) -> Iterator[CreditChange]:
    """Sections that are new, set otherwise or in another place; those that are gone last."""
    moved = frozenset(moved_among(before.sections, now.sections))
    where = "first"
    told: list[tuple[Section, str]] = []
    for key, section in now.sections.items():
        old = before.sections.get(key)
        said = ["is new"] if old is None else list(_differences(old, section))
        if key in moved:
            said.append(f"now stands {where}")
        told += ((section, rest) for rest in said)
        where = f"behind {_shown(section.heading)}"
    told += ((old, "is gone") for key, old in before.sections.items() if key not in now.sections)
    for section, rest in told:
        what = f"The section {_shown(section.heading)} {rest}."
        yield CreditChange(kind=ChangeKind.SECTION, heading=section.heading, what=what)


def _differences(old: Section, new: Section) -> Iterator[str]:
    if old.heading != new.heading:
        yield f"was written {_shown(old.heading)}"
    if old.text != new.text:
        yield "has another text"
    if old.layout is not new.layout:
        yield f"is set as {new.layout} (before: {old.layout})"
    elif old.columns != new.columns:
        yield f"is set in {new.columns} columns (before: {old.columns})"


# --- why

# Changes of these tables are told of the person whose they are.
_OWN_TABLES = frozenset({"people", "engagements"})
_DAYS = {"starts_on": "first day", "ends_on": "last day"}


def since(
    lines: Sequence[LogLine],
    ledger: Ledger,
    log_lines: int,
    changes: Sequence[Change],
    as_if: tuple[AsIf, ...] = (),
) -> Since:
    """Find what was written behind the first lines of the log, and the changes of tables since.

    lines: those of the whole log; where there are no later ones, none are needed.
    """
    later, one = tuple(lines[log_lines:]), ledger.one_person
    by_number = {line.number: line for line in lines} if later else {}
    lines_of: dict[str, list[LogLine]] = defaultdict(list)
    for line in later:
        for person in _about(line, by_number, ledger):
            lines_of[person].append(line)
    own = [change for change in changes if change.table in _OWN_TABLES]
    return Since(
        lines=later,
        lines_of=lines_of,
        rows_of=grouped(own, lambda change: one.get(change.key, change.key)),
        other_tables=sorted({change.table for change in changes} - _OWN_TABLES),
        as_if=as_if,
    )


def _about(line: LogLine, by_number: Mapping[EntryNumber, LogLine], ledger: Ledger) -> set[str]:
    """Whose work the line says, or said before it was corrected."""
    _, *corrected = back_to_record(line, by_number)
    before = next((at.work for at in corrected if at.work is not None), None)
    people = {work.person for work in (line.work, before) if work is not None}
    return {ledger.one_person.get(person, person) for person in people}


def _with_causes(
    change: CreditChange,
    now: Side,
    found: Since,
    others: Sequence[tuple[AsIf, Side | None]],
    ledger: Ledger,
) -> CreditChange:
    """The change with its causes: the person's own rows, the log, the plan, the cut.

    ``others``: the credits as if one thing had stayed.
    """
    why = list(dict.fromkeys(_own_causes(change, found, ledger)))
    entries: tuple[EntryNumber, ...] = ()
    others = () if change.kind is ChangeKind.RESPELLED else others
    for as_if, other in others:
        if other is not None and other.about(change) == now.about(change):
            continue
        own = found.lines_of.get(change.person, ())
        if not as_if.entries:
            why.append(as_if.cause)
        elif own:
            why.append(_lines_words(own))
            entries = tuple(line.number for line in own)
        else:
            why.append(f"entries of others: {numbers([line.number for line in found.lines])}")
    if not why:  # no one thing alone is the cause
        if found.other_tables:
            why.append(f"the {some_of(found.other_tables)} changed")
        why += [as_if.cause for as_if, _ in others]
    why = why or ["credits are compiled in another way than when the proof was made"]
    return replace(change, why=tuple(why), entries=entries)


def _lines_words(lines: Sequence[LogLine]) -> str:
    """``new entries A-18 and A-20; A-3 amended by A-19``."""
    new = [line.number for line in lines if line.verb is Verb.RECORD]
    said = [f"new {'entry' if len(new) == 1 else 'entries'} {numbers(new)}"] if new else []
    for verb, did in ((Verb.AMEND, "amended"), (Verb.VOID, "voided")):
        own = [f"{line.corrects} {did} by {line.number}" for line in lines if line.verb is verb]
        said += [some_of(own)] if own else []
    return "; ".join(said)


def _own_causes(change: CreditChange, found: Since, ledger: Ledger) -> Iterator[str]:
    """What changed in the person's own rows, as far as it can make this change."""
    for row in found.rows_of.get(change.person, ()):
        yield from _row_words(row, change.kind)
    if change.kind is ChangeKind.RESPELLED and ledger.confirmed(change.person):
        word = ledger.confirmation(change.person)
        if word is not None:
            yield f"confirmed on {word.confirmed_on}"


def _row_words(row: Change, kind: ChangeKind) -> Iterator[str]:
    respelled, engaged = kind is ChangeKind.RESPELLED, row.table == "engagements"
    if row.verb == "insert":
        if engaged and not respelled:
            job = row.columns.get("job_title", (None, ""))[1]
            yield f"a new engagement as {in_sentence(str(job))}"
        return
    if row.verb == "delete":
        if engaged and not respelled:
            job = row.columns.get("job_title", ("", None))[0]
            yield f"the engagement as {in_sentence(str(job))} was voided"
        return
    for column, (old, new) in row.columns.items():
        if column in ("credit_name", "sort_name"):
            if kind in (ChangeKind.RESPELLED, ChangeKind.ORDER):
                yield _column_words(column, old, new)
        elif respelled:
            continue
        elif column == "credit_wish":
            yield f"the credit wish is now {new}"
        elif column == "same_as":
            yield f"{row.key} is {f'the same person as {new}' if new else 'a person apart'}"
        elif engaged:
            yield _column_words(column, old, new)


def _column_words(column: str, old: object, new: object) -> str:
    was, now = ("empty" if each is None else f"'{in_sentence(str(each))}'" for each in (old, new))
    return f"the {_DAYS.get(column, column.replace('_', ' '))} was {was} and is {now}"
