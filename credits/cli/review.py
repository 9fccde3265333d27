"""The command review, and the review pack."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated

import typer

from credits.app import results_of
from credits.cautions import REVIEW_CAUTION
from credits.cli import printing
from credits.cli.codes import day_named, fact_named, folder_of, production_codes
from credits.cli.options import JsonOption, ProductionOption
from credits.editions import Edition
from credits.errors import CreditsError, Finding, WrongCall
from credits.formats.deliver.fonts import font_folders
from credits.formats.deliver.review import ReviewSheet, review_csv, review_json, review_pdf
from credits.model.ledger import Ledger
from credits.review.review import Period, Review
from credits.review.shown import (
    ShownExpectation,
    period_text,
    shown_expectation,
    shown_review,
)
from credits.site.links import file_name
from credits.site.page import Frame
from credits.site.pages.review import ReviewPages
from credits.site.publish import publish
from credits.site.render import rendered, static_files
from credits.site.source import PageSource, page_source
from credits.site.whole_site import as_of

FOR_WHOM = "Review of one person: for this person and the production office only"


@dataclass(frozen=True, slots=True)
class Made:
    """A review with what it was made from."""

    source: PageSource
    pages: ReviewPages
    review: Review


def _sheet(made: Made) -> ReviewSheet:
    page, review, ledger = made.pages.page(made.review), made.review, made.source.ledger
    shown = shown_review(review, ledger)
    expectation = made.pages.expectations.of(review.person, review.period)
    return ReviewSheet(
        film=ledger.production.title,
        name=ledger.people[review.person].credit_name,
        period=page.period,
        data=as_of(made.source),
        caution=REVIEW_CAUTION,
        shown=replace(shown, waits=page.waits or shown.waits),
        expectation=shown_expectation(expectation),
    )


def _html(made: Made) -> bytes:

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

    Raises WrongCall for a folder with other things in it, LettersMissingError, CreditsError.
    """

    folder = Path(out).resolve()
    name = f"review-{file_name(made.review.person)}"
    _refuse_other_packs(folder, f"{name}.html")
    files = (
        (f"{name}.html", _html(made)),
        (f"{name}.pdf", review_pdf(_sheet(made), font_folders(os.environ))),
        (f"{name}.csv", review_csv(made.review, made.source.ledger.production, REVIEW_CAUTION)),
        ("style.css", static_files()["style.css"]),
    )
    publish(folder, files)
    return tuple(name for name, _ in files)


def review(
    person: Annotated[
        str,
        typer.Argument(
            metavar="PERSON",
            help="The animator's code.",
            autocompletion=production_codes("people"),
        ),
    ],
    from_day: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="From this day on.")
    ] = None,
    to_day: Annotated[
        str | None, typer.Option("--to", metavar="DATE", help="Up to this day.")
    ] = None,
    out: Annotated[
        str | None,
        typer.Option("--out", metavar="DIR", help="Write a pack there: HTML, PDF and CSV."),
    ] = None,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """One animator's footage, days, pace and waits, with context.

    By week and by shot, with the shots behind every figure. A basis for a conversation: no ranking
    and no score, and nobody else is named.
    """

    made = _made(folder_of(production), person, period_of(from_day, to_day))
    if out is not None:
        names = write_pack(made, out)
        (printing.remark if as_json else printing.say)(f"Wrote {', '.join(names)} in {out}.")
    if as_json:
        ledger = made.source.ledger
        expectation = made.pages.expectations.of(made.review.person, made.review.period)
        printing.say_json(review_json(made.review, ledger, expectation, REVIEW_CAUTION))
        return
    if out is None:
        _say(made)
    printing.remark(REVIEW_CAUTION)


def period_of(from_day: str | None, to_day: str | None) -> Period:
    """The period between two days. Raises WrongCall when it ends before it begins."""

    first = day_named(from_day, "--from") if from_day else None
    last = day_named(to_day, "--to") if to_day else None
    if first and last and last < first:
        raise WrongCall(Finding(f"--to {last} lies before --from {first}", "Correct one of them."))
    return Period(first, last)


def _made(folder: Path, text: str, period: Period) -> Made:
    """The review of the person that is named. Raises WrongCall, CreditsError."""

    results = results_of(folder)
    person = person_reviewed(text, results.ledger)
    source = page_source(results, Edition.OFFICE)
    pages = ReviewPages(source, linked=False)
    return Made(source, pages, pages.review(person, period))


def person_reviewed(text: str, ledger: Ledger) -> str:
    """The animator that a code names, without regard to case. Raises WrongCall, CreditsError."""
    code = fact_named("people", text, ledger.people.values()).code
    person = ledger.one_person.get(code, code)
    if not any(ledger.is_footage(e) for e in ledger.entries_by_person.get(person, ())):
        crafts = " or ".join(craft.code for craft in ledger.crafts.values() if craft.footage)
        what = f"has no entries of {crafts}, so there is no footage to review"
        hint = f"`credits why {person}` shows the work that there is."
        raise CreditsError(Finding(what, hint, value=text))
    return person


def _say(made: Made) -> None:

    review, ledger = made.review, made.source.ledger
    shown = shown_review(review, ledger)
    name = ledger.people[review.person].credit_name
    printing.heading(f"{name}. {period_text(review.period)}. {shown.takes}.")
    table = shown.figure_table
    printing.say_table(table if review.ranges else table.without("others"))
    _say_model(shown_expectation(made.pages.expectations.of(review.person, review.period)))
    for part in shown.tables:
        printing.say_table(part.table, caption=True)
    if shown.waits:
        printing.say_table(shown.waits, caption=True)
    printing.remark(shown.others)


def _say_model(shown: ShownExpectation | None) -> None:
    if shown is None:
        return
    printing.say()
    printing.heading(shown.title)
    for text in shown.said:
        printing.say(text)
    if shown.effects is not None:
        printing.say_table(shown.effects)
