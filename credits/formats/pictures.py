"""Pictures made safe to show: scaled down, and bare of everything that is no picture."""

from __future__ import annotations

import re
from functools import lru_cache
from io import BytesIO
from xml.etree import ElementTree

from PIL import Image, ImageOps

# Twice the size at which a page shows a portrait, for screens with fine pixels.
LARGEST = (960, 1152)
SVG = "http://www.w3.org/2000/svg"
XLINK = "http://www.w3.org/1999/xlink"
_NOT_DRAWN = frozenset(
    {
        "metadata", "script", "foreignObject", "desc", "iframe", "audio", "video", "handler",
        "listener", "set", "animate", "animateColor", "animateMotion", "animateTransform",
        "discard",
    }
)  # fmt: skip
# What makes a browser fetch something: an address that does not begin with #, in any spelling.
_FETCHES = r"url\(\s*[\"']?\s*(?![\"'\s#])|image-set|image\(|src\(|//|expression\("
_LEADS_OUT = re.compile(rf"@import|\\\\|{_FETCHES}", re.IGNORECASE)
_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
_AT_RULES = re.compile(
    r"@(?:import|charset|namespace)[^;]*;?|@font-face\s*\{[^}]*\}", re.IGNORECASE
)
_DECLARATION = re.compile(rf"[^;{{}}]*(?:{_FETCHES})[^;{{}}]*;?", re.IGNORECASE)


class UnreadablePictureError(ValueError):
    """The bytes are no picture of the kind that their name says."""


@lru_cache(maxsize=2_000)
def picture_bytes(content: bytes, ending: str, largest: tuple[int, int] = LARGEST) -> bytes:
    """Return the picture scaled down and bare of all else; ``ending``: .svg, .png or .jpg.

    The same bytes make the same bytes. Raises UnreadablePictureError.
    """
    return _drawing(content) if ending == ".svg" else _photograph(content, ending, largest)


def _photograph(content: bytes, ending: str, largest: tuple[int, int]) -> bytes:
    try:
        with Image.open(BytesIO(content), formats=("PNG", "JPEG")) as opened:
            upright = ImageOps.exif_transpose(opened)
            clear = ending != ".jpg" and upright.mode in ("RGBA", "LA", "PA", "La", "RGBa")
            mode = "RGBA" if clear else "RGB"
            picture = upright.convert(mode) if upright.mode != "P" else upright.convert("RGBA")
            picture.thumbnail(largest, Image.Resampling.LANCZOS)
            bare = Image.new(picture.mode, picture.size)
            bare.paste(picture)
            out = BytesIO()
            if ending == ".jpg":
                bare.convert("RGB").save(out, "JPEG", quality=86, optimize=True, progressive=True)
            else:
                bare.save(out, "PNG", optimize=True)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise UnreadablePictureError(str(error)) from error
    return out.getvalue()


def _name(tag: str) -> tuple[str, str]:
    """Return namespace and name of an element or attribute."""
    space, closed, name = tag.rpartition("}")
    return (space[1:] if closed else "", name)


def _bare(element: ElementTree.Element) -> None:
    for attribute in list(element.attrib):
        space, name = _name(attribute)
        value = element.attrib[attribute].strip()
        outside = name == "href" and not value.startswith("#")
        if space not in ("", XLINK) or name.lower().startswith("on") or outside:
            del element.attrib[attribute]
        elif name == "style":
            element.attrib[attribute] = _style(value)
        elif name != "href" and _LEADS_OUT.search(value):
            del element.attrib[attribute]
    if _name(str(element.tag))[1] == "style":
        element.text = _style(element.text or "")
    for child in list(element):
        space, name = _name(str(child.tag))
        if space not in ("", SVG) or name in _NOT_DRAWN:
            element.remove(child)
        else:
            _bare(child)


def _style(css: str) -> str:
    """Return the style without rules that would fetch something; nothing where one may be left.

    A backslash may spell any word of CSS in another way, so a style with one is dropped whole.
    """
    plain = _COMMENT.sub("", css)
    if "\\" in plain:
        return ""
    kept = _DECLARATION.sub("", _AT_RULES.sub("", plain))
    return "" if _LEADS_OUT.search(kept) else kept


def _drawing(content: bytes) -> bytes:
    try:
        root = ElementTree.fromstring(content)
    except (ElementTree.ParseError, ValueError, RecursionError) as error:
        raise UnreadablePictureError(str(error)) from error
    if _name(root.tag)[1] != "svg":
        raise UnreadablePictureError("it is no SVG drawing")
    ElementTree.register_namespace("", SVG)
    ElementTree.register_namespace("xlink", XLINK)
    _bare(root)
    return bytes(ElementTree.tostring(root, encoding="utf-8", xml_declaration=False))


ENDINGS = {".svg": ".svg", ".png": ".png", ".jpg": ".jpg", ".jpeg": ".jpg"}
