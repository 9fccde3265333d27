"""What differs between two credit plans, by section and key, and a plan with some of it undone."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import MISSING, dataclass, fields, replace
from enum import StrEnum
from typing import Any

from credits.billing.compared.edits import moved_among
from credits.billing.plan import CreditPlan, PlannedSection
from credits.billing.thresholds import Threshold
from credits.model.words import in_sentence, some_of
from credits.text import fold_words


class PlanEdit(StrEnum):
    """What is done to a plan."""

    SET = "set"
    NEW = "new"
    GONE = "gone"
    ORDER = "order"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanChange:
    """One difference. ``at``: the place of the section in the newer plan, of one that is gone in
    the older; None: it is of the plan as a whole. ``field``, ``old``, ``new``: a key and its
    values."""

    edit: PlanEdit
    at: int | None = None
    heading: str = ""
    field: str = ""
    old: Any = None
    new: Any = None

    @property
    def words(self) -> str:
        """``the plan: at least of the section 'Leads' was 'at least 20 seconds' and is ...``."""
        section = f"the section {_heading(self.heading)}"
        match self.edit:
            case PlanEdit.NEW:
                return f"the plan: {section} is new"
            case PlanEdit.GONE:
                return f"the plan: {section} is gone"
            case PlanEdit.ORDER:
                return "the plan: its sections stand in another order"
        of = "" if self.at is None else f" of {section}"
        field = _KEYS.get(self.field, self.field).replace("_", " ")
        if _is_of_rows(self.old) or _is_of_rows(self.new):
            return f"the plan: in the {field}{of} {_rows_words(self.old, self.new)}"
        return f"the plan: {field}{of} was {_value(self.old)} and is {_value(self.new)}"


# The keys of the file that are called otherwise than the fields.
_KEYS = {"excepted": "except", "names": "credited"}


def _heading(text: str) -> str:
    return f"'{in_sentence(text)}'" if text else "without a heading"


def _is_of_rows(value: Any) -> bool:
    """Whether a key holds rows that say several things each: lines of the plan's own, names."""
    return isinstance(value, tuple) and any(not isinstance(each, str) for each in value)


def _called(row: Any) -> str:
    """What a row is called by: its name, whose it is, its file; of a pair or a group its words."""
    if isinstance(row, tuple):
        return ", ".join(map(_value, row))
    for name in ("name", "person", "file"):
        if isinstance(word := getattr(row, name, None), str):
            return _value(word)
    return _value(str(row))


def _rows_words(old: Any, new: Any) -> str:
    """``'Rain' is new; 'Old socks' is another; 'The Snail' is gone``."""
    before, after = tuple(old or ()), tuple(new or ())
    come = dict.fromkeys(_called(row) for row in after if row not in before)
    gone = dict.fromkeys(_called(row) for row in before if row not in after)
    said = [f"{word} is {'another' if word in gone else 'new'}" for word in come]
    said += [f"{word} is gone" for word in gone if word not in come]
    return "; ".join(said) or "the order is another"


def _value(value: Any) -> str:
    if value is None or value in ("", ()):
        return "empty"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Threshold):
        return f"'{value.words}'"
    if isinstance(value, tuple):
        return some_of(map(_value, value))
    return f"'{in_sentence(str(value))}'"


OF_SECTIONS = tuple(field.name for field in fields(PlannedSection))
OF_THE_WHOLE = tuple(field.name for field in fields(CreditPlan) if field.name != "sections")


