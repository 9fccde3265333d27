"""Where a text that is too long for its room goes on in the next row.

A row ends at a space; a space that must not break (U+00A0) is none. A word that is wider than the
room is cut: at a hyphen of its own, else with one put in, between signs of scripts that set no
spaces without one. The rows are as few as can be, and of these as even as can be.
"""

from __future__ import annotations

import unicodedata
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from itertools import accumulate, groupby
from typing import NamedTuple, Protocol

from credits.billing.setting.fixed_text import TextRun

Runs = tuple[TextRun, ...]
"""The text of one row."""

HYPHEN = "-"
_HYPHENS = frozenset("-‐‑‒–—−")
_ENDS_A_ROW = frozenset("-‐–—/")
_SPACES = frozenset(
    " \u1680\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2008\u2009\u200a\u205f\u3000"
)
_GLUE = frozenset("\u00a0\u2007\u2011\u202f\u2060\ufeff")
_NO_SPACES = ("THAI", "LAO", "KHMER", "MYANMAR")
# What begins no row in Chinese and Japanese (JIS X 4051), and what ends none.
_NOT_FIRST = frozenset(
    "、。，．・：；？！）」』】〉》〕］｝ー々ゝゞぁぃぅぇぉっゃゅょゎァィゥェォッャュョヮヵヶ"
)
_NOT_LAST = frozenset("（「『【〈《〔［｛")
_VOWELS_BEFORE = frozenset("เแโใไເແໂໃໄ")
_VOWELS_BEHIND = frozenset("ะาำๅະາຳ")
_JOINER = "\u200d"
LONG = 60  # words: of a longer text only rows that are half full or more are looked at
TOGETHER = 48  # letters of a word that is cut are measured together, which is truer than singly
_STUB = 2  # letters: fewer are not parted from a word, where it can be helped


class Ruler(Protocol):
    """Measures texts."""

    def widths(self, texts: Sequence[Runs], letters: int) -> Sequence[int]:
        """Return how wide each text is in letters of this size, in whole units rounded up."""


def plain(runs: Runs) -> str:
    """The text without its dress."""
    return "".join(run.text for run in runs)


def columns_of_sign(sign: str) -> int:
    """How many columns a sign takes in a font of even widths: marks none, wide letters two."""
    if unicodedata.category(sign) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if unicodedata.east_asian_width(sign) in "WF" else 1


def display_width(text: str) -> int:
    """How many columns a text takes in a font of even widths: wide letters two (UAX #11)."""
    return len(text) if text.isascii() else sum(map(columns_of_sign, text))


class EvenRuler:
    """Measures in columns of a font of even widths."""

    def widths(self, texts: Sequence[Runs], letters: int) -> Sequence[int]:  # noqa: ARG002
        """Return the columns of each text; letters have one size."""
        return [display_width(plain(text)) for text in texts]


