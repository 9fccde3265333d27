"""A model is cut to an edition all the way down; what everyone sees whole is left as it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pytest

from credits.editions import (
    Crew,
    Edition,
    Everyone,
    Office,
    SeenInParts,
    UnmarkedFieldError,
    cut_to,
)


@dataclass(frozen=True, slots=True)
class Name:
    text: Everyone[str]
    href: Everyone[str | None] = None


@dataclass(frozen=True, slots=True)
class Line:
    name: Everyone[Name]
    reason: Office[str] = ""


@dataclass(frozen=True, slots=True)
class Tree:
    """A model that may hold others of its kind."""

    note: Crew[str] = ""
    branches: Everyone[tuple[Tree, ...]] = ()


class Parts(SeenInParts):
    def seen_by(self, edition: Edition) -> str:
        return f"seen by {edition}"


@dataclass(frozen=True, slots=True)
class Whole:
    names: Everyone[tuple[tuple[int, Name], ...]]
    lines: Everyone[tuple[tuple[str, Line | None], ...]] = ()
    parts: Everyone[Parts | str] = ""
    anything: Everyone[Any] = None


@dataclass(frozen=True, slots=True)
class Unmarked:
    secret: str


@dataclass(frozen=True, slots=True)
class HiddenWithoutDefault:
    secret: Crew[str]


@dataclass(frozen=True, slots=True)
class HoldsUnmarked:
    held: Everyone[Unmarked | None] = None


ANA = Name("Ana", "people/ana.html")


def test_what_everyone_sees_whole_is_the_same_object() -> None:
    for value in (ANA, (ANA, "x"), ((ANA,), (ANA, ANA)), Whole(((1, ANA),)), "x", None, ()):
        assert cut_to(value, Edition.PUBLIC) is value


def test_what_is_hidden_is_cut_however_deep_it_is() -> None:
    line, plain = Line(ANA, "owed"), Line(ANA)
    whole = Whole((), lines=(("a", line), ("b", None)), anything=((line,), ((line,),)))
    for edition in (Edition.PUBLIC, Edition.CREW):
        cut = cut_to(whole, edition)
        assert cut.lines == (("a", plain), ("b", None))
        assert cut.anything == ((plain,), ((plain,),))
    assert cut_to(whole, Edition.OFFICE) is whole


def test_a_model_that_holds_its_own_kind_is_cut() -> None:
    tree = Tree("root", (Tree("leaf"), Tree("", (Tree("last"),))))
    assert cut_to(tree, Edition.PUBLIC) == Tree("", (Tree(), Tree("", (Tree(),))))
    assert cut_to(tree, Edition.CREW) is tree


def test_a_value_that_cuts_itself_does_so_wherever_it_stands() -> None:
    for holds in (Whole((), parts=Parts()), Whole((), anything=Parts())):
        cut = cut_to(holds, Edition.CREW)
        assert "seen by crew" in (cut.parts, cut.anything)
    assert cut_to((("x", Parts()),), Edition.OFFICE) == (("x", "seen by office"),)


@pytest.mark.parametrize("value", [Unmarked("x"), (Unmarked("x"),), HoldsUnmarked()])
def test_a_field_that_names_no_edition_is_refused(value: Any) -> None:
    with pytest.raises(UnmarkedFieldError, match=r"Unmarked\.secret names no edition"):
        cut_to(value, Edition.OFFICE)


@pytest.mark.parametrize("edition", list(Edition))
def test_a_field_that_may_be_hidden_and_has_no_default_is_refused(edition: Edition) -> None:
    with pytest.raises(UnmarkedFieldError, match=r"HiddenWithoutDefault\.secret may be hidden"):
        cut_to(HiddenWithoutDefault("x"), edition)


def test_each_edition_sees_what_is_for_it_and_for_those_that_see_less() -> None:
    seen = {edition: [least for least in Edition if edition.sees(least)] for edition in Edition}
    assert seen == {
        Edition.PUBLIC: [Edition.PUBLIC],
        Edition.CREW: [Edition.PUBLIC, Edition.CREW],
        Edition.OFFICE: [Edition.PUBLIC, Edition.CREW, Edition.OFFICE],
    }
