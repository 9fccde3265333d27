"""Where things stand in a TOML file: the parser gives values, people need lines.

Only what plans are written with is followed: ``[[name]]`` headings, keys at the beginning of a
line, arrays and long texts over several lines. What is written otherwise has no line.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

_HEADING = re.compile(r"""\s*\[\[\s*(?:"([^"]*)"|'([^']*)'|([\w-]+))\s*\]\]""")
_TABLE = re.compile(r"\s*\[")
_KEY = re.compile(r"""\s*(?:"([^"]*)"|'([^']*)'|([\w-]+))\s*=""")
# A string with its quotes, or a comment: brackets in them open and close nothing.
_QUOTED = re.compile(r""""(?:\\.|[^"\\])*"|'[^']*'|#.*""")
_LONG = ('"""', "'''")
LEAST_LIKENESS = 60


@dataclass(slots=True)
class _Table:
    """A table's heading line, and the first and last line of each of its keys."""

    line: int
    keys: dict[str, tuple[int, int]] = field(default_factory=dict)


class TomlLines:
    """The lines of a file's keys. Tables of ``[[name]]`` are counted from 0, by name."""

    def __init__(self, text: str) -> None:
        self._text = text.split("\n")
        self._root = _Table(1)
        self._tables: dict[str, list[_Table]] = {}
        self._scan()

    def _scan(self) -> None:
        table: _Table | None = self._root
        at = 0
        while at < len(self._text):
            line = self._text[at]
            heading = _HEADING.match(line)
            key = _KEY.match(line)
            if heading:
                table = _Table(at + 1)
                self._tables.setdefault(_name(heading), []).append(table)
            elif _TABLE.match(line):
                table = None
            elif key:
                last = self._end(at, line[key.end() :])
                if table is not None:
                    table.keys.setdefault(_name(key), (at + 1, last + 1))
                at = last
            at += 1

    def _end(self, at: int, rest: str) -> int:
        """The index of the line on which the value that begins with ``rest`` ends."""
        mark = next((mark for mark in _LONG if rest.lstrip().startswith(mark)), None)
        if mark is not None:
            after = rest.lstrip()[3:]
            while mark not in after:
                at += 1
                if at >= len(self._text):
                    return len(self._text) - 1
                after = self._text[at]
            return at
        depth = _depth(rest)
        while depth > 0 and at + 1 < len(self._text):
            at += 1
            depth += _depth(self._text[at])
        return at

    def of_key(self, key: str, table: tuple[str, int] | None = None) -> int | None:
        """The line of a key: at the top of the file, or in the n-th table of a name."""
        found = self._find(table)
        if found is None:
            return None
        span = found.keys.get(key)
        return span[0] if span else (found.line if table else None)

    def of_value(self, value: str, key: str, table: tuple[str, int] | None = None) -> int | None:
        """The line of one text in the array of a key; the key's where it cannot be seen."""
        found = self._find(table)
        span = found.keys.get(key) if found else None
        if span is None:
            return self.of_key(key, table)
        for line in range(span[0], span[1] + 1):
            text = self._text[line - 1]
            if any(f"{quote}{value}{quote}" in text for quote in "\"'"):
                return line
        return span[0]

    def _find(self, table: tuple[str, int] | None) -> _Table | None:
        if table is None:
            return self._root
        tables = self._tables.get(table[0], [])
        return tables[table[1]] if table[1] < len(tables) else None


def _name(match: re.Match[str]) -> str:
    return next((group for group in match.groups() if group is not None), "")


def _depth(text: str) -> int:
    bare = _QUOTED.sub("", text)
    return bare.count("[") + bare.count("{") - bare.count("]") - bare.count("}")
