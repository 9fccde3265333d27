"""Many hands at once: processes that log, a load, a watch, a desk and readers on one production.

Every entry that was acknowledged must be there, once; their numbers without a gap; nobody may be
told that the log is locked; every reader must see the log as it was at one moment. Printed is how
long one entry took, from the call until it was acknowledged and the figures were renewed.

    python -m benchmarks.hands_at_once --writers 8 --entries 25
    python -m benchmarks.hands_at_once --server
    python -m benchmarks.hands_at_once --production DIR

The production that is named is written to; without one, a small one is made and removed. --server:
its log is on a private PostgreSQL server of this machine.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from statistics import quantiles

from benchmarks.kills import ROOT, make_bases, type_at_the_desk
from credits.app.logs.copied import copy_log
from credits.app.logs.verified import verify_production
from credits.app.work.entries import log_entries
from credits.errors import CreditsError
from credits.store.engines.address import KEY, SETTINGS_NAME, Address
from credits.store.log import open_log
from credits.text import quoted_toml
from tests.postgres_server import PostgresServer

CREDITS = (sys.executable, "-m", "credits")
READERS = 2
LONGEST = 300.0  # seconds


@dataclass(slots=True)
class AtOnce:
    """What came of it. seconds: of each entry. readings: how often the log was read meanwhile."""

    acknowledged: list[str] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)
    readings: int = 0
    harms: list[str] = field(default_factory=list)

    @property
    def typical(self) -> float:
        """Seconds that half of the entries took at most."""
        return quantiles(self.seconds, n=100, method="inclusive")[49]

    @property
    def slowest(self) -> float:
        """Seconds that all entries but one of a hundred took at most."""
        return quantiles(self.seconds, n=100, method="inclusive")[98]


def at_once(folder: Path, writers: int, entries: int, *, whole: bool = True) -> AtOnce:
    """Log from several processes, while others read.

    folder: a production that has people p0, p1, ... and a puppet u1. whole: also a load, a watch
    and a desk, each a process of its own, as long as the others log.
    """
    found = AtOnce()
    before = _numbers(folder)
    fork = multiprocessing.get_context("fork")
    with tempfile.TemporaryDirectory(prefix="hands-") as place:
        outs = [Path(place, f"writer-{at}") for at in range(writers)]
        over = Path(place, "over")
        readers = [Path(place, f"reader-{at}") for at in range(READERS)]
        processes = [
            *(fork.Process(target=_read_on, args=(folder, out, over)) for out in readers),
            *(
                fork.Process(target=_log_on, args=(folder, f"p{at}", entries, out))
                for at, out in enumerate(outs)
            ),
        ]
        for process in processes:
            process.start()
        with _others(folder, Path(place), found) if whole else _nobody():
            for process in processes[READERS:]:
                process.join(LONGEST)
        over.touch()
        for process in processes:
            process.join(LONGEST)
            if process.exitcode != 0:
                found.harms.append(f"a process ended with {process.exitcode}")
        for out in (*outs, *readers):
            _take(out, found)
    _look_at(folder, before, found, writers * entries)
    return found


def _say(out: Path, **said: object) -> None:
    with out.open("a", encoding="utf-8") as file:
        file.write(json.dumps(said) + "\n")


def _take(out: Path, found: AtOnce) -> None:
    """Take what a process has written down."""
    for line in out.read_text("utf-8").splitlines() if out.exists() else ():
        said = json.loads(line)
        if "harm" in said:
            found.harms.append(said["harm"])
        elif "readings" in said:
            found.readings += said["readings"]
        else:
            found.acknowledged.append(said["entry"])
            found.seconds.append(said["seconds"])


def _log_on(folder: Path, person: str, entries: int, out: Path) -> None:
    """Log entry after entry, as one person at a terminal would."""
    for at in range(entries):
        cells = {"craft": "repair", "person": person, "puppet": "u1", "minutes": str(at + 1)}
        cells["finished_on"] = "2026-03-02"
        begun = time.monotonic()
        try:
            (logged,) = log_entries(folder, lambda *_, own=cells: own, again=True)
        except CreditsError as error:
            _say(out, harm=f"{person}: {error}")
            return
        _say(out, entry=str(logged.number), seconds=time.monotonic() - begun)


def _read_on(folder: Path, out: Path, over: Path) -> None:
    """Read the log again and again: what is read is the log of one moment, and never shrinks."""
    last = readings = 0
    while not over.exists():
        try:
            numbers = _numbers(folder)
        except CreditsError as error:
            _say(out, harm=f"a reader: {error}")
            return
        if gaps := _gaps(numbers):
            _say(out, harm=f"a reader found {gaps}")
        if len(numbers) < last:
            _say(out, harm=f"a reader found {len(numbers)} lines after {last}")
        last, readings = len(numbers), readings + 1
    _say(out, readings=readings)


def _numbers(folder: Path) -> list[str]:
    with open_log(folder) as log:
        return [str(line.number) for line in log.read().lines]


def _gaps(numbers: Sequence[str]) -> str:
    """Say what is missing or twice among the numbers of lines; empty: nothing."""
    by_origin: dict[str, list[int]] = {}
    for number in numbers:
        origin, _, at = number.rpartition("-")
        by_origin.setdefault(origin, []).append(int(at))
    wrong = [o for o, own in by_origin.items() if sorted(own) != [*range(1, len(own) + 1)]]
    return f"gaps or doubles in the lines of {', '.join(wrong)}" if wrong else ""


@contextmanager
def _nobody() -> Iterator[None]:
    yield


@contextmanager
def _others(folder: Path, place: Path, found: AtOnce) -> Iterator[None]:
    """A load, a watch and a desk at which somebody types, until the block ends."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    sheet = place / "entries-of-a-day.csv"
    rows = (f"repair,p{at % 8},u1,2026-03-03,{at + 1}\n" for at in range(200))
    sheet.write_text("craft,person,puppet,finished_on,minutes\n" + "".join(rows))

    def begun(name: str, *words: str) -> subprocess.Popen[bytes]:
        streams = {end: (place / f"{name}.{end}").open("wb") for end in ("out", "err")}
        return subprocess.Popen(
            [*CREDITS, *words, "-p", str(folder)],
            stdout=streams["out"],
            stderr=streams["err"],
            env=environment,
        )

    load = begun("load", "load", str(sheet), "--again")
    watch = begun("watch", "site", "--edition", "crew", "--out", str(place / "site"), "--watch")
    desk = begun("desk", "desk", "--no-browser", "--no-site")
    over = threading.Event()
    typed: list[str] = []
    hands = threading.Thread(
        target=lambda: typed.extend(type_at_the_desk(folder, place / "desk.out", over))
    )
    hands.start()
    try:
        yield
    finally:
        status = load.wait(LONGEST)
        over.set()
        for process in (watch, desk):
            process.terminate()
            process.wait(LONGEST)
        hands.join(LONGEST)
        found.acknowledged += typed
        if status:
            found.harms.append(f"the load ended with {status}")
        for name in ("load", "watch", "desk"):
            said = (place / f"{name}.err").read_text("utf-8")
            if "Traceback" in said or "is being written by another" in said:
                found.harms.append(f"{name} said {said[-300:]!r}")


