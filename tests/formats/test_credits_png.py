"""The roll as one picture, and the cards: opened with another library."""

from __future__ import annotations

import io
from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest
from PIL import Image

from credits.billing.credits import Credits
from credits.billing.plan import Size
from credits.billing.reasons import in_words
from credits.billing.setting.breaking import UsualRuler
from credits.billing.setting.roll import RollSetting
from credits.billing.setting.rows import LineKind, RowSetter, SetRow
from credits.errors import ProblemsFound, WrongCall
from credits.formats.deliver.png import (
    Measured,
    NothingToRollError,
    card_name,
    card_pngs,
    joined,
    measured_lines,
    roll_png,
    write_cards,
)
from credits.formats.deliver.typesetting import FontRuler
from credits.model.facts import EntryNumber
from tests.drawn import FULL
from tests.formats.compiled import card, credits_of, names, roles

SMALL = RollSetting(640, 360, 20)
NO_FONTS: tuple[Path, ...] = ()


def measured(*sections: object, setting: RollSetting = SMALL) -> Measured:
    return measured_lines(credits_of(*sections), setting, NO_FONTS)  # type: ignore[arg-type]


def opened(png: bytes) -> Image.Image:
    picture = Image.open(io.BytesIO(png))
    picture.load()
    return picture


def usual_rows(compiled: Credits, setting: RollSetting) -> tuple[SetRow, ...]:
    return RowSetter(setting=setting, ruler=UsualRuler()).set(compiled).roll


def people(count: int) -> tuple[tuple[str, str], ...]:
    return tuple((f"Role {number}", f"Person {number}") for number in range(count))


@pytest.mark.parametrize("count", [1, 16, 17, 18, 40])
def test_the_picture_is_as_high_as_the_computed_roll(count: int) -> None:
    """It travels lines x pitch + height; the picture is the lines alone."""
    found = measured(roles("Voices", *people(count)))
    picture = opened(roll_png(found))
    assert picture.mode == "RGBA"
    assert picture.size == (640, (count + 1) * 20)
    assert picture.height == SMALL.travel(found.lines) - 360


def test_the_text_is_white_on_nothing_and_stays_inside_title_safe() -> None:
    picture = opened(roll_png(measured(roles("Voices", *people(30)), names("Thanks", "Ana"))))
    red, green, blue, alpha = picture.split()
    assert alpha.getextrema() == (0, 255)
    left, _, right, _ = alpha.getbbox() or (0, 0, 0, 0)
    assert 32 <= left < right <= 608  # 90 % of 640 (SMPTE ST 2046-1)
    seen = alpha.point(lambda value: 255 if value else 0)
    for colour in (red, green, blue):
        assert (
            Image.composite(colour, Image.new("L", picture.size, 255), seen).getextrema()[0] > 240
        )


def test_roles_end_and_names_begin_at_the_gutter() -> None:
    found = measured(roles("", *people(6)))
    alpha = opened(roll_png(found)).split()[3]
    role, name = SMALL.gutter()
    gutter = alpha.crop((role.left + role.width, 0, name.left, alpha.height))
    assert gutter.getextrema() == (0, 0)
    beside = alpha.crop((name.left, 0, name.left + 6, alpha.height))
    assert beside.getextrema()[1] > 0
    before = alpha.crop((role.left + role.width - 6, 0, role.left + role.width, alpha.height))
    assert before.getextrema()[1] > 0


def test_a_name_that_runs_to_the_left_ends_at_the_left() -> None:
    found = measured(roles("", ("Wick", "שא"), ("Brine", "א")))
    alpha = opened(roll_png(found)).split()[3]
    left = SMALL.gutter()[1].left
    lower = alpha.crop((left, 20, 608, 40))
    edge = (lower.getbbox() or (0, 0, 0, 0))[2]
    upper = alpha.crop((left, 0, 608, 20))
    assert upper.crop((0, 0, edge, 20)).tobytes() == lower.crop((0, 0, edge, 20)).tobytes()
    assert (upper.getbbox() or (0, 0, 0, 0))[2] > edge


