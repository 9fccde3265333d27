"""Where in the file of a plan something stands."""

from __future__ import annotations

import re
import tomllib
from typing import NamedTuple

from credits.toml_text import parse_toml

SECTION = "section"
MOST_TRIED = 5_000_000
"""Characters that are read to find where statements end: each time from where the last ended."""
_END = re.compile(r"[]}]|\"{3}|'{3}")  # in the last line of a value over several lines
_HEADER = re.compile(r"\s*\[\[")


class At(NamedTuple):
    """A table of a plan: the top of the file, a section (from 1), or a table in one or at the top.

    key, number: of a table in an array, counted from 1.
    """

    section: int = 0
    key: str = ""
    number: int = 0


class TomlLines:
    """Finds the lines, from 1, of the keys of a plan: TOML with line feeds at the ends of lines.

    unread: the lines of the statement at which reading stops, as its text never ends; None: all
    can be read, statement by statement.
    """

    def __init__(self, text: str) -> None:
        self._text = text.split("\n")
        self._statements: list[range] = []
        spans: dict[str, range] = {}
        self._spans: dict[At, dict[str, range]] = {At(): spans}
        section, numbers = 0, dict[tuple[int, str], int]()
        first = tried = 0
        for last, line in enumerate(self._text, 1):
            if last > first + 1 and not _END.search(line):
                continue
            statement = "\n".join(self._text[first:last])
            tried += len(statement)
            if tried > MOST_TRIED:  # so much is in no plan that can be read
                break
            try:
                said = parse_toml(statement)
            except tomllib.TOMLDecodeError:  # it goes on in the next line
                continue
            lines = range(first + 1, last + 1)
            self._statements.append(lines)
            if self._text[first].lstrip().startswith("["):
                spans = {"": lines}
                for name, value in said.items():
                    inside = value if isinstance(value, dict) else {}
                    of, key = (section, next(iter(inside), "")) if name == SECTION else (0, name)
                    if name == SECTION and isinstance(value, list):
                        section += 1
                        self._spans[At(section)] = spans
                    else:
                        numbers[of, key] = numbers.get((of, key), 0) + 1
                        self._spans[At(of, key, numbers[of, key])] = spans
            else:
                spans.update({key: lines for key in said if key not in spans})
            first = last
        self.unread = range(first + 1, len(self._text) + 1) if first < len(self._text) else None

    def of(self, key: str, at: At = At(), value: str | None = None) -> int | None:
        """Return the line of a key; where the table does not have it, that of its heading.

        value: the text in its array that is meant.
        """
        spans = self._spans.get(at)
        if spans is None:  # a table within the array of a section
            return self.of(at.key, At(at.section)) if at.key else None
        inside = self._spans.get(At(at.section, key, 1), {})
        lines = spans.get(key, inside.get("", spans.get("", range(0))))
        texts = () if value is None else (f'"{value}"', f"'{value}'")
        found = (n for n in lines if any(text in self._text[n - 1] for text in texts))
        return next(found, next(iter(lines), None))

    def opens_unclosed(self, wrong: int) -> int | None:
        """Return the line of a text or list that is never closed; None: it is not that.

        wrong: the line at which TOML cannot be read any more.
        """
        last = self._statements[-1] if self._statements else range(0)
        if self._has_a_header(last.start, last.stop - 1):  # the quotes of the next text end it
            return last.start
        if self.unread is None or self.unread.start >= wrong:
            return None
        first = self.unread.start
        at_end = wrong >= len("\n".join(self._text).rstrip().split("\n"))
        return first if at_end or self._has_a_header(first, wrong) else None

    def _has_a_header(self, first: int, last: int) -> bool:
        """Whether a table begins in these lines behind the first."""
        return any(map(_HEADER.match, self._text[first:last]))
