"""A shot's page: its frames, its hands, its takes, its entries, and the shots around it."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.site.links import SHOTS, Page
from credits.site.pages.shot import ShotPage, shot_pages
from credits.site.pages.take import MOST_MARKS, TakeSection, frame_marks
from credits.site.render import render
from credits.site.source import PageSource
from credits.site.strips import PATTERNS
from credits.units.film_time import Gauge
from credits.units.table import PrintedCell
from tests.drawn import drawn
from tests.small_log import WORKED_EXAMPLE, small_ledger


def pages_of(text: str, cut: str = "", edition: Edition = Edition.CREW) -> dict[str, ShotPage]:
    source = PageSource(Snapshot(small_ledger(text, cut)), edition)
    pages = (page for page in shot_pages(source) if page.path != SHOTS)
    models = (cut_to(page.model, edition) for page in pages if isinstance(page, Page))
    return {model.code: model for model in models}


def texts(row: tuple[PrintedCell, ...]) -> tuple[Any, ...]:
    """What the cells of a row say; names in a list where there may be several."""
    return tuple(
        [link.text for link in cell.text]
        if isinstance(cell.text, tuple)
        else getattr(cell.text, "text", cell.text)
        for cell in row
    )


def hands_of(section: TakeSection) -> list[tuple[str, str, str, list[str]]]:
    """Who worked on a take: the character and its frames, the craft, through what, who."""
    return [
        (
            f"{own.character.text} {own.frames}",
            craft,
            words or ", ".join(thing.text for thing in things),
            [said for frames, people in found for said in (frames, *map(str, people)) if said],
        )
        for own in section.hands
        for craft, ways in (*own.animation, *own.crafts)
        for words, things, found in ways
    ]


def hands_of_craft(page: ShotPage, craft: str) -> list[tuple[str, str, str, list[str]]]:
    return [line for line in hands_of(page.sections[0]) if line[1] == craft]


def html_of(text: str, shot: str, edition: Edition = Edition.CREW) -> str:
    source = PageSource(Snapshot(small_ledger(text)), edition)
    pages = (page for page in shot_pages(source) if isinstance(page, Page))
    page = next(page for page in pages if page.title == f"Shot {shot}")
    return render(page, source)


@pytest.fixture(scope="module")
def worked() -> ShotPage:
    return pages_of(WORKED_EXAMPLE)["010-020"]


def test_the_facts(worked: ShotPage) -> None:
    assert (worked.length.frames, worked.length.feet, worked.length.seconds) == (
        "48",
        "3+00",
        "2.0",
    )
    assert (worked.in_cut, worked.in_cut_where) == ("32", "9-40; at 0:00 in the film")
    assert [(take.value, take.note) for take in worked.counting] == [(1, "accepted")]
    assert (worked.hands, worked.hands_word) == ("3", "people")


def test_the_table_says_who_animated_which_frames(worked: ShotPage) -> None:
    table = worked.sections[0].table.printed()
    rows = [texts(row) for row in table.rows]
    assert rows == [
        ("Wick", "Ana", "1-24", "25-30", ["wick-1"], "2 March 2026", "24", "16", "16"),
        ("Wick", "Ben", "25-48", "", ["wick-1"], "3 March 2026", "24", "16", "16"),
        ("Brine", "Cai", "13-48", "", ["brine-1"], "3 March 2026", "36", "28", "28"),
    ]
    assert texts(table.total)[-3:] == ("84", "60", "60")
    assert [len(group) for group in table.groups] == [2, 1]


def test_the_strip_draws_what_the_table_says(worked: ShotPage) -> None:
    strip = worked.sections[0].strip
    drawn = [(row.label, [block.title for block in row.blocks]) for row in strip.rows]
    assert drawn == [
        (
            "Wick",
            [
                "Ana, frames 1-24, 2 March 2026",
                "Ben, frames 25-48, 3 March 2026",
                "Ana, frames 25-30, 2 March 2026",
            ],
        ),
        ("Brine", ["Cai, frames 13-48, 3 March 2026"]),
    ]
    assert [(said, strip.bracketed) for _, _, said in strip.brackets] == [
        ("frames 9-40", "in the cut")
    ]
    ticks = [(tick.above, tick.below) for tick in strip.ticks]
    assert ticks[:3] == [("frame 1", "0+00 ft"), ("5", "0+04"), ("9", "0+08")]


def test_one_animator_has_one_pattern(worked: ShotPage) -> None:
    wick = worked.sections[0].strip.rows[0].blocks
    patterns = [block.pattern for block in wick]
    assert patterns[0] == patterns[2] != patterns[1]
    named = {pattern: names[0].text for pattern, names in worked.sections[0].key}
    assert (named[patterns[0]], named[patterns[1]]) == ("Ana", "Ben")


def crowded(people: int) -> ShotPage:
    codes = [f"p{at:02}" for at in range(people)]
    text = """
        [people]
        person, credit_name
        {people}

        [characters]
        character
        wick

        [sequences]
        sequence
        010

        [shots]
        shot, sequence, frames
        010-010, 010, 240

        [entries]
        craft, person, character, shot, frames, finished_on
        {entries}
    """
    own = [f"animation, {c}, wick, 010-010, {9 * n + 1}-{9 * n + 9}, 2026-03-02"
           for n, c in enumerate(codes)]  # fmt: skip
    lines = "\n        "
    named = lines.join(f"{code}, Name {code}" for code in codes)
    return pages_of(text.format(people=named, entries=lines.join(own)))["010-010"]


@pytest.mark.parametrize("people", [7, PATTERNS, PATTERNS + 1])
def test_everybody_has_a_pattern_of_their_own_while_there_are_any(people: int) -> None:
    section = crowded(people).sections[0]
    patterns = [pattern for pattern, _ in section.key]
    assert len(patterns) == people
    assert len(set(patterns)) == min(people, PATTERNS)
    said = "patterns come again after 12: the table says who"
    assert (said in section.legend) == (people > PATTERNS)


def test_the_hands_and_by_way_of_what(worked: ShotPage) -> None:
    assert hands_of(worked.sections[0]) == [
        ("Wick 1-48", "Animation", "wick-1", ["1-24", "Ana", "25-48", "Ben"]),
        ("Wick 1-48", "Voice", "the whole role", ["Ana"]),
        ("Wick 1-48", "Puppet sculpting", "the character", ["Cai"]),
        ("Wick 1-48", "Puppet repair", "wick-1", ["25-48", "Ana"]),
        ("Brine 13-48", "Animation", "brine-1", ["Cai"]),
    ]


def test_performers_lead_to_their_pages_and_makers_stand_at_what_they_made(
    worked: ShotPage,
) -> None:
    hands = worked.sections[0].hands[0]
    ((_, ((_, (puppet,), ((_, (animator,)), _)),)),) = hands.animation
    assert (animator.href, puppet.href) == ("people/ana.html", "puppets/wick-1.html")
    wick = dict(hands.crafts)
    ((_, _, ((_, (voice,)),)),) = wick["Voice"]
    ((_, (again,), ((_, (mender,)),)),) = wick["Puppet repair"]
    # Names lead to their pages once; the page of a thing leads to who made it.
    assert (voice.href, again.href, mender.href) == (None, None, None)


def test_who_animated_with_which_copy_is_told_copy_by_copy() -> None:
    text = WORKED_EXAMPLE.replace("ben, wick, wick-1", "ben, wick, wick-2")
    lines = hands_of_craft(pages_of(text)["010-020"], "Animation")
    assert lines[:2] == [
        ("Wick 1-48", "Animation", "wick-1", ["1-24", "Ana"]),
        ("Wick 1-48", "Animation", "wick-2", ["25-48", "Ben"]),
    ]


def test_who_worked_in_the_same_frames_through_the_same_thing_is_one_line() -> None:
    text = WITH_PARTS + "    casting, ben, , , wick-3, , , , 2025-12-02\n"
    (hands,) = hands_of_craft(pages_of(text)["010-010"], "Casting")
    assert hands == ("Wick 1-48", "Casting", "copy 3", ["Ana", "Ben"])


WITH_PARTS = """
    [people]
    person
    ana
    ben

    [characters]
    character
    wick

    [puppets]
    puppet, character, copy
    wick-3, wick, 3

    [parts]
    part, kind, character
    f-12, face, wick
    f-13, face, wick
    kit, face kit, wick

    [fittings]
    part, puppet, from_on
    kit, wick-3, 2026-01-01

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-010, 010, 48

    [replacements]
    shot, take, character, part, frames
    010-010, , wick, f-12, "1-10,21-30"
    010-010, , wick, f-13, 11-20

    [entries]
    craft, person, character, part, puppet, shot, sequence, frames, finished_on
    animation, ana, wick, , , 010-010, , 1-48, 2026-03-02
    faces, ben, , f-12, , , , , 2026-01-05
    faces, ben, , f-13, , , , , 2026-01-04
    paint, ben, , kit, , , , , 2026-01-03
    singing, ben, wick, , , , 010, , 2026-01-02
    rigging, ben, wick, , , 010-010, , 1-5, 2026-03-02
    casting, ana, , , wick-3, , , , 2025-12-01
