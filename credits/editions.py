"""Editions: who a site is built for, and which fields a page model may hold for them.

An edition is an allow-list. Every field of a page model says who sees it: ``Everyone[str]``,
``Crew[str]`` (crew and office) or ``Office[str]``. A field that says nothing is in no edition: the
model is refused before it is shown. What an edition does not see is replaced by the field's
default, so a field that not everyone sees must have one.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import MISSING, dataclass, fields, is_dataclass, replace
from enum import StrEnum
from functools import cache
from operator import is_
from types import UnionType
from typing import Annotated, Any, TypeVar, get_args, get_origin, get_type_hints

T = TypeVar("T")


class Edition(StrEnum):
    """The audience of a site."""

    PUBLIC = "public"
    CREW = "crew"
    OFFICE = "office"

    @property
    def rank(self) -> int:
        """How much it sees: 0 public, 1 crew, 2 office."""
        return (Edition.PUBLIC, Edition.CREW, Edition.OFFICE).index(self)

    def sees(self, least: Edition) -> bool:
        """Whether what ``least`` sees is in this edition too."""
        return self.rank >= least.rank


_EDITIONS = tuple(Edition)


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


class UnmarkedField(TypeError):
    """A page model has a field that names no edition, or hides one that has no default."""


@dataclass(frozen=True, slots=True)
class _FieldRule:
    name: str
    least_rank: int
    hidden_value: Any
    plain: bool


_PLAIN = frozenset({str, int, bool, float, type(None)})


def _kinds(hint: Any) -> tuple[Any, ...]:
    """The members of a union, or the one type; a plain value holds nothing that must be cut."""
    return get_args(hint) if isinstance(hint, UnionType) else (hint,)


@cache
def field_rules(model: Any) -> tuple[_FieldRule, ...]:
    """The fields of a page model class with the least edition that sees each.

    Raises UnmarkedField where one names no edition, or may be hidden and has no default.
    """
    hints = get_type_hints(model, include_extras=True)
    rules = []
    for field in fields(model):
        hint = hints[field.name]
        marks = [m for m in get_args(hint)[1:] if isinstance(m, SeenFrom)]
        if get_origin(hint) is not Annotated or len(marks) != 1:
            raise UnmarkedField(f"{model.__name__}.{field.name} names no edition")
        least = marks[0].least
        if least is not Edition.PUBLIC and field.default is MISSING:
            raise UnmarkedField(f"{model.__name__}.{field.name} may be hidden and has no default")
        plain = all(kind in _PLAIN for kind in _kinds(get_args(hint)[0]))
        rules.append(_FieldRule(field.name, least.rank, field.default, plain))
    return tuple(rules)


def _cut(value: Any, rank: int) -> Any:
    if isinstance(value, tuple):
        cut = tuple([_cut(item, rank) for item in value])
        return value if all(map(is_, value, cut)) else cut
    if isinstance(value, SeenInParts):
        return value.seen_by(_EDITIONS[rank])
    return _model_cut(value, rank) if is_dataclass(value) else value


def _model_cut(model: Any, rank: int) -> Any:
    changes: dict[str, Any] = {}
    model_class: Any = type(model)
    for rule in field_rules(model_class):
        if rank < rule.least_rank:
            changes[rule.name] = rule.hidden_value
        elif not rule.plain:
            value = getattr(model, rule.name)
            shown = _cut(value, rank)
            if shown is not value:
                changes[rule.name] = shown
    return replace(model, **changes) if changes else model


def cut_to(model: T, edition: Edition) -> T:
    """The model as the edition may hold it: hidden fields at their defaults, all the way down."""
    cut: T = _model_cut(model, edition.rank)
    return cut


def cut_value(value: Any, edition: Edition) -> Any:
    """Cut a value of any kind: a model, a tuple of them, a table, or a plain value unchanged."""
    return _cut(value, edition.rank)
