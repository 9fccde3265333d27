"""Fixed text of the credits (thanks, legal lines): Markdown in, paragraphs of plain runs out.

A line break in the text is a space, as in all Markdown; two spaces or a backslash at the end of a
line, or a list, keep lines apart. Pictures and raw HTML say nothing; links keep their words.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from html.parser import HTMLParser

from markdown import Markdown

_HEADINGS = frozenset({"h1", "h2", "h3", "h4", "h5", "h6"})
_BLOCKS = _HEADINGS | {"p", "li", "pre", "blockquote", "dt", "dd", "tr", "div"}
_SILENT = frozenset({"script", "style"})
_STRONG, _EMPHASIS = frozenset({"strong", "b"}), frozenset({"em", "i"})
_SPACE = re.compile(r"[ \t\r\n\f]+")


@dataclass(frozen=True, slots=True)
class TextRun:
    """A stretch of text in one dress. A line break is the text ``\\n`` alone."""

    text: str
    strong: bool = False
    emphasis: bool = False


@dataclass(frozen=True, slots=True)
class TextBlock:
    """A paragraph, an item of a list or, when ``heading``, a heading inside the text."""

    runs: tuple[TextRun, ...]
    heading: bool = False

    @property
    def lines(self) -> tuple[str, ...]:
        """The plain text, a line for each kept line break."""
        return tuple("".join(run.text for run in self.runs).split("\n"))


class _TextReader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.blocks: list[TextBlock] = []
        self._runs: list[TextRun] = []
        self._open: list[str] = []

    def _close_block(self, heading: bool = False) -> None:
        runs = tuple(self._runs)
        while runs and not runs[-1].text.strip():
            runs = runs[:-1]
        if runs:
            last = replace(runs[-1], text=runs[-1].text.rstrip())
            self.blocks.append(TextBlock((*runs[:-1], last), heading))
        self._runs = []

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.handle_startendtag(tag, attrs)
        if tag in _BLOCKS:
            self._close_block()
        if tag in _BLOCKS | _STRONG | _EMPHASIS | _SILENT:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: object) -> None:  # noqa: ARG002
        if tag == "br":
            self._runs.append(TextRun("\n"))

    def handle_endtag(self, tag: str) -> None:
        if tag in _BLOCKS:
            self._close_block(tag in _HEADINGS)
        if tag in self._open:
            while self._open.pop() != tag:
                pass

    def handle_data(self, data: str) -> None:
        inside = frozenset(self._open)
        if inside & _SILENT:
            return
        text = _SPACE.sub(" ", data)
        if not self._runs or self._runs[-1].text.endswith((" ", "\n")):
            text = text.lstrip(" ")
        if text:
            self._runs.append(TextRun(text, bool(inside & _STRONG), bool(inside & _EMPHASIS)))

    def close(self) -> None:
        super().close()
        self._close_block()


@lru_cache(maxsize=256)
def blocks_of(text: str) -> tuple[TextBlock, ...]:
    """The paragraphs, headings and items that a Markdown text says, in order."""
    reader = _TextReader()
    reader.feed(Markdown(extensions=["sane_lists"], output_format="html").convert(text))
    reader.close()
    return tuple(reader.blocks)


def display_width(text: str) -> int:
    """How many columns a text takes in a font of even widths: wide letters two (UAX #11)."""
    if text.isascii():
        return len(text)
    return sum(_columns(sign) for sign in text)


def _columns(sign: str) -> int:
    if unicodedata.category(sign) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if unicodedata.east_asian_width(sign) in "WF" else 1


def pieces(word: str, columns: int) -> Iterator[str]:
    """A word in pieces of at most so many columns; marks stay with their letter."""
    held, width = "", 0
    for sign in word:
        own = _columns(sign)
        if own and held and width + own > columns:
            yield held
            held, width = "", 0
        held += sign
        width += own
    yield held


def wrapped(line: str, columns: int) -> Iterator[str]:
    """The words of a line in lines of at most so many columns.

    A word that is longer, as in scripts that set no spaces, is broken where the line is full.
    """
    held = ""
    for word in line.split(" "):
        longer = f"{held} {word}" if held else word
        if display_width(longer) <= columns:
            held = longer
            continue
        if held:
            yield held
        *full, held = pieces(word, columns)
        yield from full
    yield held


def text_lines(blocks: Iterable[TextBlock], columns: int) -> tuple[str, ...]:
    """The blocks as lines of at most so many columns, an empty line between two of them."""
    lines: list[str] = []
    for block in blocks:
        if lines:
            lines.append("")
        for line in block.lines:
            lines.extend(wrapped(line.strip(), columns))
    return tuple(lines)
