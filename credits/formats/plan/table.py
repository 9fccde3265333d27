"""One table of a plan's file: its texts, lists, codes and words, and what is wrong with them."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Any, TypeVar

from credits.errors import Finding, Place
from credits.formats.plan import write
from credits.formats.plan.places import At, TomlLines
from credits.model.words import begin
from credits.text import fold_words, nearest

W = TypeVar("W", bound=StrEnum)


@dataclass(frozen=True, slots=True)
class TableReader:
    """Reads one table; ``problems`` gets what is wrong with it. ``at``: where it stands."""

    table: Mapping[str, Any]
    at: At
    places: TomlLines
    books: Mapping[str, write.Book]
    problems: list[Finding]

    def add(self, key: str, what: str, hint: str = "", value: str | None = None) -> None:
        """Add a problem at a key; ``value``: the text in its array that is meant."""
        line = self.places.of(key, self.at, value)
        shown = value
        if value is None and not isinstance(given := self.table.get(key), list | dict | None):
            shown = str(given).lower() if isinstance(given, bool) else str(given)
        self.problems.append(Finding(what, hint, Place(write.FILE_NAME, line=line), key, shown))

    def check_keys(self, known: Collection[str], of: str) -> None:
        """Find keys that the table does not know. of: what it is, "a section"."""
        for key in self.table:
            if key not in known:
                hint = write.meant(key, known).rstrip() or f"There are {', '.join(known)}."
                self.add(key, f"is no word of {of}", hint)

    def text(self, key: str, lines: bool = False) -> str:
        """Read a text. lines: whether it may have more than one line."""
        value = self.table.get(key, "")
        if not isinstance(value, str) or (key in self.table and not value.strip()):
            self.add(key, "is not a text", f'Write {key} = "..." in quotes.')
            return ""
        if not lines and len(value.splitlines()) > 1:
            self.add(key, "is more than one line", "Write it on one line.")
        return value

    def list_of(self, key: str) -> list[str]:
        """The texts of an array; one text alone counts as an array of one."""
        value = self.table.get(key, [])
        if isinstance(value, str):
            value = [value]
        if not isinstance(value, list) or not all(isinstance(each, str) for each in value):
            self.add(key, "is not a list of texts", f'Write {key} = ["...", "..."].')
            return []
        if key in self.table and not value:
            self.add(key, "names nothing", "Take the line away, or write what is meant.")
        return value

    def codes(self, key: str) -> tuple[str, ...]:
        """Read a list of what there is in the production, each once, as the plan holds it."""
        return self.known(key, self.list_of(key))

    def known(self, key: str, words: Iterable[str]) -> tuple[str, ...]:
        """Find what there is in the production; adds what there is not, or what is said twice."""
        out: dict[str, None] = {}
        for word in words:
            code = self.code(key, word)
            if code is not None and code in out:
                self.add(key, "is named twice here", "Name each once.", word)
            elif code is not None:
                out[code] = None
        return tuple(out)

    def code(self, key: str, word: str) -> str | None:
        """Find one thing of the production; None where there is none, which is added."""
        book, folded = self.books[key], fold_words(word)
        if folded in book.held:
            return book.held[folded]
        like = nearest(folded, book.held)
        if folded in book.called:
            hint = f"write {book.called[folded]}, the code of '{word}'."
        else:
            hint = f"write {book.spelled[like[0]]}, or {book.add}." if like else f"{book.add}."
        self.add(key, f"there is no such {book.one}", begin(hint), word)
        return None

    def codes_or(self, key: str, every: object) -> tuple[tuple[str, ...], bool]:
        """The codes; or all of them, where the value is ``every``."""
        value = self.table.get(key)
        if value == every and type(value) is type(every):
            return (), True
        if isinstance(value, bool):
            self.add(key, "means nothing", f"Write {key} = true, or take the line away.")
            return (), False
        return self.codes(key), False

    def word(self, key: str, kind: type[W]) -> W | None:
        if key not in self.table:
            return None
        value = self.table[key]
        known = [each.value for each in kind]
        if isinstance(value, str) and value in known:
            return kind(value)
        like = nearest(str(value), known)
        hint = f"Did you mean '{like[0]}'? " if like else ""
        self.add(key, f"is no {key}", f"{hint}Write one of: {', '.join(known)}.")
        return None

    def flag(self, key: str) -> bool:
        """Read true or false; False where nothing is said."""
        value = self.table.get(key, False)
        if isinstance(value, bool):
            return value
        self.add(key, "is neither true nor false", f"Write {key} = true, or take the line away.")
        return False

    def whole(self, key: str, usual: int, least: int, most: int, what: str) -> int:
        """Read a whole number between two others; the usual one where nothing is said."""
        value = self.table.get(key, usual)
        if type(value) is int and least <= value <= most:
            return value
        self.add(key, f"is no {what}", f"Write {least} to {most}.")
        return usual

    def day(self, key: str) -> date | None:
        """Read a day: 2026-03-04, in quotes or without."""
        value = self.table.get(key)
        if value is None or type(value) is date:
            return value
        try:
            return date.fromisoformat(value if isinstance(value, str) else "")
        except ValueError:
            self.add(key, "is not a day", f"Write {key} = 2026-03-04.")
            return None

    def tables(self, key: str, text: str) -> list[tuple[Mapping[str, Any], At]]:
        """Read an array of tables. text: the key of a table that a text alone stands for."""
        value = self.table.get(key, [])
        if isinstance(value, str | dict):
            value = [value]
        if not isinstance(value, list) or not all(isinstance(each, str | dict) for each in value):
            self.add(key, "is not a list", f'Write {key} = ["...", "..."].')
            return []
        if key in self.table and not value:
            self.add(key, "names nothing", "Take the line away, or write what is meant.")
        places = (At(self.at.section, key, n) for n in range(1, len(value) + 1))
        made = ({text: each} if isinstance(each, str) else each for each in value)
        return list(zip(made, places, strict=True))
