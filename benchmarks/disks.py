"""Bad disks and wrong files: each command over a log that cannot be used as it should be.

Nothing may be lost, nothing may end in a traceback, what is wrong and what to do must be said, and
what `verify` calls sound must be what was written.

    python -m benchmarks.disks --flips 300 --seed 1
"""

from __future__ import annotations

import argparse
import io
import os
import random
import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

from benchmarks.kills import ENTRY, called, left_in, make_bases, preload, units_of
from credits.store import file as log_file
from credits.store import log as log_of
from credits.store.file import LOG_NAME
from credits.store.logs import restore as restoring

NOBODY = 65534
SERVED = 4.0  # seconds that a desk is let alone
COMMANDS: dict[str, Sequence[str]] = {
    "question": ("footage",),
    "log": (*ENTRY, "--again"),
    "load": ("load", "../made/more", "--again"),
    "verify": ("verify",),
    "backup": ("backup", "copy.db"),
    "restore": ("restore", "../earlier.db", "--force"),
    "site": ("site", "--edition", "public"),
    "desk": ("desk", "--no-browser", "--no-site"),
}


@dataclass(frozen=True, slots=True)
class Harm:
    """What is done to a production before a command, and how it is taken back.

    first: what the process of the command does at its beginning. refused: the commands that cannot
    succeed over it.
    """

    name: str
    done: Callable[[Path], object]
    first: Callable[[], object] | None = None
    refused: Sequence[str] = ()
    is_lost: bool = False
    """Whether the log itself is no more what it was."""


@dataclass(slots=True)
class Outcome:
    """What each command said over one harm, and what of it should not be."""

    harm: str
    said: dict[str, str] = field(default_factory=dict)
    wrong: list[str] = field(default_factory=list)


# --- harms


def impatient() -> None:
    """Wait for another program only for a moment."""
    defaults = log_of.open_log.__kwdefaults__
    assert defaults is not None
    defaults["busy_milliseconds"] = 100
    vars(restoring)["BUSY_MILLISECONDS"] = 100
    vars(log_file)["OPENING_MILLISECONDS"] = 100


def as_nobody() -> None:
    """Become another user, where this one may."""
    if os.geteuid() == 0:
        os.setgroups([])
        os.setegid(NOBODY)
        os.seteuid(NOBODY)


def no_room() -> None:
    """Let no file grow beyond what an answer needs, as on a disk that is full."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (8192, resource.RLIM_INFINITY))


def _cut_to(share: float) -> Callable[[Path], object]:
    def cut(folder: Path) -> None:
        path = folder / LOG_NAME
        os.truncate(path, int(path.stat().st_size * share))

    return cut


def _put(content: bytes) -> Callable[[Path], object]:
    def put(folder: Path) -> None:
        path = folder / LOG_NAME
        path.unlink()
        path.write_bytes(content)

    return put


def _with_sql(text: str) -> Callable[[Path], object]:
    def run(folder: Path) -> None:
        with closing(sqlite3.connect(folder / LOG_NAME)) as raw:
            raw.executescript(text)

    return run


def _as_a(make: Callable[[Path], object]) -> Callable[[Path], object]:
    def replaced(folder: Path) -> None:
        (folder / LOG_NAME).unlink()
        make(folder / LOG_NAME)

    return replaced


def _closed(file: int, folder: int) -> Callable[[Path], object]:
    def close(place: Path) -> None:
        for path in place.rglob("*"):
            path.chmod(folder if path.is_dir() else file)
        place.chmod(folder)

    return close


def _zip() -> bytes:
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w") as made:
        made.writestr("people.csv", "person,credit_name\n")
    return content.getvalue()


def _stranger() -> bytes:
    with closing(sqlite3.connect(":memory:")) as raw:
        raw.executescript("CREATE TABLE recipes (name); INSERT INTO recipes VALUES ('soup')")
        return raw.serialize()


WRITERS = ("log", "load", "restore")
ALL_BUT_RESTORE = ("question", "log", "load", "verify", "backup", "site", "desk")


def harms() -> tuple[Harm, ...]:
    """Every harm but those of single bytes."""
    newer = "UPDATE alembic_version SET version_num = '9999'"
    return (
        Harm("full disk", lambda _: None, no_room, (*WRITERS, "backup", "site")),
        Harm("read-only folder", _closed(0o444, 0o555), as_nobody, (*WRITERS, "backup", "site")),
        Harm("folder of another user", _closed(0o600, 0o700), as_nobody, tuple(COMMANDS)),
        Harm("log of another user", _closed(0o600, 0o755), as_nobody, tuple(COMMANDS)),
        Harm("log gone", lambda f: (f / LOG_NAME).unlink(), None, ALL_BUT_RESTORE, True),
        *(
            Harm(f"cut to {share:.2%}", _cut_to(share), None, ALL_BUT_RESTORE, True)
            for share in (0, 0.0001, 0.01, 0.5, 0.9, 0.999)
        ),
        Harm("newer version", _with_sql(newer), None, WRITERS[:2], True),
        Harm("a picture", _put(b"\x89PNG\r\n\x1a\n" + bytes(5000)), None, ALL_BUT_RESTORE, True),
        Harm("a zip", _put(_zip()), None, ALL_BUT_RESTORE, True),
        Harm("another program's", _put(_stranger()), None, ALL_BUT_RESTORE, True),
        Harm("a text", _put(b"person,credit_name\n" * 300), None, ALL_BUT_RESTORE, True),
        Harm("a folder", _as_a(Path.mkdir), None, tuple(COMMANDS), True),
        Harm("a pipe", _as_a(os.mkfifo), None, tuple(COMMANDS), True),
        Harm("a link to itself", _as_a(lambda p: p.symlink_to(p)), None, ALL_BUT_RESTORE, True),
        Harm("no shared memory", _no_shared_memory),
        Harm("no WAL", _with_sql("PRAGMA journal_mode=DELETE")),
        Harm("no WAL, read-only", _read_only_without_wal, as_nobody, (*WRITERS, "backup", "site")),
    )


def _no_shared_memory(folder: Path) -> None:
    """The log's shared memory cannot be made, as on some network drives."""
    _with_sql("PRAGMA journal_mode=WAL")(folder)
    (folder / f"{LOG_NAME}-shm").unlink(missing_ok=True)
    (folder / f"{LOG_NAME}-shm").mkdir()


