"""Every figure on the site is the command line's: pages are read, the program is asked."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from markupsafe import escape

from credits.app.figures import read_ledger
from credits.cli.main import run
from credits.editions import Edition
from credits.model.ledger import Ledger
from credits.site import links
from credits.units.frames import Frames

MEASURES = ("shot", "kept", "accepted", "cut", "screen")


class _Tables(HTMLParser):
    """The tables of a page: a caption, and rows of cells' words."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.tables: dict[str, list[list[str]]] = {}
        self.facts: dict[str, str] = {}
        self._rows: list[list[str]] = []
        self._caption = self._term = ""
        self._open: list[str] = []

    def handle_starttag(self, tag: str, _attrs: list[tuple[str, str | None]]) -> None:
        self._open.append(tag)
        if tag == "table":
            self._rows, self._caption = [], ""
        elif tag == "tr":
            self._rows.append([])
        elif tag in ("td", "th"):
            self._rows[-1].append("")
        elif tag == "dt":
            self._term = ""

    def handle_data(self, data: str) -> None:
        if "caption" in self._open:
            self._caption += data
        elif ("td" in self._open or "th" in self._open) and self._rows and self._rows[-1]:
            self._rows[-1][-1] += data
        elif "dt" in self._open:
            self._term += data
        elif "dd" in self._open and "small" not in self._open:
            self.facts[self._term] = self.facts.get(self._term, "") + data

    def handle_endtag(self, tag: str) -> None:
        while self._open and self._open.pop() != tag:
            pass
        if tag == "table":
            rows = [[" ".join(cell.split()) for cell in row] for row in self._rows]
            self.tables[" ".join(self._caption.split())] = rows


class _Hands(HTMLParser):
    """Who worked on a shot, by take: of each the character, the craft, the name and the frames."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.takes: dict[str, list[tuple[str, str, str, Frames]]] = {}
        self._take = self._character = self._craft = self._whole = self._frames = ""
        self._open: list[str] = []

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        if tag in ("dt", "dd"):  # one ends where the next begins
            self._open = [each for each in self._open if each not in ("dt", "dd")]
        self._open.append(tag)
        named = dict(attributes).get("id") or ""
        if named.startswith("hands-"):
            self._take = named
            self.takes[named] = []
        elif tag == "h3":
            self._character = self._whole = ""
        elif tag == "dt":
            self._craft = ""
        elif tag == "dd":
            self._frames = self._whole
        elif tag == "b" and "dd" in self._open:
            self._frames = ""
        elif tag == "h2":
            self._take = ""

    def handle_data(self, data: str) -> None:
        if not self._take or "i" in self._open:
            return
        if "h3" in self._open and "small" in self._open:
            self._whole += data
        elif "h3" in self._open:
            self._character += data.strip()
        elif "dt" in self._open:
            self._craft += data
        elif "dd" in self._open and "b" in self._open:
            self._frames += data
        elif "dd" in self._open:
            for name in filter(None, map(str.strip, data.replace(";", ",").split(","))):
                seen = Frames.parse(self._frames.replace(" ", ""))
                self.takes[self._take].append((self._character, self._craft, name, seen))

    def handle_endtag(self, tag: str) -> None:
        while self._open and self._open.pop() != tag:
            pass


def page(site: Path, path: str) -> _Tables:
    """The tables of one page."""
    reader = _Tables()
    reader.feed((site / path).read_text("utf-8"))
    return reader


@pytest.fixture(scope="module")
def ledger(example_production: Path) -> Ledger:
    """The example's ledger."""
    return read_ledger(example_production)


@pytest.fixture
def asked(example_production: Path, capsys: pytest.CaptureFixture[str]) -> Any:
    """The JSON that a command answers about the example."""

    def ask(*words: str) -> Any:
        assert run([*words, "--production", str(example_production), "--json"]) == 0
        return json.loads(capsys.readouterr().out)

    return ask


def rounded(row: Mapping[str, Any]) -> list[float]:
    """The five measures of shot footage, as numbers."""
    return [float(eval_fraction(row["shot_frames"][measure])) for measure in MEASURES]