def test_every_line_stands_in_its_own_stretch_and_blank_lines_are_blank() -> None:
    found = measured(names("Voices", "Ana"), names("Thanks", "Ben"))
    alpha = opened(roll_png(found)).split()[3]
    for number, line in enumerate(found.rows):
        stretch = alpha.crop((0, number * 20, 640, (number + 1) * 20))
        assert (stretch.getbbox() is None) is (line.kind is LineKind.BLANK)


def test_where_pictures_are_joined_nothing_changes() -> None:
    """18 lines make a picture here: the same lines in one piece and in several are the same."""
    sections = [roles("Voices", *people(60))]
    tall = RollSetting(640, 1600, 20)
    assert roll_png(measured(*sections)) != b""
    parted = opened(roll_png(measured(*sections)))
    whole = opened(roll_png(measured(*sections, setting=tall)))
    assert parted.tobytes() == whole.tobytes()


def test_two_thousand_lines_are_one_picture() -> None:
    found = measured(roles("", *people(2000)), setting=RollSetting(320, 360, 20))
    Image.MAX_IMAGE_PIXELS, before = None, Image.MAX_IMAGE_PIXELS
    try:
        picture = opened(roll_png(found))
    finally:
        Image.MAX_IMAGE_PIXELS = before
    assert picture.size == (320, 40_000)
    assert picture.split()[3].crop((0, 39_980, 320, 40_000)).getbbox() is not None


def test_the_same_credits_give_the_same_bytes() -> None:
    found = measured(roles("Voices", *people(3)))
    assert roll_png(found) == roll_png(measured(roles("Voices", *people(3))))


def test_a_word_that_is_wider_than_the_picture_is_cut_with_hyphens_and_that_is_said() -> None:
    found = measured(names("", "W" * 60))
    assert found.problems == ()
    (remark,) = found.remarks
    assert "W" * 60 in str(remark)
    assert f"has a word that is cut (person {'w' * 60})" in str(remark)
    rows = [piece.text for row in found.rows for piece in row.pieces]
    assert all(text.endswith("W-") for text in rows[:-1])
    assert "".join(rows).replace("-", "") == "W" * 60
    left, _, right, _ = opened(roll_png(found)).split()[3].getbbox() or (0, 0, 0, 0)
    assert 32 <= left < right <= 608


COLUMNS = (1, 2, 3)


@pytest.mark.parametrize(
    ("columns", "size"), [*(product(COLUMNS, Size) if FULL else zip(COLUMNS, Size, strict=True))]
)
def test_no_piece_is_wider_than_its_room_by_the_font_that_it_is_set_in(
    columns: int, size: Size
) -> None:
    odd = (
        "AVAVA To We " * 9,
        "W" * 90,
        "i" * 300,
        "Ødegård-Æsir " * 7,
        "Λεωνίδας " * 12,
        "שרה " * 40,
    )
    shown = replace(names("H " * 60, *odd, "Ana", columns=columns), size=size)
    found = measured(shown, replace(roles("", *((name, name) for name in odd)), size=size))
    ruler = FontRuler(found.typesetter)
    for row in found.rows:
        for piece in row.pieces:
            (width,) = ruler.widths([piece.runs], row.letters)
            assert width <= piece.room.width
            assert SMALL.left <= piece.room.left
            assert piece.room.left + piece.room.width <= SMALL.left + SMALL.title_safe[0]
    assert found.problems == ()


def test_what_may_not_be_broken_and_does_not_fit_is_named_and_nothing_is_made() -> None:
    name = "\N{NO-BREAK SPACE}" * 200 + "A"
    found = measured(names("", name))
    (problem,) = found.problems
    assert "its row has room for 576" in str(problem)
    with pytest.raises(ProblemsFound):
        roll_png(found)


