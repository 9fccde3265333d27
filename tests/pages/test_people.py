"""The list of people: who is named in which edition, in what order, under which letter."""

from __future__ import annotations

from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.site.pages.people import PeoplePage, people_pages
from credits.site.render import render
from credits.site.source import PageSource
from tests.small_log import small_ledger

CREW_LIST = """
    [people]
    person, credit_name, sort_name, credit_wish, same_as
    ana, Ana Quist, "Quist, Ana"
    ode, Åse Ødegård, "Ødegård, Åse"
    olm, Bo Olm, "Olm, Bo"
    hid, Mo Hidden, "Hidden, Mo", uncredited
    quist, A. Quist, , , ana
    yuki, 山田 雪, "山田, 雪"

    [engagements]
    person, department, job_title
    olm, Camera, Focus puller

    [characters]
    character
    wick

    [entries]
    craft, person, character
    sculpt, ana, wick
    voice, quist, wick
    paint, hid, wick
"""


def page_of(text: str, edition: Edition) -> PeoplePage:
    (page,) = people_pages(PageSource(Snapshot(small_ledger(text)), edition))
    model = cut_to(page.model, edition)
    assert isinstance(model, PeoplePage)
    return model


def html_of(text: str, edition: Edition) -> str:
    source = PageSource(Snapshot(small_ledger(text)), edition)
    (page,) = people_pages(source)
    return render(page, source)


def listed(page: PeoplePage) -> list[tuple[str, list[str]]]:
    return [(letter, [row.person.text for row in rows]) for letter, _, rows in page.letters]


def does(page: PeoplePage) -> dict[str, str]:
    return {row.person.text: row.does for _, _, rows in page.letters for row in rows}


def test_the_office_sees_everybody_once_under_the_letter_of_the_sort_name() -> None:
    assert listed(page_of(CREW_LIST, Edition.OFFICE)) == [
        ("H", ["Mo Hidden"]),
        ("O", ["Åse Ødegård", "Bo Olm"]),
        ("Q", ["Ana Quist"]),
        ("漢字", ["山田 雪"]),
    ]
    # Who is there by name is not counted beside.
    assert page_of(CREW_LIST, Edition.OFFICE).uncredited == ""


def test_the_crew_reads_how_many_asked_to_be_uncredited_and_not_who() -> None:
    page = page_of(CREW_LIST, Edition.CREW)
    assert page.uncredited == "and 1 person who asked to be uncredited"
    assert "Mo Hidden" not in does(page)
    assert "Hidden" not in html_of(CREW_LIST, Edition.CREW)


def test_the_public_reads_only_those_whose_credit_prints() -> None:
    page = page_of(CREW_LIST, Edition.PUBLIC)
    assert listed(page) == [("O", ["Bo Olm"]), ("Q", ["Ana Quist"])]
    assert (page.count, page.uncredited) == ("2 people", "")


def test_what_somebody_does_is_their_crafts_or_else_their_department() -> None:
    found = does(page_of(CREW_LIST, Edition.CREW))
    assert found["Ana Quist"] == "Voice and Puppet sculpting"
    assert found["Bo Olm"] == "Camera"
    assert found["Åse Ødegård"] == ""


def test_only_the_office_reads_who_is_held() -> None:
    held = {
        edition: [
            row.held
            for _, _, rows in page_of(CREW_LIST, edition).letters
            for row in rows
            if row.held
        ]
        for edition in Edition
    }
    assert held == {
        Edition.PUBLIC: [],
        Edition.CREW: [],
        Edition.OFFICE: ["asked to be uncredited"],
    }


def test_an_empty_production_says_so() -> None:
    assert "The people table is empty" in html_of("", Edition.OFFICE)
    assert "nobody is named here" in html_of("", Edition.PUBLIC)
