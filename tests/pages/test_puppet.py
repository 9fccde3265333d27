"""A puppet's page: who built it, what was fitted and mended, the shots it is in, its life."""

from __future__ import annotations

import pytest

from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.site.pages.character import Made
from credits.site.pages.puppet import PuppetPage, Told, puppet_pages
from credits.site.render import render
from credits.site.source import PageSource
from tests.small_log import WORKED_EXAMPLE, small_ledger
from tests.table_texts import rows_of

LIFE = """
    [people]
    person, credit_wish
    ana,
    ben,
    cai, uncredited

    [characters]
    character
    wick

    [puppets]
    puppet, character, copy, scale, ready_on, retired_on, note
    wick-1, wick, 1, 1:1, 2026-01-20, 2026-04-01, Mind the ear.
    wick-2, wick, 2

    [parts]
    part, kind, character
    coat, costume, wick
    kit, face kit, wick

    [fittings]
    part, puppet, from_on, to_on
    coat, wick-1, 2026-02-01,
    kit, wick-1, 2026-02-01, 2026-02-20
    kit, wick-1, 2026-03-01, 2026-03-20

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-010, 010, 48
    010-020, 010, 48

    [entries]
    craft, person, character, puppet, part, shot, frames, started_on, finished_on
    paint, ana, , wick-1, , , , , 2026-01-15
    casting, ben, , wick-1, , , , 2026-01-05, 2026-01-08
    casting, cai, , wick-1, , , , , 2026-01-09
    casting, ben, , wick-1, , , , , 2026-01-12
    sculpt, ana, wick, , , , , , 2025-11-01
    costume, ben, , , coat, , , , 2026-01-30
    animation, ana, wick, wick-1, , 010-010, 1-30, , 2026-03-02
    animation, ben, wick, wick-2, , 010-010, 25-48, , 2026-03-03
    animation, ana, wick, wick-1, , 010-020, 1-48, , 2026-03-05

    [lines]
    craft, person, puppet, part, shot, finished_on, wait_minutes, note, private
    repair, ben, wick-1, , 010-010, 2026-03-02, 40, wrist, yes
    repair, ana, , kit, , 2026-03-10
    repair, ana, , kit, , 2026-02-25
"""


def pages_of(text: str, edition: Edition, cut: str = "") -> dict[str, PuppetPage]:
    source = PageSource(Snapshot(small_ledger(text, cut)), edition)
    return {page.model.code: cut_to(page.model, edition) for page in puppet_pages(source)}


def html_of(text: str, puppet: str, edition: Edition) -> str:
    source = PageSource(Snapshot(small_ledger(text)), edition)
    page = next(page for page in puppet_pages(source) if page.model.code == puppet)
    return render(page, source)


def made(lines: tuple[Made, ...]) -> list[tuple[str, list[str], str]]:
    """Each craft, who did it, and when."""
    return [
        (line.craft.text, [link.text for _, people in line.people for link in people], line.days)
        for line in lines
    ]


def test_the_builders_stand_in_the_order_in_which_they_began() -> None:
    page = pages_of(LIFE, Edition.OFFICE)["wick-1"]
    assert made(page.built_by) == [
        ("Casting", ["Ben", "Cai"], "5 January 2026 – 12 January 2026"),
        ("Puppet painting", ["Ana"], "15 January 2026"),
    ]
    assert [line[:2] for line in made(page.for_every_copy)] == [("Puppet sculpting", ["Ana"])]


def test_parts_with_their_days_and_makers() -> None:
    page = pages_of(LIFE, Edition.CREW)["wick-1"]
    assert rows_of(page.fitted, "part", "kind", "first", "last", "makers") == [
        ("coat", "costume", "1 February 2026", "still fitted", ["Ben"]),
        ("kit", "face kit", "1 February 2026", "20 February 2026", []),
        ("kit", "face kit", "1 March 2026", "20 March 2026", []),
    ]


def test_repairs_of_it_and_of_what_it_wore_that_day() -> None:
    # The kit was repaired on 25 February too, while it was on no puppet.
    page = pages_of(LIFE, Edition.OFFICE)["wick-1"]
    assert rows_of(page.repairs, "day", "person", "thing", "shot", "note", "wait") == [
        ("2 March 2026", "Ben", "Wick, copy 1", "010-010", "wrist", "40"),
        ("10 March 2026", "Ana", "face kit kit", "", "", ""),
    ]


def test_the_shots_it_is_in_are_those_whose_kept_frames_hold_it() -> None:
    cut = "shot, first, last\n010-010, 9, 40"
    page = pages_of(LIFE, Edition.CREW, cut)["wick-1"]
    # Frames 25-30 were photographed again with the other copy.
    assert rows_of(page.shots, "shot", "frames", "animators", "days", "kept", "in_cut") == [
        ("010-010", "1-24", ["Ana"], "2 March 2026", "24", "16"),
        ("010-020", "1-48", ["Ana"], "5 March 2026", "48", ""),
    ]
    assert (page.shot_count, page.kept, page.in_cut) == ("2", "72", "16")


