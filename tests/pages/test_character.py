"""A character's page and the list of characters: who did it, its things, its footage."""

from __future__ import annotations

from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.site.links import Link
from credits.site.pages.character import (
    CharacterPage,
    CharactersPage,
    character_pages,
    replacement_pages,
)
from credits.site.source import PageSource
from credits.site.strips import PLAIN
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
    assert rows_of(page.repairs) == [("3 March 2026", "Wick, wick-1", "Ana", "Ear.", "15")]
    crew = pages_of(TWO_TAKES, Edition.CREW, CUT)["characters/wick.html"]
    assert rows_of(crew.repairs) == [("3 March 2026", "Wick, wick-1", "Ana")]


def test_its_share_of_the_film_and_where_it_is() -> None:
    page = pages_of(TWO_TAKES, Edition.CREW, CUT)["characters/wick.html"]
    assert page.on_screen is not None
    assert (page.on_screen.frames, page.of_film) == ("12", "100.0 % of the film")
    assert page.film_strip is not None
    assert [row.label for row in page.film_strip.rows] == ["Wick", "Ana"]
    # A row says whose it is, so all are drawn in the one colour.
    assert {block.pattern for row in page.film_strip.rows for block in row.blocks} == {PLAIN}
    without = pages_of(TWO_TAKES, Edition.CREW)["characters/wick.html"]
    assert (without.on_screen, without.of_film, without.film_strip) == (None, "", None)


def test_many_parts_are_folded_by_kit() -> None:
    codes = [f"wick-{kit}-{number}, face" for kit in "ab" for number in range(1, 46)]
    codes += ["wick-a-lid-1, eyelids", "wick-a-lid-2, eyelids", "coat, costume", "hat, costume"]
    parts = "".join(f"    {code}, wick\n" for code in codes)
    text = TWO_TAKES.replace("    face-1, face, wick\n", f"    face-1, face, wick\n{parts}")
    page = pages_of(text, Edition.CREW)["characters/wick.html"]
    assert [part[:2] for part in page.parts.parts] == [
        ("face", "1: face-1"),
        ("wick-a, face, wick-a-1 to wick-a-40", "40"),
        ("wick-a, face, wick-a-41 to wick-a-45", "5"),
        ("wick-b, face, wick-b-1 to wick-b-40", "40"),
        ("wick-b, face, wick-b-41 to wick-b-45", "5"),
        ("wick-a-lid, eyelids", "2: wick-a-lid-1 to wick-a-lid-2"),
        ("costume", "2: coat to hat"),
    ]
    assert sum(len(table.rows) for _, _, table in page.parts.parts) == len(codes) + 1


def test_replacements_by_kit_add_up() -> None:
    codes = [f"{kit}-{number}" for kit in "ab" for number in range(1, 11)]
    parts = "".join(f"    {code}, face, wick\n" for code in codes)
    shown = "".join(f"    010-010, 2, wick, {code}, {at}\n" for at, code in enumerate(codes, 1))
    text = TWO_TAKES.replace("    face-1, face, wick\n", parts).replace(", face-1, , ", ", a-1, , ")
    text += f"\n    [replacements]\n    shot, take, character, part, frames\n{shown}"
    (page,) = replacement_pages(PageSource(Snapshot(small_ledger(text, CUT)), Edition.CREW))
    table = page.model.table
    assert [part[:2] for part in table.parts] == [
        ("a, face", "10: a-1 to a-10"),
        ("b, face", "10: b-1 to b-10"),
    ]
    assert rows_of(table.sums) == [
        ("a, face", "10", "10", "10"),
        ("b, face", "10", "10", "2"),
    ]


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


def test_a_part_of_no_one_character_is_on_no_characters_page() -> None:
    parts = "    face-1, face, wick\n    coat, costume,\n    mask, face, brine\n"
    text = TWO_TAKES.replace("    face-1, face, wick\n", parts)
    pages = pages_of(text, Edition.CREW)
    shown = {code: rows_of(pages[f"characters/{code}.html"].parts) for code in ("wick", "brine")}
    assert [row[0] for row in shown["wick"]] == ["face-1"]
    assert [row[0] for row in shown["brine"]] == ["mask"]
