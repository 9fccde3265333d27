"""The shell around the pure parts: read, replay, compute, build, render, write."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from credits.compute.results import Results, compute
from credits.ledger.ledger import Ledger
from credits.ledger.replay import replay
from credits.pages.edition import Edition
from credits.store import open_log


@dataclass(frozen=True, slots=True)
class SiteReport:
    """What building one edition did."""

    edition: Edition
    folder: Path
    pages: int
    written: int
    unchanged: int
    removed: int
    open_this: Path


def read_ledger(folder: Path) -> Ledger:
    """The ledger of the production in a folder."""
    with open_log(folder) as log:
        return replay(log.read())


def results_of(folder: Path) -> Results:
    """Everything that is computed from the production in a folder."""
    return compute(read_ledger(folder))


def build_sites(
    folder: Path,
    editions: Sequence[Edition],
    out: Path | None = None,
    progress: Callable[[str], None] | None = None,
) -> tuple[SiteReport, ...]:
    """Build the sites of a production, a folder per edition under ``out`` (None: ``site/``)."""
    from credits.pages.source import page_source
    from credits.site.build import build
    from credits.site.pictures import pictures_of

    results = results_of(folder)
    reports = []
    for edition in editions:
        target = (out or folder / "site") / edition.value
        names, contents = pictures_of(folder / "pictures", results.ledger, edition)
        done = build(target, page_source(results, edition, names), contents, progress)
        pages = done.written + done.unchanged - len(contents)
        reports.append(
            SiteReport(
                edition,
                target,
                pages,
                done.written,
                done.unchanged,
                done.removed,
                target / "index.html",
            )
        )
    return tuple(reports)
