"""Drawings whose values go on without end are read in a time that follows their length."""

from __future__ import annotations

import pytest

from credits.formats.drawings import SVG, bare_drawing

LONG = 60_000
VALUES = ("a" * LONG, " " * LONG + "x", "-" * LONG + "(", "/*" * LONG, "url(" * LONG, "(" * LONG)


@pytest.mark.parametrize("value", VALUES, ids=["word", "spaces", "name", "comments", "url", "("])
@pytest.mark.parametrize(
    "drawn",
    ['<rect fill="{}"/>', '<rect style="fill: {}"/>', "<style>.a {{ fill: {} }}</style>"],
    ids=["attribute", "style", "sheet"],
)
def test_a_value_without_end_is_looked_at_once(value: str, drawn: str) -> None:
    """A second look at each letter would take minutes here."""
    bare = bare_drawing(f'<svg xmlns="{SVG}">{drawn.format(value)}</svg>'.encode())
    assert b"url(" not in bare


@pytest.mark.parametrize(
    ("said", "kept"),
    [
        ("fill: RGB  (1, 2, 3)", True),
        ("fill: expression(1)", False),
        (f"fill: rgb{' ' * 100}(1, 2, 3)", False),
        ("fill: /* a word */ red", True),
        ("fill: red /* never closed", True),
    ],
)
def test_what_stands_before_a_bracket_decides(said: str, kept: bool) -> None:
    bare = bare_drawing(f'<svg xmlns="{SVG}"><rect style="{said}"/></svg>'.encode())
    assert (b"fill:" in bare) is kept
