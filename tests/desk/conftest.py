"""The desk as tests call it: over HTTP, without a network, by a browser that came in."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from credits.app.work.entries import Logged, cells_of, log_entries
from credits.desk.guard import DeskAddress
from credits.desk.page import place_key
from credits.desk.server import Desk
from credits.footage.day import Workplace
from credits.model.log import LogLine
from credits.store.log import open_log
from tests.productions import production_from, written_tables

ADDRESS = DeskAddress("127.0.0.1", 8123)
TOKEN = "the-token-of-this-run"
DAY = "2026-03-05"
S1 = place_key(Workplace(stage="S1"))
PUPPETS = place_key(Workplace(department="Puppets"))

TABLES = {
    "people": """
        person,credit_name
        ana,Ana Lind
        ben,Ben Ødegård
        cai,Cai
        sam,Sam Roe
        sam-2,Sam Roe
    """,
    "engagements": """
        person,department,job_title
        ana,Animation,Animator
        ben,Animation,Animator
        cai,Puppets,Maker
    """,
    "characters": """
        character,name
        wick,Wick
        brine,Old Brine
    """,
    "puppets": """
        puppet,character
        wick-1,wick
        wick-2,wick
        brine-1,brine
    """,
    "parts": """
        part,kind,character
        wick-face-3,face,wick
        hat,costume,
    """,
    "sequences": """
        sequence
        010
    """,
    "shots": """
        shot,sequence,frames
        010-020,010,120
        010-030,010,48
    """,
    "stages": """
        stage,unit
        S1,Main unit
        S2,Second unit
    """,
    "takes": """
        shot,take,purpose,decision
        010-020,1,shoot,open
        010-020,2,shoot,open
    """,
    "entries": """
        craft,person,character,puppet,shot,take,frames,poses_on,minutes,finished_on,stage,note
        animation,ana,wick,wick-1,010-020,1,1-30,2,480,2026-03-04,S1,
        animation,ben,brine,brine-1,010-020,1,1-20,1,300,2026-03-04,S1,
        fabrication,cai,wick,wick-2,,,,,240,2026-03-03,,
        animation,ana,wick,wick-1,010-020,1,31-60,2,480,2026-03-05,S1,The day's first
    """,
}


def in_a_row(**fields: str) -> dict[str, str]:
    """The fields of a row of Ana's animation on the day; others as they are given."""
    row = {
        "craft": "animation", "person": "Ana Lind", "on": "wick-1", "shot": "010-020", "take": "1",
        "frames": "61-90", "poses_on": "2", "minutes": "8h",
    }  # fmt: skip
    return {name: text for name, text in {**row, **fields}.items() if text}


def lines_of(folder: Path) -> tuple[LogLine, ...]:
    """Every line of the log."""
    with open_log(folder) as log:
        return log.read().lines


def cells_of_line(line: LogLine) -> dict[str, str]:
    """What a line says, as the cells of a row."""
    return {} if line.work is None else cells_of(line.work)


@dataclass
class Client:
    """A browser that came in, and the production behind."""

    http: TestClient
    folder: Path

    def post(self, path: str, **values: Any) -> Any:
        """Post as the page does; the answer."""
        content = json.dumps({"day": DAY, **values})  # half a character passes, as from a browser
        kind = {"content-type": "application/json"}
        return self.http.post(path, content=content, headers=kind)

    def log(self, *rows: Mapping[str, str], place: str = S1, **values: Any) -> Any:
        """Log rows; what is answered."""
        return self.post("/log", place=place, rows=[*rows], **values).json()

    def check(self, *rows: Mapping[str, str], place: str = S1) -> list[Any]:
        """Check rows."""
        return list(self.post("/check", place=place, rows=[*rows]).json()["rows"])

    def page(self, day: str = DAY) -> str:
        """The page of a day."""
        answer = self.http.get(f"/day/{day}")
        assert answer.status_code == 200
        return str(answer.text)

    @property
    def lines(self) -> tuple[LogLine, ...]:
        """The log."""
        return lines_of(self.folder)


def client_of(folder: Path, **options: Any) -> TestClient:
    """A browser that has not come in yet."""
    desk = Desk(folder, ADDRESS, TOKEN, **options)
    return browser_at(desk)


def browser_at(desk: Desk) -> TestClient:
    """A browser that shows pages of this desk."""
    origin = desk.address.origin
    return TestClient(desk.app, base_url=origin, headers={"origin": origin}, follow_redirects=False)


def come_in(http: TestClient) -> TestClient:
    """Come in by the address of this run."""
    assert http.get(f"/enter?token={TOKEN}").status_code == 303
    return http


@pytest.fixture(scope="session")
def small_film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a small production with a day that has begun, and of its tables."""
    folder = tmp_path_factory.mktemp("small-film")
    production_from(folder / "film", [written_tables(folder / "tables", TABLES)])
    return folder


@pytest.fixture
def film(small_film: Path, tmp_path: Path) -> Path:
    """The small production, copied for a test that may write in it."""
    shutil.copytree(small_film, tmp_path, dirs_exist_ok=True)
    return tmp_path / "film"


@pytest.fixture
def client(film: Path) -> Client:
    """A browser at the desk of the small production."""
    return Client(come_in(client_of(film)), film)


Section = Callable[[str], str]


def place_on(page: str, heading: str) -> str:
    """The part of the page about a place, as HTML."""
    for part in re.split(r'(?=<section class="(?:place|undated)")', page):
        if re.search(rf"<h2[^>]*>{heading}", re.sub("</?bdi>", "", part)):
            return part
    raise AssertionError(f"no {heading} on the page")


def texts(html: str) -> str:
    """What a person reads of some HTML."""
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def numbers(lines: Sequence[LogLine]) -> list[int]:
    """The numbers of some lines."""
    return [line.number.number for line in lines]


def on_the(day: str) -> date:
    """A day."""
    return date.fromisoformat(day)


def log_elsewhere(folder: Path, craft: str, person: str, **cells: str) -> Logged:
    """Log an entry as another program does."""
    (logged,) = log_entries(folder, lambda *_: {"craft": craft, "person": person, **cells})
    return logged
