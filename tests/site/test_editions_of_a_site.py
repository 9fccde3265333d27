"""What an edition may not show is in no byte of it."""

from __future__ import annotations

import csv
import dataclasses
import html
import importlib
import json
import pkgutil
import re
from collections.abc import Iterator, Mapping
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any, get_args, get_type_hints

import pytest

import credits.site
from credits.app.figures import read_ledger
from credits.app.production import open_snapshot
from credits.editions import Edition, SeenFrom, SeenInParts, cut_to, field_rules
from credits.model.ledger import Ledger
from credits.site.links import Link, Page
from credits.site.render import all_pages
from credits.site.source import PageSource
from credits.units.film_time import MONTHS, day_text
from credits.units.frames import Frames
from credits.units.table import Marked, PrintedCell, Table
from tests.site.pages_on_disk import files_of, read_site

_MONTHS = "|".join(f"{month[:3]}(?:{month[3:]})?" for month in MONTHS)
DAY = re.compile(rf"\b\d{{1,2}} (?:{_MONTHS})\b|\b20\d\d-\d\d-\d\d\b")


# --- the marks


def dataclasses_of_the_pages() -> Iterator[type]:
    """Every dataclass that a module of the pages defines, or that shows what stands on them."""
    found = [m.name for m in pkgutil.walk_packages(credits.site.__path__, "credits.site.")]
    for name in (*found, "credits.review.shown"):
        module = importlib.import_module(name)
        for value in vars(module).values():
            own = getattr(value, "__module__", "") == name
            if own and isinstance(value, type) and dataclasses.is_dataclass(value):
                yield value


def inside(hint: Any) -> Iterator[type]:
    """The dataclasses that a type hint lets a field hold, but those that cut themselves."""
    if isinstance(hint, type) and dataclasses.is_dataclass(hint):
        yield from () if issubclass(hint, SeenInParts) else (hint,)
    for part in get_args(hint):
        yield from inside(part)


def marks(model: type) -> dict[str, list[SeenFrom]]:
    """The marks of each field of a dataclass."""
    hints = get_type_hints(model, include_extras=True)
    return {
        field.name: [m for m in get_args(hints[field.name])[1:] if isinstance(m, SeenFrom)]
        for field in dataclasses.fields(model)
    }


MODELS = [model for model in dataclasses_of_the_pages() if any(marks(model).values())]


def test_the_models_were_seen() -> None:
    names = {model.__name__ for model in MODELS}
    assert names >= {"CharacterPage", "Link", "Frame", "Amount"}
    assert len(MODELS) > 40


def test_a_field_can_hold_no_other_model_than_its_hint_says() -> None:
    assert [model for model in MODELS if model.__subclasses__()] == []


@pytest.mark.parametrize("model", MODELS, ids=lambda model: model.__name__)
def test_every_field_of_a_page_model_names_its_edition(model: type) -> None:
    rules = field_rules(model)  # raises where a field names none
    assert [rule.name for rule in rules] == [field.name for field in dataclasses.fields(model)]
    assert model.__dataclass_params__.frozen  # type: ignore[attr-defined]
    assert "__slots__" in vars(model)
    held = {part for hint in get_type_hints(model).values() for part in inside(hint)}
    for part in held - {Marked, PrintedCell, Table}:
        field_rules(part)  # a model of another room says it of its fields too


# --- the tables


def tables_in(value: Any) -> Iterator[Table]:
    """The tables that a page model holds, all the way down."""
    if isinstance(value, Table):
        yield value
    elif isinstance(value, tuple):
        for part in value:
            yield from tables_in(part)
    elif dataclasses.is_dataclass(value) and not isinstance(value, type):
        for field in dataclasses.fields(value):
            yield from tables_in(getattr(value, field.name))


PLAIN = (str, int, Fraction, date, Frames, type(None))


def cells_in(value: Any) -> Iterator[Any]:
    """What a cell holds: the names of a tuple, what a mark stands beside."""
    if isinstance(value, tuple):
        for part in value:
            yield from cells_in(part)
    elif isinstance(value, PrintedCell):
        yield from cells_in(value.text)
    else:
        yield value.value if isinstance(value, Marked) else value


def test_a_table_of_a_site_holds_plain_values_and_names_under_columns_of_its_edition(
    example_production: Path,
) -> None:
    results = open_snapshot(example_production)
    seen: dict[Edition, set[str]] = {}
    for edition in Edition:
        source = PageSource(results, edition)
        models = (page.model for page in all_pages(source) if isinstance(page, Page))
        seen[edition] = set()
        for table in (table for model in models for table in tables_in(cut_to(model, edition))):
            assert all(edition.sees(column.edition) for column in table.columns)
            keys = [column.key for column in table.columns]
            assert len(keys) == len(set(keys))
            seen[edition] |= {f"{column.key} {column.heading}" for column in table.columns}
            cells = (cell for row in table.rows for value in row for cell in cells_in(value))
            assert all(isinstance(cell, (*PLAIN, Link)) for cell in cells)
    assert seen[Edition.CREW] < seen[Edition.OFFICE]
    assert {"minutes Minutes", "wait Wait"} <= seen[Edition.OFFICE] - seen[Edition.CREW]


# --- the bytes


