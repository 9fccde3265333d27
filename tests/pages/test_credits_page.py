"""The page of the end credits: sections, held people, and the roll."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from markupsafe import escape

from credits.billing.credits import Credits, Line, Section
from credits.billing.plan import Layout, Picture
from credits.billing.reasons import Reason, ReasonKind
from credits.billing.setting.roll import USUAL
from credits.cautions import CREDITS_CAUTION
from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.site.pages.credits import (
    CreditsPage,
    RollLineView,
    credits_pages,
    roll_view,
)
from credits.site.render import render
from credits.site.source import PageSource
from credits.units.film_time import FrameRate, Gauge
from credits.units.table import Scale
from tests.small_log import WORKED_EXAMPLE, small_ledger
from tests.table_texts import rows_of

GAUGE = Gauge.parse("35mm-4perf")
WITH_UNCREDITED = """
    [people]
    person, credit_name, credit_wish, name_confirmed_on
    ana, Ana Quist, , 2026-03-03
    ben, Ben Okoro
    hid, Mo Hidden, uncredited

    [characters]
    character
    wick
    brine

    [entries]
    craft, person, character
    voice, ana, wick
    voice, ana, brine
    voice, ben, brine
    sculpt, ben, wick
    paint, hid, wick
"""


def roll_lines(credits: Credits) -> tuple[RollLineView, ...]:
    view = roll_view(credits, Scale(FrameRate.parse("24"), GAUGE), {})
    assert view is not None
    return view.lines


def page_of(text: str, edition: Edition = Edition.OFFICE) -> CreditsPage:
    page, *_ = credits_pages(PageSource(Snapshot(small_ledger(text)), edition))
    model = cut_to(page.model, edition)
    assert isinstance(model, CreditsPage)
    return model


def html_of(text: str, edition: Edition = Edition.OFFICE) -> str:
    source = PageSource(Snapshot(small_ledger(text)), edition)
    page, *_ = credits_pages(source)
    return render(page, source)


def credits_with(*names: str, role: str | None = None) -> Credits:
    because = (Reason(kind=ReasonKind.NAMED_BY_PLAN),)
    lines = tuple(
        Line(person=name, name=name, role=role, confirmed=True, because=because) for name in names
    )
    layout = Layout.NAMES if role is None else Layout.ROLE_AND_NAME
    return Credits(
        plan="a plan",
        sections=(Section(heading="Animation", lines=lines, layout=layout, columns=3),),
        held=(),
        order_of_appearance=(),
    )


def test_the_sections_are_those_that_are_compiled() -> None:
    page = page_of(WITH_UNCREDITED)
    assert [
        (one.heading, one.with_roles, [(line.role.text, line.name.text) for line in one.lines])
        for one in page.sections
    ] == [
        ("Voice", True, [("Wick, Brine", "Ana Quist"), ("Brine", "Ben Okoro")]),
        ("Puppet sculpting", False, [("", "Ben Okoro")]),
    ]  # fmt: skip
    assert (page.line_count, page.people_count) == ("3", "2")


@pytest.mark.parametrize("edition", Edition)
def test_each_name_leads_to_its_reasons(edition: Edition) -> None:
    page = page_of(WITH_UNCREDITED, edition)
    assert {line.name.href for section in page.sections for line in section.lines} == {
        "people/ana.html#credit",
        "people/ben.html#credit",
    }


@pytest.mark.parametrize("edition", Edition)
def test_the_caution_and_the_state_of_the_proof_stand_in_every_edition(edition: Edition) -> None:
    page = page_of(WITH_UNCREDITED, edition)
    assert escape(CREDITS_CAUTION) in html_of(WITH_UNCREDITED, edition)
    assert page.proof.startswith("No proof has been frozen yet")


def test_held_people_are_for_the_office() -> None:
    office = page_of(WITH_UNCREDITED, Edition.OFFICE)
    assert rows_of(office.held, "person", "reason") == [("Mo Hidden", "asked to be uncredited")]
    for edition in (Edition.PUBLIC, Edition.CREW):
        assert page_of(WITH_UNCREDITED, edition).held is None
        assert "Hidden" not in html_of(WITH_UNCREDITED, edition)


def test_the_crew_reads_which_spellings_are_not_confirmed() -> None:
    assert page_of(WITH_UNCREDITED, Edition.CREW).unconfirmed == "1 name"
    assert "not yet confirmed" in html_of(WITH_UNCREDITED, Edition.CREW)
    assert "not yet confirmed" not in html_of(WITH_UNCREDITED, Edition.PUBLIC)


def test_the_order_of_appearance_has_its_times_for_the_crew() -> None:
    crew = page_of(WORKED_EXAMPLE, Edition.CREW).appearance
    public = page_of(WORKED_EXAMPLE, Edition.PUBLIC).appearance
    assert [(row.character.text, row.at) for row in crew] == [("Wick", "0:00"), ("Brine", "0:00")]
    assert [(row.character.text, row.at) for row in public] == [("Wick", ""), ("Brine", "")]


def test_an_empty_production_has_a_sentence_and_no_roll() -> None:
    for edition in Edition:
        (page,) = credits_pages(PageSource(Snapshot(small_ledger("")), edition))
        assert (page.model.sections, page.model.roll_length) == ((), "")
        assert "Nobody has a credit yet." in html_of("", edition)


# -- the roll -----------------------------------------------------------------------------------


def test_names_without_a_role_stand_in_columns_and_read_down() -> None:
    names = [f"Person {letter}" for letter in "ABCDEFGHIJKLM"]
    rows = [
        [name.text[-1] for name in line.names]
        for line in roll_lines(credits_with(*names))
        if line.names
    ]
    assert rows == [
        ["A", "F", "K"], ["B", "G", "L"], ["C", "H", "M"], ["D", "I"], ["E", "J"],
    ]  # fmt: skip


@pytest.mark.parametrize("count", range(1, 40))
def test_every_name_runs_once(count: int) -> None:
    names = {str(number) for number in range(count)}
    lines = roll_lines(credits_with(*names))
    shown = [name.text for line in lines for name in line.names]
    assert sorted(shown) == sorted(names)


def test_a_role_that_goes_on_is_written_once() -> None:
    lines = roll_lines(credits_with("Ana", "Ben", role="Wick"))
    assert [(line.role, line.names[0].text) for line in lines if line.names] == [
        ("Wick", "Ana"),
        ("", "Ben"),
    ]


def test_the_columns_of_the_plan_are_not_exceeded() -> None:
    because = (Reason(kind=ReasonKind.NAMED_BY_PLAN),)
    lines = tuple(
        Line(person=str(n), name=str(n), role=None, confirmed=True, because=because)
        for n in range(30)
    )
    rows = roll_lines(
        Credits(
            plan="a plan",
            sections=(Section(heading="Thanks", lines=lines, columns=2),),
            held=(),
            order_of_appearance=(),
        )
    )
    assert max(len(row.names) for row in rows) == 2


def test_a_section_of_text_runs_line_by_line() -> None:
    section = Section(
        heading="", lines=(), layout=Layout.TEXT, text="For *everybody*\n\n" + "mouse " * 20
    )
    rows = roll_lines(Credits(plan="a plan", sections=(section,), held=(), order_of_appearance=()))
    texts = ["".join(name.text for name in row.names) for row in rows]
    assert texts[:2] == ["For everybody", ""]
    assert " ".join(texts[2:]) == ("mouse " * 20).strip()
    assert max(map(len, texts)) <= 64


@pytest.mark.parametrize("rate", ["24", "25", "30000/1001", "60"])
def test_the_preview_runs_as_long_as_the_roll_at_its_speed(rate: str) -> None:
    frame_rate = FrameRate.parse(rate)
    view = roll_view(credits_with(*"ABCDEFGHIJ"), Scale(frame_rate, GAUGE), {})
    assert view is not None
    speed = int(view.speed.partition(" ")[0])
    roll = USUAL.roll(len(view.lines), frame_rate, speed)
    assert abs(Fraction(view.seconds) - roll.frames / frame_rate.per_second) < Fraction(1, 1000)
    assert not roll.too_fast
    assert (str(speed), "as in the preview") in rows_of(view.speeds, "speed", "remark")


def test_speeds_at_which_nobody_can_read_are_said_to_be_too_fast() -> None:
    view = roll_view(credits_with("Ana"), Scale(FrameRate.parse("60"), GAUGE), {})
    assert view is not None
    # (1080 + 60) px at 4 px a frame and 60 frames a second: 4.75 s, less than 6.
    assert dict(rows_of(view.speeds, "speed", "remark"))["4"] == "too fast to read"


def test_the_preview_needs_no_script_and_stands_still_at_first() -> None:
    source = PageSource(Snapshot(small_ledger(WITH_UNCREDITED)), Edition.OFFICE)
    _, roll = credits_pages(source)
    html = render(roll, source)
    assert 'value="still" checked' in html
    assert 'value="pause"' in html
    assert html.count("<script") == 1  # the frame's own


# -- what a plan says of its lines --------------------------------------------------------------


def shown(*sections: Section) -> str:
    """The page of the end credits, of these sections."""
    results = Snapshot(small_ledger(WITH_UNCREDITED))
    results.__dict__["credits"] = Credits(plan="a plan", sections=sections)
    source = PageSource(results, Edition.OFFICE)
    page, *_ = credits_pages(source)
    return render(page, source)


def own(name: str, **more: Any) -> Line:
    because = (Reason(kind=ReasonKind.NAMED_BY_PLAN),)
    return Line(person="", name=name, confirmed=True, because=because, **more)


def test_joined_names_notes_and_the_second_language_stand_on_the_page() -> None:
    lines = (own("Ana"), own("Ben", joined="&", note="as Mo"), own("Mill & Sons\nof the valley"))
    html = shown(Section(heading="Thanks", heading_also="Danke", lines=lines))
    assert '<p class="soft">Danke</p>' in html
    assert "Ana &amp; Ben" in html
    assert '<small class="soft"> (as Mo)</small>' in html
    assert "Mill &amp; Sons\nof the valley" in html


def test_a_heading_under_another_is_one_level_lower() -> None:
    over, under = (
        Section(heading="Workshop"),
        Section(heading="Paint", level=2, lines=(own("Ana"),)),
    )
    html = shown(over, under)
    assert ">Workshop</h2>" in html
    assert ">Paint</h3>" in html
    assert ">Paint</h2>" in shown(under)


def test_the_lines_of_a_text_are_kept_on_the_page() -> None:
    html = shown(Section(heading="", layout=Layout.TEXT, text="Hum me a valley,\nhum me a hill."))
    assert "Hum me a valley,<br>" in html
    pictures = (Picture(file="mill.svg", shows="Mill Studio", lines=3),)
    assert '<p class="logos"><span>Mill Studio</span></p>' in shown(
        Section(heading="Made at", pictures=pictures)
    )


def test_a_name_that_goes_on_is_indented_in_the_preview() -> None:
    rows = roll_lines(credits_with("Maria Theodora Wilhelmina Anastasia " * 3, role="Wick"))
    names = [row for row in rows if row.names]
    assert [row.goes_on for row in names] == [False] + [True] * (len(names) - 1)
    assert len(names) > 1
