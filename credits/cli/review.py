"""The command review: one animator's figures, with their context."""

from __future__ import annotations

from credits.app.review import MadeReview, review_of
from credits.app.work.named import days_named
from credits.cautions import REVIEW_CAUTION
from credits.cli.options import (
    FromOption,
    JsonOption,
    ProductionOption,
    Text,
    ToOption,
    argument,
    option,
)
from credits.cli.production import codes, folder_of
from credits.cli.terminal import printing
from credits.memory import all_kept, import_for_good
from credits.review.shown import ShownExpectation, period_text, shown_review
from credits.units.film_time import Period


def review(
    person: str = argument(..., "PERSON", "The animator's code.", codes("people")),
    from_day: FromOption = None,
    to_day: ToOption = None,
    out: Text = option(None, "--out", "Write a pack there: HTML, PDF and CSV.", "DIR"),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """One animator's footage, days, pace and waits, with context.

    By week and by shot, with the shots behind every figure. A basis for a conversation: no ranking
    and no score, and nobody else is named.
    """
    made = review_of(folder_of(production), person, Period(*days_named(from_day, to_day)))
    if out is not None:
        # Only who wants a pack waits for what writes pages and draws letters.
        names = import_for_good("credits.app.deliver").write_pack(made, out)
        (printing.remark if as_json else printing.say)(f"Wrote {', '.join(names)} in {out}.")
    if as_json:
        shape = import_for_good("credits.formats.deliver.review").review_json
        with all_kept():
            printing.say_json(shape(made.review, made.ledger, made.expectation, REVIEW_CAUTION))
        return
    if out is None:
        with all_kept():
            _say(made)
    printing.warn(REVIEW_CAUTION)


def _say(made: MadeReview) -> None:
    review, ledger = made.review, made.ledger
    shown = shown_review(review, ledger)
    name = ledger.people[review.person].credit_name
    printing.heading(f"{name}. {period_text(review.period)}. {shown.takes}.")
    table = shown.figure_table
    printing.say_table(table if review.ranges else table.without("others"))
    _say_model(made.shown_expectation)
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
    if shown.mix is not None:
        printing.say_table(shown.mix, caption=True)
