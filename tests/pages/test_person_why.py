"""The reasons on a person's page and on the page of the credits, by a plan with thresholds."""

from __future__ import annotations

from pathlib import Path

import pytest

from credits.app.production import open_snapshot
from credits.billing.credits import Outcome
from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.formats.plan.read import read_plan_text
from credits.site.links import Page
from credits.site.pages.credits import CreditsPage, credits_pages
from credits.site.pages.person import PersonPage, person_pages
from credits.site.source import PageSource
from tests.small_log import WORKED_EXAMPLE, small_ledger
from tests.table_texts import rows_of

# Frames of the worked example on screen: Ana 10, Ben 8, Cai 14. Ben also builds, Cai sculpts.
PLAN = """
    [[section]]
    heading = "Lead animators"
    crafts = ["animation"]
    at_least = "14 frames on screen"
    below = "Animators"

    [[section]]
    heading = "Animators"
    at_least = "10 frames on screen"

    [[section]]
    heading = "Puppet makers"
    crafts = ["fabrication"]
"""
CUT = "shot, first, last\n010-020, 9, 40"


def results() -> Snapshot:
    ledger = small_ledger(WORKED_EXAMPLE, CUT)
    return Snapshot(ledger, read_plan_text(PLAN, ledger))


def person_page(code: str, edition: Edition) -> PersonPage:
    pages = person_pages(PageSource(results(), edition))
    (model,) = (
        page.model
        for page in pages
        if isinstance(page, Page) and page.path == f"people/{code}.html"
    )
    assert isinstance(model, PersonPage)
    return cut_to(model, edition)


def test_the_office_reads_what_was_asked_for_and_which_headings_considered_somebody() -> None:
    page = person_page("ana", Edition.OFFICE)
    assert [(line.heading, line.threshold) for line in page.lines] == [
        (
            "Animators",
            "'Lead animators' asks for at least 14 frames on screen: 10 reached. "
            "This heading asks for at least 10 frames on screen: 10 reached.",
        )
    ]
    assert rows_of(page.not_here, "heading", "outcome", "why") == [
        (
            "Lead animators",
            "below the threshold",
            "This heading asks for at least 14 frames on screen: 10 reached. "
            "Goes on to 'Animators'.",
        )
    ]


@pytest.mark.parametrize("edition", [Edition.PUBLIC, Edition.CREW])
def test_nobody_else_reads_by_how_much_somebody_missed_a_heading(edition: Edition) -> None:
    page = person_page("ana", edition)
    assert [line.threshold for line in page.lines] == [""]
    assert page.not_here is None


def test_a_held_line_of_somebody_who_prints_elsewhere_stands_among_the_held() -> None:
    page, _ = credits_pages(PageSource(results(), Edition.OFFICE))
    assert isinstance(page.model, CreditsPage)
    assert page.model.held_count == "1 line of others"
    ((person, heading, rule),) = rows_of(page.model.held, "person", "heading", "rule")
    assert (person, heading) == ("Ben", "Animators")
    assert rule.endswith(" 'Animators' asks for at least 10 frames on screen: 8 reached.")


def test_the_plan_of_the_example_prints_everybody_who_wants_to_be_named(
    example_production: Path,
) -> None:
    credits = open_snapshot(example_production).credits
    assert credits.plan == "plan of the production office, second round"
    assert [held.reason for held in credits.held] == ["asked to be uncredited"] * 2
    assert credits.held_lines == ()
    below = [one for one in credits.considered if one.outcome is Outcome.BELOW]
    assert {one.heading for one in below} >= {"Lead animators", "Animators", "Puppet makers"}
    assert any(section.text for section in credits.sections)
