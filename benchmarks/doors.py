"""How many keys an entry takes at each door, and how long its answer; of one day of the example.

What is pressed is counted on the shortest way that a door offers: the shortest line that means the
row, the fewest cells of a day sheet, the desk in a real browser with its lists of words.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import count, product
from pathlib import Path
from statistics import median

from playwright.sync_api import sync_playwright

from credits import files
from credits.app.kept import DeskWords, KeptLog
from credits.app.work.entries import cells_said, doubts, effect
from credits.app.work.line import split_words
from credits.app.work.session import DaySession
from credits.cli.main import run
from credits.desk.page import place_key
from credits.errors import CreditsError
from credits.model.log import WrittenLog
from credits.store.log import open_log
from tests.conftest import SWITCHES, chromium
from tests.desk.keyboard import WHERE, Keyboard
from tests.doors.one_day import (
    NOT_WORK,
    DeskClient,
    OneDay,
    by_day_sheets,
    by_log,
    by_session,
    desk_fields,
    lines_that_may_mean,
    meant,
    on_a_command_line,
    one_day,
    places,
    words_of_log,
)

Row = Mapping[str, str]


@dataclass(frozen=True)
class AtTheDoor:
    """What one door takes: the keys of each entry, and seconds from Enter to the answer."""

    door: str
    keys: Sequence[int]
    waits: Sequence[float] = ()

    def line(self, entries: int, notes: int) -> str:
        """Return it as a line of the table."""
        each, without = sum(self.keys) / entries, (sum(self.keys) - notes) / entries
        keys = f"{each:>8.1f}{without:>10.1f}" if self.keys else " " * 18
        waits = (min(self.waits), median(self.waits)) if self.waits else ()
        return f"{self.door:<34}{keys}{''.join(f'{wait:>10.2f}' for wait in waits)}"


def by_likeness(day: OneDay, folder: Path) -> list[list[str]]:
    """Log each row by the shortest call with ``--like last``; return the words of the calls."""
    calls = []
    for row in day.rows:
        with open_log(folder) as log:
            calls.append(shortest_call(row, log.read(), log.origin))
        with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
            assert run(["log", *calls[-1], "--production", str(folder)]) == 0
    return calls


def shortest_call(row: Row, written: WrittenLog, origin: str) -> list[str]:
    """Return the words of the shortest call that means a row."""
    own = {name: text for name, text in row.items() if name not in (*NOT_WORK, "note")}
    note = {"note": row["note"]} if "note" in row else {}
    wanted = meant({**own, **note}, written)
    stages = {"", f"stage {row['stage']}"} if "stage" in row else {""}
    days = {"", f"on {date.fromisoformat(row['finished_on']):%d %b}".lower()}
    lines = (
        " ".join(filter(None, words))
        for words in product(lines_that_may_mean(own), stages, days)
    )  # fmt: skip
    for line in sorted(lines, key=len):
        words = [word.text for word in split_words(line)]
        try:
            if meant(cells_said(words, note, "last", written, origin), written) == wanted:
                return ["--like", "last", *words, *(["--note", row["note"]] if note else [])]
        except CreditsError:
            continue
    return words_of_log({**own, **note})


def waits_of_log(calls: Sequence[Sequence[str]], folder: Path) -> list[float]:
    """Run calls of ``credits log``, each as a process of its own; the seconds of each."""
    waits = []
    for words in calls:
        call = [sys.executable, "-m", "credits", "log", *words, "--production", str(folder)]
        began = time.perf_counter()
        subprocess.run(call, check=True, capture_output=True)
        waits.append(time.perf_counter() - began)
    return waits


def waits_of_session(lines: Sequence[str], day: OneDay, folder: Path) -> list[float]:
    """Write the lines of a session again; seconds until everything that is said is known."""
    waits = []
    with open_log(folder) as log:
        session = DaySession(log, day.on)
        for line in lines:
            if line.startswith("stage "):
                session.be_at(line.removeprefix("stage "))
                continue
            began = time.perf_counter()
            for logged in session.log_line(split_words(line)):
                assert logged.entry is not None
                effect(logged.in_brief, logged.entry)
                doubts(logged.ledger, logged.entry)
            waits.append(time.perf_counter() - began)
    return waits


def waits_of_desk(day: OneDay, folder: Path) -> list[float]:
    """Post the rows at the desk; the seconds of each answer."""
    desk, waits = DeskClient.at(folder, day.on), []
    for place, rows in places(day.rows, folder).items():
        for row in rows:
            began = time.perf_counter()
            answer = desk.post("/log", place=place_key(place), rows=[desk_fields(row)])
            waits.append(time.perf_counter() - began)
            assert "answers" in answer, answer
    return waits


def in_browser(day: OneDay, folder: Path) -> tuple[list[int], list[float]]:
    """Type the day at the desk in a browser by keyboard alone; the keys and seconds of each row."""
    words = KeptLog(folder).now().words
    serve = [sys.executable, "-m", "credits", "desk", "--no-browser", "--no-site"]
    with subprocess.Popen(
        [*serve, "--production", str(folder)],
        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    ) as desk, sync_playwright() as playwright:  # fmt: skip
        assert desk.stdout is not None
        entrance = desk.stdout.readline().strip()
        browser = playwright.chromium.launch(executable_path=chromium(), args=SWITCHES)
        page = browser.new_page()
        page.goto(entrance)
        page.goto(f"{entrance.partition('/enter')[0]}/day/{day.on}")
        page.wait_for_function("document.activeElement !== document.body")
        hands, keys, pressed = Keyboard(page, folder=folder), [], 0
        for place, rows in places(day.rows, folder).items():
            while page.evaluate(WHERE) != place.name:
                hands.press("Alt+PageDown")
            for row in rows:
                hands.row(_as_typed(row, words))
                keys.append(hands.pressed - pressed)
                pressed = hands.pressed
        browser.close()
        desk.send_signal(signal.SIGINT)
    return keys, hands.waits


def _as_typed(row: Row, words: DeskWords) -> dict[str, tuple[str, str]]:
    """Return for each field of the desk its text, and the code behind."""
    fields = desk_fields(row)
    of = {"craft": words.crafts, "person": words.people, "on": words.characters}
    return {name: (of.get(name, {}).get(text, text), text) for name, text in fields.items()}


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--date", type=date.fromisoformat, default=date(2026, 3, 12))
    parser.add_argument("--no-browser", action="store_true", help="leave the browser out")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as made:
        own = Path(made)
        day = one_day(files.shipped("examples") / "the-tardy-echo", asked.date, own / "before")
        folders = (day.copy(own / str(number)) for number in count())
        with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
            full, sheets = by_log(day, next(folders)), by_day_sheets(day, next(folders))
            session = by_session(day, next(folders))
        calls = by_likeness(day, next(folders))
        keys = [len(on_a_command_line(["credits", "log", *words])) + 1 for words in calls]
        found = [
            AtTheDoor("credits log, everything said", full.keys),
            AtTheDoor("credits log --like last", keys, waits_of_log(calls, next(folders))),
            AtTheDoor(
                "credits day, a session",
                session.keys,
                waits_of_session(session.lines, day, next(folders)),
            ),
            AtTheDoor("day sheet", sheets.keys),
            AtTheDoor("desk, answers over HTTP", (), waits_of_desk(day, next(folders))),
        ]
        if not asked.no_browser:
            found.append(AtTheDoor("desk, in a browser", *in_browser(day, next(folders))))
    notes = sum(len(row.get("note", "")) for row in day.rows)
    entries = len(day.rows)
    print(f"{asked.date}: {entries} entries, {notes} signs of notes; keys an entry, seconds")
    print(f"{'':<34}{'keys':>8}{'no notes':>10}{'best':>10}{'median':>10}")
    for each in found:
        print(each.line(entries, notes))


if __name__ == "__main__":
    main()