"""


def test_parts_sequences_and_copies_are_named_as_ways() -> None:
    shown = hands_of(pages_of(WITH_PARTS)["010-010"].sections[0])
    assert [line[1:] for line in shown] == [
        ("Animation", "copy 3", ["Ana"]),
        ("Singing voice", "the sequence", ["Ben"]),
        ("Rigging", "the shot", ["1-5", "Ben"]),
        ("Casting", "copy 3", ["Ana"]),
        ("Replacement faces", "face f-12", ["1-10, 21-30", "Ben"]),
        ("Replacement faces", "face f-13", ["11-20", "Ben"]),
        ("Puppet painting", "face kit kit", ["Ben"]),
    ]


def test_replacements_say_which_part_shows_in_which_frames() -> None:
    table = pages_of(WITH_PARTS)["010-010"].replacements
    assert [texts(row) for row in table.printed().rows] == [
        ("Wick", "f-12", "face", "every take", "1-10, 21-30"),
        ("Wick", "f-13", "face", "every take", "11-20"),
    ]


SEVERAL = """
    [people]
    person, credit_wish
    ana
    ben, uncredited

    [characters]
    character
    wick

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames, status
    010-010, 010, 20, done
    010-020, 010, 20, planned
    010-030, 010, 20, omitted

    [takes]
    shot, take, purpose, decision, decided_on
    010-010, 1, shoot, accepted, 2026-03-09
    010-010, 2, shoot, retake, 2026-03-05
    010-010, 3, block, open
    010-030, 2, shoot, accepted, 2026-03-09

    [stages]
    stage
    north

    [entries]
    craft, person, character, shot, take, frames, finished_on, stage, minutes, note, private
    animation, ana, wick, 010-010, 2, 1-20, 2026-03-03, north, 300, the light fell, no
    animation, ben, wick, 010-010, 1, 1-25, 2026-03-06, north, 400, a bad day, yes
    animation, ana, wick, 010-010, 3, 1-20, 2026-03-01
    animation, ana, wick, 010-030, 2, 1-20