class UsualRuler:
    """Measures in letters of usual width, where no font is at hand: 29/50 of their size."""

    def widths(self, texts: Sequence[Runs], letters: int) -> Sequence[int]:
        """Return the widths of the texts, as most letters have them."""
        return [-(-display_width(plain(text)) * letters * 29 // 50) for text in texts]


class _Atom(NamedTuple):
    """What is never parted. ``cut``: what is put in where a row ends behind it, inside a word.

    ``stub``: to part the word behind it leaves a letter or two alone.
    """

    start: int
    end: int
    cut: str | None = None
    stub: bool = False


def clusters_of(text: str) -> Iterator[str]:
    """Part a text into what one reads as a letter: with its marks, joined signs as one."""
    held = ""
    for sign in text:
        if held and not _is_joined(held, sign):
            yield held
            held = ""
        held += sign
    if held:
        yield held


def _is_joined(held: str, sign: str) -> bool:
    last = held[-1]
    if sign in _GLUE or last in _GLUE:
        return True
    if unicodedata.category(sign)[0] == "M" or sign == _JOINER or last == _JOINER:
        return True
    if "\ufe00" <= sign <= "\ufe0f" or "\U0001f3fb" <= sign <= "\U0001f3ff":
        return True
    if _is_flag(sign) and _is_flag(last):
        return sum(map(_is_flag, held)) % 2 == 1
    if unicodedata.category(sign) == "Cf" or unicodedata.combining(last) == 9:
        return True
    return last in _VOWELS_BEFORE or sign in _VOWELS_BEHIND


def _is_flag(sign: str) -> bool:
    return "\U0001f1e6" <= sign <= "\U0001f1ff"


def _is_letter(sign: str) -> bool:
    return unicodedata.category(sign)[0] in "LNM"


def _sets_no_spaces(sign: str) -> bool:
    wide = unicodedata.east_asian_width(sign) in "WF"
    return wide or unicodedata.name(sign, "").startswith(_NO_SPACES)


def _cut_between(before: str, after: str) -> str | None:
    """What is put in where a word is cut here; None: it is not cut here."""
    last, first = before[-1], after[0]
    if first in _HYPHENS and last not in _HYPHENS:
        return None
    if first in _NOT_FIRST or last in _NOT_LAST:
        return None
    if last in _ENDS_A_ROW or _sets_no_spaces(last) or _sets_no_spaces(first):
        return ""
    base_before, base_after = before[0], after[0]
    if _is_letter(base_before) and _is_letter(base_after):
        return HYPHEN
    if unicodedata.category(first) in ("Pe", "Pf", "Po") or unicodedata.category(last) in (
        "Ps",
        "Pi",
    ):
        return None
    return ""


def _is_stub(clusters: Sequence[str], at: int) -> bool:
    """Whether a cut behind this letter leaves a letter alone, at an end or beside a hyphen."""
    near = (*clusters[max(0, at + 1 - _STUB) : at + 1], *clusters[at + 1 : at + 1 + _STUB])
    return len(near) < 2 * _STUB or any(cluster[0] in _HYPHENS for cluster in near)


class _Text:
    """A text sign by sign, with the run of each."""

    def __init__(self, runs: Runs) -> None:
        self.signs, self._runs = plain(runs), runs
        self._begins = list(accumulate((len(run.text) for run in runs), initial=0))
        self._marked = {
            at
            for run, begin in zip(runs, self._begins, strict=False)
            if run.marked
            for at in range(begin, begin + len(run.text))
        }

    def row(self, start: int, end: int, cut: str = "") -> Runs:
        """The text of a row, what is put in at its end in the dress of what stands before."""
        if len(self._runs) == 1:
            return (self._runs[0]._replace(text=self.signs[start:end] + cut),)
        made = [
            run._replace(text=self.signs[max(start, begin) : min(end, begin + len(run.text))])
            for run, begin in zip(self._runs, self._begins, strict=False)
            if begin < end and begin + len(run.text) > start
        ]
        if cut:
            made[-1] = made[-1]._replace(text=made[-1].text + cut)
        return tuple(made)

    def words(self) -> Iterator[_Atom]:
        """The words; a mark behind a name is one with its last word."""
        breaks = (sign in _SPACES and at not in self._marked for at, sign in enumerate(self.signs))
        for is_space, own in groupby(enumerate(breaks), key=lambda each: each[1]):
            places = [at for at, _ in own]
            if not is_space:
                yield _Atom(places[0], places[-1] + 1)

    def letters(self, word: _Atom) -> Iterator[_Atom]:
        """The pieces of a word between which it may be cut."""
        clusters = list(clusters_of(self.signs[word.start : word.end]))
        ends = [word.start + done for done in accumulate(map(len, clusters))]
        start = word.start
        for at, (end, cluster) in enumerate(zip(ends, clusters, strict=True)):
            if at + 1 == len(clusters):
                yield _Atom(start, end)
                break
            cut = _cut_between(cluster, clusters[at + 1])
            if end in self._marked:
                cut = None
            if cut is not None:
                yield _Atom(start, end, cut, bool(cut) and _is_stub(clusters, at))
                start = end


class _Breaker:
    """Breaks one text. What is not measured yet is reckoned of its parts."""

    def __init__(
        self, runs: Runs, room: int, ruler: Ruler, letters: int, indent: int, cuts: bool
    ) -> None:
        self._text, self._room, self._indent = _Text(runs), room, indent
        self._ruler, self._letters = ruler, letters
        words = list(self._text.words())
        self._atoms: list[_Atom] = []
        for word, width in zip(words, self._widths_of(words), strict=True):
            pieces = self._text.letters(word) if cuts and width > room - indent else [word]
            self._atoms.extend(pieces)
        space, hyphen = ruler.widths([(TextRun(" "),), (TextRun(HYPHEN),)], letters)
        self._hyphen, own = hyphen, self._own_widths()
        # How far it is from the beginning of the text to the beginning and the end of each atom.
        self._begins: list[int] = []
        self._ends: list[int] = []
        at = end = 0
        for atom, width in zip(self._atoms, own, strict=True):
            at += space * (atom.start - end if self._begins else 0)
            self._begins.append(at)
            at, end = at + width, atom.end
            self._ends.append(at)
        self._known: dict[tuple[int, int], int] = {}

    def _widths_of(self, atoms: Sequence[_Atom]) -> Sequence[int]:
        texts = [self._text.row(atom.start, atom.end) for atom in atoms]
        once = list(dict.fromkeys(texts))
        found = dict(zip(once, self._ruler.widths(once, self._letters), strict=True))
        return [found[text] for text in texts]

    def _own_widths(self) -> list[int]:
        """How far each atom takes a row on: of a word that is cut, by its letters together."""
        starts: list[int] = []
        begun = 0
        for at, atom in enumerate(self._atoms):
            goes_on = at > 0 and self._atoms[at - 1].end == atom.start
            if not goes_on or at - begun >= TOGETHER:
                begun = at
            starts.append(self._atoms[begun].start)
        reach = [_Atom(start, atom.end) for start, atom in zip(starts, self._atoms, strict=True)]
        widths = self._widths_of(reach)
        return [
            width - (widths[at - 1] if at and starts[at - 1] == starts[at] else 0)
            for at, width in enumerate(widths)
        ]

    def _row(self, first: int, last: int) -> Runs:
        cut = self._atoms[last].cut if last + 1 < len(self._atoms) else ""
        return self._text.row(self._atoms[first].start, self._atoms[last].end, cut or "")

    def rows(self) -> tuple[Runs, ...]:
        """The rows: the best way to break the text, of which every row is measured."""
        while True:
            ways = self._ways()
            rows = [self._row(*way) for way in ways]
            new = [at for at, way in enumerate(ways) if way not in self._known]
            if not new:
                return tuple(rows)
            widths = self._ruler.widths([rows[at] for at in new], self._letters)
            self._known.update(zip((ways[at] for at in new), widths, strict=True))

    def _ways(self) -> list[tuple[int, int]]:
        """The first and the last atom of each row: fewest rows, then cuts, then evenly long."""
        count = len(self._atoms)
        best: list[tuple[tuple[int, int, int], int] | None] = [None] * (count + 1)
        best[0] = ((0, 0, 0), 0)
        is_long = count > LONG
        # Joined letters may be narrower together than each by itself.
        beyond = self._room // (32 if is_long else 4)
        for first in range(count):
            reached = best[first]
            if reached is None:
                continue
            (rows, cuts, slack), begin = reached[0], self._begins[first]
            room = self._room - (self._indent if first else 0)
            least = first
            if is_long:  # what is shorter than half the room is looked at before a long word alone
                least = max(first, bisect_left(self._ends, begin + room // 2) - 1)
            for last in range(least, count):
                reckoned = self._ends[last] - begin
                if reckoned > room + beyond and last > first:
                    break
                atom = self._atoms[last]
                cut = atom.cut if last + 1 < count else None
                width = self._known.get((first, last), reckoned + self._hyphen * bool(cut))
                if width > room and last > first:
                    continue
                more = 1 + 3 * atom.stub if cut else 0
                cost = (rows + 1, cuts + more, slack + (room - width) ** 2)
                to = best[last + 1]
                if to is None or cost < to[0]:
                    best[last + 1] = (cost, first)
        ways: list[tuple[int, int]] = []
        while count:
            way = best[count]
            assert way is not None
            ways.append((way[1], count - 1))
            count = way[1]
        return ways[::-1]


def broken(
    runs: Runs, room: int, ruler: Ruler, letters: int, indent: int = 0, *, cuts: bool = True
) -> tuple[Runs, ...]:
    """Break one line into rows that fit into a room; those after the first are indented.

    Where it must be, a word that is wider than the room is cut; without ``cuts`` it is not. One
    letter that is wider than the room is a row by itself.
    """
    (whole,) = ruler.widths([runs], letters)
    if whole <= room or not plain(runs).strip():
        return (runs,)
    return _Breaker(runs, room, ruler, letters, indent, cuts).rows()
