"""A picture as the site carries it: no larger than a page shows it, and nothing but the picture.

A photograph knows where and when it was taken, and by whom it was edited; a drawing may hold
comments and whole other drawings. None of that is for the readers of an edition.
"""

from __future__ import annotations

from functools import lru_cache
from io import BytesIO
from xml.etree import ElementTree

# Twice the size at which a page shows a portrait, for screens with fine pixels.
LARGEST = (960, 1152)
SVG = "http://www.w3.org/2000/svg"
XLINK = "http://www.w3.org/1999/xlink"
_NOT_DRAWN = frozenset({"metadata", "script", "foreignObject", "desc", "iframe", "audio", "video"})


class UnreadablePicture(ValueError):
    """The bytes are no picture of the kind that their name says."""


@lru_cache(maxsize=2_000)
def picture_bytes(content: bytes, ending: str) -> bytes:
    """The picture scaled down and stripped of everything else; ``ending``: .svg, .png or .jpg.

    The same bytes make the same bytes. Raises UnreadablePicture.
    """
    return _drawing(content) if ending == ".svg" else _photograph(content, ending)


def _photograph(content: bytes, ending: str) -> bytes:
    from PIL import Image, ImageOps

    try:
        with Image.open(BytesIO(content), formats=("PNG", "JPEG")) as opened:
            upright = ImageOps.exif_transpose(opened)
            mode = "RGB" if ending == ".jpg" else "RGBA" if _has_alpha(upright.mode) else "RGB"
            picture = upright.convert(mode) if upright.mode != "P" else upright.convert("RGBA")
            picture.thumbnail(LARGEST, Image.Resampling.LANCZOS)
            bare = Image.new(picture.mode, picture.size)
            bare.paste(picture)
            out = BytesIO()
            if ending == ".jpg":
                bare.convert("RGB").save(out, "JPEG", quality=86, optimize=True, progressive=True)
            else:
                bare.save(out, "PNG", optimize=True)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise UnreadablePicture(str(error)) from error
    return out.getvalue()


def _has_alpha(mode: str) -> bool:
    return mode in ("RGBA", "LA", "PA", "La", "RGBa")


def _name(tag: str) -> tuple[str, str]:
    """Namespace and name of an element or attribute."""
    space, closed, name = tag.rpartition("}")
    return (space[1:] if closed else "", name)


def _bare(element: ElementTree.Element) -> None:
    for attribute in list(element.attrib):
        space, name = _name(attribute)
        value = element.attrib[attribute].strip()
        outside = name == "href" and not value.startswith("#")
        if space not in ("", XLINK) or name.lower().startswith("on") or outside:
            del element.attrib[attribute]
    for child in list(element):
        space, name = _name(str(child.tag))
        if space not in ("", SVG) or name in _NOT_DRAWN:
            element.remove(child)
        else:
            _bare(child)


def _drawing(content: bytes) -> bytes:
    try:
        root = ElementTree.fromstring(content)
    except (ElementTree.ParseError, ValueError, RecursionError) as error:
        raise UnreadablePicture(str(error)) from error
    if _name(root.tag)[1] != "svg":
        raise UnreadablePicture("it is no SVG drawing")
    ElementTree.register_namespace("", SVG)
    ElementTree.register_namespace("xlink", XLINK)
    _bare(root)
    return bytes(ElementTree.tostring(root, encoding="utf-8", xml_declaration=False))
