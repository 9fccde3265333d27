"""Fixed text of the credits: Markdown as blocks whose line breaks are kept."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from html import escape
from html.parser import HTMLParser
from typing import NamedTuple

from markdown import Markdown

_HEADINGS = frozenset({"h1", "h2", "h3", "h4", "h5", "h6"})
_BLOCKS = _HEADINGS | {"p", "li", "pre", "blockquote", "dt", "dd", "tr", "div"}
_LISTS = frozenset({"ul", "ol"})
_SILENT = frozenset({"script", "style"})
_STRONG, _EMPHASIS = frozenset({"strong", "b"}), frozenset({"em", "i"})
_NUMBER = re.compile(r"[0-9]{1,9}")
MOST_BRACKETS = 300
"""Of a text that has more, no links are made: each is looked for to the end of the text."""
_SPACE = re.compile(r"[ \t\r\n\f]+")


class TextRun(NamedTuple):
    """A stretch of text in one dress. A line break is the text ``\\n`` alone.

    ``marked``: a mark that the production puts behind a name, and no part of it.
    """

    text: str
    strong: bool = False
    emphasis: bool = False
    marked: bool = False


@dataclass(frozen=True, slots=True)
class TextBlock:
    """A paragraph or, when ``heading``, a heading inside the text; ``item``: one of a list."""

    runs: tuple[TextRun, ...]
    heading: bool = False
    item: bool = False

    @property
    def parts(self) -> tuple[tuple[TextRun, ...], ...]:
        """The runs of each line, a line for each kept line break."""
        lines: list[tuple[TextRun, ...]] = [()]
        for run in self.runs:
            if run.text == "\n":
                lines.append(())
            else:
                lines[-1] = (*lines[-1], run)
        return tuple(lines)

    @property
    def lines(self) -> tuple[str, ...]:
        """The plain text, a line for each kept line break."""
        return tuple("".join(run.text for run in part).strip(" ") for part in self.parts)


class _TextReader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.blocks: list[TextBlock] = []
        self._runs: list[TextRun] = []
        self._open: list[str] = []
        self._numbers: list[int | None] = []

    def _close_block(self, heading: bool = False) -> None:
        runs = tuple(self._runs)
        while runs and not runs[-1].text.strip():
            runs = runs[:-1]
        if runs:
            last = runs[-1]._replace(text=runs[-1].text.rstrip())
            self.blocks.append(TextBlock((*runs[:-1], last), heading, bool(self._numbers)))
        self._runs = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "br":
            self._runs.append(TextRun("\n"))
        if tag in _BLOCKS and not (tag == "p" and self._numbered):
            self._close_block()
        if tag in _LISTS:
            self._close_block()
            first = dict(attrs).get("start") or "1"
            self._numbers.append(int(first) if tag == "ol" and _NUMBER.fullmatch(first) else None)
        if tag == "li" and self._numbers and (number := self._numbers[-1]) is not None:
            self._runs.append(TextRun(f"{number}. "))
            self._numbers[-1] = number + 1
        if tag in _BLOCKS | _STRONG | _EMPHASIS | _SILENT:
            self._open.append(tag)

    @property
    def _numbered(self) -> bool:
        """Whether nothing but the number of an item has been read of a block."""
        return len(self._runs) == 1 and self._runs[0].text.endswith(". ") and bool(self._numbers)

    def handle_endtag(self, tag: str) -> None:
        if tag in _BLOCKS:
            self._close_block(tag in _HEADINGS)
        if tag in _LISTS and self._numbers:
            self._close_block()
            self._numbers.pop()
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


def with_line_breaks(text: str) -> str:
    """Return Markdown that keeps each line break of a text, wherever it is read."""
    return "\n".join(f"{line}  " if line.strip() else line for line in text.splitlines())


@lru_cache(maxsize=256)
def blocks_of(text: str) -> tuple[TextBlock, ...]:
    """The paragraphs, headings and items that a Markdown text says, in order."""
    reader = _TextReader()
    made = Markdown(extensions=["sane_lists"], output_format="html")
    if text.count("[") > MOST_BRACKETS:
        text = text.replace("[", "&#91;")
    try:
        html = made.convert(with_line_breaks(text))
    except RecursionError:  # lists in lists without end: set as they were typed
        html = f"<p>{escape(text)}</p>"
    reader.feed(html)
    reader.close()
    return tuple(reader.blocks)


def text_lines(text: str) -> tuple[str, ...]:
    """The lines of a Markdown text: a paragraph is one, and goes on where a line break is kept.

    An empty one between two blocks; the items of a list stand close.
    """
    lines: list[str] = []
    before: TextBlock | None = None
    for block in blocks_of(text):
        if before is not None and not (before.item and block.item):
            lines.append("")
        lines.extend(block.lines)
        before = block
    return tuple(lines)
