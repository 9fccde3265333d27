"""What has to be edited in one compilation of the credits so that it becomes another.

The edits are data. They are none exactly when both print the same, and applying them to the one
gives the other. Every field of the credits, of a section, a line and of who is held is compared,
but for those that never print: a field that is added later is compared by itself.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict, deque
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from enum import StrEnum
from typing import Any, TypeVar

from credits.billing.compared.likeness import pairs_by_likeness, section_pairings
from credits.billing.credits import Credits, Held, Line, Section
from credits.text import fold_words

T = TypeVar("T", bound=Hashable)
Fact = TypeVar("Fact", Credits, Section, Line, Held)

NEVER_PRINT = frozenset({"characters", "because", "considered"})
"""Why a line stands where it stands, and by what it was ordered."""
HOLDING = frozenset({"sections", "lines", "held", "held_lines"})
"""Fields that hold what has edits of its own."""


class EditKind(StrEnum):
    """What is done."""

    SET = "set"
    ADDED = "added"
    REMOVED = "removed"
    MOVED = "moved"


class EditOf(StrEnum):
    """What it is done to."""

    CREDITS = "credits"
    SECTION = "section"
    LINE = "line"
    HELD = "held"
    HELD_LINE = "held line"


At = tuple[int, ...]
"""Of a section, or of somebody held, the place from 0; of a line that of its section, and its own
in it; of the credits themselves none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CreditEdit:
    """One edit. ``at``: where it is before, ``to``: where it is afterwards; None: it is not there.

    ``field``, ``old``, ``new``: which field is set, and its values; of what is added or removed
    ``new`` or ``old`` is the whole (a section without its lines, which have their own edits).
    """

    kind: EditKind
    of: EditOf
    at: At | None = None
    to: At | None = None
    field: str = ""
    old: Any = None
    new: Any = None


_COMPARED: dict[type, tuple[str, ...]] = {
    kind: tuple([f.name for f in fields(kind) if f.name not in NEVER_PRINT | HOLDING])
    for kind in (Credits, Section, Line, Held)
}


def compared_fields(kind: type) -> tuple[str, ...]:
    """Return the fields of a class of which each value is compared."""
    return _COMPARED[kind]


def printed_alone(credits: Credits) -> Credits:
    """Return the credits without the reasons: what prints, and who does not."""

    def bare(held: Iterable[Held]) -> tuple[Held, ...]:
        return tuple([replace(one, because=()) for one in held])

    lines = (
        tuple([replace(line, characters=(), because=()) for line in section.lines])
        for section in credits.sections
    )
    pairs = zip(credits.sections, lines, strict=True)
    return replace(
        credits,
        sections=tuple([replace(section, lines=own) for section, own in pairs]),
        held=bare(credits.held),
        held_lines=bare(credits.held_lines),
        considered=(),
    )


def edits_between(
    before: Credits, after: Credits, one_person: Mapping[str, str] | None = None
) -> tuple[CreditEdit, ...]:
    """Find the edits that make one compilation the other, few where the difference is small.

    one_person: for codes that are one human being the code of that being. A title that one of both
    does not give, since it was not frozen in earlier times, is not compared.
    """
    before, after = printed_alone(before), printed_alone(after)
    if not (before.title and after.title):
        before, after = replace(before, title=""), replace(after, title="")
    if before == after:
        return ()
    one = one_person or {}
    found = (
        tuple(_Comparer(before, after, one, pairing).edits())
        for pairing in section_pairings(before.sections, after.sections, one)
    )
    return min(found, key=len)


# --- what is one and the same on both sides

Key = Hashable | None
Cell = tuple[At, Any]


def _pair_up(
    old: dict[At, Any],
    new: dict[At, Any],
    passes: Iterable[tuple[Callable[[At, Any], Key], Callable[[At, Any], Key]]],
) -> dict[At, At]:
    """Pair what has the same key, pass by pass; a key None pairs with nothing."""
    pairs: dict[At, At] = {}
    old, new = dict(old), dict(new)
    for of_old, of_new in passes:
        waiting: dict[Key, deque[At]] = defaultdict(deque)
        for to, value in new.items():
            if (key := of_new(to, value)) is not None:
                waiting[key].append(to)
        for at, value in list(old.items()):
            if (key := of_old(at, value)) is not None and waiting.get(key):
                pairs[at] = to = waiting[key].popleft()
                del old[at], new[to]
    return pairs


def _row(values: Iterable[Any]) -> dict[At, Any]:
    return {(n,): value for n, value in enumerate(values)}


def _places(sections: Sequence[Section]) -> dict[At, Line]:
    return {(s, n): line for s, own in enumerate(sections) for n, line in enumerate(own.lines)}


