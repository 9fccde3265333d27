"""A character's page and the list of characters: who did it, its things, its footage."""

from __future__ import annotations

from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.site.links import Link
from credits.site.pages.character import (
    CharacterPage,
    CharactersPage,
    character_pages,
)
from credits.site.source import PageSource
from tests.small_log import WORKED_EXAMPLE, small_ledger
from tests.table_texts import rows_of, total_of, unfolded

# Two takes of one shot with frames that are kept; the cut uses 12 frames of the second.
TWO_TAKES = """
    [people]
    person, credit_wish
    ana,
    ben, uncredited

    [characters]
    character
    wick
    brine

    [puppets]
    puppet, character, scale, ready_on
    wick-1, wick, 1:1, 2026-01-20

    [parts]
    part, kind, character
    face-1, face, wick

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-010, 010, 48

    [takes]
    shot, take, decision
    010-010, 1, retake
    010-010, 2, accepted

    [entries]
    craft, person, character, puppet, part, shot, take, frames, started_on, finished_on
    animation, ana, wick, wick-1, , 010-010, 1, 1-48, , 2026-03-02
    animation, ana, wick, wick-1, , 010-010, 2, "1-12,15-48", , 2026-03-05
    animation, ben, brine, , , 010-010, 2, 1-12, , 2026-03-05
    casting, ben, , wick-1, , , , , 2026-01-05, 2026-01-08
    faces, ana, , , face-1, , , , , 2026-01-09

    [lines]
    craft, person, puppet, finished_on, wait_minutes, note, private
    repair, ana, wick-1, 2026-03-03, 15, Ear., yes
"""
CUT = "shot, take, first, last\n010-010, 2, 1, 12"


def pages_of(text: str, edition: Edition, cut: str = "") -> dict[str, CharacterPage]:
    source = PageSource(Snapshot(small_ledger(text, cut)), edition)
    _, *pages = character_pages(source)
    return {page.path: cut_to(page.model, edition) for page in pages}


def list_of(text: str, edition: Edition, cut: str = "") -> CharactersPage:
    page, *_ = character_pages(PageSource(Snapshot(small_ledger(text, cut)), edition))
    model = cut_to(page.model, edition)
    assert isinstance(model, CharactersPage)
    return model


def names(ways: tuple[tuple[str, tuple[Link, ...]], ...]) -> dict[str, list[str]]:
    return {through: [link.text for link in people] for through, people in ways}


def headings(page: CharacterPage | CharactersPage) -> list[str]:
    table = page.footage if isinstance(page, CharactersPage) else page.shots
    return [column.heading for column in unfolded(table).columns]


def test_kept_is_said_to_be_of_all_takes_on_the_page_and_in_the_list() -> None:
    page = pages_of(TWO_TAKES, Edition.CREW, CUT)["characters/wick.html"]
    assert rows_of(page.shots) == [
        ("010-010", ["Ana"], "1-48", "48", "3+00", "0", ""),
        ("010-010", ["Ana"], "1-12, 15-48 of take 2", "46", "2+14", "12", "0:00"),
    ]
    assert total_of(page.shots) == ["", "", "94", "5+14", "12", ""]
    listed = list_of(TWO_TAKES, Edition.CREW, CUT)
    assert rows_of(listed.footage, "character", "kept", "screen") == [
        ("Brine", "12", "12"),
        ("Wick", "94", "12"),
    ]
    assert "Kept, all takes" in headings(page)
    assert "Kept, all takes" in headings(listed)


def test_running_times_in_the_list_add_up_to_the_one_under_them() -> None:
    # Twice 12 frames at 24 a second: each alone is 0:01, and so are both.
    listed = list_of(TWO_TAKES, Edition.CREW, CUT)
    assert rows_of(listed.footage, "screen_time") == ["0:01", "0:00"]
    assert total_of(listed.footage)[-1] == "0:01"


def test_without_a_cut_there_is_no_column_of_the_film() -> None:
    page = pages_of(TWO_TAKES, Edition.CREW)["characters/wick.html"]
    assert headings(page)[-1] == headings(list_of(TWO_TAKES, Edition.CREW))[-1] == "Feet"


def test_who_performed_by_frames_and_who_made_by_days() -> None:
    page = pages_of(TWO_TAKES, Edition.CREW, CUT)["characters/wick.html"]
    (performed,) = page.performed_by
    ((ana,), others) = performed.with_footage, performed.others
    assert ana.footage is not None
    assert (performed.craft.text, ana.footage.frames, others) == ("Animation", "94", ())
    assert [(one.craft.text, names(one.people), one.days) for one in page.made_by] == [
        ("Casting", {"the copies": ["uncredited"]}, "5 January 2026 – 8 January 2026"),
        ("Replacement faces", {"face": ["Ana"]}, "9 January 2026"),
        ("Puppet repair", {"the copies": ["Ana"]}, "3 March 2026"),
    ]


def test_who_made_leads_to_their_page_once() -> None:
    page = pages_of(TWO_TAKES, Edition.CREW, CUT)["characters/wick.html"]
    makers = [(craft.text, [link.href for link in people]) for craft, people in page.makers]
    assert makers == [
        ("Casting", [None]),  # who asked to be uncredited has no page
        ("Replacement faces", ["people/ana.html"]),
        ("Puppet repair", [None]),
    ]
    # What each made says the same names again.
    assert not any(link.href for made in page.made_by for _, who in made.people for link in who)


def test_its_puppets_parts_and_repairs() -> None:
    page = pages_of(TWO_TAKES, Edition.OFFICE, CUT)["characters/wick.html"]
    assert rows_of(page.puppets) == [
        ("Wick, wick-1", "wick-1", "1:1", ["Ben"], "20 January 2026", "1", "1")
    ]
    assert rows_of(page.parts) == [("face-1", "face", ["Ana"], "", "")]
    assert rows_of(page.repairs) == [("3 March 2026", "Wick, wick-1", "Ana", "", "Ear.", "15")]
    crew = pages_of(TWO_TAKES, Edition.CREW, CUT)["characters/wick.html"]
    assert rows_of(crew.repairs) == [("3 March 2026", "Wick, wick-1", "Ana", "", "")]


def test_the_public_reads_who_and_no_figure() -> None:
    page = pages_of(WORKED_EXAMPLE, Edition.PUBLIC)["characters/wick.html"]
    footage = [one.footage for craft in page.performed_by for one in craft.with_footage]
    assert footage == [None] * len(footage)
    assert (page.shots, page.repairs, page.kept, page.film_strip) == (None, None, None, None)
    assert [column.key for column in page.puppets.columns] == ["puppet", "code", "scale", "makers"]
    assert list_of(WORKED_EXAMPLE, Edition.PUBLIC).footage is None


def test_an_empty_production_has_no_character() -> None:
    assert pages_of("", Edition.OFFICE) == {}
    assert list_of("", Edition.OFFICE).characters == ()
