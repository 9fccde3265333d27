"""The office's page of reasons: by heading, by character, everybody not printed, other names."""

from __future__ import annotations

import pytest

from credits.billing.plan import CreditPlan, NameRule, PlannedSection
from credits.billing.thresholds import Threshold, ThresholdUnit
from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.site.pages.credits import credits_pages
from credits.site.pages.reasons import ReasonsPage, reasons_pages
from credits.site.render import all_pages, render
from credits.site.source import PageSource
from tests.small_log import small_ledger
from tests.table_texts import rows_of

FILM = """
    [people]
    person, credit_name, sort_name, legal_name, credit_wish, same_as
    ana, Ana Lind, "Lind, Ana", Anna Beata Lindqvist
    ann, Ann L., , , , ana
    ben, Ben Orr, "Orr, Ben"
    cai, Cai Moss, "Moss, Cai", , uncredited
    dov, Dov Farr, "Farr, Dov"
    [characters]
    character, name
    wick, Wick
    brine, Captain Brine
    [engagements]
    person, department, job_title, guaranteed_heading
    ben, Animation, Lead animator, Lead animators
    [entries]
    craft, person, character
    animation, ana, wick
    animation, ben, brine
    animation, cai, wick
    sculpt, ana, brine
"""
PLAN = CreditPlan(
    "a plan",
    (
        PlannedSection(heading="Lead animators", guaranteed=("lead animators",)),
        PlannedSection(heading="Animators", crafts=("animation",)),
        PlannedSection(
            heading="Sculptors",
            crafts=("sculpt",),
            at_least=Threshold(unit=ThresholdUnit.ENTRIES, least=2),
        ),
    ),
    names=(NameRule(person="ana", printed_as="A. Lind", headings=("animators",)),),
)


def source_of(edition: Edition = Edition.OFFICE, text: str = FILM) -> PageSource:
    return PageSource(Snapshot(small_ledger(text), PLAN if text else None), edition)


def page_of(text: str = FILM) -> ReasonsPage:
    (page,) = reasons_pages(source_of(text=text))
    model = page.model
    assert isinstance(model, ReasonsPage)
    return model


def texts(table: object) -> list[tuple[object, ...]]:
    return [tuple(row) for row in rows_of(table)]


def test_by_heading_everybody_stands_with_what_became_of_them() -> None:
    rows = [row[:4] for row in texts(page_of().headings)]
    assert rows == [
        ("Lead animators", "Ben Orr", "", "printed"),
        ("Animators", "A. Lind", "", "printed"),
        ("Animators", "Ben Orr", "", "printed"),
        ("Animators", "Cai Moss", "", "asked to be uncredited"),
        ("Sculptors", "Ana Lind", "", "below the threshold"),
    ]


def test_by_character_names_stand_under_each_heading() -> None:
    assert texts(page_of().characters) == [
        ("Wick", "Animators", ["A. Lind"]),
        ("Wick", "(not printed)", ["Cai Moss"]),
        ("Captain Brine", "Animators", ["Ben Orr"]),
    ]


def test_everybody_who_does_not_print() -> None:
    assert [row[:3] for row in texts(page_of().out)] == [
        ("Cai Moss", "", "asked to be uncredited"),
        ("Ana Lind", "Sculptors", "below the threshold, this line is held for a decision"),
        ("Dov Farr", "", "no credit is owed yet"),
    ]


def test_other_names_lead_to_the_person() -> None:
    assert texts(page_of().names) == [
        ("A. Lind", "name in the credits", "Ana Lind"),
        ("Ann L.", "the same person, as ann", "Ana Lind"),
    ]


@pytest.mark.parametrize("edition", Edition)
def test_the_page_is_for_the_office_alone(edition: Edition) -> None:
    source = source_of(edition)
    pages = {page.path: page for page in all_pages(source)}
    assert ("reasons.html" in pages) == (edition is Edition.OFFICE)
    credits_page = render(pages["credits.html"], source)
    assert ("reasons.html" in credits_page) == (edition is Edition.OFFICE)


def test_the_page_holds_nothing_for_the_crew() -> None:
    cut = cut_to(page_of(), Edition.CREW)
    assert cut == ReasonsPage()


def test_an_empty_production_has_the_page_too() -> None:
    page = page_of("")
    assert (page.headings, page.characters, page.out, page.names) == (None, None, None, None)
    (made,) = reasons_pages(source := source_of(text=""))
    assert "Nobody has a credit yet." in render(made, source)


def test_the_page_of_the_credits_shows_the_office_what_is_open_about_contracts() -> None:
    source = source_of()
    page, *_ = credits_pages(source)
    html = render(page, source)
    assert 'id="contracts"' in html
    assert "the end credits print this person under &#39;Animators&#39; too." in html
    crew = source_of(Edition.CREW)
    page, *_ = credits_pages(crew)
    assert "contract" not in render(page, crew).lower().replace("governed by contracts", "")
