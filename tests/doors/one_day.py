"""A day of the example, and every door through which it can come into the log."""

from __future__ import annotations

import csv
import json
import shutil
from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import count, product
from pathlib import Path
from typing import Any

from starlette.testclient import TestClient

from credits.app.figures import read_ledger
from credits.app.lists.tables import load_tables, read_files
from credits.app.work.entries import cells_of
from credits.app.work.line import split_words
from credits.app.work.rows import read_row
from credits.app.work.session import DaySession
from credits.app.work.sheet import make_sheets
from credits.cli.main import run
from credits.desk.guard import DeskAddress
from credits.desk.page import place_key
from credits.desk.server import Desk
from credits.errors import CreditsError
from credits.footage.claims import claim_runs
from credits.footage.day import Workplace
from credits.footage.footage import footage
from credits.formats.tables.day_sheet import BETWEEN
from credits.hands.hands import Hands
from credits.model.facts import Work
from credits.model.ledger import Entry
from credits.model.log import WrittenLog
from credits.model.replay import Implied
from credits.store.log import open_log
from tests.filled_sheets import FilledSheet
from tests.productions import production_from

Row = Mapping[str, str]
NOT_WORK = ("ref", "logged_by")
"""What a row says of itself, not of the work."""

NOT_ON_SHEETS = ("started_on", "private")
"""What a day sheet has no cell for: it is of one day, and lies open on the stage."""


@dataclass(frozen=True)
class OneDay:
    """A day, the production on the evening before, and the rows that the day brings."""

    on: date
    folder: Path
    rows: Sequence[Row]

    def copy(self, folder: Path) -> Path:
        """A copy of the production."""
        return Path(shutil.copytree(self.folder, folder))


@dataclass
class Typed:
    """What was done at a door: keys pressed by row, and what was typed."""

    keys: list[int] = field(default_factory=list)
    lines: list[str] = field(default_factory=list)

    def line(self, text: str, keys: int | None = None) -> None:
        """Note a line that was typed, with its Enter. keys: fewer, where words were completed."""
        self.keys.append(keys or len(text) + 1)
        self.lines.append(text)


def _day_of(row: Row) -> str:
    return row.get("finished_on") or row.get("started_on") or ""


def one_day(tables: Path, on: date, folder: Path, *, done: bool = False) -> OneDay:
    """Make the production as it was on the evening before a day.

    done: with the day's rows in it, as they stand in the example's own files.
    """
    given, brought = folder.with_name(f"{folder.name}-tables"), []
    given.mkdir(parents=True)
    for path in sorted(tables.glob("*.csv")):
        if path.stem != "cut" and not path.stem.startswith("face-sheet"):
            text = path.read_text("utf-8")
            # Who logs a day does it while its shots are being shot.
            text = text.replace(",done,", ",shooting,") if path.stem == "shots" else text
            (given / path.name).write_text(text, "utf-8")
    for path in sorted((tables / "entries").glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        own = [row for row in rows if _day_of(row) == on.isoformat()]
        brought += [{name: text for name, text in row.items() if text} for row in own]
        kept = [row for row in rows if _day_of(row) < on.isoformat() or (done and row in own)]
        _write_rows(given / path.name, kept, rows[0])
    return OneDay(on, production_from(folder, [given]), brought)


def _write_rows(path: Path, rows: Sequence[Row], columns: Sequence[str] | Row) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(columns))
        writer.writeheader()
        writer.writerows(rows)


# --- What the log says


def view(folder: Path, on: date, without: Sequence[str] = ()) -> Counter[str]:
    """The current entries of a day as work alone: no numbers, sources, keys.

    without: columns that are left out.
    """
    ledger = read_ledger(folder)
    return Counter(_plain(entry, without) for entry in ledger.entries if entry.day == on)


def _plain(entry: Entry, without: Sequence[str]) -> str:
    """The work with the character that the puppet or the part implies."""
    cells = cells_of(replace(entry.work, character=entry.character))
    return json.dumps({name: cells[name] for name in sorted(cells) if name not in without})


def footage_of(folder: Path, shots: Collection[str]) -> list[str]:
    """The footage of some shots, exact, by person, character, day and stage."""
    ledger = read_ledger(folder)
    return sorted(map(str, footage(ledger, claim_runs(ledger, shots), None).cells))


def hands_of(folder: Path, shots: Collection[str]) -> list[tuple[object, ...]]:
    """Who worked on some shots: person, craft, character, way, frames."""
    ledger = read_ledger(folder)
    runs = claim_runs(ledger, shots)
    hands = Hands(ledger, runs)
    return sorted(
        (shot, take, h.person, h.craft, h.character, str(h.via), str(h.puppet), str(h.part),
         h.frames.text, str(h.since))
        for shot, take in runs for h in hands.of_take(shot, take)
    )  # fmt: skip