class _Comparer:
    """Compares two compilations, of which some sections are one and the same."""

    def __init__(
        self, before: Credits, after: Credits, one: Mapping[str, str], pairing: Mapping[int, int]
    ) -> None:
        self._before, self._after, self._one = before, after, one
        self._sections = dict(pairing)
        self._back = {to: at for at, to in pairing.items()}

    def edits(self) -> Iterator[CreditEdit]:
        """Yield the edits: of the credits, the sections, the lines, and of who is held."""
        before, after = self._before, self._after
        yield from _set(EditOf.CREDITS, (), (), before, after)
        sections: dict[At, At] = {(at,): (to,) for at, to in self._sections.items()}
        yield from _edits_of(
            EditOf.SECTION,
            _row(replace(own, lines=()) for own in before.sections),
            _row(replace(own, lines=()) for own in after.sections),
            sections,
            sections,
        )
        lines = self._lines()
        yield from _edits_of(
            EditOf.LINE,
            _places(before.sections),
            _places(after.sections),
            lines,
            {at: to for at, to in lines.items() if self._sections.get(at[0]) == to[0]},
        )
        for of, old, new in (
            (EditOf.HELD, before.held, after.held),
            (EditOf.HELD_LINE, before.held_lines, after.held_lines),
        ):
            held = self._held(old, new)
            yield from _edits_of(of, _row(old), _row(new), held, held)

    def _who(self, person: str) -> str:
        return self._one.get(person, person)

    def _held(self, old: Sequence[Held], new: Sequence[Held]) -> dict[At, At]:
        def under(_: At, held: Held) -> Key:
            return self._who(held.person), fold_words(held.heading)

        def person(_: At, held: Held) -> Key:
            return self._who(held.person)

        return _pair_up(_row(old), _row(new), [(under, under), (person, person)])

    def _lines(self) -> dict[At, At]:
        """Pair the lines: a person's own, in the same section if they can be; then by name."""
        values = {name: name for name in compared_fields(Line)}

        def here(at: At) -> Key:
            return self._sections.get(at[0])

        def there(to: At) -> Key:
            return to[0] if to[0] in self._back else None

        def who(line: Line) -> Key:
            if line.person:
                return self._who(line.person)
            return "", line.named, fold_words(line.name)

        def same(line: Line) -> Key:
            return tuple(getattr(line, name) for name in values)

        def kept(own: Callable[[Line], Key]) -> tuple[Callable[..., Key], Callable[..., Key]]:
            def key(place: Key, line: Line) -> Key:
                found = own(line)
                return None if place is None or found is None else (place, found)

            return (lambda at, line: key(here(at), line), lambda to, line: key(there(to), line))

        def anywhere(own: Callable[[Line], Key]) -> tuple[Callable[..., Key], Callable[..., Key]]:
            return (lambda _, line: own(line), lambda _, line: own(line))

        old, new = _places(self._before.sections), _places(self._after.sections)
        passes = [
            kept(same),
            kept(lambda line: (who(line), line.role)),
            kept(who),
            anywhere(lambda line: (who(line), line.role)),
            anywhere(who),
            # Somebody of another code who is called the same, or what nearly is.
            kept(lambda line: (bool(line.person), line.name)),
        ]
        pairs = _pair_up(old, new, passes)
        taken = set(pairs.values())
        for section, to in self._sections.items():
            left = {at: line for at, line in old.items() if at[0] == section and at not in pairs}
            right = {at: line for at, line in new.items() if at[0] == to and at not in taken}
            pairs |= pairs_by_likeness(
                {at: line.name for at, line in left.items() if not line.person},
                {at: line.name for at, line in right.items() if not line.person},
            )
        return pairs


def _set(of: EditOf, at: At, to: At, old: Fact, new: Fact) -> Iterator[CreditEdit]:
    for name in compared_fields(type(old)):
        was, now = getattr(old, name), getattr(new, name)
        if was != now:
            yield CreditEdit(kind=EditKind.SET, of=of, at=at, to=to, field=name, old=was, new=now)


def _edits_of(
    of: EditOf,
    old: Mapping[At, Any],
    new: Mapping[At, Any],
    pairs: Mapping[At, At],
    near: Mapping[At, At],
) -> Iterator[CreditEdit]:
    """The edits of things that are paired. near: pairs that stand in the same section."""
    for at, to in pairs.items():
        yield from _set(of, at, to, old[at], new[to])
    yield from (
        CreditEdit(kind=EditKind.REMOVED, of=of, at=at, old=value)
        for at, value in old.items()
        if at not in pairs
    )
    there = set(pairs.values())
    yield from (
        CreditEdit(kind=EditKind.ADDED, of=of, to=to, new=value)
        for to, value in new.items()
        if to not in there
    )
    moved = {at for at in pairs if at not in near}
    together: dict[At, list[At]] = defaultdict(list)
    for at in sorted(near):
        together[at[:-1]].append(at)
    for own in together.values():
        moved.update(moved_among(own, sorted(own, key=near.__getitem__)))
    for at in sorted(moved, key=pairs.__getitem__):
        yield CreditEdit(kind=EditKind.MOVED, of=of, at=at, to=pairs[at])


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


