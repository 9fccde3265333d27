"""Templates are compiled once, and what is kept of that changes no page."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from jinja2 import DictLoader, Environment

from credits.site.compiled import CompiledTemplates


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Let Python keep what it compiles in a folder of its own."""
    monkeypatch.setattr(sys, "pycache_prefix", str(tmp_path))
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    return Path(CompiledTemplates().directory)


def written(text: str) -> str:
    """Render a template of this text in an environment of its own."""
    made = Environment(loader=DictLoader({"a.html": text}), bytecode_cache=CompiledTemplates())
    return made.get_template("a.html").render(name="Wren")


def test_a_template_is_kept_as_it_was_compiled(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert written("Hello {{ name }}") == "Hello Wren"
    assert len([*folder.glob("template-*.cache")]) == 1
    monkeypatch.setattr(Environment, "compile", None)
    assert written("Hello {{ name }}") == "Hello Wren"


def test_a_template_that_is_another_is_compiled_anew(folder: Path) -> None:
    assert written("Hello {{ name }}") == "Hello Wren"
    assert written("Goodbye {{ name }}") == "Goodbye Wren"
    assert len([*folder.glob("template-*.cache")]) == 1


@pytest.mark.parametrize("left", [b"", b"no code", b"\0" * 400])
def test_what_is_damaged_is_compiled_anew(folder: Path, left: bytes) -> None:
    written("Hello {{ name }}")
    (kept,) = folder.glob("template-*.cache")
    for content in (left, kept.read_bytes()[:-9]):
        kept.write_bytes(content)
        assert written("Hello {{ name }}") == "Hello Wren"


def test_where_nothing_may_be_kept_every_template_is_compiled(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder.parent.mkdir(parents=True)
    folder.write_text("a file where the folder would be")
    assert written("Hello {{ name }}") == "Hello Wren"
    folder.unlink()
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    assert written("Hello {{ name }}") == "Hello Wren"
    assert not folder.exists()
