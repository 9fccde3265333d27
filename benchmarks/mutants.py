"""A campaign of wrong input: files and texts as people have them, broken in every way, read again.

    python -m benchmarks.mutants --count 100000 --seed 1
    python -m benchmarks.mutants --kind svg --count 2000 --show svg:17

Each mutant is made of its kind, the seed and its number alone, so that any can be made again
(``--show`` prints it). It is read in a process of its own kind, which may take 500 MB more than it
had and be at work for 10 seconds with each: whatever ends the process, or raises what is no
finding, is counted as a crash and named.
"""

from __future__ import annotations

import argparse
import json
import mmap
import multiprocessing
import os
import resource
import signal
import struct
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from typing import NoReturn

from benchmarks import mutations, readers

SECONDS, MEGABYTES = 10, 500
PATIENCE = 6  # other programs may have the processor, too
CHUNK = 100
_AT = struct.Struct("<qd")


class TooSlowError(Exception):
    """A mutant took longer than it may."""


@dataclass(slots=True)
class Tally:
    """What became of the mutants of a kind. crashes: by number, what it was."""

    mutants: int = 0
    refused: int = 0
    accepted: int = 0
    slowest: float = 0.0
    largest: float = 0.0
    crashes: dict[int, str] = field(default_factory=dict)

    def add(self, other: Tally) -> None:
        """Take in what another process has counted."""
        self.mutants += other.mutants
        self.refused += other.refused
        self.accepted += other.accepted
        self.slowest = max(self.slowest, other.slowest)
        self.largest = max(self.largest, other.largest)
        self.crashes |= other.crashes


def mutant(kind: str, seed: int, number: int) -> mutations.Content:
    """Make a mutant: the same kind, seed and number, the same mutant."""
    random = Random(f"{seed}/{kind}/{number}")
    made = readers.KINDS[kind]
    return mutations.mutated(made.form, made.seeds(), random)


def _too_slow(*_: object) -> NoReturn:
    raise TooSlowError


def _try(kind: str, seed: int, number: int, tally: Tally, at: mmap.mmap) -> None:
    """Read one mutant, and count what became of it."""
    content = mutant(kind, seed, number)
    at[: _AT.size] = _AT.pack(number, time.monotonic())
    signal.setitimer(signal.ITIMER_PROF, SECONDS)
    began = time.process_time()
    try:
        accepted = readers.KINDS[kind].read(content)
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException as error:  # an end of the process too, as some libraries ask for it
        last = traceback.extract_tb(error.__traceback__)[-1:]
        where = f" at {Path(last[0].filename).name}:{last[0].lineno}" if last else ""
        tally.crashes[number] = f"{type(error).__name__}: {str(error)[:120]}{where}"
    else:
        tally.accepted += accepted
        tally.refused += not accepted
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
    tally.slowest = max(tally.slowest, time.process_time() - began)
    tally.mutants += 1


def _held() -> int:
    """The address space of this process, in bytes."""
    pages = int(Path("/proc/self/statm").read_text("ascii").split()[0])
    return pages * resource.getpagesize()