def eval_fraction(text: str) -> float:
    """An exact figure as the JSON writes it: ``24`` or ``32/3``."""
    number, _, divisor = text.partition("/")
    return int(number) / int(divisor or 1)


@pytest.mark.parametrize("by", ["person", "character", "week", "stage"])
def test_the_footage_page_has_the_figures_of_the_command(
    example_sites: Mapping[Edition, Path], asked: Any, by: str
) -> None:
    answer = asked("footage", "--by", by)
    tables = page(example_sites[Edition.OFFICE], links.FOOTAGE).tables
    rows = tables[f"Footage by {by}"][1:]
    assert len(rows) == len(answer["rows"]) + 1  # and the total
    for shown, said in zip(rows, [*answer["rows"], answer["total"]], strict=True):
        figures = [int(cell.replace(",", "")) for cell in shown[1:6]]
        for figure, exact in zip(figures, rounded(said), strict=True):
            assert abs(figure - exact) < 1  # a printed column is rounded so that it adds up
        assert float(shown[6]) == said["seconds"]["kept"]
    for column in range(1, 6):
        figures = [int(row[column].replace(",", "")) for row in rows]
        assert sum(figures[:-1]) == figures[-1]


def test_a_persons_page_has_the_reach_of_the_command(
    example_sites: Mapping[Edition, Path], asked: Any
) -> None:
    rows = asked("reach")["rows"]
    assert len(rows) > 50
    office = example_sites[Edition.OFFICE]
    for row in rows:
        facts = page(office, links.person_page(row["person"])).facts
        assert int(facts["frames"].replace(",", "")) == row["frames"]
        assert int(facts["shots"].replace(",", "")) == row["shots"]


@pytest.mark.parametrize("shot", ["010-010", "040-040", "050-070", "060-030"])
def test_a_shots_page_has_the_hands_of_the_command(
    example_sites: Mapping[Edition, Path], asked: Any, ledger: Ledger, shot: str
) -> None:
    answer = asked("hands", shot)
    said: dict[tuple[str, str, str], list[tuple[int, int]]] = {}
    for run_of_frames in answer["frames"]:
        for hand in run_of_frames["hands"]:
            key = (
                ledger.characters[hand["character"]].name,
                ledger.crafts[hand["craft"]].name,
                ledger.people[hand["person"]].credit_name,
            )
            piece = (run_of_frames["first"], run_of_frames["last"] + 1)
            said.setdefault(key, []).append(piece)
    reader = _Hands()
    reader.feed((example_sites[Edition.OFFICE] / links.shot_page(shot)).read_text("utf-8"))
    shown: dict[tuple[str, str, str], list[tuple[int, int]]] = {}
    for character, craft, person, frames in reader.takes["hands-1"]:
        shown.setdefault((character, craft, person), []).extend(frames.ranges)
    assert {k: Frames.of(*v) for k, v in shown.items()} == {
        k: Frames.of(*v) for k, v in said.items()
    }


def test_the_credits_page_has_the_lines_of_the_command(
    example_sites: Mapping[Edition, Path], asked: Any, ledger: Ledger
) -> None:
    answer = asked("roll")
    text = (example_sites[Edition.PUBLIC] / links.CREDITS).read_text("utf-8")
    at = 0
    for section in answer["sections"]:
        for line in section["lines"]:
            found = re.compile(rf">{re.escape(escape(line['name']))}\s*<").search(text, at)
            assert found is not None, line["name"]
            at = found.start()
    assert answer["held"]
    for row in answer["held"]:
        assert ledger.people[row["person"]].credit_name not in text


def test_the_checks_page_has_the_questions_of_the_command(
    example_sites: Mapping[Edition, Path], asked: Any
) -> None:
    checks = asked("check")["checks"]
    words = (example_sites[Edition.OFFICE] / links.CHECKS).read_text("utf-8")
    assert len(checks) > 10
    for check in checks:
        assert check["message"].split("(")[0].strip() in words.replace("&#39;", "'")
