"""Short names for file names, made from titles."""

from __future__ import annotations

import re
import unicodedata

LONGEST = 40
NOTHING_LEFT = "film"

_CODE = re.compile(r"[^\W_](?:[\w.-]{0,62}\w)?")


def slug(title: str) -> str:
    """A title in plain lower-case letters, digits and dashes; ``film`` when nothing is left."""
    plain = unicodedata.normalize("NFKD", title).casefold()
    letters = "".join(c for c in plain if not unicodedata.combining(c))
    words = re.findall(r"[a-z0-9]+", letters)
    return "-".join(words)[:LONGEST].strip("-") or NOTHING_LEFT


def is_code(text: str) -> bool:
    """Whether the text can be the code of a production: it becomes part of file names."""
    return _CODE.fullmatch(text) is not None
