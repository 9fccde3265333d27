"""The pack of a review: one person's figures as HTML, PDF and CSV in a folder of their own."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from credits.cautions import REVIEW_CAUTION
from credits.compute.expectation_words import shown_expectation
from credits.compute.review import Review
from credits.compute.review_ranges import LEAST_OTHERS
from credits.compute.review_shown import shown_review
from credits.errors import Finding, WrongCall
from credits.exchange.fonts import font_folders
from credits.exchange.review_csv import review_csv
from credits.exchange.review_pdf import review_pdf
from credits.exchange.review_sheet import ReviewSheet
from credits.pages.links import file_name
from credits.pages.page import Frame
from credits.pages.review import OTHERS, TOO_FEW_OTHERS, ReviewPages, period_text
from credits.pages.source import PageSource
from credits.pages.whole_site import as_of

FOR_WHOM = "Review of one person: for this person and the production office only"


@dataclass(frozen=True, slots=True)
class Made:
    """A review with what it was made from."""

    source: PageSource
    pages: ReviewPages
    review: Review

    @property
    def others(self) -> str:
        """What the ranges of the others are, or why there are none."""
        return OTHERS if self.review.others >= LEAST_OTHERS else TOO_FEW_OTHERS


def _sheet(made: Made) -> ReviewSheet:
    page, review, ledger = made.pages.page(made.review), made.review, made.source.ledger
    expectation = made.pages.expectations.of(review.person, review.period)
    return ReviewSheet(
        film=ledger.production.title,
        name=ledger.people[review.person].credit_name,
        period=page.period,
        data=as_of(made.source),
        caution=REVIEW_CAUTION,
        others=made.others,
        shown=shown_review(review, ledger),
        expectation=shown_expectation(expectation),
        waits=tuple(
            (
                wait.day,
                wait.puppet.text if wait.puppet is not None else "",
                wait.part,
                wait.shot.text if wait.shot is not None else "",
                wait.minutes,
            )
            for wait in page.waits
        ),
    )


def _html(made: Made) -> bytes:
    from credits.site.environment import rendered

    ledger = made.source.ledger
    frame = Frame(
        title=f"Review: {ledger.people[made.review.person].credit_name}",
        film=ledger.production.title,
        root="",
        nav=(),
        edition=f"{FOR_WHOM}. {period_text(made.review.period)}",
        as_of=as_of(made.source),
        crew=True,
        office=True,
    )
    page = made.pages.page(made.review)
    return rendered("pack/review.html", frame=frame, page=page).encode("utf-8")


def _refuse_other_packs(folder: Path, html: str) -> None:
    """A site, or somebody else's pack, is never replaced by this one."""
    if folder.is_dir() and any(folder.iterdir()) and not (folder / html).is_file():
        what = "holds something else than a pack of this person; writing would remove it"
        hint = "Name an empty or new folder: a pack holds one person alone."
        raise WrongCall(Finding(what, hint, column="--out", value=str(folder)))


def write_pack(made: Made, out: str) -> tuple[str, ...]:
    """Write the pack into a folder that then holds it and nothing else; the names of its files.

    Raises WrongCall for a folder with other things in it, LettersMissing, CreditsError.
    """
    from credits.site.environment import static_files
    from credits.site.exchange_folder import write_folder

    folder = Path(out).resolve()
    name = f"review-{file_name(made.review.person)}"
    _refuse_other_packs(folder, f"{name}.html")
    files = (
        (f"{name}.html", _html(made)),
        (f"{name}.pdf", review_pdf(_sheet(made), font_folders(os.environ))),
        (f"{name}.csv", review_csv(made.review, made.source.ledger.production, REVIEW_CAUTION)),
        ("style.css", static_files()["style.css"]),
    )
    write_folder(folder, files)
    return tuple(name for name, _ in files)
