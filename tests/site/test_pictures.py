"""Pictures in the site: as large as a page shows them, and nothing but the picture."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image, PngImagePlugin

from credits.billing.plan import Picture
from credits.editions import Edition
from credits.errors import CreditsError
from credits.formats.pictures import LARGEST, UnreadablePictureError, picture_bytes
from credits.site.pictures import logos_of, pictures_of
from tests.formats.compiled import credits_of
from tests.formats.compiled import names as thanks
from tests.small_log import small_ledger

SECRET = b"taken-at-the-workshop-door"


def jpeg_with_exif(size: tuple[int, int], orientation: int = 1) -> bytes:
    """A photograph, black but for its upper left quarter, that knows where it was taken."""
    picture = Image.new("RGB", size)
    picture.paste((255, 255, 255), (0, 0, size[0] // 2, size[1] // 2))
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x010E] = SECRET.decode()
    out = BytesIO()
    picture.save(out, "JPEG", exif=exif, comment=SECRET)
    return out.getvalue()


def test_a_photograph_loses_everything_but_the_picture() -> None:
    before = jpeg_with_exif((400, 300))
    assert SECRET in before
    after = picture_bytes(before, ".jpg")
    assert SECRET not in after
    with Image.open(BytesIO(after)) as picture:
        assert picture.size == (400, 300)
        assert not picture.getexif()


def test_a_photograph_taken_sideways_stands_upright() -> None:
    with Image.open(BytesIO(picture_bytes(jpeg_with_exif((400, 300), orientation=6), ".jpg"))) as p:
        assert p.size == (300, 400)
        assert p.convert("L").getpixel((290, 10)) > 200  # what was left is now above


def test_a_large_picture_is_scaled_down_in_proportion_and_a_small_one_left() -> None:
    with Image.open(BytesIO(picture_bytes(jpeg_with_exif((4000, 3000)), ".jpg"))) as picture:
        assert picture.size == (LARGEST[0], 720)
    with Image.open(BytesIO(picture_bytes(jpeg_with_exif((40, 30)), ".jpg"))) as picture:
        assert picture.size == (40, 30)


def test_a_png_keeps_what_shines_through_and_loses_its_texts() -> None:
    texts = PngImagePlugin.PngInfo()
    texts.add_text("Comment", SECRET.decode())
    out = BytesIO()
    Image.new("RGBA", (30, 20), (200, 10, 10, 0)).save(out, "PNG", pnginfo=texts)
    after = picture_bytes(out.getvalue(), ".png")
    assert SECRET in out.getvalue()
    assert SECRET not in after
    with Image.open(BytesIO(after)) as picture:
        assert picture.mode == "RGBA"
        assert picture.getpixel((3, 3))[3] == 0


def test_a_drawing_keeps_its_lines_and_loses_comments_scripts_and_what_leads_out() -> None:
    drawing = b"""<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"
      xmlns:pen="http://pen.example/" viewBox="0 0 9 9" onload="alert(1)" pen:author="secret">
      <!-- taken-at-the-workshop-door --><title>Wick</title><metadata>secret</metadata>
      <script>alert(1)</script><pen:layer>secret</pen:layer><image xlink:href="http://a.example/x"/>
      <defs><path id="p" d="M0 0L9 9"/></defs><use xlink:href="#p"/></svg>"""
    after = picture_bytes(drawing, ".svg").decode()
    assert 'd="M0 0L9 9"' in after
    assert 'xlink:href="#p"' in after
    assert "<title>Wick</title>" in after
    for gone in ("workshop", "secret", "alert", "onload", "a.example"):
        assert gone not in after


@pytest.mark.parametrize(
    "inside",
    [
        "<style>@import 'http://a.example/x.css'; .a { fill: red }</style>",
        "<style>@import url(http://a.example/x.css);</style>",
        "<style>.a { fill: url(http://a.example/x#y); stroke: blue }</style>",
        "<style>.a { fill: url( 'a.example/x' ) }</style>",
        "<style>.a { fill: \\75rl(http://a.example/x) }</style>",
        "<style>@font-face { font-family: x; src: url(//a.example/f.woff) }</style>",
        "<style>.a { background: image-set('a.example' 1x) }</style>",
        "<style>.a { fill: u/**/rl(http://a.example) }</style>",
        '<rect style="fill: url(http://a.example/x)"/>',
        '<rect fill="url(http://a.example/x#y)"/>',
        '<use href="#p"><set attributeName="href" to="http://a.example/x"/></use>',
        '<use href="#p"><animate attributeName="href" values="#p;http://a.example/x"/></use>',
        '<a href="#p"><animateTransform to="javascript:a.example()"/></a>',
        '<image href="data:image/svg+xml,a.example"/>',
    ],
)
def test_nothing_in_a_drawing_fetches_anything(inside: str) -> None:
    drawing = f'<svg xmlns="http://www.w3.org/2000/svg"><path id="p" d="M0 0L9 9"/>{inside}</svg>'
    after = picture_bytes(drawing.encode(), ".svg").decode()
    assert "a.example" not in after
    assert 'd="M0 0L9 9"' in after


def test_a_drawing_keeps_the_style_that_stays_inside() -> None:
    drawing = b"""<svg xmlns="http://www.w3.org/2000/svg"><style>
      /* mine */ .a { fill: url(#p); stroke: #333 } .b { fill: url('#q') }
      .c { fill: url(http://a.example/); opacity: .5 }</style>
      <rect class="a" style="fill: url(#p)" filter="url(#p)"/></svg>"""
    after = picture_bytes(drawing, ".svg").decode()
    for kept in ("url(#p); stroke: #333", "url('#q')", 'style="fill: url(#p)"', "opacity: .5"):
        assert kept in after
    assert 'filter="url(#p)"' in after
    assert "a.example" not in after


@pytest.mark.parametrize("form", ["NFC", "NFD"])
def test_a_picture_is_found_however_the_system_spells_its_name(form: str, tmp_path: Path) -> None:
    ledger = small_ledger("[characters]\ncharacter\nblühm")
    name = unicodedata.normalize(form, "Blühm")
    (tmp_path / f"{name}.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg"/>')
    names, contents = pictures_of(tmp_path, ledger, Edition.PUBLIC)
    assert list(names) == list(ledger.characters)
    assert list(contents) == list(names.values())


def test_logos_are_what_the_plan_names_and_the_folder_has(tmp_path: Path) -> None:
    (tmp_path / "Mill of Café.SVG").write_text('<svg xmlns="http://www.w3.org/2000/svg"/>')
    (tmp_path / "mill.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg"/>')
    named = ("Mill of Café.SVG", "not-there.svg", "../mill.svg", "notes.txt")
    (tmp_path / "notes.txt").write_text("no picture")
    pictures = tuple(Picture(file=file, shows="", lines=3) for file in named)
    names, contents = logos_of(tmp_path, credits_of(replace(thanks("Thanks"), pictures=pictures)))
    assert list(names) == ["Mill of Café.SVG"]
    assert list(contents) == list(names.values())
    (name,) = contents
    assert name.startswith("credits/")
    assert name.isascii()
    broken = replace(thanks("Thanks"), pictures=(replace(pictures[0], file="broken.png"),))
    (tmp_path / "broken.png").write_bytes(b"no picture")
    with pytest.raises(CreditsError, match=r"broken\.png"):
        logos_of(tmp_path, credits_of(broken))


@pytest.mark.parametrize("edition", Edition)
def test_the_credits_show_the_logos_of_the_plan(
    example_sites: Mapping[Edition, Path], edition: Edition
) -> None:
    site = example_sites[edition]
    mark = '<img src="pictures/credits/valley-fund.svg" alt="{}" style="--lines: 4">'
    shown = (site / "credits.html").read_text("utf-8")
    assert mark.format("The mark of the Valley Fund for Slow Pictures") in shown
    assert mark.format("") in (site / "roll.html").read_text("utf-8")


@pytest.mark.parametrize("ending", [".svg", ".png", ".jpg"])
@pytest.mark.parametrize("content", [b"", b"no picture", b"<html/>", b"\x89PNG\r\n\x1a\n\0\0"])
def test_what_is_no_picture_is_refused(content: bytes, ending: str) -> None:
    with pytest.raises(UnreadablePictureError):
        picture_bytes(content, ending)


def test_the_same_picture_makes_the_same_bytes() -> None:
    drawing = jpeg_with_exif((1200, 900))
    first = picture_bytes(drawing, ".jpg")
    picture_bytes.cache_clear()
    assert picture_bytes(drawing, ".jpg") == first
