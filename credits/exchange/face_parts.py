"""Which part a cell of a face sheet means: a code, or the number that a part's code ends in."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable

from credits.exchange.codes import Codes
from credits.exchange.values import Unreadable
from credits.model.facts import Part
from credits.text import fold_code

CANDIDATES_NAMED = 6
_LAST_DIGITS = re.compile(r"([0-9]+)$")


class FaceParts:
    """The parts of a production, found by code or, within a character, by number."""

    def __init__(self, parts: Iterable[Part]) -> None:
        self._by_code: dict[str, Part] = {}
        self._by_number: dict[tuple[str, int], list[str]] = defaultdict(list)
        self._of_character: dict[str, list[str]] = defaultdict(list)
        for part in parts:
            self._by_code[fold_code(part.code)] = part
            if part.character is None:
                continue
            self._of_character[part.character].append(part.code)
            if digits := _LAST_DIGITS.search(part.code):
                self._by_number[part.character, int(digits[1])].append(part.code)

    def exactly(self, text: str, character: str) -> str | None:
        """The part of that code, when it is the character's or no character's."""
        part = self._by_code.get(fold_code(text))
        return part.code if part and part.character in (None, character) else None

    def find(self, text: str, character: str) -> str:
        """The part that a cell means: by code, else by number. Raises Unreadable."""
        exact = self.exactly(text, character)
        if exact is not None:
            return exact
        if text.isascii() and text.isdigit():
            return self._numbered(text, character)
        other = self._by_code.get(fold_code(text))
        if other is not None:
            what = f"is a part of {other.character}, not of {character}"
            raise Unreadable(what, f"Write a part of {character}.")
        like = Codes("parts", self._of_character[character]).like(text)
        hint = f"Write {like}, or add {text} to the parts table." if like else "Add it to parts."
        raise Unreadable(f"there is no such part of {character}", hint)

    def _numbered(self, text: str, character: str) -> str:
        found = self._by_number.get((character, int(text)), [])
        if len(found) == 1:
            return found[0]
        if found:
            named = ", ".join(found[:CANDIDATES_NAMED])
            what = f"{len(found)} parts of {character} end in this number ({named})"
            raise Unreadable(what, "Write the code of the one that is meant.")
        what = f"no part of {character} ends in this number"
        raise Unreadable(what, "Correct the number, or add the part to the parts table.")
