"""The Unicode Collation Algorithm (UTS #10): the weights by which texts are put in order.

The steps are those of pyuca, and so is the table: that of Unicode 10.0 (2017), the newest that
comes with it. What Unicode got later has no line there, and stands where ``_placed`` says: Han with
Han, signs with signs, letters of newer scripts behind all others, by their numbers. The order is
the one that all languages share, not that of any country: Å stands with A, Ł with L.

Of the table's thirty thousand lines only those of the characters at hand are made into weights, so
that few names are put in order in a short time.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache
from itertools import chain
from pathlib import Path
from typing import NamedTuple

from pyuca.collator import Collator_10_0_0 as Collator
from pyuca.trie import Trie

Weights = tuple[int, ...]
Element = list[int]

COLLATED_LENGTH = 1000  # longer texts are ordered by so many characters

HAN_WEIGHT = 0xFB40  # first weights of characters without a table line, UTS #10 section 10.1
OTHER_HAN_WEIGHT = 0xFB80
UNLISTED_WEIGHT = 0xFBC0
REPLACEMENT_WEIGHT = 0xFFFD
SYMBOL = "😀"

_ELEMENT = re.compile(r"\[[.*]([0-9A-F]{4}\.[0-9A-F]{4}\.[0-9A-F]{4})\]")
_SPAN = re.compile(r"^@implicitweights ([0-9A-F]+\.\.[0-9A-F]+); ([0-9A-F]+)", re.MULTILINE)


class _Line(NamedTuple):
    """What a line of the table says: the characters, and the weights of their elements."""

    points: list[int]
    elements: list[Element]


def _line(text: str) -> _Line:
    points, _, weights = text.partition("#")[0].partition(";")
    return _Line(
        [int(point, 16) for point in points.split()],
        [[int(weight, 16) for weight in levels.split(".")] for levels in _ELEMENT.findall(weights)],
    )


class _Table(Trie):  # type: ignore[misc]
    """The table as lines; those that begin with a character are read when it is asked for."""

    def __init__(self, of_one: dict[str, str], of_several: list[str]) -> None:
        super().__init__()
        self.of_one = of_one
        self.of_several: dict[str, list[str]] = {}
        for line in of_several:
            self.of_several.setdefault(line.partition(" ")[0], []).append(line)
        self._asked: set[int] = set()

    def find_prefix(self, key: list[int]) -> tuple[list[int], list[Element] | None, list[int]]:
        """Find the longest beginning of some characters that the table lists; its elements."""
        first = key[0]
        if first not in self._asked:
            self._asked.add(first)
            digits = f"{first:04X}"
            if (line := self.of_one.get(f"{digits:6};")) is not None:
                self.add(*_line(line))
            for line in self.of_several.get(digits, ()):
                self.add(*_line(line))
        found: tuple[list[int], list[Element] | None, list[int]] = super().find_prefix(key)
        return found


class LazyCollator(Collator):  # type: ignore[misc]
    """The collator of pyuca, with a table whose lines are read as they are needed."""

    def load(self, filename: str) -> None:
        """Take the table apart into lines, and no further."""
        lines = Path(filename).read_text("ascii").splitlines()
        # A line of one character begins "0061  ;" or "1F600 ;": it is found by these signs. Nearly
        # all are such; what is done to each of them is done to thirty thousand.
        of_one = dict(zip([line[:7] for line in lines], lines, strict=True))
        others = [line for line in lines if line[6:7] != ";"]
        for line in others:
            of_one.pop(line[:7], None)
        for span, base in _SPAN.findall("\n".join(others)):
            first, last = span.split("..")
            self.implicit_weights.append([int(first, 16), int(last, 16), int(base, 16)])
        self.table = _Table(of_one, [line for line in others if line[:1].isalnum()])


@cache
def _collator() -> LazyCollator:
    return LazyCollator()


def _collated(text: str) -> list[Element]:
    elements: list[Element] = _collator().collation_elements(text)
    return elements


def first_primary(text: str) -> int:
    """Return the first weight of the base letters of a text that has one."""
    return next(weight for weight, *_ in _collated(text) if weight)


def _placed(first: int, second: int) -> int:
    """The first weight of a character that the collation table does not list.

    The table is older than some characters. As later tables do, newer Han characters stand with
    the other Han characters and everything else that is no letter (newer emoji, private use, lone
    surrogates) with the symbols; newer letters stay behind all others.
    """
    code_point = (first - UNLISTED_WEIGHT << 15) | (second & 0x7FFF)
    if 0x4E00 <= code_point <= 0x9FFF:
        return HAN_WEIGHT + (code_point >> 15)
    if 0x3400 <= code_point <= 0x4DBF or 0x20000 <= code_point <= 0x3FFFF:
        return OTHER_HAN_WEIGHT + (code_point >> 15)
    if unicodedata.category(chr(code_point)).startswith(("L", "M")):
        return first
    return first_primary(SYMBOL)


def elements_of(text: str) -> list[Element]:
    """Return the collation elements of a text: three weights each, as the table has them."""
    elements = _collated(unicodedata.normalize("NFD", text[:COLLATED_LENGTH]))
    for at, (first, *rest) in enumerate(elements):
        if not rest[0]:  # an accent, or the second half of a character that is not listed
            continue
        if first == REPLACEMENT_WEIGHT:
            elements[at] = [first_primary(SYMBOL), *rest]
        elif first >= UNLISTED_WEIGHT:
            elements[at] = [_placed(first, elements[at + 1][0]), *rest]
    return elements


def primary(elements: list[Element]) -> Weights:
    """Return the weights of the base letters."""
    return tuple(element[0] for element in elements if element[0])


def all_levels(elements: list[Element]) -> Weights:
    """Return the whole sort key: base letters, then accents, then case."""
    key: Weights = _collator().sort_key_from_collation_elements(elements)
    return key


@cache
def letters_by_weight() -> dict[int, str]:
    """Find for each first weight of the table the plainest text that has it and no other."""
    plainest: dict[int, tuple[bool, int, bool, int, bool, str]] = {}
    table = _collator().table
    for line in chain(table.of_one.values(), *table.of_several.values()):
        points, elements = _line(line)
        weights = primary(elements)
        if len(weights) == 1:
            letter = unicodedata.normalize("NFC", "".join(map(chr, points)))
            compatible = unicodedata.normalize("NFKC", letter) != letter
            small = {"Ll": 0, "Lo": 1}.get(unicodedata.category(letter[0]), 2)
            # Some letters have a form that stands at the end of words alone, and no name begins so.
            final = " FINAL " in unicodedata.name(letter[0], "")
            rank = (compatible, len(elements), len(letter) > 1, small, final, letter)
            plainest[weights[0]] = min(rank, plainest.get(weights[0], rank))
    return {weight: rank[-1] for weight, rank in plainest.items()}
