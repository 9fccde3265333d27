"""One row of a small production, offered at every door, and what each answers."""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterable, Mapping
from datetime import date
from pathlib import Path

from credits.app.lists.tables import load_tables, read_files
from credits.app.work.line import Word
from credits.app.work.session import DaySession
from credits.app.work.sheet import make_sheets
from credits.cli.main import run
from credits.desk.page import finding_text, place_key
from credits.errors import CreditsError, Finding
from credits.footage.day import Workplace
from credits.store.log import open_log
from tests.doors.one_day import DeskClient, desk_fields
from tests.filled_sheets import FilledSheet

Row = Mapping[str, str]
Said = set[str]
"""Each thing that is wrong, and what would be right, in one text, as every door says it."""

DAY = "2026-03-05"
RIGHT = {
    "craft": "animation", "person": "ana", "character": "wick", "shot": "010-020", "take": "1",
    "frames": "31-60", "minutes": "60", "finished_on": DAY, "stage": "S1",
}  # fmt: skip


def _said(findings: Iterable[Finding]) -> Said:
    return {finding_text(finding) for finding in findings}


def at_the_table(folder: Path, row: Row) -> Said:
    """A table of one row is loaded."""
    sheet = folder / "entries-new.csv"
    with sheet.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([row, row.values()])
    return _said(load_tables(folder, read_files(folder, [sheet])).problems)


def on_a_day_sheet(folder: Path, row: Row) -> Said:
    """An empty row of the day sheet is filled in. What its program refuses cannot be written."""
    on = date.fromisoformat(row["finished_on"])
    out = folder / "day.xlsx"
    out.unlink(missing_ok=True)
    (made,) = make_sheets(folder, on, lambda: "ab", row["stage"], out=out)
    sheet = FilledSheet(made.file)
    at = next(n for n in range(sheet.first_row, sheet.first_row + 40) if not sheet.row(n))
    sheet.fill(at, **{name: text for name, text in row.items() if name in sheet.letters})
    return _said(load_tables(folder, read_files(folder, [sheet.save()])).problems)


def as_a_command(folder: Path, row: Row) -> Said:
    """``credits log`` with its options. It says itself what is wrong; here only whether."""
    options = [
        f"--{name.replace('_', '-')}={text}"
        for name, text in row.items()
        if name not in ("craft", "person")
    ]
    words = [row[name] for name in ("craft", "person") if name in row]
    status = run(["log", *options, "--production", str(folder), "--", *words])
    assert status in (0, 2)
    return set() if status == 0 else {"refused"}


def in_the_session(folder: Path, row: Row) -> Said:
    """A line of the session, each word said to be what it is."""
    names = {"finished_on": "on", "poses_on": "poses", "wait_minutes": "wait"}
    words = [
        word
        for name, text in row.items()
        for word in (Word(names.get(name, name)), Word(text, is_quoted=True))
    ]
    with open_log(folder) as log:
        session = DaySession(log, date.fromisoformat(DAY))
        try:
            session.log_line(words)
        except CreditsError as error:
            return _said(error.findings)
    return set()


def at_the_desk(folder: Path, row: Row) -> Said:
    """A row typed at the desk."""
    on = date.fromisoformat(row["finished_on"])
    place = Workplace(stage=row["stage"])
    answer = DeskClient.at(folder, on).post("/log", place=place_key(place), rows=[desk_fields(row)])
    return set() if "answers" in answer else set(answer["rows"][0]["wrong"].values())


DOORS: dict[str, Callable[[Path, Row], Said]] = {
    "table": at_the_table,
    "day sheet": on_a_day_sheet,
    "log": as_a_command,
    "session": in_the_session,
    "desk": at_the_desk,
}
