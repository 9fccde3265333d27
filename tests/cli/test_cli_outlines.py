"""Commands in outline: what a Tab needs of them, the same as the commands themselves say."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from typer.core import TyperOption
from typer.main import get_command

from credits.cli.main import COMMANDS, app
from credits.cli.terminal import outlines
from tests.cli.conftest import ROOT, Command
from tests.cli.test_cli_start_up import SLOW, tab_after

GROUP: Any = get_command(app)


def _context(command: Any, *words: str, half_typed: bool = True) -> Any:
    return command.make_context(command.name, list(words), resilient_parsing=half_typed)


def _both(name: str) -> tuple[Any, Any]:
    """A command, and the same in outline."""
    whole = GROUP.get_command(None, name)
    return whole, GROUP.get_command(_context(GROUP, name), name)


def _said(parameter: Any) -> tuple[object, ...]:
    is_option = isinstance(parameter, TyperOption)
    return (
        parameter.name,
        is_option,
        parameter.opts if is_option else None,
        parameter.secondary_opts,
        parameter.nargs,
        parameter.help,
        parameter.hidden,
        is_option and (parameter.is_flag, parameter.multiple),
    )


@pytest.mark.parametrize("name", COMMANDS)
def test_an_outline_has_the_words_and_options_of_its_command(name: str) -> None:
    whole, outline = _both(name)
    assert [_said(each) for each in outline.params] == [_said(each) for each in whole.params]
    assert outline.context_settings == whole.context_settings


@pytest.mark.usefixtures("film")
@pytest.mark.parametrize("name", COMMANDS)
def test_an_outline_completes_what_its_command_completes(name: str) -> None:
    whole, outline = _both(name)
    for own, outlined in zip(whole.params, outline.params, strict=True):
        for begun in ("", "a", "W", "--"):
            answers = [
                [
                    (item.value, item.help or "")
                    for item in parameter.shell_complete(_context(command), begun)
                ]
                for command, parameter in ((whole, own), (outline, outlined))
            ]
            assert answers[0] == answers[1]


def _imported_by_a_tab(line: str, cwd: Path) -> tuple[list[str], set[str]]:
    code = (
        "import sys\nfrom credits.cli.main import run\nrun([])\n"
        "print('MODULES', *sorted(sys.modules))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        cwd=cwd,
        env={**os.environ, **tab_after(line), "PYTHONPATH": str(ROOT)},
        timeout=60,
        check=True,
    )
    completed, _, modules = done.stdout.decode().partition("MODULES ")
    return completed.split(), set(modules.split())


@pytest.mark.parametrize(
    ("line", "completed"),
    [
        ("credits hands 0", ["010-020"]),
        ("credits log animation b", ["ben"]),
        ("credits amend A-7", ["A-7"]),
        ("credits site --edition o", ["office"]),
    ],
)
def test_a_second_tab_waits_for_no_table_class(
    film: Path,
    credits_: Command,
    monkeypatch: pytest.MonkeyPatch,
    line: str,
    completed: list[str],
) -> None:
    for name, value in tab_after(line).items():
        monkeypatch.setenv(name, value)
    assert credits_().out.split() == completed
    answer, modules = _imported_by_a_tab(line, film)
    assert answer == completed
    assert modules.isdisjoint(SLOW)
    assert "credits.store.schema.tables" not in modules


@pytest.fixture
def kept_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The file of an outline, in a folder of caches of this test's own."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "caches"))
    return tmp_path / "caches" / "credits" / "command-hands.json"


def _completes(name: str = "hands") -> list[str]:
    _, outline = _both(name)
    return [item.value for item in outline.params[0].shell_complete(_context(outline), "")]


def test_the_stamp_is_another_when_a_file_of_the_product_changes(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "cli").mkdir()
    monkeypatch.setattr("credits.__file__", str(tmp_path / "__init__.py"))
    file = tmp_path / "cli" / "roll.py"
    stamps = [outlines._stamp()]
    for text in ("one = 1\n", "one = 10\n"):
        file.write_text(text)
        stamps.append(outlines._stamp())
    os.utime(file, (0, 0))
    stamps.append(outlines._stamp())
    assert len(set(stamps)) == 4
    assert outlines._stamp() == stamps[-1]


@pytest.mark.usefixtures("film")
def test_an_outline_is_kept_until_the_product_changes(kept_in: Path) -> None:
    assert _completes() == ["010-020"]
    kept = json.loads(kept_in.read_text())
    kept["outline"]["parameters"][0]["by"] = ["words", [["from-the-file", ""]]]
    kept_in.write_text(json.dumps(kept))
    assert _completes() == ["from-the-file"]
    kept["stamp"] = "of another state"
    kept_in.write_text(json.dumps(kept))
    assert _completes() == ["010-020"]


@pytest.mark.usefixtures("film")
@pytest.mark.parametrize("text", ["", "{", "[]", '{"stamp": 1}', "\0"])
def test_a_file_that_is_no_outline_is_made_again(kept_in: Path, text: str) -> None:
    kept_in.parent.mkdir(parents=True)
    kept_in.write_text(text)
    assert _completes() == ["010-020"]
    assert json.loads(kept_in.read_text())["outline"]["parameters"]


@pytest.mark.usefixtures("film")
def test_where_nothing_can_be_kept_the_command_itself_answers(kept_in: Path) -> None:
    kept_in.parent.parent.write_text("a file where the folder would be")
    assert _completes() == ["010-020"]


def test_the_folder_of_caches_is_where_a_person_has_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("XDG_CACHE_HOME", raising=False)
    monkeypatch.setenv("HOME", str(tmp_path))
    assert outlines.cache_folder() == tmp_path / ".cache" / "credits"


def test_a_tab_before_the_command_is_given_needs_no_outline(
    film: Path, shell: Command, kept_in: Path
) -> None:
    asked = {"_CREDITS_COMPLETE": "complete_bash", "COMP_WORDS": "credits fo", "COMP_CWORD": "1"}
    assert shell(cwd=film, **asked).out.split() == ["footage"]
    assert not kept_in.parent.exists()