"""


def test_each_take_with_claims_has_a_section_the_one_that_counts_first() -> None:
    page = pages_of(SEVERAL)["010-010"]
    assert [(s.of, s.said) for s in page.sections] == [
        ("take 1", "accepted 9 March 2026"),
        ("take 2", "retake 5 March 2026"),
    ]


def test_the_take_the_cut_names_comes_first() -> None:
    cut = "shot, take, first, last\n010-010, 2, 1, 10"
    page = pages_of(SEVERAL, cut)["010-010"]
    assert [(s.of, s.said) for s in page.sections] == [
        ("take 2", "retake 5 March 2026; in the cut"),
        ("take 1", "accepted 9 March 2026"),
    ]
    assert page.takes.column("counts") == ("", "in the cut", "")


def test_who_made_the_puppets_is_said_of_the_takes_that_count() -> None:
    text = SEVERAL + "    sculpt, ben, wick, , , , 2026-01-05\n"
    counts, other = pages_of(text)["010-010"].sections
    assert "Puppet sculpting" in {craft for _, craft, *_ in hands_of(counts)}
    assert {craft for _, craft, *_ in hands_of(other)} == {"Animation"}
    assert (counts.through, other.through) == ("directly, and through the puppets", "directly")
    assert any(tick.below for tick in counts.strip.ticks)
    assert not any(tick.below for tick in other.strip.ticks)


def test_a_stage_that_all_entries_name_is_said_once() -> None:
    several = pages_of(SEVERAL)["010-010"]
    assert (several.entries.column("stage"), several.stage) == ((None, "north", "north"), "")
    page = pages_of(SEVERAL.replace("2026-03-01\n", "2026-03-01, north\n"))["010-010"]
    assert "stage" not in {column.key for column in page.entries.columns}
    assert page.stage == "north"


def test_a_reprise_is_told() -> None:
    cut = "shot, take, first, last\n010-010, 1, 1, 10\n010-010, 1, 6, 10"
    page = pages_of(SEVERAL, cut)["010-010"]
    assert page.in_cut == "10"
    assert page.in_cut_where == "1-10; at 0:00 in the film; on screen for 15 frames"


def test_frames_beyond_the_length_are_told_and_drawn() -> None:
    section = pages_of(SEVERAL)["010-010"].sections[0]
    assert section.beyond == "Frames 21-25 are claimed beyond the shot's length of 20 frames."
    (block,) = section.strip.rows[0].blocks
    assert float(block.x) + float(block.width) <= 1000


def test_the_table_of_takes() -> None:
    table = pages_of(SEVERAL)["010-010"].takes
    assert [texts(row) for row in table.printed().rows] == [
        (1, "shoot", "accepted", "9 March 2026", "1-25", "counts"),
        (2, "shoot", "retake", "5 March 2026", "1-20", ""),
        (3, "block", "open", "", "", ""),
    ]


def test_a_shot_with_nothing_yet_says_so() -> None:
    html = html_of(SEVERAL, "010-020")
    assert "No animation logged for this shot yet." in html
    assert "No entry of the log names this shot." in html


def test_an_omitted_shot_says_so_and_shows_its_only_take() -> None:
    page = pages_of(SEVERAL)["010-030"]
    assert "Omitted from the film." in html_of(SEVERAL, "010-030")
    assert [take.value for take in page.counting] == [2]
    assert [section.of for section in page.sections] == [""]
    (day,) = page.sections[0].table.column("days")
    assert day.value.text == "undated"


def test_the_shots_before_and_after() -> None:
    pages = pages_of(SEVERAL)
    around = {
        code: tuple(link and link.text for link in page.steps) for code, page in pages.items()
    }
    assert around == {
        "010-010": (None, "010-020"),
        "010-020": ("010-010", "010-030"),
        "010-030": ("010-020", None),
    }


NOTES = ("", "the light fell", "")


@pytest.mark.parametrize(
    ("edition", "names", "notes"),
    [
        (Edition.CREW, ["Ana", "Ana", "uncredited"], NOTES),
        (Edition.OFFICE, ["Ana", "Ana", "Ben"], ("", "the light fell", "a bad day")),
    ],
)
def test_who_sees_what_of_the_entries(
    edition: Edition, names: list[str], notes: tuple[str, ...]
) -> None:
    entries = pages_of(SEVERAL, edition=edition)["010-010"].entries
    numbers = entries.column("entry")
    assert [number.value for number in numbers] == ["A-3", "A-1", "A-2"]  # by day
    assert [number.anchor for number in numbers] == ["entry-A-3", "entry-A-1", "entry-A-2"]
    assert [link.text for link in entries.column("person")] == names
    assert entries.column("note") == notes


def test_minutes_are_for_the_office_alone() -> None:
    office = pages_of(SEVERAL, edition=Edition.OFFICE)["010-010"].entries
    assert office.column("minutes") == (None, 300, 400)
    crew = {column.key for column in pages_of(SEVERAL)["010-010"].entries.columns}
    assert crew == {column.key for column in office.columns} - {"minutes", "wait"}


def test_the_crew_reads_no_private_word_and_no_minutes() -> None:
    html = html_of(SEVERAL, "010-010")
    assert "the light fell" in html
    for hidden in ("a bad day", "Minutes", "Ben"):
        assert hidden not in html


def test_a_corrected_entry_shows_the_line_it_goes_back_to() -> None:
    text = """
    [people]
    person
    ana

    [characters]
    character
    wick

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-010, 010, 20

    [entries]
    craft, person, character, shot, frames
    animation, ana, wick, 010-010, 1-9

    [lines]
    verb, corrects, craft, person, character, shot, frames
    amend, A-1, animation, ana, wick, 010-010, 1-8
    """
    (row,) = pages_of(text)["010-010"].entries.printed().rows
    assert (row[0].text, row[0].note, row[5].text) == ("A-2", "corrects A-1", "1-8")


def test_odd_names_are_text_and_nothing_else() -> None:
    text = """
    [people]
    person, credit_name
    ana, "<script>alert(1)</script>"

    [characters]
    character, name
    wick, "שמעון & \u202e"

    [sequences]
    sequence, name
    010, "=cmd()"

    [shots]
    shot, sequence, frames
    <b>, 010, 1

    [entries]
    craft, person, character, shot, frames
    animation, ana, wick, <b>, 1
    """
    html = html_of(text, "<b>")
    assert "<script>alert" not in html
    assert "<b>" not in html
    assert "&lt;script&gt;" in html


@settings(max_examples=drawn(60), deadline=None)
@given(
    shares=st.lists(st.sampled_from(["1", "1/2", "1/3", "2/7"]), min_size=1, max_size=5),
    last=st.integers(1, 60),
)
def test_the_column_of_shared_frames_adds_up(shares: list[str], last: int) -> None:
    people = [f"p{at}" for at in range(len(shares))]
    rows = "\n".join(
        f"animation, {person}, wick, 010-010, 1-{last}, {share}, 2026-03-02"
        for person, share in zip(people, shares, strict=True)
    )
    text = (
        "[people]\nperson\n"
        + "\n".join(people)
        + "\n[characters]\ncharacter\nwick\n[sequences]\nsequence\n010\n"
        + "[shots]\nshot, sequence, frames\n010-010, 010, 60\n"
        + f"[entries]\ncraft, person, character, shot, frames, share, finished_on\n{rows}"
    )
    table = pages_of(text)["010-010"].sections[0].table.printed()
    assert sum(int(row[-1].text) for row in table.rows) == int(table.total[-1].text) == last


@given(
    last=st.integers(1, 9_999_999),
    gauge=st.sampled_from(["35mm-4perf", "35mm-3perf", "16mm", "65mm-5perf", "super8"]),
)
def test_the_scale_has_few_marks_whatever_the_length(last: int, gauge: str) -> None:
    marks = frame_marks(last, Gauge.parse(gauge))
    assert marks[0][1] == "frame 1"
    assert 1 <= len(marks) <= MOST_MARKS
    assert all(Fraction(at) <= last for at, _, _ in marks)