def test_its_life_in_order() -> None:
    page = pages_of(LIFE, Edition.CREW)["wick-1"]
    assert rows_of(page.life) == [
        ("built", "5 January 2026", "15 January 2026", "4 entries"),
        ("ready", "20 January 2026", "", ""),
        ("parts fitted", "1 February 2026", "still fitted", "2 parts"),
        ("shot", "2 March 2026", "5 March 2026", "kept in 2 shots"),
        ("repaired", "2 March 2026", "10 March 2026", "2 repairs"),
        ("retired", "1 April 2026", "", ""),
    ]
    assert page.time_line is not None
    assert [row.label for row in page.time_line.rows] == [
        "built",
        "parts fitted",
        "shot",
        "repaired",
    ]
    marks = [tick.above for tick in page.time_line.ticks if tick.above]
    assert marks == ["ready", "retired"]
    coat = page.time_line.rows[1].blocks[-1]
    assert coat.title == "parts fitted: 1 February 2026 – 1 April 2026"  # until it retired


def told(one: Told | None) -> str:
    """What a page says of an entry, in one line."""
    assert one is not None
    thing = (one.day, one.shot, one.stage, one.thing, one.person, one.note)
    return " | ".join(str(said) for said in thing if said)


def test_where_it_is_what_it_wears_and_who_repaired_it_last() -> None:
    now = pages_of(LIFE, Edition.OFFICE)["wick-1"].now
    assert now is not None
    assert told(now.last) == "5 March 2026 | 010-020 | Ana"
    assert now.worn == (("costume", "coat"),)  # on the day on which it was retired
    assert told(now.repaired) == "10 March 2026 | face kit kit | Ana"
    assert (now.waits_for, now.in_hospital) == ((), False)
    # Its page of the crew does not tell a private note, nor who asked for no credit.
    crew = pages_of(LIFE, Edition.CREW)["wick-2"].now
    assert crew is not None
    assert told(crew.last) == "3 March 2026 | 010-010 | Ben"
    assert (crew.worn, crew.repaired) == ((), None)
    assert pages_of(LIFE, Edition.PUBLIC)["wick-1"].now is None


@pytest.mark.parametrize(
    ("repair", "says", "in_hospital"),
    [
        # begun after it was last seen
        ("repair, ben, wick-1, , , , 0, knee, ", "10 March 2026 | Ben | knee", True),
        # finished
        ("repair, ben, wick-1, , , 2026-03-11, 0, knee, ", "", False),
    ],
)
def test_a_repair_that_is_not_finished_is_what_it_waits_for(
    repair: str, says: str, in_hospital: bool
) -> None:
    lines = f"{LIFE.rstrip()}\n    {repair}\n"
    lines = lines.replace(
        "finished_on, wait_minutes, note, private", "finished_on, minutes, note, started_on"
    )
    lines = lines.replace("40, wrist, yes", "40, wrist,").replace(
        "0, knee, ", "0, knee, 2026-03-10"
    )
    page = pages_of(lines, Edition.OFFICE)["wick-1"]
    assert page.now is not None
    assert [told(one) for one in page.now.waits_for] == [says] * bool(says)
    assert page.now.in_hospital == in_hospital
    assert (
        "in the puppet hospital"
        in html_of(lines.replace("2026-04-01, Mind", ", Mind"), "wick-1", Edition.CREW)
    ) == in_hospital


def test_the_crew_edition_hides_waits_private_notes_and_who_asked_for_no_credit() -> None:
    page = pages_of(LIFE, Edition.CREW)["wick-1"]
    assert page.repairs is not None
    # A note that nobody may read leaves no column behind.
    assert not {"wait", "note"} & {column.key for column in page.repairs.columns}
    ((_, (ben, cai)),) = page.built_by[0].people
    assert (ben.text, cai.text, cai.href) == ("Ben", "uncredited", None)


def test_the_public_edition_has_builders_without_days_or_shots() -> None:
    page = pages_of(LIFE, Edition.PUBLIC)["wick-1"]
    assert made(page.built_by) == [("Casting", ["Ben"], ""), ("Puppet painting", ["Ana"], "")]
    assert rows_of(page.fitted) == [("coat", "costume", ["Ben"]), ("kit", "face kit", [])]
    assert (page.shots, page.repairs, page.life, page.time_line) == (None, None, None, None)
    assert (page.ready, page.retired, page.note) == ("", "", "")
    html = html_of(LIFE, "wick-1", Edition.PUBLIC)
    main = html[html.index("<main") : html.index("</main>")]
    for hidden in ("2026", "010-0", "Cai", "uncredited", "Mind the ear"):
        assert hidden not in main


def test_work_on_a_puppet_brings_the_material_caution() -> None:
    assert "latex" in html_of(LIFE, "wick-1", Edition.PUBLIC)


def test_a_puppet_with_nothing_yet_says_so() -> None:
    text = "[characters]\ncharacter\nwick\n[puppets]\npuppet, character\nwick-1, wick"
    html = html_of(text, "wick-1", Edition.OFFICE)
    assert "No work on this copy alone was logged yet." in html
    assert "No kept frame holds it yet." in html
    assert "latex" not in html


def test_the_worked_example() -> None:
    pages = pages_of(WORKED_EXAMPLE, Edition.OFFICE)
    assert (pages["wick-1"].kept, pages["wick-1"].in_cut) == ("48", "32")
    assert not pages["wick-2"].shots  # never photographed


def test_a_production_without_puppets_has_no_such_page() -> None:
    assert pages_of("", Edition.OFFICE) == {}
