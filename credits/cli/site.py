"""``credits site``: the pages, built once or again whenever the log changes."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from credits.app import SiteReport, build_sites
from credits.cli import printing
from credits.cli.codes import folder_of
from credits.cli.options import JsonOption, ProductionOption
from credits.editions import Edition
from credits.errors import CreditsError
from credits.model.words import counted

WATCHED = ("production.db", "production.db-wal", "production.toml", "credit-plan.toml")
POLL_SECONDS = 1.0


class EditionWord(StrEnum):
    """What --edition may be."""

    PUBLIC = "public"
    CREW = "crew"
    OFFICE = "office"
    ALL = "all"


def site(
    edition: Annotated[
        EditionWord,
        typer.Option("--edition", metavar="public|crew|office|all", help="Who it is for."),
    ] = EditionWord.ALL,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="DIR", help="Where to; else 'site' in the production."),
    ] = None,
    watch: Annotated[
        bool, typer.Option("--watch", help="Build again whenever the log changes, until Ctrl-C.")
    ] = False,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Build the pages: a folder for each edition that opens from disk."""
    folder = folder_of(production)
    editions = editions_meant(edition)
    seen = watched_state(folder)
    say_reports(built(folder, editions, out), as_json)
    if watch:
        printing.remark("Watching for changes; Ctrl-C ends it.")
        try:
            _watch(folder, seen, lambda: say_reports(built(folder, editions, out), as_json))
        except KeyboardInterrupt:
            printing.remark("Stopped watching.")


def editions_meant(word: EditionWord) -> tuple[Edition, ...]:
    """The editions that a word names."""

    return tuple(Edition) if word is EditionWord.ALL else (Edition(word.value),)


def built(
    folder: Path, editions: Sequence[Edition], out: Path | None = None
) -> tuple[SiteReport, ...]:
    """Build the editions of a production's site."""

    return build_sites(folder, editions, out)


def say_reports(reports: Sequence[SiteReport], as_json: bool = False) -> None:
    """What was built, and which page to open."""

    if as_json:
        printing.say_json(
            {
                "sites": [
                    {
                        "edition": str(report.edition),
                        "open": str(report.open_this),
                        "pages": report.pages,
                        "written": report.written,
                        "unchanged": report.unchanged,
                        "removed": report.removed,
                    }
                    for report in reports
                ]
            }
        )
        return
    for report in reports:
        changed = f"{report.written} written, {report.removed} removed"
        printing.remark(f"{report.edition}: {counted(report.pages, 'page')}, {changed}. Open:")
        printing.say(str(report.open_this))


def watched_state(folder: Path) -> frozenset[tuple[str, int, int]]:
    """What the watched files look like: a change of any of them changes it."""
    return frozenset(_states(folder))


def _states(folder: Path) -> Iterator[tuple[str, int, int]]:
    pictures = folder / "pictures"
    files = [folder / name for name in WATCHED]
    if pictures.is_dir():
        files += sorted(pictures.iterdir())
    for file in files:
        try:
            seen = file.stat()
        except OSError:
            continue
        if file.name.endswith("-wal") and not seen.st_size:
            continue  # opening a log makes an empty one, which says nothing
        yield file.name, seen.st_mtime_ns, seen.st_size


def _watch(folder: Path, seen: frozenset[tuple[str, int, int]], build: Callable[[], None]) -> None:
    """Build at every change, for ever; what is wrong is said, and watching goes on."""
    while True:
        time.sleep(POLL_SECONDS)
        now = watched_state(folder)
        if now == seen:
            continue
        seen = now
        try:
            build()
        except CreditsError as error:
            printing.problems(error.findings)
