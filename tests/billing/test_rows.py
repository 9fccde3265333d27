"""The rows of the credits: what stands in each, and where."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from credits.billing.credits import Credits, Line, Section
from credits.billing.plan import Picture, Size
from credits.billing.setting.breaking import UsualRuler, plain
from credits.billing.setting.roll import USUAL, RollSetting
from credits.billing.setting.rows import (
    LineKind,
    Room,
    RowSetter,
    SetCredits,
    SetRow,
    SetSection,
    name_lines,
)
from tests.formats.compiled import card, credits_of, line, names, roles, text

LONG = "Maria Theodora Wilhelmina Anastasia Featherstall-Plumtree von und zu Hohenzwitscher"
HD = RollSetting(1920, 1080, 60)


def made(*sections: Section, setting: RollSetting = HD) -> SetCredits:
    return RowSetter(setting=setting, ruler=UsualRuler()).set(credits_of(*sections))


def shown(credits: SetCredits) -> list[list[str]]:
    return [[piece.text for piece in row.pieces] for row in credits.roll]


def one(section: Section, setting: RollSetting = HD) -> SetSection:
    (found,) = made(section, setting=setting).sections
    return found


def test_sections_are_parted_by_a_blank_line_and_a_role_is_written_once() -> None:
    found = made(
        names("Edited by", "Ana"),
        roles("Voices", ("Wick", "Ben"), ("Wick", "Cai"), ("Brine", "Dot")),
    )
    assert shown(found) == [
        ["Edited by"], ["Ana"], [], ["Voices"], ["Wick", "Ben"], ["Cai"], ["Brine", "Dot"],
    ]  # fmt: skip
    assert [piece.column for row in found.roll[4:6] for piece in row.pieces] == [0, 1, 1]


def test_a_section_has_as_many_empty_lines_before_it_as_the_plan_says() -> None:
    found = made(
        names("A", "Ana"), replace(names("B", "Ben"), space=3), replace(names("C"), space=0)
    )
    assert shown(found) == [["A"], ["Ana"], [], [], [], ["B"], ["Ben"], ["C"]]
    assert found.lines == 8


def test_cards_stand_still_are_numbered_and_say_where_they_interrupt_the_roll() -> None:
    found = made(
        card("Directed by", "Ana"),
        names("Edited by", "Ben"),
        names("Cut by", "Cy"),
        card("", "Cai"),
    )
    assert shown(found) == [["Edited by"], ["Ben"], [], ["Cut by"], ["Cy"]]
    assert [(each.number, each.heading, each.after) for each in found.cards] == [
        (1, "Directed by", 0),
        (2, "", 5),
    ]


@pytest.mark.parametrize(
    ("words", "seconds"),
    # BCAP guidance: 0.2 s a word and 2 s, from ten words 3 s.
    [(1, Fraction("2.2")), (9, Fraction("3.8")), (10, Fraction(5)), (20, Fraction(7))],
)
def test_how_long_a_card_is_held(words: int, seconds: Fraction) -> None:
    (found,) = made(card(" ".join(["word"] * words))).cards
    assert found.seconds == seconds


def test_a_long_name_goes_on_indented_beside_the_next_names_of_its_role() -> None:
    found = made(roles("", ("Wick", LONG), ("Wick", "Ana"), ("Brine", "Ben")))
    assert shown(found) == [
        ["Wick", "Maria Theodora Wilhelmina"],
        ["Anastasia Featherstall-Plumtree"],
        ["von und zu Hohenzwitscher"],
        ["Ana"],
        ["Brine", "Ben"],
    ]
    first, second = found.roll[0].pieces[1], found.roll[1].pieces[0]
    assert (first.follows, second.follows) == (False, True)
    assert second.room.left == first.room.left + HD.indent(HD.size)


def test_a_long_name_in_the_middle_is_a_block_whose_later_rows_are_indented() -> None:
    whole = f"{LONG} {LONG}"
    rows = one(names("", whole)).rows
    lefts = [row.pieces[0].room.left for row in rows]
    assert len(rows) > 1
    assert lefts[1:] == [lefts[0] + HD.indent(HD.size)] * (len(rows) - 1)
    right = rows[0].pieces[0].room.left + rows[0].pieces[0].room.width
    assert abs(lefts[0] - HD.left - (HD.left + HD.title_safe[0] - right)) <= 1


def test_a_long_name_that_runs_to_the_left_is_indented_from_the_right() -> None:
    rows = one(names("", "שרה לוי " * 30)).rows
    rooms = [row.pieces[0].room for row in rows]
    assert {room.align for room in rooms} == {"right"}
    assert rooms[1].left + rooms[1].width == rooms[0].left + rooms[0].width - HD.indent(HD.size)


def test_the_lines_of_a_name_are_kept_and_not_indented() -> None:
    rows = one(names("", "Ana\nLind")).rows
    assert [[(p.text, p.follows) for p in row.pieces] for row in rows] == [
        [("Ana", False)],
        [("Lind", False)],
    ]


def test_what_has_lines_of_its_own_is_parted_from_its_neighbours() -> None:
    found = made(names("Songs", "Slow Bell\nby Ana", "The Note\nby Ben", "Cai", "Dot"))
    assert shown(found) == [
        ["Songs"], ["Slow Bell"], ["by Ana"], [], ["The Note"], ["by Ben"], [], ["Cai"], ["Dot"],
    ]  # fmt: skip


def test_joined_names_stand_on_one_line_and_notes_beside_their_name() -> None:
    ana = replace(line("Ana", confirmed=False), note="(as Mo)")
    ben = replace(line("Ben"), joined="&")
    section = replace(names(""), lines=(ana, ben, line("Cai")))
    assert [plain(row) for row in name_lines((ana, ben), "°")] == ["Ana° (as Mo) & Ben"]
    assert shown(made(section)) == [["Ana (as Mo) & Ben"], ["Cai"]]


def test_a_second_language_stands_under_headings_and_roles() -> None:
    said = replace(line("Ana", "Voice"), role_also="Stimme")
    again = replace(line("Ben", "Voice"), role_also="Stimme")
    section = replace(roles("Cast"), lines=(said, again), heading_also="Besetzung")
    found = made(section)
    assert shown(found) == [["Cast"], ["Besetzung"], ["Voice / Stimme", "Ana"], ["Ben"]]
    strong = [row.pieces[0].runs[0].strong for row in found.roll[:2]]
    assert strong == [True, False]


def test_headings_of_two_levels_are_told_apart_where_the_plan_has_both() -> None:
    over = Section(heading="Workshop")
    under = replace(names("Paint", "Ana"), level=2)
    sizes = [row.letters for row in made(over, under).roll if row.kind is LineKind.HEADING]
    assert sizes == [HD.size * 4 // 3, HD.size]
    alone = [row.letters for row in made(over, replace(under, level=1)).roll if row.pieces]
    assert set(alone) == {HD.size}


def test_large_letters_take_two_lines_and_small_ones_one() -> None:
    large = replace(card("Directed by", "Ana"), size=Size.LARGE)
    (found,) = made(large).cards
    assert (found.lines, {row.letters for row in found.rows}) == (4, {60})
    small = one(replace(names("Thanks", "Ana"), size=Size.SMALL))
    assert {(row.letters, row.high) for row in small.all_rows} == {(30, 1)}


def test_pictures_stand_beside_each_other_in_the_middle_and_count_their_lines() -> None:
    logos = (Picture(file="a.png", shows="A", lines=3), Picture(file="b.png", shows="B", lines=2))
    setter = RowSetter(
        setting=HD,
        ruler=UsualRuler(),
        proportions={"a.png": Fraction(2), "b.png": Fraction(1, 2)},
    )
    found = setter.set(credits_of(Section(heading="", pictures=logos)))
    (row,) = found.roll
    first, second = row.pictures
    assert (found.lines, first.width, second.width) == (3, 360, 60)
    assert first.left - HD.left == HD.left + HD.title_safe[0] - second.left - second.width
    assert second.left > first.left + first.width


def test_a_paragraph_is_broken_evenly_and_kept_line_breaks_are_kept() -> None:
    rows = one(text("", "mouse " * 20 + "\n\nOne\nTwo\n\n- three\n- four")).rows
    texts = ["".join(piece.text for piece in row.pieces) for row in rows]
    assert texts == [
        " ".join(["mouse"] * 10), " ".join(["mouse"] * 10), "", "One", "Two", "", "three", "four",
    ]  # fmt: skip


# -- columns ------------------------------------------------------------------------------------

SHORT = [f"Person {letter}" for letter in "ABCDEFGHIJKLM"]


def test_columns_are_as_wide_as_the_widest_name_and_close_to_the_middle() -> None:
    rows = one(names("", *SHORT, columns=3)).rows
    rooms = [piece.room for piece in rows[0].pieces]
    widest = UsualRuler().widths([name_lines((line(SHORT[0]),))[0]], HD.size)[0]
    assert {room.width for room in rooms} == {widest}
    assert rooms[1].left - rooms[0].left == widest + 2 * HD.gap
    assert abs(rooms[0].left - HD.left - (HD.left + 1728 - rooms[2].left - widest)) <= 1
    assert [[p.text[-1] for p in row.pieces] for row in rows] == [
        ["A", "F", "K"], ["B", "G", "L"], ["C", "H", "M"], ["D", "I"], ["E", "J"],
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("note", "shown"),
    [("as Mo", "Ana (as Mo)"), ("(as Mo)", "Ana (as Mo)"), (", MA", "Ana, MA"), ("†", "Ana †")],
)
def test_a_note_of_words_alone_stands_in_brackets(note: str, shown: str) -> None:
    assert [plain(row) for row in name_lines((replace(line("Ana"), note=note),))] == [shown]


def test_a_name_of_two_rows_leaves_the_columns_as_they_were_asked() -> None:
    long = "Maria Theodora Wilhelmina Anastasia"
    section = one(names("", long, *SHORT, columns=3))
    assert section.remarks == ()
    assert {row.columns for row in section.rows} == {3}
    texts = [[(piece.column, piece.text) for piece in row.pieces] for row in section.rows[:2]]
    assert texts[1] == [(0, "Wilhelmina Anastasia")]


def test_where_names_are_too_wide_for_the_columns_fewer_are_set_and_that_is_said() -> None:
    section = one(names("Thanks", f"{LONG} {LONG}", *SHORT, columns=3))
    assert {row.columns for row in section.rows} < {1, 2}
    (remark,) = section.remarks
    assert str(remark).startswith("'Thanks': is set in ")
    assert "of 3 columns: its names are too wide for more" in str(remark)


# -- laws ---------------------------------------------------------------------------------------

odd = st.lists(st.text(alphabet=st.characters(exclude_categories=("Cs",)), min_size=1), max_size=30)


@given(odd, st.sampled_from([1, 2, 3]), st.integers(20, 120))
def test_no_letter_of_a_name_is_lost_and_every_piece_is_one_line(
    people: list[str], columns: int, pitch: int
) -> None:
    found = made(names("", *people, columns=columns), setting=RollSetting(1920, 1080, pitch))
    got = sorted(letters("".join(p.text for row in found.roll for p in row.pieces)))
    asked = sorted(letters("".join(people)))
    put_in = len(got) - len(asked)
    assert put_in >= 0
    assert sorted([*asked, *["-"] * put_in]) == got
    assert not any(sign in p.text for row in found.roll for p in row.pieces for sign in "\n\r\t")


def letters(written: str) -> list[str]:
    return [sign for sign in written if not sign.isspace() and sign >= " "
            and not "\x7f" <= sign <= "\x9f"]  # fmt: skip


@given(odd, st.sampled_from([1, 2, 3]), st.integers(640, 4096), st.integers(20, 120))
def test_every_piece_stands_inside_title_safe_and_beside_its_neighbours(
    people: list[str], columns: int, width: int, pitch: int
) -> None:
    setting = RollSetting(width, 1080, pitch)
    lines: tuple[Line, ...] = tuple(line(name, "Wick") for name in people)
    found = made(
        replace(names("H", columns=columns), lines=lines),
        replace(roles("H"), lines=lines),
        setting=setting,
    )
    wide = {problem.value for problem in found.problems}
    for row in found.roll:
        edges = [edge for p in row.pieces for edge in (p.room.left, p.room.left + p.room.width)]
        assert edges == sorted(edges)
        for piece in row.pieces:
            (needed,) = UsualRuler().widths([piece.runs], row.letters)
            assert needed <= piece.room.width or wide
        if edges:
            assert setting.left <= edges[0]
            assert wide or edges[-1] <= setting.left + setting.title_safe[0]


def test_the_gutter_lies_in_the_middle() -> None:
    role, name = HD.gutter()
    assert (role, name) == (Room(96, 844, "right"), Room(980, 844, "left"))


def test_nothing_is_set_of_nothing() -> None:
    found = RowSetter(setting=USUAL, ruler=UsualRuler()).set(Credits(plan="a plan"))
    assert (found.roll, found.lines, found.cards) == ((), 0, ())
    assert isinstance(SetRow(LineKind.BLANK), SetRow)
