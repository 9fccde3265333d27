"""A proof against the credits as they stand: who came, went, moved, was respelled; and why."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence

from credits.compute.check_words import one_line
from credits.compute.credit_lines import Credits, Held, Section
from credits.compute.proof import is_same, thawed
from credits.compute.proof_causes import Since, with_causes
from credits.compute.proof_changes import (
    ChangeKind,
    Comparison,
    CreditChange,
    moved_among,
    shown,
    with_role,
)
from credits.compute.proof_sections import section_changes
from credits.model.facts import Proof
from credits.model.ledger import Ledger
from credits.text import fold_words

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
    then = thawed(proof.content)
    one_person = ledger.one_person
    people = _Comparing(_Side(then, one_person), _Side(credits, one_person))
    bare = [*people.changes(), *section_changes(then, credits)]
    bare.sort(key=lambda change: tuple(ChangeKind).index(change.kind))
    changes = tuple(with_causes(change, credits, found, ledger) for change in bare)
    cut = ledger.cut.version if ledger.cut is not None else None
    return Comparison(proof.mark, is_same(proof, credits, plan, cut), changes)