def places(rows: Sequence[Row], folder: Path) -> dict[Workplace, list[Row]]:
    """The rows by where the work was done."""
    crafts = read_ledger(folder).crafts
    found: dict[Workplace, list[Row]] = {}
    for row in rows:
        place = Workplace(department=crafts[row["craft"]].department)
        if "stage" in row:
            place = Workplace(stage=row["stage"])
        found.setdefault(place, []).append(row)
    return found


def _work(row: Row) -> dict[str, str]:
    return {name: text for name, text in row.items() if name not in NOT_WORK}


# --- The doors


def by_table(day: OneDay, folder: Path) -> Typed:
    """One table of entries, loaded."""
    sheet = folder.with_name("entries-of-the-day.csv")
    columns = list(dict.fromkeys(name for row in day.rows for name in row))
    _write_rows(sheet, day.rows, columns)
    plan = load_tables(folder, read_files(folder, [sheet]))
    assert not plan.problems, [*map(str, plan.problems)]
    assert plan.is_whole, plan.sheets
    return Typed([sum(map(len, row.values())) + len(columns) for row in day.rows])


def by_day_sheets(day: OneDay, folder: Path) -> Typed:
    """The day sheets of all places, filled in by a second library, loaded together.

    The keys are those of the cells that are typed, each with its Enter; where the program
    completes a name from its list they are fewer.
    """
    out, typed = folder.with_name(f"{folder.name}-sheets"), Typed()
    names = map("{:x}".format, count(10))
    made = {each.place: each.file for each in
            make_sheets(folder, day.on, names.__next__, out=out)}  # fmt: skip
    files = []
    for at, (place, rows) in enumerate(places(day.rows, folder).items()):
        if place not in made:
            (one,) = make_sheets(
                folder, day.on, names.__next__, place.stage, place.department,
                out / f"{at}.xlsx",
            )  # fmt: skip
            made[place] = one.file
        files.append(_filled_in(FilledSheet(made[place]), rows, day.on, typed))
    plan = load_tables(folder, read_files(folder, files))
    assert not plan.problems, [*map(str, plan.problems)]
    assert plan.is_whole, plan.sheets
    return typed


def _filled_in(sheet: FilledSheet, rows: Sequence[Row], on: date, typed: Typed) -> Path:
    first = sheet.first_row
    free = dict.fromkeys(range(first, sheet.sheet.max_row + 1))
    for row in rows:
        wanted = {n: t for n, t in _work(row).items() if n not in ("stage", *NOT_ON_SHEETS)}
        if wanted.get("finished_on") == on.isoformat():
            del wanted["finished_on"]
        shown = {at: _codes(sheet.row(at)) for at in free}
        at = min(free, key=lambda at: (_unlike(shown[at], wanted), bool(shown[at]), at))
        del free[at]
        changed = {
            name: wanted.get(name)
            for name in {**shown[at], **wanted}
            if shown[at].get(name) != wanted.get(name)
        }
        sheet.fill(at, **changed)
        typed.keys.append(sum(len(text or "x") + 1 for text in changed.values()))
    return sheet.save()


def _codes(cells: Mapping[str, object]) -> dict[str, str]:
    return {name: str(cell).partition(BETWEEN)[0] for name, cell in cells.items()}


def _unlike(shown: Row, wanted: Row) -> int:
    """How much has to be typed to make a row what it is to be."""
    names = {*shown, *wanted}
    return sum(len(wanted.get(n, "x")) for n in names if shown.get(n) != wanted.get(n))


def words_of_log(row: Row) -> list[str]:
    """The words and options of ``credits log`` that say a row."""
    shot = row.get("shot", "") + (f"/{row['take']}" if "take" in row else "")
    things = [row[name] for name in ("character", "puppet", "part") if name in row]
    words = [row["craft"], row["person"], *things, *filter(None, [shot]), row.get("frames", "")]
    options = {
        name: row[name]
        for name in ("sequence", "poses_on", "share", "started_on", "finished_on", "minutes",
                     "wait_minutes", "stage", "note")
        if name in row
    }  # fmt: skip
    return [
        *filter(None, words),
        *(word for name, text in options.items() for word in (f"--{name.replace('_', '-')}", text)),
        *(["--private"] if row.get("private") == "yes" else []),
    ]


def by_log(day: OneDay, folder: Path) -> Typed:
    """A call of ``credits log`` for every row."""
    typed = Typed()
    for row in day.rows:
        words = words_of_log(_work(row))
        assert run(["log", *words, "--production", str(folder)]) == 0
        typed.line(on_a_command_line(["credits", "log", *words]))
    return typed


def on_a_command_line(words: Sequence[str]) -> str:
    """Words as they are typed in a shell."""
    return " ".join(f"'{word}'" if " " in word else word for word in words)


def by_session(day: OneDay, folder: Path) -> Typed:
    """The session of ``credits day``, each line the shortest that means the row."""
    typed = Typed()
    with open_log(folder) as log:
        session = DaySession(log, day.on)
        for place, rows in places(day.rows, folder).items():
            session.be_at(place.stage or "none")
            typed.line(f"stage {place.stage or 'none'}")
            for row in rows:
                line = shortest_line(session, _work(row))
                typed.line(line, keys_with_tab(session, line))
                session.log_line(split_words(line))
    return typed