def test_nothing_that_rolls_is_said() -> None:
    with pytest.raises(NothingToRollError, match="no line that rolls"):
        roll_png(measured(card("Directed by", "Ana")))
    with pytest.raises(NothingToRollError, match="no section on a card"):
        card_pngs(measured(names("Thanks", "Ana")))


# -- cards --------------------------------------------------------------------------------------


def test_a_card_is_a_picture_with_the_text_in_its_middle(tmp_path: Path) -> None:
    found = measured(card("Directed by", "Ana Lind"), card("Produced by", "Ben"))
    written = write_cards(found, tmp_path / "cards")
    assert [path.name for path, _ in written] == ["01-directed-by.png", "02-produced-by.png"]
    for path, _ in written:
        alpha = opened(path.read_bytes()).split()[3]
        assert alpha.size == (640, 360)
        left, upper, right, lower = alpha.getbbox() or (0, 0, 0, 0)
        assert abs(left + right - 640) <= 4
        assert abs(upper + lower - 360) <= 20
    assert [path.name for path in tmp_path.iterdir()] == ["cards"]


def test_a_folder_that_is_there_is_not_written_into(tmp_path: Path) -> None:
    found = measured(card("Directed by", "Ana"))
    (tmp_path / "cards").mkdir()
    write_cards(found, tmp_path / "cards")
    with pytest.raises(WrongCall, match="is there already"):
        write_cards(found, tmp_path / "cards")
    with pytest.raises(WrongCall, match="no folder to write to"):
        write_cards(found, tmp_path / "no/cards")


def test_a_card_that_is_too_tall_is_named() -> None:
    found = measured(card("Thanks", *(f"Person {number}" for number in range(30))))
    (problem,) = found.problems
    assert "'Thanks': the card has 31 lines; the title-safe height holds 16" in str(problem)


@pytest.mark.parametrize(
    ("heading", "name"),
    [
        ("Directed by", "01-directed-by.png"),
        ("", "01.png"),
        ("../../etc", "01-etc.png"),
        ("監督", "01.png"),
        ("x" * 200, f"01-{'x' * 37}.png"),
    ],
)
def test_names_of_card_files_are_safe(heading: str, name: str) -> None:
    assert card_name(1, heading) == name


# -- joining ------------------------------------------------------------------------------------


def made(picture: Image.Image) -> bytes:
    held = io.BytesIO()
    picture.save(held, "PNG")
    return held.getvalue()


@pytest.mark.parametrize("number", range(4))
def test_any_pictures_are_joined_exactly(number: int) -> None:
    """Every kind of filter that an encoder chooses, first rows that are not blank too."""
    noise = Image.effect_noise((31, 40), 60 + number)
    grey = Image.linear_gradient("L").resize((31, 40))
    parts = [
        Image.merge("RGBA", channels)
        for channels in ((noise, grey, noise, grey), (grey, grey, grey, grey), (noise,) * 4)
    ]
    together = opened(joined(map(made, parts), 31, 120))
    for at, part in enumerate(parts):
        assert together.crop((0, at * 40, 31, at * 40 + 40)).tobytes() == part.tobytes()


def test_pictures_of_another_size_or_kind_are_refused() -> None:
    clear = made(Image.new("RGBA", (4, 4)))
    with pytest.raises(ValueError, match="px wide"):
        joined([clear], 5, 4)
    with pytest.raises(ValueError, match="px high"):
        joined([clear], 4, 5)
    with pytest.raises(ValueError, match="four bytes"):
        joined([made(Image.new("RGB", (4, 4)))], 4, 4)


def test_the_lines_do_not_depend_on_the_font() -> None:
    compiled = credits_of(roles("Voices", *people(5)))
    assert measured_lines(compiled, SMALL, NO_FONTS).rows == usual_rows(compiled, SMALL)
    assert EntryNumber("A", 1) in in_words(compiled.sections[0].lines[0].because).entries