def _read_only_without_wal(folder: Path) -> None:
    _with_sql("PRAGMA journal_mode=DELETE")(folder)
    _closed(0o444, 0o555)(folder)


@contextmanager
def held(folder: Path, exclusive: bool) -> Iterator[None]:
    """Another program writes the log all the while; exclusive: it lets nobody read either."""
    with closing(sqlite3.connect(folder / LOG_NAME, isolation_level=None)) as other:
        if exclusive:
            other.execute("PRAGMA locking_mode=EXCLUSIVE")
        other.execute("BEGIN IMMEDIATE")
        yield


@contextmanager
def small_disk(size: str) -> Iterator[Path | None]:
    """A disk of its own; None where nobody may mount one."""
    place = Path(tempfile.mkdtemp(prefix="disk-"))
    mount = ["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(place)]
    done = subprocess.run(mount, capture_output=True, check=False)
    try:
        yield None if done.returncode else place
    finally:
        if not done.returncode:
            subprocess.run(["umount", "-l", str(place)], check=False)
        with suppress(OSError):
            place.rmdir()


# --- what is asked


class Disks:
    """Calls commands over harms, each over a fresh copy of a production.

    top: where the productions lie, as ``make_bases`` makes them.
    """

    def __init__(self, top: Path) -> None:
        self._top = top
        self._sound = units_of(top / "film")[LOG_NAME]

    def _fresh(self, within: Path | None = None) -> Path:
        place = Path(tempfile.mkdtemp(dir=within or self._top))
        place.chmod(0o755)
        folder = place / "film"
        shutil.copytree(self._top / "film", folder)
        for name in ("made", "earlier.db"):
            (place / name).symlink_to(self._top / name)
        return folder

    def over(self, harm: Harm, names: Sequence[str] = tuple(COMMANDS)) -> Outcome:
        """Call commands over a harm."""
        outcome = Outcome(harm.name)
        for name in names:
            folder = self._fresh()
            harm.done(folder)
            self._ask(outcome, name, folder, harm)
            _let_go(folder)
            shutil.rmtree(folder.parent)
        return outcome

    def _ask(self, outcome: Outcome, name: str, folder: Path, harm: Harm) -> None:
        after = SERVED if name == "desk" else None
        before = _bytes_of(folder)
        done, _ = called(folder, COMMANDS[name], first=harm.first or impatient, after=after)
        said = done.err.strip() or done.out.strip()
        outcome.said[name] = f"{done.status}: {said.splitlines()[0] if said else ''}"
        where = f"{harm.name}, {name}"
        (folder.parent / "filling").unlink(missing_ok=True)
        if "Traceback" in done.err or done.status not in (0, 1, 2, -signal.SIGKILL):
            outcome.wrong.append(f"{where}: ended with {done.status}: {done.err[-300:]}")
        if done.status == -signal.SIGKILL and name != "desk":
            outcome.wrong.append(f"{where}: never ended")
        if done.status and not said:
            outcome.wrong.append(f"{where}: said nothing")
        if name in harm.refused and done.status not in (1, 2):
            outcome.wrong.append(f"{where}: was not refused: {said[:200]}")
        _let_go(folder)
        if left := left_in(folder):
            outcome.wrong.append(f"{where}: left {left}")
        if harm.is_lost or (name == "restore" and done.status == 0):
            return
        shm = folder / f"{LOG_NAME}-shm"
        if shm.is_dir():
            shm.rmdir()
        if _bytes_of(folder) != before:  # else the log is as sound as it was
            found, _ = called(folder, ("verify",))
            if found.status != 0:
                outcome.wrong.append(f"{where}: the log is not sound: {found.err[:200]}")
        changed = units_of(folder)[LOG_NAME] != self._sound
        if changed != (done.status == 0 and name in WRITERS):
            outcome.wrong.append(f"{where}: status {done.status}, and changed: {changed}")

    def locked(self, exclusive: bool, names: Sequence[str] = tuple(COMMANDS)) -> Outcome:
        """Call commands while another program holds the log."""
        name_of = "locked, also to readers" if exclusive else "locked"
        outcome = Outcome(name_of)
        refused = tuple(COMMANDS) if exclusive else WRITERS
        for name in names:
            folder = self._fresh()
            after = SERVED if name == "desk" else None
            with held(folder, exclusive):
                done, _ = called(folder, COMMANDS[name], first=impatient, after=after)
            said = done.err.strip()
            outcome.said[name] = f"{done.status}: {said.splitlines()[0] if said else ''}"
            if "Traceback" in said or (done.status not in (1, 2)) == (name in refused):
                outcome.wrong.append(f"{name_of}, {name}: {outcome.said[name]}")
            if units_of(folder)[LOG_NAME] != self._sound:
                outcome.wrong.append(f"{name_of}, {name}: the log was changed")
            shutil.rmtree(folder.parent)
        return outcome

    def full(self, place: Path, names: Sequence[str] = tuple(COMMANDS)) -> Outcome:
        """Call commands on a disk of its own that is filled to its last bytes."""
        outcome = Outcome("full disk of its own")
        harm = Harm(outcome.harm, _filled, refused=("log", "load", "restore", "backup", "site"))
        for name in names:
            folder = self._fresh(place)
            _filled(folder)
            self._ask(outcome, name, folder, harm)
            shutil.rmtree(folder.parent)
        return outcome

    def flipped(self, chance: random.Random, flips: int, names: Sequence[str]) -> Outcome:
        """Call a command over a log with some bytes turned, again and again."""
        outcome = Outcome("flipped bytes")
        counts = dict.fromkeys(("found", "sound"), 0)
        for at in range(flips):
            name = names[at % len(names)]
            folder = self._fresh()
            path = folder / LOG_NAME
            content = bytearray(path.read_bytes())
            places = chance.sample(range(len(content)), chance.choice((1, 1, 3, 20)))
            if chance.random() < 0.2:  # the head of the file, where little says much
                places = [chance.randrange(100)]
            for place in places:
                content[place] ^= 1 << chance.randrange(8)
            path.write_bytes(content)
            done, _ = called(folder, COMMANDS[name], first=impatient, after=SERVED * 10)
            if "Traceback" in done.err or done.status not in (0, 1, 2):
                said = f"{done.status}: {done.err[-300:]}"
                outcome.wrong.append(f"bytes {places}, {name}: {said}")
            path.write_bytes(content)
            for beside in folder.glob(f"{LOG_NAME}-*"):
                beside.unlink()
            found, _ = called(folder, ("verify",), first=impatient)
            is_sound = found.status == 0
            counts["sound" if is_sound else "found"] += 1
            if "Traceback" in found.err or found.status not in (0, 1, 2):
                outcome.wrong.append(f"bytes {places}, verify: {found.err[-300:]}")
            if is_sound and units_of(folder)[LOG_NAME] != self._sound:
                outcome.wrong.append(f"bytes {places}: verify calls sound what was altered")
            shutil.rmtree(folder.parent)
        outcome.said = {name: str(count) for name, count in counts.items()}
        return outcome


def _bytes_of(folder: Path) -> list[bytes]:
    """Return what lies in the files of a log; an empty one says nothing."""
    files = (folder / name for name in (LOG_NAME, f"{LOG_NAME}-wal"))
    return [content for file in files if file.is_file() and (content := file.read_bytes())]


def _filled(folder: Path) -> None:
    """Fill a disk to its last bytes."""
    with suppress(OSError), (folder.parent / "filling").open("wb", buffering=0) as filling:
        while True:
            filling.write(bytes(4096))


def _let_go(folder: Path) -> None:
    """Take back what was closed."""
    folder.chmod(0o755)
    for path in folder.rglob("*"):
        if not path.is_symlink():
            path.chmod(0o755 if path.is_dir() else 0o644)


def all_harms(top: Path, flips: int, seed: int) -> Iterator[Outcome]:
    """Do every harm, to every command."""
    preload()
    make_bases(top, ["film"])
    top.chmod(0o755)
    disks = Disks(top)
    yield from map(disks.over, harms())
    yield disks.locked(exclusive=False)
    yield disks.locked(exclusive=True)
    with small_disk("12m") as place:
        if place is not None:
            yield disks.full(place)
    names = [name for name in COMMANDS if name != "desk"]
    yield disks.flipped(random.Random(seed), flips, names)


def main() -> int:
    """Do all harms, and print what was said; 1 where anything should not be so."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--flips", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    wrong: list[str] = []
    with tempfile.TemporaryDirectory(prefix="disks-") as place:
        for outcome in all_harms(Path(place), given.flips, given.seed):
            print(outcome.harm)
            for name, said in outcome.said.items():
                print(f"  {name}: {said}", flush=True)
            for each in outcome.wrong:
                print(f"  WRONG: {each}", flush=True)
            wrong += outcome.wrong
    print(f"{len(wrong)} wrong")
    return int(bool(wrong))


if __name__ == "__main__":
    sys.exit(main())
