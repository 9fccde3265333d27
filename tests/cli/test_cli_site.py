"""The example and the pages: demo, site, and watching for changes."""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from credits.app.site import build_sites, watched_state
from credits.cli import site
from credits.editions import Edition
from credits.errors import CreditsError, Finding, LogUnusable
from credits.site import render as site_render
from credits.site.links import Page
from credits.site.publish import Published, publish
from credits.site.source import PageSource
from tests.cli.conftest import CUT, ROOT, WORKED_EXAMPLE, Command
from tests.drawn import FULL
from tests.productions import written_tables


@pytest.fixture
def small_example(tmp_path: Path, example_tables: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An example of one shot, in the place of the one that comes with the product."""
    parts = "part,kind,character\nwick-a-01,face,wick\nwick-a-02,face,wick"
    folder = written_tables(tmp_path / "shipped" / "small", {**WORKED_EXAMPLE, "parts": parts})
    (folder / "cut.csv").write_text(CUT)
    (folder / "face-sheet-010-020.csv").write_text("frame,wick\n1,wick-a-01\n2,wick-a-02\n")
    shutil.copy(example_tables / "production.toml", folder)
    for plan in ("credit-plan-first-round.toml", "credit-plan.toml"):
        (folder / plan).write_text('[[section]]\nheading = "Voices"\ncast = ["voice"]\n')
    (folder / "pictures").mkdir()
    shutil.copy(min((example_tables / "pictures").iterdir()), folder / "pictures")
    monkeypatch.setattr("credits.app.demo.shipped", lambda _: folder.parent)
    return folder


def _require_a_demo_made_and_brought_up_to_date(credits_: Command, of_what: str) -> None:
    answer = credits_("demo")
    assert answer.status == 0
    first, *pages = answer.out.splitlines()
    assert first.startswith(f"The Tardy Echo in demo: {of_what}")
    assert "cut version 1 runs" in first
    assert [Path(page).parent.name for page in pages] == ["public", "crew", "office"]
    assert all(Path(page).is_file() for page in pages)
    assert any(Path("demo", "pictures").iterdir())
    assert credits_("footage", "-p", "demo", "--json").json["cut"] == 1
    # Taking something away and doing it again brings it back, and writes nothing twice.
    people = Path("demo", "tables", "people.csv")
    people.unlink()
    again = credits_("demo")
    assert (again.status, again.out) == (0, answer.out)
    assert people.is_file()
    assert "an earlier demo" in again.err
    assert credits_("verify", "-p", "demo").status == 0


@pytest.mark.usefixtures("small_example")
def test_the_demo_is_made_and_brought_up_to_date(
    tmp_path: Path, credits_: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of an example of one shot; the whole one is made by the program that people install."""
    monkeypatch.chdir(tmp_path)
    _require_a_demo_made_and_brought_up_to_date(credits_, "3 people, 2 characters, 1 shot")


if FULL:

    def test_the_whole_demo_is_made_and_brought_up_to_date(
        tmp_path: Path, credits_: Command, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.chdir(tmp_path)
        of_what = "69 people, 12 characters, 80 shots"
        _require_a_demo_made_and_brought_up_to_date(credits_, of_what)


def test_the_demo_goes_into_no_folder_of_something_else(
    film: Path, tmp_path: Path, credits_: Command
) -> None:
    for folder in (film, tmp_path):
        before = sorted(folder.rglob("*"))
        answer = credits_("demo", folder)
        assert (answer.status, answer.out) == (2, "")
        assert "Name another folder" in answer.err
        assert sorted(folder.rglob("*")) == before


@pytest.mark.parametrize(
    ("words", "editions"),
    [
        (["--edition", "public"], ["public"]),
        (["--edition", "all"], ["public", "crew", "office"]),
        ([], ["public", "crew", "office"]),
    ],
)
def test_site_prints_the_page_to_open(
    film_with_cut: Path, credits_: Command, words: list[str], editions: list[str]
) -> None:
    answer = credits_("site", *words)
    assert answer.status == 0
    pages = [film_with_cut / "site" / edition / "index.html" for edition in editions]
    assert answer.out.splitlines() == [str(page) for page in pages]
    assert all(page.is_file() for page in pages)
    assert sorted(p.name for p in (film_with_cut / "site").iterdir()) == sorted(editions)


def test_site_goes_where_it_is_told_and_answers_in_json(
    film_with_cut: Path, tmp_path: Path, credits_: Command
) -> None:
    answer = credits_("site", "--edition", "crew", "--out", tmp_path / "pages", "--json")
    (built,) = answer.json["sites"]
    assert built["open"] == str(tmp_path / "pages" / "crew" / "index.html")
    assert built["written"] >= built["pages"] > 0
    assert not (film_with_cut / "site").exists()
    again = credits_("site", "--edition", "crew", "--out", tmp_path / "pages", "--json")
    assert again.json["sites"][0]["written"] == 0


def test_a_page_is_written_before_the_next_one_is_made(
    film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made, written, as_before = [], [], site_render.render

    def counted(page: Page, source: PageSource) -> str:
        made.append(page.path)
        return as_before(page, source)

    def watched(folder: Path, files: Iterable[tuple[str, bytes]], shared: bool) -> Published:
        def each() -> Iterator[tuple[str, bytes]]:
            for path, content in files:
                written.append(path)
                assert len(made) <= len(written)
                yield path, content

        return publish(folder, each(), shared=shared)

    monkeypatch.setattr(site_render, "render", counted)
    monkeypatch.setattr("credits.app.site.publish", watched)
    build_sites(film, [Edition.PUBLIC])
    assert len(made) > 10


def _line_with(stream: object, wanted: str, lines: list[str]) -> None:
    for line in stream:  # type: ignore[attr-defined]
        lines.append(line)
        if wanted in line:
            return
    pytest.fail(f"It ended, or said nothing for long, and never {wanted!r}: {lines}")


def _hears_ctrl_c() -> None:
    """Whoever runs the tests in the background has it passed over, and so would what they begin."""
    signal.signal(signal.SIGINT, signal.default_int_handler)


IMPATIENT = """
import sys
from credits import __main__
from credits.store import file
file.OPENING_MILLISECONDS = 100
sys.exit(__main__.main())
"""
"""The program; for another one that lets nobody read the log it waits only for a moment."""


@contextmanager
def _watching(film: Path) -> Iterator[tuple[subprocess.Popen[str], list[str]]]:
    """A process that watches, and the lines that it has said so far."""
    process = subprocess.Popen(
        [sys.executable, "-c", IMPATIENT, "site", "--edition", "crew", "--watch"],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        cwd=film,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"},
        preexec_fn=_hears_ctrl_c,
    )
    lines: list[str] = []
    too_long = threading.Timer(120, process.kill)
    too_long.start()
    try:
        _line_with(process.stdout, "Watching", lines)
        yield process, lines
    finally:
        too_long.cancel()
        if process.poll() is None:
            process.kill()
            process.wait()
        assert process.stdout is not None
        process.stdout.close()


def test_watching_builds_again_when_the_log_changes(film: Path, credits_: Command) -> None:
    with _watching(film) as (process, lines):
        assert credits_("log", "paint", "cai", "wick-1", "--on", "2026-03-02").status == 0
        _line_with(process.stdout, "crew: ", lines)
        _line_with(process.stdout, "index.html", lines)
        (film / "production.toml").write_text("title = 3")
        _line_with(process.stdout, "title", lines)  # said, and watching goes on
        process.send_signal(signal.SIGINT)
        rest = process.stdout.read() if process.stdout else ""
        assert process.wait(timeout=60) == 0
        assert "Stopped watching" in rest
        assert "Traceback" not in "".join(lines) + rest


def test_a_change_while_another_program_holds_the_log_is_built_when_it_lets_go(film: Path) -> None:
    with _watching(film) as (process, lines):
        holder = sqlite3.connect(film / "production.db", isolation_level=None)
        holder.execute("PRAGMA locking_mode=EXCLUSIVE")
        holder.execute("BEGIN IMMEDIATE")
        settings = (film / "production.toml").read_text()
        (film / "production.toml").write_text(settings.replace("The Small", "The Short"))
        _line_with(process.stdout, "is being written by another program", lines)
        before = watched_state(film)
        holder.close()
        assert watched_state(film) == before  # nothing but the lock has gone
        _line_with(process.stdout, "index.html", lines)
    assert "The Short Film" in (film / "site" / "crew" / "index.html").read_text()


class _Enough(Exception):
    """Ends the watching of a test."""


def test_a_change_while_the_pages_are_built_is_built_too(
    film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    polls, built = [], []

    def sleep(_: float) -> None:
        polls.append(1)
        if len(polls) > 3:
            raise _Enough

    def build() -> None:
        built.append((film / "credit-plan.toml").read_text())
        if built == ["one"]:
            (film / "credit-plan.toml").write_text("the second")

    monkeypatch.setattr(time, "sleep", sleep)

    before = watched_state(film)
    (film / "credit-plan.toml").write_text("one")
    with pytest.raises(_Enough):
        site.build_at_changes(film, before, build)
    assert built == ["one", "the second"]


@pytest.mark.parametrize(("error", "tries"), [(LogUnusable, 3), (CreditsError, 1)])
def test_what_is_wrong_is_said_once_and_only_an_unreadable_log_is_tried_again(
    film: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    error: type[CreditsError],
    tries: int,
) -> None:
    polls, built = [], []

    def sleep(_: float) -> None:
        polls.append(1)
        if len(polls) > 3:
            raise _Enough

    def build() -> None:
        built.append(1)
        raise error(Finding("cannot be read"))

    monkeypatch.setattr(time, "sleep", sleep)
    with pytest.raises(_Enough):
        site.build_at_changes(film, None, build)
    assert len(built) == tries
    assert capsys.readouterr().err == "cannot be read.\n"
