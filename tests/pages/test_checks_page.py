"""The page of checks: open questions, and the settled ones with their answers."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from credits.checks.answers import WorksOf, fingerprint
from credits.checks.checks import CHECKS
from credits.checks.rule import Severity
from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.model.facts import Settlement
from credits.site.pages.checks import ChecksPage, checks_pages, entry_link
from credits.site.pages.home import home_pages
from credits.site.render import render
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


WRONG = """
    [people]
    person
    ana

    [characters]
    character
    wick

    [puppets]
    puppet, character
    wick-1, wick

    [parts]
    part, kind
    head-1, head

    [stages]
    stage
    north
    south

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-010, 010, 48

    [fittings]
    part, puppet, from_on, to_on
    head-1, wick-1, 2026-03-01, 2026-03-09

    [entries]
    craft, person, character, puppet, shot, take, frames, stage, finished_on
    animation, ana, wick, wick-1, 010-010, 1, 1-60, north, 2026-03-02
    sculpt, ana, wick, , , , , , 2026-03-02
    sculpt, ana, wick
"""


def test_cases_stand_by_consequence_each_with_what_it_is_about_and_what_to_type() -> None:
    page = page_of(Snapshot(small_ledger(WRONG)))
    beyond = next(group for group in page.asked if group.name == "frames beyond shot")
    assert beyond.anchor == "question-frames-beyond-shot"
    assert beyond.answered_by == "credits answer frames-beyond-shot SHOT TAKE --why TEXT"
    (case,) = beyond.cases
    assert [(link.text, link.href) for link in case.about] == [
        ("shot 010-010", "shots/010-010.html")
    ]
    assert [(link.text, link.href) for link in case.entries] == [
        ("A-1", "shots/010-010.html#entry-A-1")
    ]
    assert [text for text, typed in case.hint if typed] == ["credits amend A-1 --frames 1-48"]


def test_an_entry_leads_to_its_shot_else_to_its_week_else_to_whoever_did_it() -> None:
    results = Snapshot(small_ledger(WRONG))
    source = PageSource(results, Edition.OFFICE)
    ways = [entry_link(source, number).href for number in results.ledger.by_number]
    assert ways == ["shots/010-010.html#entry-A-1", "weeks/2026-w10.html", "people/ana.html"]


def test_what_cannot_be_right_stands_first_and_has_no_answer() -> None:
    results = Snapshot(small_ledger(WRONG))
    checks = tuple(
        replace(check, severity=Severity.WRONG) if check.kind == "frames-beyond-shot" else check
        for check in results.checks
    )
    results.__dict__["checks"] = checks
    page = page_of(results)
    assert [(group.name, group.answered_by) for group in page.wrong] == [("frames beyond shot", "")]
    assert page.errors == "1 error"
    source = PageSource(results, Edition.OFFICE)
    html = render(next(checks_pages(source)), source)
    assert html.index("Cannot be right") < html.index("Somebody must answer")


def test_every_check_has_a_line_in_the_key() -> None:
    page = page_of(Snapshot(small_ledger("")))
    assert (page.errors, page.questions, page.wrong, page.asked) == (
        "No errors", "no open question", (), (),
    )  # fmt: skip
    assert len(page.kinds) == len(CHECKS)
    assert all(description and quiet for _, description, quiet in page.kinds)


@pytest.mark.parametrize("edition", [Edition.PUBLIC, Edition.CREW])
def test_no_other_edition_holds_an_answer(edition: Edition) -> None:
    page = page_of(settled("nobody-voices", "Brine only gurgles.", "Bo"))
    assert cut_to(page, edition) == ChecksPage()
