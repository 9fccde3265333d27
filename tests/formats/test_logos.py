"""Logos and marks of the credits, from the production's folder of pictures."""

from __future__ import annotations

import io
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from PIL import Image

from credits.billing.credits import Credits, Section
from credits.billing.plan import Picture
from credits.billing.setting.roll import RollSetting
from credits.errors import ProblemsFound
from credits.formats.deliver.logos import read_logos
from credits.formats.deliver.png import card_pngs, measured_lines, roll_png
from tests.formats.compiled import card, credits_of, names

SMALL = RollSetting(640, 360, 20)
SVG = '<svg xmlns="http://www.w3.org/2000/svg" {}><rect width="20" height="10" fill="red"/></svg>'


@pytest.fixture
def production(tmp_path: Path) -> Path:
    folder = tmp_path / "pictures"
    folder.mkdir()
    Image.new("RGBA", (400, 100), "red").save(folder / "mill.png")
    Image.new("RGB", (30, 60), "red").save(folder / "mark.jpg")
    (folder / "box.svg").write_text(SVG.format('viewBox="0 0 20 10"'))
    (folder / "sides.svg").write_text(SVG.format('width="20mm" height="5mm"'))
    (folder / "neither.svg").write_text(SVG.format(""))
    (folder / "letter.png").write_text("a letter to the studio")
    return tmp_path


def made_of(*files: str, lines: int = 3) -> Credits:
    pictures = tuple(Picture(file=file, shows="Mill Studio", lines=lines) for file in files)
    return credits_of(Section(heading="Made at", pictures=pictures))


@pytest.mark.parametrize(
    ("file", "proportion"),
    [("mill.png", 4), ("mark.jpg", Fraction(1, 2)), ("box.svg", 2), ("sides.svg", 4)],
)
def test_a_picture_knows_its_proportion(production: Path, file: str, proportion: Fraction) -> None:
    assert read_logos(production, made_of(file)).proportions == {file: proportion}


@pytest.mark.parametrize(
    ("file", "said"),
    [
        ("none.png", "'none.png': is no picture in "),
        ("../production.toml", "is no name of a picture (under 'Made at')"),
        ("mill.gif", "Name a PNG, JPEG or SVG of the folder pictures"),
        ("letter.png", "is no picture of its kind"),
        ("neither.svg", "neither its width and height nor a viewBox"),
        ("", "is no name of a picture"),
    ],
)
def test_what_is_no_picture_is_said_before_anything_is_written(
    production: Path, file: str, said: str
) -> None:
    with pytest.raises(ProblemsFound) as error:
        read_logos(production, made_of(file, "mill.png"))
    assert said in str(error.value)
    assert len(error.value.findings) == 1


def test_the_roll_counts_the_lines_of_a_picture_and_shows_it(production: Path) -> None:
    compiled = credits_of(*made_of("mill.png").sections, names("Thanks", "Ana"))
    found = measured_lines(compiled, SMALL, (), read_logos(production, compiled))
    assert found.lines == 1 + 3 + 1 + 2
    picture = Image.open(io.BytesIO(roll_png(found)))
    assert picture.size == (640, 7 * 20)
    logo = picture.crop((200, 20, 440, 80))
    assert logo.getextrema() == ((255, 255), (0, 0), (0, 0), (255, 255))
    assert picture.crop((0, 20, 199, 80)).split()[3].getextrema() == (0, 0)


def test_a_picture_is_whole_where_pictures_of_the_roll_are_joined(production: Path) -> None:
    """18 lines make a picture here; the logo stands from line 17 to 20."""
    compiled = credits_of(names("", *map(str, range(15))), *made_of("mill.png", lines=4).sections)
    logos = read_logos(production, compiled)
    parted, whole = (
        roll_png(measured_lines(compiled, setting, (), logos))
        for setting in (SMALL, RollSetting(640, 1600, 20))
    )
    first, second = (Image.open(io.BytesIO(png)) for png in (parted, whole))
    assert first.tobytes() == second.tobytes()


def test_a_card_has_its_picture(production: Path) -> None:
    one = replace(card("Made at", "Ana"), pictures=made_of("box.svg").sections[0].pictures)
    compiled = credits_of(one)
    found = measured_lines(compiled, SMALL, (), read_logos(production, compiled))
    assert found.cards[0].lines == 5
    (png,) = card_pngs(found)
    assert Image.open(io.BytesIO(png)).getpixel((320, 180)) == (255, 0, 0, 255)


def test_a_picture_that_is_too_wide_is_named(production: Path) -> None:
    compiled = made_of("mill.png", lines=10)
    found = measured_lines(compiled, SMALL, (), read_logos(production, compiled))
    (problem,) = found.problems
    assert "'mill.png': is 800 px wide; the roll has room for 576" in str(problem)
