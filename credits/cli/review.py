"""The command review, and the review pack."""

from __future__ import annotations

from typing import Annotated

import typer

from credits.app.named import days_named
from credits.app.review import MadeReview, model_requirements, review_of, write_pack
from credits.cautions import REVIEW_CAUTION
from credits.cli import printing
from credits.cli.options import JsonOption, ProductionOption
from credits.cli.production import folder_of, production_codes
from credits.formats.deliver.review import review_json
from credits.review.expectation import Expectation, ExpectationOutcome
from credits.review.review import Period
from credits.review.shown import TITLE, ShownReview, ShownTable, shown_expectation, shown_review
from credits.site.pages.review import period_text


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
    made = review_of(folder_of(production), person, Period(*days_named(from_day, to_day)))
    if out is not None:
        names = write_pack(made, out)
        (printing.remark if as_json else printing.say)(f"Wrote {', '.join(names)} in {out}.")
    if as_json:
        shape = review_json(made.review, made.ledger, made.expectation, REVIEW_CAUTION)
        printing.say_json(shape)
        return
    if out is None:
        _say(made)
    printing.remark(REVIEW_CAUTION)


def _say(made: MadeReview) -> None:
    review, ledger = made.review, made.ledger
    shown = shown_review(review, ledger)
    name = ledger.people[review.person].credit_name
    printing.heading(f"{name}. {period_text(review.period)}. {shown.takes}.")
    _say_figures(shown, bool(review.ranges))
    _say_model(made.expectation)
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


def _say_model(found: Expectation) -> None:
    shown = shown_expectation(found)
    if shown is None:
        return
    printing.say()
    printing.heading(TITLE)
    for text in shown.said:
        printing.say(text)
    if shown.effects:
        printing.table(("what changes", "pace", "in nine of ten cases"), shown.effects, numbers=2)
    if found.outcome is ExpectationOutcome.NOT_INSTALLED and (needed := model_requirements()):
        printing.say(f"Ask the office's technician to install {' and '.join(needed)}.")


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


def _say_waits(made: MadeReview) -> None:
    if not made.review.waits:
        return
    printing.say()
    printing.heading("Waits for repairs")
    rows = [
        (w.day or "undated", w.puppet, w.part or "", w.shot or "no one shot", w.entry, w.minutes)
        for w in made.review.waits
    ]
    printing.table(("date", "puppet", "part", "shot", "entry", "minutes"), rows, numbers=1)
