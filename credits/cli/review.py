"""``credits review``: one animator's figures, with their context, for a conversation."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from credits.cli import printing
from credits.cli.codes import day_named, fact_named
from credits.cli.completion import production_codes
from credits.cli.options import JsonOption, ProductionOption, folder_of
from credits.errors import CreditsError, Finding, WrongCall

if TYPE_CHECKING:
    from pathlib import Path

    from credits.cli.review_pack import Made
    from credits.compute.expectation_words import ShownExpectation
    from credits.compute.review import Period
    from credits.compute.review_shown import ShownReview, ShownTable
    from credits.model.ledger import Ledger


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
    from credits.cautions import REVIEW_CAUTION

    made = _made(folder_of(production), person, period_of(from_day, to_day))
    if out is not None:
        from credits.cli.review_pack import write_pack

        names = write_pack(made, out)
        (printing.remark if as_json else printing.say)(f"Wrote {', '.join(names)} in {out}.")
    if as_json:
        from credits.exchange.review_json import review_json

        ledger = made.source.ledger
        expectation = made.pages.expectations.of(made.review.person, made.review.period)
        printing.say_json(review_json(made.review, ledger, expectation, REVIEW_CAUTION))
        return
    if out is None:
        _say(made)
    printing.remark(REVIEW_CAUTION)


def period_of(from_day: str | None, to_day: str | None) -> Period:
    """The period between two days. Raises WrongCall when it ends before it begins."""
    from credits.compute.review import Period

    first = day_named(from_day, "--from") if from_day else None
    last = day_named(to_day, "--to") if to_day else None
    if first and last and last < first:
        raise WrongCall(Finding(f"--to {last} lies before --from {first}", "Correct one of them."))
    return Period(first, last)


def _made(folder: Path, text: str, period: Period) -> Made:
    """The review of the person that is named. Raises WrongCall, CreditsError."""
    from credits.app import results_of
    from credits.cli.review_pack import Made
    from credits.editions import Edition
    from credits.pages.review import ReviewPages
    from credits.pages.source import page_source

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
    from credits.compute.expectation_words import shown_expectation
    from credits.compute.review_shown import shown_review
    from credits.pages.review import period_text

    review, ledger = made.review, made.source.ledger
    shown = shown_review(review, ledger)
    name = ledger.people[review.person].credit_name
    printing.heading(f"{name}. {period_text(review.period)}. {shown.takes}.")
    _say_figures(shown, bool(review.ranges))
    _say_model(shown_expectation(made.pages.expectations.of(review.person, review.period)))
    for caption, first, nothing, table in (
        ("Frames by week", "week", "undated", shown.footage_by_week),
        ("Days and pace by week", "week", "undated", shown.days_by_week),
        ("Frames by shot", "shot", "no one shot", shown.footage_by_shot),
        ("Days and pace by shot", "shot", "no one shot", shown.days_by_shot),
        ("The person's own earlier periods", "days", "", shown.earlier),
    ):
        _say_table(caption, first, nothing, table)
    _say_waits(made)
    printing.remark(made.others)


def _say_figures(shown: ShownReview, ranges: bool) -> None:
    headings = ("figure", "this review", *(["the others, same weeks"] if ranges else []))
    rows = [
        (f.name, f"{f.value} ({f.detail})" if f.detail else f.value, *([f.unit] if ranges else []))
        for f in shown.figures
    ]
    printing.table(headings, rows, numbers=len(headings) - 1)


def _say_model(shown: ShownExpectation | None) -> None:
    from credits.compute.expectation_words import TITLE

    if shown is None:
        return
    printing.say()
    printing.heading(TITLE)
    for text in shown.said:
        printing.say(text)
    if shown.effects:
        printing.table(("what changes", "pace", "in nine of ten cases"), shown.effects, numbers=2)


def _say_table(caption: str, first: str, nothing: str, table: ShownTable) -> None:
    if not table.rows:
        return
    any_shots = any(row.shots for row in table.rows)
    rows: list[tuple[object, ...]] = [
        (
            row.key if row.key is not None else nothing,
            *([", ".join(row.shots)] if any_shots else []),
            *row.cells,
        )
        for row in table.rows
    ]
    if table.total:
        rows.append(("total", *([""] if any_shots else []), *table.total))
    printing.say()
    printing.heading(caption)
    heads = (first, *(["shots"] if any_shots else []), *table.heads)
    printing.table(heads, rows, numbers=len(table.heads))


def _say_waits(made: Made) -> None:
    if not made.review.waits:
        return
    printing.say()
    printing.heading("Waits for repairs")
    rows = [
        (w.day or "undated", w.puppet, w.part or "", w.shot or "no one shot", w.entry, w.minutes)
        for w in made.review.waits
    ]
    printing.table(("date", "puppet", "part", "shot", "entry", "minutes"), rows, numbers=1)