class PlanDifference:
    """Two plans, and what differs: ``changes``."""

    def __init__(self, old: CreditPlan, new: CreditPlan) -> None:
        self.old, self.new = old, new
        self._pairs = _paired(old.sections, new.sections)
        self.changes = tuple(self._changes())

    def _changes(self) -> Iterator[PlanChange]:
        for name in OF_THE_WHOLE:
            was, now = getattr(self.old, name), getattr(self.new, name)
            if was != now:
                yield PlanChange(edit=PlanEdit.SET, field=name, old=was, new=now)
        there = set(self._pairs.values())
        for to, section in enumerate(self.new.sections):
            if to not in there:
                yield PlanChange(edit=PlanEdit.NEW, at=to, heading=section.heading)
        for at, section in enumerate(self.old.sections):
            if at not in self._pairs:
                yield PlanChange(edit=PlanEdit.GONE, at=at, heading=section.heading)
        for at, to in self._pairs.items():
            old, new = self.old.sections[at], self.new.sections[to]
            for name in OF_SECTIONS:
                was, now = getattr(old, name), getattr(new, name)
                if was != now:
                    yield PlanChange(
                        edit=PlanEdit.SET,
                        at=to,
                        heading=new.heading,
                        field=name,
                        old=was,
                        new=now,
                    )
        if moved_among(self._pairs, sorted(self._pairs, key=self._pairs.__getitem__)):
            yield PlanChange(edit=PlanEdit.ORDER)

    def without(self, undone: Collection[PlanChange]) -> CreditPlan:
        """Return the newer plan with some of the changes undone; with all of them the older."""
        back = {to: at for at, to in self._pairs.items()}
        fields_of: dict[int | None, dict[str, Any]] = defaultdict(dict)
        gone, restored, in_order = set(), [], False
        for change in undone:
            match change.edit:
                case PlanEdit.SET:
                    fields_of[change.at][change.field] = change.old
                case PlanEdit.NEW:
                    gone.add(change.at)
                case PlanEdit.GONE:
                    restored.append(change.at)
                case PlanEdit.ORDER:
                    in_order = True
        # Each section with its place in the older plan, where it has one.
        placed: list[tuple[int | None, PlannedSection]] = [
            (back.get(to), replace(section, **fields_of.get(to, {})))
            for to, section in enumerate(self.new.sections)
            if to not in gone
        ]
        if in_order:
            placed = _in_the_old_order(placed)
        for at in sorted(place for place in restored if place is not None):
            before = [n for n, (own, _) in enumerate(placed) if own is not None and own < at]
            placed.insert(before[-1] + 1 if before else 0, (at, self.old.sections[at]))
        sections = tuple(section for _, section in placed)
        return replace(self.new, sections=sections, **fields_of.get(None, {}))


def _in_the_old_order(
    placed: Sequence[tuple[int | None, PlannedSection]],
) -> list[tuple[int | None, PlannedSection]]:
    """Sections of the older plan as they stood there; what is new stays where it is."""
    old = iter(sorted((own for own in placed if own[0] is not None), key=lambda own: own[0] or 0))
    return [own if own[0] is None else next(old) for own in placed]


def _paired(old: Sequence[PlannedSection], new: Sequence[PlannedSection]) -> dict[int, int]:
    """Which sections are the same: those called so, in their order; then those most alike."""
    called: dict[str, list[int]] = defaultdict(list)
    for to, section in enumerate(new):
        called[fold_words(section.heading)].append(to)
    pairs: dict[int, int] = {}
    for at, section in enumerate(old):
        if own := called.get(fold_words(section.heading)):
            pairs[at] = own.pop(0)
    taken = set(pairs.values())
    scored = [
        (-score, at, to)
        for at, section in enumerate(old)
        for to, other in enumerate(new)
        if at not in pairs and to not in taken and (score := _alike(section, other))
    ]
    for _, at, to in sorted(scored):
        if at not in pairs and to not in taken:
            pairs[at] = to
            taken.add(to)
    return dict(sorted(pairs.items()))


_USUAL = {field.name: field.default for field in fields(PlannedSection) if field.name != "heading"}
assert MISSING not in _USUAL.values()


def _alike(one: PlannedSection, other: PlannedSection) -> int:
    """How many keys say the same, of those that say something."""
    return sum(
        getattr(one, name) == getattr(other, name) != usual for name, usual in _USUAL.items()
    )