def _grown() -> float:
    """The most memory that this process held, in MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def _work(kind: str, seed: int, numbers: Sequence[int], at: mmap.mmap, out: int) -> None:
    """Read mutants in a process that may end at any of them; ``at`` tells which it is at."""
    signal.signal(signal.SIGPROF, _too_slow)
    readers.KINDS[kind].read(readers.KINDS[kind].seeds()[0])  # what is imported once is not its own
    limit = _held() + MEGABYTES * 1_000_000
    resource.setrlimit(resource.RLIMIT_AS, (limit, limit))
    before, tally = _grown(), Tally()
    for number in numbers:
        at[: _AT.size] = _AT.pack(number, time.monotonic() + 60)
        _try(kind, seed, number, tally, at)
    tally.largest = max(0.0, _grown() - before)
    told = {name: getattr(tally, name) for name in Tally.__slots__}
    os.write(out, json.dumps(told).encode())


def _run(kind: str, seed: int, numbers: Sequence[int]) -> Tally:
    """Read mutants apart; where the process ends, count that and go on behind it."""
    tally, left = Tally(), list(numbers)
    while left:
        at = mmap.mmap(-1, mmap.PAGESIZE)
        at[: _AT.size] = _AT.pack(left[0], time.monotonic() + 60)
        reads, writes = os.pipe()
        child = os.fork()
        if not child:
            status = 1
            try:
                os.close(reads)
                quiet = os.open(os.devnull, os.O_RDWR)
                for stream in (0, 1, 2):
                    os.dup2(quiet, stream)
                _work(kind, seed, left, at, writes)
                status = 0
            except BaseException:
                os.write(writes, traceback.format_exc()[-800:].encode())
            finally:
                os._exit(status)
        os.close(writes)
        said = _heard(child, reads, at)
        number, _ = _AT.unpack(at[: _AT.size])
        if said.startswith(b"{"):
            told = json.loads(said)
            told["crashes"] = {int(n): what for n, what in told["crashes"].items()}
            tally.add(Tally(**told))
            return tally
        tally.crashes[number] = f"the process ended: {said.decode(errors='replace')[-200:]!r}"
        # Those before it are read again without it, as nobody has told of them.
        left = [each for each in left if each != number]
        tally.mutants += 1
    return tally


def _heard(child: int, reads: int, at: mmap.mmap) -> bytes:
    """Wait for a process, and end it where it stands still; what it has told."""
    os.set_blocking(reads, False)
    said = bytearray()
    while True:
        with suppress(BlockingIOError):
            said += os.read(reads, 1 << 20)
        ended, status = os.waitpid(child, os.WNOHANG)
        if ended:
            with suppress(BlockingIOError):
                said += os.read(reads, 1 << 20)
            os.close(reads)
            return bytes(said) if said.startswith(b"{") else f"{status} {said.decode()}".encode()
        _, since = _AT.unpack(at[: _AT.size])
        if time.monotonic() - since > PATIENCE * SECONDS:
            os.kill(child, signal.SIGKILL)
        time.sleep(0.005)


def _task(task: tuple[str, int, Sequence[int]]) -> tuple[str, Tally]:
    kind, seed, numbers = task
    return kind, _run(kind, seed, numbers)


@contextmanager
def _shared_out(processes: int) -> Iterator[Callable[..., Iterable[tuple[str, Tally]]]]:
    """Yield what does tasks one after the other, or several at once."""
    if processes == 1:
        yield map
    else:
        with multiprocessing.get_context("fork").Pool(processes) as pool:
            yield pool.imap_unordered


def campaign(
    counts: Mapping[str, int],
    seed: int,
    processes: int = 1,
    told: Callable[[str, Tally], None] | None = None,
) -> dict[str, Tally]:
    """Read so many mutants of each kind; what became of them.

    told: is told of each hundred as they are done. Ctrl-C ends it; what was counted is returned.
    """
    tasks = [
        (kind, seed, range(first, min(first + CHUNK, count)))
        for kind, count in counts.items()
        for first in range(0, count, CHUNK)
    ]
    found: dict[str, Tally] = {kind: Tally() for kind in counts}
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder, suppress(KeyboardInterrupt):
        readers.begin(Path(folder))  # before other processes begin, which read beside it
        with _shared_out(processes) as each:
            for kind, tally in each(_task, tasks):
                found[kind].add(tally)
                if told is not None:
                    told(kind, tally)
    return found


def shares(count: int, kinds: Sequence[str]) -> dict[str, int]:
    """Share a number of mutants out among kinds, by what one of each costs."""
    whole = sum(readers.KINDS[kind].weight for kind in kinds)
    return {kind: max(1, round(count * readers.KINDS[kind].weight / whole)) for kind in kinds}


def table(found: Mapping[str, Tally]) -> str:
    """Write what became of the mutants as a table."""
    whole = Tally()
    lines = ["| kind | mutants | refused | accepted | crashes | slowest s | largest MB |"]
    lines.append("| --- | ---: | ---: | ---: | ---: | ---: | ---: |")
    for tally in found.values():
        whole.add(tally)
    for kind, tally in [*found.items(), ("all", whole)]:
        counts = (tally.mutants, tally.refused, tally.accepted, len(tally.crashes))
        figures = " | ".join(f"{count:,}" for count in counts)
        lines.append(f"| {kind} | {figures} | {tally.slowest:.1f} | {tally.largest:.0f} |")
    return "\n".join(lines)


def main() -> int:
    """Run the campaign and print its table; exit status 1 where there was a crash."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--count", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kind", action="append", choices=list(readers.KINDS))
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--show", metavar="KIND:NUMBER", help="write one mutant to standard output")
    asked = parser.parse_args()
    if asked.show:
        kind, _, number = asked.show.partition(":")
        with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
            readers.begin(Path(folder))
            sys.stdout.buffer.write(mutations.as_bytes(mutant(kind, asked.seed, int(number))))
        return 0

    def told(kind: str, tally: Tally) -> None:
        for number, what in tally.crashes.items():
            print(f"{kind}:{number} {what}", file=sys.stderr, flush=True)

    counts = shares(asked.count, asked.kind or list(readers.KINDS))
    found = campaign(counts, asked.seed, asked.processes, told)
    print(table(found))
    causes = Counter(
        (kind, what) for kind, tally in found.items() for what in tally.crashes.values()
    )
    for (kind, what), times in causes.most_common(40):
        print(f"{times:6} {kind}: {what}")
    return int(any(tally.crashes for tally in found.values()))


if __name__ == "__main__":
    sys.exit(main())
