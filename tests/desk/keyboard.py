"""Hands on the keys of the desk in a browser, and how much they press."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from playwright.sync_api import Page

from credits.model.log import LogLine
from credits.store.log import open_log

ORDER = ["craft", "person", "on", "shot", "take", "frames", "poses_on", "minutes", "share", "note"]
BEFORE = """[...document.activeElement.closest("section").querySelectorAll("tr[data-before]")]
  .map((row) => Object.fromEntries([...row.querySelectorAll("[data-field]")]
    .map((cell) => [cell.dataset.field, cell.textContent])))"""
WHERE = "document.activeElement.closest('section').querySelector('h2 bdi').textContent"


@dataclass
class Keyboard:
    """Hands on the keys of the page; counts them. A chord is as many as its keys."""

    page: Page
    pressed: int = 0
    waits: list[float] = field(default_factory=list)

    def press(self, key: str) -> None:
        """Press a key, or several together."""
        self.pressed += len(key.split("+"))
        self.page.keyboard.press(key)

    def type(self, text: str) -> None:
        """Type a text."""
        self.pressed += len(text)
        self.page.keyboard.type(text)

    @property
    def at(self) -> str:
        """The name of the field that has the focus."""
        return str(self.page.evaluate("document.activeElement.name"))

    @property
    def here(self) -> dict[str, str]:
        """What stands in the fields of the row that has the focus."""
        found: dict[str, str] = self.page.evaluate(
            "Object.fromEntries([...document.activeElement.closest('tr').querySelectorAll('input')]"
            ".map((input) => [input.name, input.value]))"
        )
        return found

    def go_to(self, name: str) -> None:
        """Go to a field of the row."""
        at, wanted = ORDER.index(self.at), ORDER.index(name)
        if 2 + wanted < 2 * (at - wanted):  # a chord is two keys
            self.press("Control+Home")
        while (at := ORDER.index(self.at)) != wanted:
            self.press("Tab" if at < wanted else "Shift+Tab")

    def complete(self, word: str, code: str) -> None:
        """Type of a word or of its code what is enough, go down the list to it, and take it."""
        last = code.rpartition("-")[2]  # of a code of several words the last tells most
        typed = (last if last.isalpha() else code) if code.isascii() else word
        for sign in typed:
            self.type(sign)
            offered = self.page.locator("#list [role=option] bdi").all_inner_texts()
            if word in offered[:4]:
                for _ in range(offered.index(word)):
                    self.press("ArrowDown")
                break
        self.press("Tab")

    def copy_the_likest(self, wanted: dict[str, tuple[str, str]]) -> None:
        """Copy the row of the day before that is most like it, where that saves typing."""

        def to_type(fields: dict[str, str]) -> int:
            names = ("craft", "person", "on", "shot")
            texts = {name: wanted.get(name, ("", ""))[0] for name in names}
            return 5 * sum(fields.get(name, "") != text for name, text in texts.items())

        before: list[dict[str, str]] = self.page.evaluate(BEFORE)
        costs = [to_type(row) + 2 * at for at, row in enumerate(before, 1)]
        if costs and min(costs) < to_type(self.here):
            for _ in range(1 + costs.index(min(costs))):
                self.press("Alt+ArrowUp")

    def row(self, wanted: dict[str, tuple[str, str]]) -> None:
        """Type a row and log it. wanted: for each field its text, and the code behind."""
        self.copy_the_likest(wanted)
        for name in ORDER:
            text, code = wanted.get(name, ("", ""))
            there = self.here[name]
            if there == text:
                continue
            self.go_to(name)
            if not text:
                self.press("Delete")
            elif name in ("craft", "person", "on", "shot"):
                self.complete(text, code)
            elif there.endswith("-") and text.startswith(there):
                self.type(text.removeprefix(there))
            else:
                if there.endswith("-"):
                    self.press("Control+a")
                self.type(text)
        self.last = 1 + (self.last or max(line.number.number for line in _lines_of(self.folder)))
        number = f"A-{self.last}"
        began = time.monotonic()
        self.press("Enter")
        self.page.locator(f'.entry[data-entry="{number}"] .answer').wait_for()
        self.waits.append(time.monotonic() - began)

    folder: Path = Path()
    last: int = 0
    """The number of the entry that was logged last; 0: none was."""


def _lines_of(folder: Path) -> Sequence[LogLine]:
    with open_log(folder) as log:
        return log.read().lines
