"""The command that builds the sites, once or whenever the log changes."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path

from credits.app.site import BuiltSite, OvertakenError, build_sites, watched_state
from credits.cli.options import JsonOption, ProductionOption, option
from credits.cli.production import fixed_words, folder_of
from credits.cli.terminal import printing, progress
from credits.editions import Edition
from credits.errors import CreditsError, Finding, LogUnusable, WrongCall
from credits.model.words import counted
from credits.store.news import LogNews

POLL_SECONDS = 0.1
MOST_BEHIND = 60.0
"""Seconds: so long a watched site may stay as it was while builds make way for the next change."""
ALL = "all"


def _editions_named(word: str) -> tuple[Edition, ...]:
    named = tuple(edition for edition in Edition if word in (edition, ALL))
    if not named:
        hint = f"Write {', '.join(Edition)} or {ALL}."
        raise WrongCall(Finding("is no edition", hint, column="--edition", value=word))
    return named


_EDITIONS = fixed_words(*((word, "") for word in (*Edition, ALL)))


def site(
    edition: str = option(ALL, "--edition", "Who it is for.", "public|crew|office|all", _EDITIONS),
    out: Path | None = option(None, "--out", "Where to; else 'site' in the production.", "DIR"),
    watch: bool = option(False, "--watch", "Build again whenever the log changes, until Ctrl-C."),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Build the pages: a folder for each edition that opens from disk."""
    editions = _editions_named(edition)
    folder = folder_of(production)
    before = watched_state(folder)
    say_sites(build_sites(folder, editions, out, progress.step, ahead=watch), as_json)
    if not watch:
        return
    built = time.monotonic()

    def build() -> None:
        nonlocal built
        patience = built + MOST_BEHIND - time.monotonic()
        # What was written meanwhile is found at once: it is built next.
        with suppress(OvertakenError):
            sites = build_sites(folder, editions, out, progress.step, ahead=True, patience=patience)
            built = time.monotonic()
            say_sites(sites, as_json)

    progress.end()
    printing.remark("Watching for changes; Ctrl-C ends it.")
    try:
        build_at_changes(folder, before, build)
    except KeyboardInterrupt:
        printing.remark("Stopped watching.")


def say_sites(sites: Sequence[BuiltSite], as_json: bool = False) -> None:
    """Say what was built, and which page to open."""
    if as_json:
        shapes = [
            {
                "edition": site.edition,
                "open": str(site.folder / "index.html"),
                **printing.fields_json(site.published, "pages written unchanged removed"),
            }
            for site in sites
        ]
        printing.say_json({"sites": shapes})
        return
    for site in sites:
        done = site.published
        changed = f"{done.written} written, {done.removed} removed"
        printing.remark(f"{site.edition}: {counted(done.pages, 'page')}, {changed}. Open:")
        printing.say(str(site.folder / "index.html"))


def build_at_changes(
    folder: Path, seen: frozenset[tuple[str, int, int]] | None, build: Callable[[], None]
) -> None:
    """Build at every change, for ever; what is wrong is said, and watching goes on.

    seen: the state of the files before the last build: what changed while it ran is built too.
    Where the log could not be read, as while another program holds it, the build is tried again
    until it can be; the reason is said once.
    """
    said: tuple[Finding, ...] = ()
    news = LogNews(folder)
    while True:
        news.wait(POLL_SECONDS)
        now = watched_state(folder)
        if news.hears:  # no file changes; what was written before somebody listened is looked for
            now |= {("log", news.times, 0)}
        if now == seen:
            continue
        seen = now
        findings: tuple[Finding, ...] = ()
        try:
            build()
        except CreditsError as error:
            findings = error.findings
            if isinstance(error, LogUnusable):
                seen = None
        # What the error held open is closed by now: a Ctrl-C would be lost while it is.
        if findings and findings != said:
            printing.problems(findings)
        said = findings
