"""The first page: one figure, what is open, what is on the stages; for everybody the cast."""

from __future__ import annotations

from dataclasses import replace
from urllib.parse import unquote

import pytest

from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.site.bands import DOTTED, HATCHED, SOLID
from credits.site.pages.home import CREDITS_SHOWN, HomePage, home_pages
from credits.site.render import render
from credits.site.source import PageSource
from tests.small_log import WORKED_EXAMPLE, small_ledger

FILM = """
    [people]
    person, credit_name
    ana, Ana Lind
    ben, Ben Okoro

    [characters]
    character, name
    wick, Wick

    [puppets]
    puppet, character, copy
    wick-1, wick, 1
    wick-2, wick, 2

    [stages]
    stage, unit
    north, Main unit
    south,
    attic,

    [sequences]
    sequence, name
    010, The Quay
    020,

    [shots]
    shot, sequence, frames
    010-010, 010, 40
    020-010, 020, 40
    020-020, 020, 20

    [takes]
    shot, take, decision
    010-010, 1, accepted

    [entries]
    craft, person, character, puppet, shot, take, frames, stage, started_on, finished_on
    animation, ana, wick, wick-1, 010-010, 1, 1-40, north, , 2026-03-02
    animation, ana, wick, wick-2, 010-010, 1, 1-10, north, , 2026-03-04
    animation, ben, wick, wick-2, 020-010, 1, 1-30, south, , 2026-03-03
    repair, ben, , wick-2, , , , , 2026-03-04
    repair, ben, , wick-1, , , , , 2026-03-01, 2026-03-02
    repair, ana, , wick-1
"""
CUT = "shot, take, first, last\n010-010, 1, 1, 33\n020-010, 1, 1, 40"


def home_of(text: str, cut: str = "", edition: Edition = Edition.OFFICE) -> tuple[HomePage, str]:
    """The first page as an edition has it, and as it is read."""
    source = PageSource(Snapshot(small_ledger(text, cut)), edition)
    (page,) = home_pages(source)
    return cut_to(page.model, edition), render(page, source)


def open_rows(page: HomePage) -> list[tuple[str, str, str]]:
    return [(row.what, str(row.count), row.more) for row in page.open]


def test_one_figure_says_how_far_the_film_is_and_of_what() -> None:
    page, html = home_of(FILM, CUT)
    # 33 of 73 are 45.205... %: it is rounded down, so that 100 % is whole.
    assert page.share == "45.2 %"
    assert page.share_of == "of the cut (0:03) is accepted: 33 of 73 frames"
    assert "<b>45.2 %</b> of the cut" in html


def test_without_a_cut_it_is_said_of_the_shots() -> None:
    page, _ = home_of(FILM)
    assert (page.share, page.share_of) == (
        "40.0 %", "of all shots as planned is accepted: 40 of 100 frames",
    )  # fmt: skip


def test_the_strip_is_the_film_and_leads_to_its_sequences() -> None:
    strip = home_of(FILM, CUT)[0].strip
    assert strip is not None
    assert [(band.label, band.title, band.href) for band in strip.bands] == [
        ("010", "Sequence 010, The Quay", "shots/index.html#s-010"),
        ("020", "Sequence 020", "shots/index.html#s-020"),
    ]
    assert [pattern for _, _, pattern in strip.parts.drawn] == [SOLID, HATCHED, DOTTED]
    assert [words for _, words in strip.key] == [
        "accepted", "kept, not yet accepted", "still to shoot or to log",
    ]  # fmt: skip


def test_a_sequence_that_is_too_narrow_for_a_finger_is_named_and_leads_nowhere() -> None:
    cut = "shot, take, first, last\n010-010, 1, 1, 1\n020-010, 1, 1, 40"
    strip = home_of(FILM, cut)[0].strip
    assert strip is not None
    assert [(band.label, band.href) for band in strip.bands] == [
        ("010", ""), ("020", "shots/index.html#s-020"),
    ]  # fmt: skip


def test_what_is_open_leads_to_the_shots_that_lack_it() -> None:
    page, _ = home_of(FILM, CUT)
    assert open_rows(page) == [
        ("to finish", "1 shot", "10 frames"),
        ("not in the cut", "1 shot", ""),
        ("to repair", "2 repairs", "Wick, copy 1, Wick, copy 2"),
    ]
    ways = [unquote(row.count.href or "") for row in page.open if row.count is not None]
    assert ways == [
        'shots/index.html#find="to finish"',
        'shots/index.html#find="not in the cut"',
        "hospital.html",
    ]


def test_of_each_stage_its_last_day_is_shown_with_shot_people_and_puppets() -> None:
    page, _ = home_of(FILM, CUT)
    assert page.stages is not None
    rows = [
        (row[0], [str(n) for n in row[2]], [str(n) for n in row[3]], [str(n) for n in row[4]],
         str(row[5].value))
        for row in page.stages.rows
    ]  # fmt: skip
    assert rows == [
        ("north", ["010-010"], ["Ana Lind"], ["Wick, copy 2"], "4 March 2026"),
        ("south", ["020-010"], ["Ben Okoro"], ["Wick, copy 2"], "3 March 2026"),
    ]
    assert page.quiet == "attic"


def test_the_office_is_told_what_waits_for_an_answer_and_nobody_else() -> None:
    office, html = home_of(WORKED_EXAMPLE)
    assert office.questions.endswith(" questions")
    assert f'<a href="checks.html">{office.questions}</a>' in html
    crew, html = home_of(WORKED_EXAMPLE, edition=Edition.CREW)
    assert (crew.wrong, crew.questions) == ("", "")
    assert "checks.html" not in html


def test_everybody_sees_the_cast_and_how_the_credits_begin_and_no_figures() -> None:
    page, html = home_of(FILM, CUT, Edition.PUBLIC)
    assert [str(name) for name, _, _ in page.characters] == ["Wick"]
    lines = [str(name) for _, _, own in page.sample for _, name in own]
    assert 0 < len(lines) <= CREDITS_SHOWN
    assert set(lines) <= {"Ana Lind", "Ben Okoro"}
    assert (page.share, page.strip, page.open, page.stages) == ("", None, (), None)
    assert "010-010" not in html


def test_the_public_reads_what_the_film_is_about_where_somebody_has_said_it() -> None:
    ledger = small_ledger(FILM)
    film = replace(ledger.production, sentence="Wick <b>waits</b> for the tide.")
    source = PageSource(Snapshot(replace(ledger, production=film)), Edition.PUBLIC)
    (page,) = home_pages(source)
    html = render(page, source)
    assert '<p class="lede"><bdi>Wick &lt;b&gt;waits&lt;/b&gt; for the tide.</bdi></p>' in html
    assert 'content="Wick &lt;b&gt;waits&lt;/b&gt; for the tide."' in html
    _, general = home_of(FILM, edition=Edition.PUBLIC)
    assert "Who made each character&#39;s performance, and what follows from it." in general


@pytest.mark.parametrize("edition", Edition)
def test_an_empty_production_says_so(edition: Edition) -> None:
    _, html = home_of("", edition=edition)
    assert "The log is empty" in html


def test_a_production_that_has_only_people_reads_well() -> None:
    _, html = home_of("[people]\nperson\nana")
    assert "No shot is in the tables yet" in html
    assert "<dl" not in html or "to answer" in html