def _look_at(folder: Path, before: Sequence[str], found: AtOnce, wanted: int) -> None:
    """Ask that everything that was acknowledged is there, once, and that the log is sound."""
    numbers = Counter(_numbers(folder))
    twice = [number for number, count in Counter(found.acknowledged).items() if count > 1]
    found.harms += [f"{number} was acknowledged twice" for number in twice]
    lost = (number for number in found.acknowledged if not numbers[number])
    found.harms += [f"{number} was acknowledged and is gone" for number in lost]
    if gaps := _gaps([*numbers.elements()]):
        found.harms.append(gaps)
    if len(found.seconds) != wanted:
        found.harms.append(f"{len(found.seconds)} entries were acknowledged of {wanted}")
    if not set(before) <= set(numbers):
        found.harms.append("lines of before are gone")
    found.harms += map(str, verify_production(folder))


def _carry(folder: Path, address: Address) -> None:
    """Carry the log of a production to a server, and let its settings name it."""
    copy_log(str(folder), address.text)
    for beside in folder.glob("*.db*"):
        beside.unlink()
    settings = folder / SETTINGS_NAME
    text = settings.read_text("utf-8")
    settings.write_text(f"{KEY} = {quoted_toml(address.text)}\n{text}", "utf-8")


def main() -> int:
    """Do it, and print what came of it; 1 where anything should not be so."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--production", type=Path)
    parser.add_argument("--server", action="store_true")
    parser.add_argument("--writers", type=int, default=8)
    parser.add_argument("--entries", type=int, default=25)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="hands-") as place, ExitStack() as ends:
        folder = given.production
        if folder is None:
            make_bases(Path(place), ["film"])
            folder = Path(place, "film")
            if given.server:
                server = PostgresServer()
                ends.callback(server.stop)
                _carry(folder, server.new_database())
        begun = time.monotonic()
        found = at_once(folder, given.writers, given.entries)
        seconds = time.monotonic() - begun
    count = f"{given.writers} processes logged {len(found.seconds)} entries in {seconds:.0f} s"
    print(f"{count}, {found.readings} readings meanwhile; a load, a watch and a desk beside.")
    print(f"An entry took {found.typical:.2f} s (p50), {found.slowest:.2f} s (p99).")
    for harm in found.harms:
        print(harm)
    return int(bool(found.harms))


if __name__ == "__main__":
    sys.exit(main())
