"""The page of checks: open questions, and the settled ones with their answers."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from credits.checks.answers import WorksOf, fingerprint
from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.model.facts import Settlement
from credits.site.pages.checks import ChecksPage, checks_pages
from credits.site.pages.home import home_pages
from credits.site.source import PageSource
from tests.small_log import WORKED_EXAMPLE, small_ledger

ANSWERED_AT = datetime(2026, 3, 9, 23, 30, tzinfo=UTC)


def settled(check: str, why: str, by: str | None = None) -> Snapshot:
    """The worked example with an answer to each case of a check."""
    ledger = small_ledger(WORKED_EXAMPLE)
    answers = tuple(
        Settlement(
            check=c.kind,
            subjects=c.subjects,
            facts=fingerprint(c, WorksOf(ledger)),
            settled_at=ANSWERED_AT,
            why=why,
            settled_by=by,
        )
        for c in Snapshot(ledger).checks
        if c.kind == check
    )
    return Snapshot(replace(ledger, settlements=answers))


def page_of(results: Snapshot) -> ChecksPage:
    (page,) = checks_pages(PageSource(results, Edition.OFFICE))
    assert isinstance(page.model, ChecksPage)
    return page.model


def test_without_answers_nothing_is_settled() -> None:
    page = page_of(Snapshot(small_ledger(WORKED_EXAMPLE)))
    assert page.settled == ()
    assert "nobody voices" in [group.name for group in page.asked]


def test_a_settled_question_stands_apart_with_answer_who_and_when() -> None:
    page = page_of(settled("nobody-voices", "Brine only gurgles.", "Bo"))
    (row,) = page.settled
    assert (row.name, row.answer, row.who, row.when) == (
        "nobody voices", "Brine only gurgles.", "Bo", "9 March 2026",
    )  # fmt: skip
    assert [link.text for link in row.about] == ["Brine"]
    assert "nobody voices" not in [group.name for group in page.asked]
    assert (
        "nobody voices",
        "A character is in the cut, is not marked silent, and has no voice.",
        True,
    ) not in page.kinds


def test_the_first_page_counts_open_questions() -> None:
    before, after = (
        next(home_pages(PageSource(results, Edition.OFFICE))).model.questions
        for results in (Snapshot(small_ledger(WORKED_EXAMPLE)), settled("no-engagement", "Guests."))
    )
    assert int(before.split()[0]) - int(after.split()[0]) == 3


@pytest.mark.parametrize("edition", [Edition.PUBLIC, Edition.CREW])
def test_no_other_edition_holds_an_answer(edition: Edition) -> None:
    page = page_of(settled("nobody-voices", "Brine only gurgles.", "Bo"))
    assert cut_to(page, edition) == ChecksPage()
