"""Editions: who a site is built for, and which fields a page model may hold for them.

An edition is an allow-list. Every field of a page model says who sees it: ``Everyone[str]``,
``Crew[str]`` (crew and office) or ``Office[str]``. A field that says nothing is in no edition: the
model is refused before it is shown. What an edition does not see is replaced by the field's
default, so a field that not everyone sees must have one.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields, is_dataclass, replace
from enum import StrEnum
from functools import cache
from operator import is_
from types import UnionType
from typing import Annotated, Any, TypeVar, get_args, get_origin, get_type_hints

T = TypeVar("T")


class Edition(StrEnum):
    """The audience of a site, from the one that sees least to the one that sees most."""

    PUBLIC = "public"
    CREW = "crew"
    OFFICE = "office"

    def sees(self, least: Edition) -> bool:
        """Tell whether what the least edition sees is in this edition too."""
        order = tuple(Edition)
        return order.index(self) >= order.index(least)


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
    """What is known of a field of a page model. plain: it holds nothing that must be cut."""

    name: str
    least: Edition
    default: Any
    plain: bool


_PLAIN = frozenset({str, int, bool, float, type(None)})


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
        kinds = get_args(held) if isinstance(held, UnionType) else (held,)
        plain = _PLAIN.issuperset(kinds)
        rules.append(FieldRule(name=field.name, least=least, default=field.default, plain=plain))
    return tuple(rules)


@cache
def _changes(model: Any, edition: Edition) -> tuple[Mapping[str, Any], tuple[str, ...]]:
    """What stands in hidden fields, and which of the seen fields must be looked into."""
    rules = field_rules(model)
    hidden = {rule.name: rule.default for rule in rules if not edition.sees(rule.least)}
    return hidden, tuple(rule.name for rule in rules if rule.name not in hidden and not rule.plain)


def cut_to(value: T, edition: Edition) -> T:
    """Return a value as the edition may hold it: a model, a tuple of them, a table, a plain value.

    Hidden fields of models are at their defaults, all the way down.
    """
    cut: T = _cut(value, edition)
    return cut


def _cut(value: Any, edition: Edition) -> Any:
    if isinstance(value, tuple):
        cut = tuple([_cut(item, edition) for item in value])
        return value if all(map(is_, value, cut)) else cut
    if isinstance(value, SeenInParts):
        return value.seen_by(edition)
    if not is_dataclass(value):
        return value
    model_class: Any = type(value)
    hidden, looked_into = _changes(model_class, edition)
    changes = dict(hidden)
    for name in looked_into:
        held = getattr(value, name)
        if (shown := _cut(held, edition)) is not held:
            changes[name] = shown
    return replace(value, **changes) if changes else value  # type: ignore[type-var]