def keys_with_tab(session: DaySession, line: str) -> int:
    """How many keys a line takes where the Tab key completes its words."""

    def keys(word: str) -> int:
        parts = (word, *word.split("-")[1:])  # a word of its name completes it too
        starts = (part[:at] for part in parts for at in range(1, len(part)))
        known = [len(start) for start in starts if session.completions(start) == [word]]
        return 1 + min(known, default=len(word))

    said, dashes, note = line.partition(" -- ")
    return sum(map(keys, said.split())) + len(dashes) + len(note) + bool(note)


def shortest_line(session: DaySession, row: Row) -> str:
    """The shortest line that means a row where the session is."""
    written = session.now()
    wanted = meant(row, written)
    for line in sorted(lines_that_may_mean(row), key=len):
        try:
            cells = session.cells(split_words(line))
            if meant(cells, written) == wanted:
                return line
        except CreditsError:
            continue
    raise AssertionError(f"no line of the session says {row}")


def meant(cells: Row, written: WrittenLog) -> Work | None:
    """What cells mean, with the character that the puppet or the part implies."""
    read = read_row(cells, written, date.today())
    if read.line is None or read.line.work is None:
        return None
    return replace(read.line.work, character=Implied(written).character(read.line.work))


def lines_that_may_mean(row: Row) -> Iterator[str]:
    """Every line that may mean a row: what may be as before is said or not."""
    shot = row.get("shot", "") + (f"/{row['take']}" if "take" in row else "")
    things = [row[name] for name in ("character", "puppet", "part") if name in row]
    thing = {"", *things, " ".join(things)}
    said = [f"{'sequence'} {row['sequence']}"] if "sequence" in row else []
    if "started_on" in row:
        said += [f"from {row['started_on']}", f"on {row['finished_on']}"]
    said += [f"wait {_length(row['wait_minutes'])}"] if "wait_minutes" in row else []
    said += [f"share {row['share']}"] if "share" in row else []
    said += ["private"] if row.get("private") == "yes" else []
    nowhere = {""} if "stage" in row else {"", 'stage ""'}
    last = [f"-- {row['note']}"] if "note" in row else []
    minutes = _length(row["minutes"]) if "minutes" in row else ""
    choices = (
        {"", row["craft"]}, [row["person"]], thing, {"", shot, row.get("shot", "")},
        {"", row.get("frames", "")}, {"", f"x{row['poses_on']}" if "poses_on" in row else ""},
        nowhere,
    )  # fmt: skip
    for words in product(*choices):
        yield " ".join(filter(None, (*words, minutes, *said, *last)))


def _length(minutes: str) -> str:
    hours, rest = divmod(int(minutes), 60)
    return f"{hours}h" if not rest else min(f"{hours}:{rest:02}", f"{minutes}m", key=len)


@dataclass
class DeskClient:
    """A browser that came in at the desk of a production."""

    http: TestClient
    day: date

    @classmethod
    def at(cls, folder: Path, day: date) -> DeskClient:
        """Come in."""
        address = DeskAddress("127.0.0.1", 8123)
        desk = Desk(folder, address, "token")
        http = TestClient(desk.app, base_url=address.origin, headers={"origin": address.origin})
        assert http.get("/enter?token=token").status_code == 200
        return cls(http, day)

    def post(self, path: str, **values: Any) -> Any:
        """Post as the page does."""
        content = json.dumps({"day": self.day.isoformat(), **values})
        kind = {"content-type": "application/json"}
        return self.http.post(path, content=content, headers=kind).json()


def desk_fields(row: Row) -> dict[str, str]:
    """A row as it is typed at the desk, where the place and the day are given."""
    on = ", ".join(filter(None, (row.get("puppet") or row.get("character"), row.get("part"))))
    given = ("character", "puppet", "part", "stage", "finished_on", "sequence", *NOT_WORK)
    own = {name: text for name, text in row.items() if name not in given}
    return {"shot": row.get("sequence", ""), **own, "on": on}


def by_desk(day: OneDay, folder: Path) -> Typed:
    """Rows posted at the desk, one after the other, each at its place."""
    desk, typed = DeskClient.at(folder, day.on), Typed()
    for place, rows in places(day.rows, folder).items():
        for row in rows:
            fields = desk_fields(row)
            answer = desk.post("/log", place=place_key(place), rows=[fields])
            assert "answers" in answer, answer
            typed.keys.append(sum(len(text) + 1 for text in fields.values()))
    return typed


DOORS: dict[str, Callable[[OneDay, Path], Typed]] = {
    "table": by_table,
    "day sheets": by_day_sheets,
    "log": by_log,
    "session": by_session,
    "desk": by_desk,
}
