"""Logos and marks of the credits, from the production's folder of pictures."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from io import BytesIO
from pathlib import Path
from typing import NamedTuple
from xml.etree import ElementTree

from PIL import Image

from credits.billing.credits import Credits
from credits.errors import Finding, ProblemsFound
from credits.formats.drawings import UnreadablePictureError
from credits.formats.pictures import ENDINGS, read_picture

FOLDER = "pictures"
LARGEST_LOGO = (4096, 4096)
_NUMBER = re.compile(r"\s*([0-9]{1,7})(?:\.([0-9]{1,6}))?\s*(?:px|pt|mm|cm|in|pc|q)?\s*", re.I)


class Logo(NamedTuple):
    """A picture that can be set. ``name``: of its file, beside the template."""

    name: str
    content: bytes
    proportion: Fraction


@dataclass(frozen=True, slots=True)
class Logos:
    """The pictures of the credits, by the names of their files."""

    pictures: Mapping[str, Logo] = field(default_factory=dict)

    @property
    def proportions(self) -> dict[str, Fraction]:
        """Of width to height."""
        return {file: logo.proportion for file, logo in self.pictures.items()}


def read_logos(folder: Path, credits: Credits) -> Logos:
    """Read the pictures that the credits set. folder: of the production.

    Raises ProblemsFound where one is not there, or is no picture of its kind.
    """
    found: dict[str, Logo] = {}
    problems: list[Finding] = []
    wanted = {
        picture.file: section.heading
        for section in credits.sections
        for picture in section.pictures
    }
    for number, (file, heading) in enumerate(wanted.items(), 1):
        where = f" (under '{heading}')" if heading else ""
        path = folder / FOLDER / file
        ending = ENDINGS.get(path.suffix.lower())
        if Path(file).name != file or ending is None:
            what = f"is no name of a picture{where}"
            hint = f"Name a PNG, JPEG or SVG of the folder {FOLDER}, such as logo.svg."
            problems.append(Finding(what, hint, value=file))
            continue
        try:
            content = read_picture(path, ending, LARGEST_LOGO)
            found[file] = Logo(f"picture-{number}{ending}", content, _proportion(content, ending))
        except (FileNotFoundError, IsADirectoryError):
            what = f"is no picture in {folder / FOLDER}{where}"
            hint = "Put it there, or take it out of the plan."
            problems.append(Finding(what, hint, value=file))
        except UnreadablePictureError as error:
            what = f"is no picture of its kind ({error})"
            hint = "Save it again as PNG, JPEG or SVG."
            problems.append(Finding(what, hint, value=str(path)))
        except OSError as error:
            what = f"the picture cannot be read ({error.strerror or error})"
            problems.append(Finding(what, "Let it be read.", value=str(path)))
    if problems:
        raise ProblemsFound(*problems)
    return Logos(found)


def _proportion(content: bytes, ending: str) -> Fraction:
    """The width of a picture through its height. Raises UnreadablePictureError without both."""
    if ending == ".svg":
        root = ElementTree.fromstring(content)
        sides = [_side(root.get(side, "")) for side in ("width", "height")]
        box = root.get("viewBox", "").replace(",", " ").split()
        if not all(sides) and len(box) == 4:
            sides = [_side(side) for side in box[2:]]
        width, height = sides
    else:
        with Image.open(BytesIO(content)) as picture:
            width, height = Fraction(picture.width), Fraction(picture.height)
    if not width or not height:
        raise UnreadablePictureError("it says neither its width and height nor a viewBox")
    return width / height


def _side(text: str) -> Fraction:
    match = _NUMBER.fullmatch(text)
    return Fraction(f"{match[1]}.{match[2] or 0}") if match else Fraction(0)