def everything_in(site: Path) -> dict[str, str]:
    """The text of every file of a site that has one, as it is and as a reader decodes it."""
    texts = {}
    for name in files_of(site):
        data = (site / name).read_bytes()
        text = data.decode("utf-8", "replace")
        if name == "jump.js":
            text += json.loads('"' + re.sub(r'(?<!\\)"', " ", text).replace("\n", " ") + '"')
        texts[name] = f"{name} {text} {html.unescape(text)}"
    return texts


def places_of(site: Path, words: list[str]) -> list[str]:
    """Where any of the words stands in the site."""
    return sorted(
        f"{word!r} in {name}"
        for name, text in everything_in(site).items()
        for word in words
        if word in text
    )


@pytest.fixture(scope="module")
def people(example_tables: Path) -> list[dict[str, str]]:
    with (example_tables / "people.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def ledger(example_production: Path) -> Ledger:
    return read_ledger(example_production)


@pytest.mark.parametrize("edition", Edition)
def test_no_edition_holds_legal_names_and_addresses(
    example_sites: Mapping[Edition, Path], people: list[dict[str, str]], edition: Edition
) -> None:
    secret = [person[column] for person in people for column in ("legal_name", "email")]
    secret = [text for text in secret if text]
    assert len(secret) > 8
    assert places_of(example_sites[edition], secret) == []


@pytest.mark.parametrize("edition", [Edition.PUBLIC, Edition.CREW])
def test_who_asked_to_be_uncredited_is_named_in_the_office_alone(
    example_sites: Mapping[Edition, Path], people: list[dict[str, str]], edition: Edition
) -> None:
    asked = [person for person in people if person["credit_wish"] == "uncredited"]
    assert len(asked) == 2
    names = [person["credit_name"] for person in asked]
    assert places_of(example_sites[edition], names) == []
    pages = {f"people/{person['person']}.html" for person in asked}
    assert pages & files_of(example_sites[edition]) == set()
    assert pages <= files_of(example_sites[Edition.OFFICE])
    assert len(places_of(example_sites[Edition.OFFICE], names)) > 2


def test_the_crew_sees_that_somebody_is_uncredited(example_sites: Mapping[Edition, Path]) -> None:
    crew = read_site(example_sites[Edition.CREW])
    assert any("uncredited" in page.main_words for page in crew.values())


def test_the_public_edition_names_only_those_whose_credit_prints(
    example_sites: Mapping[Edition, Path], example_production: Path
) -> None:
    results = open_snapshot(example_production)
    printed = results.credits.printed
    others = [p for code, p in results.ledger.people.items() if code not in printed]
    named = {results.ledger.people[code].credit_name for code in printed}
    hidden = [p.credit_name for p in others if p.credit_name not in named]
    assert len(printed) > 50
    assert len(hidden) >= 2
    assert places_of(example_sites[Edition.PUBLIC], hidden) == []


def test_the_public_edition_has_no_shots_stages_and_days(
    example_sites: Mapping[Edition, Path], ledger: Ledger
) -> None:
    site = example_sites[Edition.PUBLIC]
    folders = {name.partition("/")[0] for name in files_of(site)}
    hidden = {"shots", "weeks", "reviews", "footage.html", "checks.html", "retakes.html"}
    assert folders & {*hidden, "ahead.html", "hospital.html"} == set()
    units = sorted({stage.unit for stage in ledger.stages.values() if stage.unit})
    assert units
    assert places_of(site, units) == []
    shots = re.compile("|".join(rf"(?<![\w-]){re.escape(code)}(?![\w-])" for code in ledger.shots))
    stages = re.compile(rf"(?<![\w-])(?:{'|'.join(map(re.escape, ledger.stages))})(?![\w-])")
    allowed = {day_text(ledger.last_day)}
    examples = "counted.html"  # its worked example is an invented shot
    for page in read_site(site).values():
        days = {found.group() for found in DAY.finditer(page.words)}
        assert not stages.search(page.words), page.path
        if page.path != examples:
            assert not shots.search(page.words), page.path
            assert {day for day in days if not any(day in as_of for as_of in allowed)} == set()


def test_the_crew_edition_has_no_minutes_waits_and_checks(
    example_sites: Mapping[Edition, Path],
) -> None:
    site = example_sites[Edition.CREW]
    assert not {"footage.html", "retakes.html", "checks.html", "reviews"} & {
        name.partition("/")[0] for name in files_of(site)
    }
    for page in read_site(site).values():
        if page.path != "counted.html":
            logged = re.search(
                r"(?<![:\d])\d[\d,]* min(?:utes)?\b(?! \d)|re-shot share", page.words
            )
            assert logged is None, page.path


@pytest.mark.parametrize("edition", [Edition.PUBLIC, Edition.CREW])
def test_private_notes_are_in_the_office_alone(
    example_sites: Mapping[Edition, Path], ledger: Ledger, edition: Edition
) -> None:
    # A stretch without Markdown, long enough to be found in nothing else.
    private = [
        max(re.split(r"[*_`\[\]()\"'<>&\n]", entry.work.note), key=len).strip()
        for entry in ledger.entries
        if entry.work.private and entry.work.note
    ]
    private = [text for text in private if len(text) > 15]
    assert len(private) > 3
    assert places_of(example_sites[edition], private) == []
    assert places_of(example_sites[Edition.OFFICE], private)
