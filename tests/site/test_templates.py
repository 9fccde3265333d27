"""Templates and page models fit each other, both ways; templates decide and compute nothing."""

from __future__ import annotations

import dataclasses
import pickle
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any, get_args, get_type_hints

import pytest
from jinja2 import nodes

from credits import files
from credits.app.production import open_snapshot
from credits.editions import Edition
from credits.site.links import Page
from credits.site.render import all_pages, environment
from credits.site.source import PageSource
from tests.conftest import made_once

FILES = sorted(path.name for path in files.shipped("site_templates").glob("*.html"))
SHARED = [name for name in FILES if name.startswith("_") or name == "base.html"]
TEMPLATES = [name for name in FILES if name not in SHARED]

ARITHMETIC = (
    nodes.Add, nodes.Sub, nodes.Mul, nodes.Div, nodes.FloorDiv, nodes.Mod, nodes.Pow, nodes.Neg,
    nodes.Pos, nodes.Assign, nodes.AssignBlock, nodes.Slice,
)  # fmt: skip
FILTERS = {
    *("markdown", "markdown_line", "lower", "name", "names", "table", "length", "capitalize"),
    "titled",
    "folded_tables",
}
TESTS = {"none", "link", "links"}


@cache
def tree(name: str) -> nodes.Template:
    """A template as it is parsed."""
    text = (files.shipped("site_templates") / name).read_text(encoding="utf-8")
    return environment().parse(text, name)


def attributes(name: str) -> set[str]:
    """Every attribute that a template reads of anything."""
    return {node.attr for node in tree(name).find_all(nodes.Getattr)}


Pairs = set[tuple[str, type]]


@pytest.fixture(scope="session")
def pairs(shared_folder: Path, example_production: Path) -> Pairs:
    """The template and the kind of model of every page of the example, as the office has them."""

    def make(folder: Path) -> None:
        source = PageSource(open_snapshot(example_production), Edition.OFFICE)
        pages = (page for page in all_pages(source) if isinstance(page, Page))
        folder.write_bytes(pickle.dumps({(page.template, type(page.model)) for page in pages}))

    found: Pairs = pickle.loads(
        made_once(shared_folder / "templates-and-models", make).read_bytes()
    )
    return found


def test_every_template_has_pages_and_every_page_a_template(pairs: Pairs) -> None:
    assert len(TEMPLATES) >= 10
    assert {template for template, _ in pairs} == set(TEMPLATES)


def test_a_template_has_one_page_model_and_a_model_one_template(pairs: Pairs) -> None:
    assert len(pairs) == len(TEMPLATES)
    assert len({model for _, model in pairs}) == len(TEMPLATES)


def test_templates_read_only_what_their_model_has(pairs: Pairs) -> None:
    for template, model in pairs:
        read = {
            node.attr
            for node in tree(template).find_all(nodes.Getattr)
            if isinstance(node.node, nodes.Name) and node.node.name == "page"
        }
        assert read, template
        assert read - {field.name for field in dataclasses.fields(model)} == set(), template


def held(model: type) -> Iterator[type]:
    """The dataclasses of the model's own module that its fields hold, all the way down."""

    def parts(hint: Any) -> Iterator[type]:
        if dataclasses.is_dataclass(hint) and isinstance(hint, type):
            yield hint
        for part in get_args(hint):
            yield from parts(part)

    seen, ahead = {model}, [model]
    while ahead:
        for hint in get_type_hints(ahead.pop()).values():
            for part in parts(hint):
                if part not in seen:
                    seen.add(part)
                    ahead.append(part)
    return (part for part in seen if part.__module__ == model.__module__)


# Fields by which a builder chooses what stands where.
READ_BY_THE_BUILDER = {"ReviewFigure.opens"}


def test_templates_show_everything_their_model_has(pairs: Pairs) -> None:
    shared = set().union(*(attributes(name) for name in SHARED))
    unread = [
        f"{template}: {part.__name__}.{field.name}"
        for template, model in pairs
        for part in held(model)
        for field in dataclasses.fields(part)
        if field.name not in attributes(template) | shared
        and f"{part.__name__}.{field.name}" not in READ_BY_THE_BUILDER
    ]
    assert sorted(unread) == []


@pytest.mark.parametrize("name", FILES)
def test_a_template_computes_nothing(name: str) -> None:
    parsed = tree(name)
    assert [type(node).__name__ for node in parsed.find_all(ARITHMETIC)] == []
    assert {node.name for node in parsed.find_all(nodes.Filter)} <= FILTERS
    assert {node.name for node in parsed.find_all(nodes.Test)} <= TESTS
    macros = {node.name for node in tree("_parts.html").find_all(nodes.Macro)}
    macros |= {node.name for node in parsed.find_all(nodes.Macro)}
    called = {
        node.node.name if isinstance(node.node, nodes.Name) else "a method"
        for node in parsed.find_all(nodes.Call)
    }
    assert called <= macros


@pytest.mark.parametrize("name", FILES)
def test_a_template_lets_no_text_pass_unescaped(name: str) -> None:
    text = (files.shipped("site_templates") / name).read_text(encoding="utf-8")
    assert "|safe" not in text.replace(" ", "")
    assert "autoescape" not in text


def test_the_environment_escapes_and_is_strict() -> None:
    made = environment().from_string("{{ a }}{{ a.b }}")
    with pytest.raises(Exception, match="has no attribute 'b'"):
        made.render(a="x")
    assert environment().from_string("{{ a }}").render(a="<b>&\"'") == "&lt;b&gt;&amp;&#34;&#39;"
