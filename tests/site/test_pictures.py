"""Pictures in the site: as large as a page shows them, and nothing but the picture."""

from __future__ import annotations

import os
import struct
import unicodedata
import zlib
from collections.abc import Mapping
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image, PngImagePlugin

from credits.billing.plan import Picture
from credits.editions import Edition
from credits.errors import CreditsError
from credits.formats.drawings import UnreadablePictureError
from credits.formats.photographs import safe
from credits.formats.pictures import LARGEST, picture_bytes
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


SVG = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink">{}</svg>'


@pytest.mark.parametrize(
    "inside",
    [
        "<foreignObject><p xmlns='http://www.w3.org/1999/xhtml'>zq</p></foreignObject>",
        "<newElement>zq</newElement>",
        "<handler>zq</handler>",
        '<rect data-made-by="zq"/>',
        '<rect aria-label="zq"/>',
        '<rect onfocusin="zq()"/>',
        '<rect tabindex="0" autofocus="zq"/>',
        '<a href="https://zq.example/" target="zq"><rect/></a>',
        '<a xlink:href="#zq"><rect/></a>',
        '<image href="#zq"/>',
        '<feImage href="#zq"/>',
        '<rect style="behavior: zq; -moz-binding: zq"/>',
        '<rect style="background: zq"/>',
        '<rect fill="zq(1)"/>',
        '<rect width="javascript:zq"/>',
        '<rect fill="image(zq)"/>',
        "<style>@media print { .a { fill: red; cursor: zq } } .b { cursor: zq }</style>",
        "<style>.a { fill: red } @keyframes zq { from { fill: red } }</style>",
        "<style>@supports (fill: red) { .zq { fill: red } }</style>",
        "<style>.a[title='zq'] { fill: red }</style>",
        "<script/>zq",
        "<animate attributeName='x' values='zq'/>",
    ],
)
def test_a_drawing_keeps_what_is_known_to_draw_and_nothing_else(inside: str) -> None:
    kept = "zq" in inside.rpartition(">")[2]  # a text beside stays: it is nothing but a text
    after = picture_bytes(SVG.format(f"{inside}<path d='M0 0L9 9'/>").encode(), ".svg").decode()
    assert ("zq" in after) == kept
    assert 'd="M0 0L9 9"' in after


def _used_again(times: int) -> str:
    groups = "".join(
        f'<g id="g{at}"><use href="#g{at + 1}"/><use xlink:href="#g{at + 1}"/></g>'
        for at in range(times)
    )
    return f'{groups}<g id="g{times}"><rect/></g>'


ENTITIES = '<!DOCTYPE svg [<!ENTITY a "{}">{}]>'
ENDLESS = {
    "nested": SVG.format("<g>" * 5_000 + "</g>" * 5_000),
    "long": SVG.format("<g/>" * 120_000),
    "large": SVG.format(f"<path d='{'M0 0' * 1_300_000}'/>"),
    "unfolded": ENTITIES.format("b" * 50_000, "") + SVG.format("<text>&a;</text>" * 1_000),
    "used again and again": SVG.format(_used_again(40)),
    "used within itself": SVG.format(
        '<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>'
    ),
    "a use of itself": SVG.format('<use id="a" href="#a"/>'),
}


@pytest.mark.parametrize("case", ENDLESS)
def test_a_drawing_without_end_is_refused(case: str) -> None:
    with pytest.raises(UnreadablePictureError):
        picture_bytes(ENDLESS[case].encode(), ".svg")


def test_entities_of_a_drawing_stand_for_what_they_say() -> None:
    drawing = ENTITIES.format("#ff0000", "") + SVG.format('<rect fill="&a;"/>')
    assert 'fill="#ff0000"' in picture_bytes(drawing.encode(), ".svg").decode()


def _png_of(width: int, height: int) -> bytes:
    """The head of a PNG that says it is so large, and a few bytes of it."""
    out = BytesIO()
    Image.new("L", (8, 8)).save(out, "PNG")
    head = struct.pack(">II", width, height)
    chunk = b"IHDR" + head + out.getvalue()[24:29]
    crc = struct.pack(">I", zlib.crc32(chunk))
    return out.getvalue()[:12] + chunk + crc + out.getvalue()[33:]


@pytest.mark.parametrize("size", [(20_000, 20_000), (9_000, 9_000), (2**31 - 1, 2**31 - 1)])
def test_a_picture_too_large_to_be_held_is_refused(size: tuple[int, int]) -> None:
    with pytest.raises(UnreadablePictureError):
        picture_bytes(_png_of(*size), ".png")


def test_a_photograph_in_scans_without_end_is_refused() -> None:
    content = jpeg_with_exif((64, 64))
    with pytest.raises(UnreadablePictureError, match="scans"):
        picture_bytes(content[:-2] + b"\xff\xda" * 300 + content[-2:], ".jpg")


@pytest.mark.parametrize("ending", [".svg", ".png", ".jpg"])
def test_a_pipe_and_a_device_are_no_pictures(ending: str, tmp_path: Path) -> None:
    ledger = small_ledger("[characters]\ncharacter\nwick")
    picture = tmp_path / f"wick{ending}"
    os.mkfifo(picture)
    with pytest.raises(CreditsError, match="no ordinary file"):
        pictures_of(tmp_path, ledger, Edition.PUBLIC)
    picture.unlink()
    picture.symlink_to("/dev/zero")
    with pytest.raises(CreditsError, match="no ordinary file"):
        pictures_of(tmp_path, ledger, Edition.PUBLIC)


def test_logos_of_one_name_but_for_case_and_ending_are_two(tmp_path: Path) -> None:
    files = ("mill.jpg", "MILL.jpeg", "Mill.JPG")
    for shade, file in enumerate(files):
        out = BytesIO()
        Image.new("L", (8, 8), 80 * shade).save(out, "JPEG")
        (tmp_path / file).write_bytes(out.getvalue())
    pictures = tuple(Picture(file=file, shows="", lines=3) for file in files)
    names, contents = logos_of(tmp_path, credits_of(replace(thanks("Thanks"), pictures=pictures)))
    assert list(names) == list(files)
    assert len({name.casefold() for name in contents}) == len(set(contents.values())) == 3


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
    with pytest.raises(UnreadablePictureError) as refused:
        picture_bytes(content, ending)
    assert "object at" not in str(refused.value)  # which nobody can read


def test_the_same_picture_makes_the_same_bytes() -> None:
    drawing = jpeg_with_exif((1200, 900))
    first = picture_bytes(drawing, ".jpg")
    assert safe(drawing, ".jpg", LARGEST) == first