def sections_kept(
    edits: Iterable[CreditEdit], before: Credits, after: Credits
) -> Mapping[int, int]:
    """Return where the sections of the older side are in the newer one: it follows from the edits.

    Those that are gone are not in it.
    """
    own = [edit for edit in edits if edit.of is EditOf.SECTION]
    gone = {e.at[0] for e in own if e.at and e.kind is EditKind.REMOVED}
    moved = {e.at[0]: e.to[0] for e in own if e.at and e.to and e.kind is EditKind.MOVED}
    new = {e.to[0] for e in own if e.to and e.kind is EditKind.ADDED} | set(moved.values())
    stays = (n for n in range(len(before.sections)) if n not in gone and n not in moved)
    places = (n for n in range(len(after.sections)) if n not in new)
    return {**dict(zip(stays, places, strict=True)), **moved}


# --- applied


def apply(edits: Iterable[CreditEdit], before: Credits) -> Credits:
    """Make the edits. Raises ValueError where one does not fit what is there.

    What never prints is left as it is where it stays; what is added brings nothing of it.
    """
    own: dict[EditOf, list[CreditEdit]] = defaultdict(list)
    for edit in edits:
        own[edit.of].append(edit)
    made = _with(before, own[EditOf.CREDITS])
    sections = _row(before.sections)
    lines = _edited(_places(before.sections), own[EditOf.LINE])
    order = _order(sections, own[EditOf.SECTION])
    edited = _edited(sections, own[EditOf.SECTION])
    here: dict[int, list[At]] = defaultdict(list)
    gone = {edit.at for edit in own[EditOf.LINE] if edit.kind in (EditKind.REMOVED, EditKind.MOVED)}
    for place in lines:
        if place not in gone:
            here[place[0]].append(place)
    come: dict[int, dict[int, Line]] = defaultdict(dict)
    for edit in own[EditOf.LINE]:
        if edit.to is not None and edit.kind in (EditKind.ADDED, EditKind.MOVED):
            line = edit.new if edit.at is None else lines[edit.at]
            come[edit.to[0]][edit.to[1]] = line
    whole = []
    for to, (at, new) in enumerate(order):
        section: Section = new if at is None else edited[at]
        stays = [] if at is None else [lines[each] for each in here[at[0]]]
        whole.append(replace(section, lines=tuple(_merged(stays, come[to]))))
    return replace(
        made,
        sections=tuple(whole),
        held=_applied(before.held, own[EditOf.HELD]),
        held_lines=_applied(before.held_lines, own[EditOf.HELD_LINE]),
    )


def _with(value: Fact, edits: Iterable[CreditEdit]) -> Fact:
    values = {}
    for edit in edits:
        if getattr(value, edit.field) != edit.old:
            raise ValueError(f"{edit.field} is not {edit.old!r}")
        values[edit.field] = edit.new
    return replace(value, **values) if values else value


def _edited(values: Mapping[At, Any], edits: Iterable[CreditEdit]) -> dict[At, Any]:
    """The values with their fields set, at their places before."""
    own: dict[At, list[CreditEdit]] = defaultdict(list)
    for edit in edits:
        if edit.kind is EditKind.SET and edit.at is not None:
            own[edit.at].append(edit)
    return {at: _with(value, own.get(at, ())) for at, value in values.items()}


def _merged(stays: Sequence[T], come: Mapping[int, T]) -> Iterator[T]:
    """What stays, in its order, around what comes to given places."""
    rest = iter(stays)
    for place in range(len(stays) + len(come)):
        if place in come:
            yield come[place]
        else:
            yield next(rest)


def _order(values: Mapping[At, Any], edits: Sequence[CreditEdit]) -> list[tuple[At | None, Any]]:
    """Where everything stood before that now stands in order; or what is new there."""
    gone = {edit.at for edit in edits if edit.kind in (EditKind.REMOVED, EditKind.MOVED)}
    come: dict[int, tuple[At | None, Any]] = {
        edit.to[0]: (edit.at, edit.new)
        for edit in edits
        if edit.to is not None and edit.kind in (EditKind.ADDED, EditKind.MOVED)
    }
    stays: list[tuple[At | None, Any]] = [(at, None) for at in values if at not in gone]
    return list(_merged(stays, come))


def _applied(before: Sequence[Held], edits: Sequence[CreditEdit]) -> tuple[Held, ...]:
    values = _row(before)
    edited = _edited(values, edits)
    return tuple(new if at is None else edited[at] for at, new in _order(values, edits))
