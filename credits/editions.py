"""Editions: who a site is built for, and which fields a page model may hold for them.

An edition is an allow-list. Every field of a page model says who sees it: ``Everyone[str]``,
``Crew[str]`` (crew and office) or ``Office[str]``. A field that says nothing is in no edition: the
model is refused before it is shown. What an edition does not see is replaced by the field's
default, so a field that not everyone sees must have one.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import MISSING, dataclass, fields, is_dataclass, replace
from enum import StrEnum
from functools import cache
from itertools import chain
from operator import is_
from types import UnionType
from typing import Annotated, Any, TypeVar, Union, get_args, get_origin, get_type_hints

T = TypeVar("T")


class Edition(StrEnum):
    """The audience of a site, from the one that sees least to the one that sees most."""

    PUBLIC = "public"
    CREW = "crew"
    OFFICE = "office"

    def sees(self, least: Edition) -> bool:
        """Tell whether what the least edition sees is in this edition too."""
        return _RANKS[self] >= _RANKS[least]


_RANKS = {edition: rank for rank, edition in enumerate(Edition)}


@dataclass(frozen=True, slots=True)
class SeenFrom:
    """The mark of a field: the least edition that sees it."""

    least: Edition


Everyone = Annotated[T, SeenFrom(Edition.PUBLIC)]
Crew = Annotated[T, SeenFrom(Edition.CREW)]
Office = Annotated[T, SeenFrom(Edition.OFFICE)]


class SeenInParts(ABC):
    """A value that says itself which of its parts an edition sees, such as a table."""

    __slots__ = ()

    @abstractmethod
    def seen_by(self, edition: Edition) -> Any:
        """Return the value with the parts that the edition sees."""


class UnmarkedFieldError(TypeError):
    """A page model has a field that names no edition, or hides one that has no default."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldRule:
    """What is known of a field of a page model. held: what its type hint lets it hold."""

    name: str
    least: Edition
    default: Any
    held: Any


@cache
def field_rules(model: Any) -> tuple[FieldRule, ...]:
    """Return the fields of a page model class with the least edition that sees each.

    Raises UnmarkedFieldError where one names no edition, or may be hidden and has no default.
    """
    hints = get_type_hints(model, include_extras=True)
    rules = []
    for field in fields(model):
        hint = hints[field.name]
        marks = [m for m in get_args(hint)[1:] if isinstance(m, SeenFrom)]
        if get_origin(hint) is not Annotated or len(marks) != 1:
            raise UnmarkedFieldError(f"{model.__name__}.{field.name} names no edition")
        least, held = marks[0].least, get_args(hint)[0]
        if least is not Edition.PUBLIC and field.default is MISSING:
            what = f"{model.__name__}.{field.name} may be hidden and has no default"
            raise UnmarkedFieldError(what)
        rules.append(FieldRule(name=field.name, least=least, default=field.default, held=held))
    return tuple(rules)


_PLAIN = frozenset({str, int, bool, float, type(None), ...})


def _is_plain(hint: Any, within: tuple[Any, ...]) -> bool:
    """Tell whether everyone sees all of what a type hint lets a field hold.

    within: the models in which the field is; one that holds itself is not plain.
    """
    if get_origin(hint) in (tuple, Union, UnionType):
        return all(_is_plain(part, within) for part in get_args(hint))
    if not is_dataclass(hint):
        return hint in _PLAIN
    model: Any = hint
    if model in within or issubclass(model, SeenInParts):
        return False
    return all(
        rule.least is Edition.PUBLIC and _is_plain(rule.held, (*within, model))
        for rule in field_rules(model)
    )


def cut_to(value: T, edition: Edition) -> T:
    """Return a value as the edition may hold it: a model, a tuple of them, a table, a plain value.

    Hidden fields of models are at their defaults, all the way down.
    """
    cut: T = _CUTS[edition].cut(value)
    return cut


Cutter = Callable[[Any], Any]


class _Cuts(dict[type, Cutter | None]):
    """What cuts the values of each class to an edition; None: they are seen as they are.

    It is found once for a class: which fields are hidden, and which of the others can hold anything
    that must be cut. A field holds what its type hint says.
    """

    def __init__(self, edition: Edition) -> None:
        super().__init__()
        self._edition = edition

    def __missing__(self, kind: type) -> Cutter | None:
        found = self[kind] = self._cutter_of(kind)
        return found

    def _cutter_of(self, kind: Any) -> Cutter | None:
        if issubclass(kind, tuple):
            return self._cut_tuple
        if issubclass(kind, SeenInParts):
            return lambda value: value.seen_by(self._edition)
        return self._cutter_of_model(kind) if is_dataclass(kind) else None

    def _cutter_of_model(self, model: Any) -> Cutter | None:
        rules = field_rules(model)
        hidden = {rule.name: rule.default for rule in rules if not self._edition.sees(rule.least)}
        seen = [rule for rule in rules if rule.name not in hidden]
        looked_into = [rule.name for rule in seen if not _is_plain(rule.held, (model,))]
        if not hidden and not looked_into:
            return None

        def cut(value: Any) -> Any:
            changes = dict(hidden)
            for name in looked_into:
                held = getattr(value, name)
                if (shown := self.cut(held)) is not held:
                    changes[name] = shown
            return replace(value, **changes) if changes else value

        return cut

    def _cut_tuple(self, value: tuple[Any, ...]) -> tuple[Any, ...]:
        kinds = set(map(type, value))
        if kinds == {tuple}:  # all that they hold is looked at in one step
            held = tuple(chain.from_iterable(value))
            if self._cut_tuple(held) is held:
                return value
        elif not any(self[kind] for kind in kinds):
            return value
        cut = tuple([self.cut(item) for item in value])
        return value if all(map(is_, value, cut)) else cut

    def cut(self, value: Any) -> Any:
        """Cut a value; one of which all is seen is returned as it is."""
        cutter = self[type(value)]
        return value if cutter is None else cutter(value)


_CUTS = {edition: _Cuts(edition) for edition in Edition}
