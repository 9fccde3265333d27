"""The review of one animator, and the pack of it that is handed over."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

from credits.app.named import fact_named
from credits.app.production import model_needs, open_snapshot
from credits.cautions import REVIEW_CAUTION
from credits.editions import Edition
from credits.errors import CreditsError, Finding, WrongCall
from credits.formats.deliver.fonts import font_folders
from credits.formats.deliver.review import ReviewSheet, review_csv, review_pdf
from credits.model.ledger import Ledger
from credits.review.expectation import Expectation
from credits.review.review import Period, Review
from credits.review.shown import ShownExpectation, period_text, shown_expectation, shown_review
from credits.site.links import Frame, file_name
from credits.site.pages.footage import ReviewPages
from credits.site.publish import publish
from credits.site.render import rendered, static_files
from credits.site.source import PageSource

FOR_WHOM = "Review of one person: for this person and the production office only"


class MadeReview(NamedTuple):
    """A review with what it was made from."""

    source: PageSource
    pages: ReviewPages
    review: Review

    @property
    def ledger(self) -> Ledger:
        """The production that it was made from."""
        return self.source.ledger

    @property
    def expectation(self) -> Expectation:
        """What pace would be usual for these shots."""
        return self.pages.expectations.of(self.review.person, self.review.period)

    @property
    def shown_expectation(self) -> ShownExpectation | None:
        """The expectation in words; without the library, what the office asks its technician."""
        return shown_expectation(self.expectation, self.source.technician)


def review_of(folder: Path, person: str, period: Period) -> MadeReview:
    """Review the animator that a code names. Raises WrongCall, CreditsError."""
    snapshot = open_snapshot(folder)
    ledger = snapshot.ledger
    code = fact_named("people", person, ledger.people.values()).code
    code = ledger.one_person.get(code, code)
    if not any(map(ledger.is_footage, ledger.entries_by_person.get(code, ()))):
        crafts = " or ".join(craft.code for craft in ledger.crafts.values() if craft.footage)
        what = f"has no entries of {crafts}, so there is no footage to review"
        hint = f"`credits why {code}` shows the work that there is."
        raise CreditsError(Finding(what, hint, value=person))
    source = PageSource(snapshot, Edition.OFFICE, technician=model_needs())
    pages = ReviewPages(source, linked=False)
    return MadeReview(source, pages, pages.review(code, period))


def _sheet(made: MadeReview) -> ReviewSheet:
    page, review, ledger = made.pages.page(made.review), made.review, made.ledger
    shown = shown_review(review, ledger)
    return ReviewSheet(
        film=ledger.production.title,
        name=ledger.people[review.person].credit_name,
        period=page.period,
        data=made.source.as_of,
        caution=REVIEW_CAUTION,
        shown=replace(shown, waits=page.waits or shown.waits),
        expectation=made.shown_expectation,
    )


def _html(made: MadeReview) -> bytes:
    ledger = made.ledger
    frame = Frame(
        title=f"Review: {ledger.people[made.review.person].credit_name}",
        film=ledger.production.title,
        root="",
        nav=(),
        edition=f"{FOR_WHOM}. {period_text(made.review.period)}",
        as_of=made.source.as_of,
        crew=True,
        office=True,
    )
    page = made.pages.page(made.review)
    return rendered("pack/review.html", frame=frame, page=page).encode("utf-8")


def write_pack(made: MadeReview, out: str) -> tuple[str, ...]:
    """Write the pack into a folder that then holds it and nothing else; the names of its files.

    Raises WrongCall for a folder with other things in it, CreditsError.
    """
    folder = Path(out).resolve()
    name = f"review-{file_name(made.review.person)}"
    if folder.is_dir() and any(folder.iterdir()) and not (folder / f"{name}.html").is_file():
        what = "holds something else than a pack of this person; writing would remove it"
        hint = "Name an empty or new folder: a pack holds one person alone."
        raise WrongCall(Finding(what, hint, column="--out", value=str(folder)))
    files = (
        (f"{name}.html", _html(made)),
        (f"{name}.pdf", review_pdf(_sheet(made), font_folders(os.environ))),
        (f"{name}.csv", review_csv(made.review, made.ledger.production, REVIEW_CAUTION)),
        ("style.css", static_files()["style.css"]),
    )
    publish(folder, files)
    return tuple(name for name, _ in files)
