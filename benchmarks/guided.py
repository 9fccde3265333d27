"""Wrong input sought by what it reaches: a mutant that runs a line nobody ran is broken further.

    python -m benchmarks.guided --seconds 120
    python -m benchmarks.guided --kind edl --kind svg --seconds 600

Beside ``benchmarks.mutants``, which breaks right examples blindly and as people do. Only readers
that are written in Python pay for it: lines of compiled ones cannot be counted. What seeks is the
library atheris (``pip install .[guided]``; it is published for Linux alone). Each kind is read in a
process of its own; what ends it is kept in ``--keep`` and named, and the status is then 1.
"""

from __future__ import annotations

import argparse
import re
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

KINDS = (
    "csv entries", "csv people", "csv shots", "face sheet", "cut", "edl", "otio", "plan",
    "settings", "svg", "frames", "name", "note", "line",
)  # fmt: skip
READ_BY = (
    "credits.formats", "credits.model", "credits.names", "credits.site.html",
    "credits.site.markdown", "credits.store.settings", "credits.text", "credits.units",
    "credits.app.work.line",
)  # fmt: skip
"""Whose lines are counted: what reads. All else would only take its time to be counted, too."""
LONGEST = 4_096
"""Bytes of a mutant: small ones are many a second."""
BEFORE = 600
"""MB that the process holds before it reads anything: the product, its libraries, the counters."""


def seek(kind: str, arguments: Sequence[str]) -> None:
    """Read mutants of a kind until the time is up. Does not return: the process ends.

    The product is imported here and not before: what is imported earlier is not counted.
    """
    import atheris

    with atheris.instrument_imports(include=[*READ_BY], enable_loader_override=False):
        from benchmarks import readers

    with tempfile.TemporaryDirectory() as place:
        readers.begin(Path(place))
        reader = readers.KINDS[kind]
        textual = isinstance(reader.seeds()[0], str)

        def read(content: bytes) -> None:
            reader.read(content.decode("utf-8", "replace") if textual else content)

        atheris.Setup([sys.argv[0], *arguments], read)
        atheris.Fuzz()


def _sought(kind: str, seconds: int, keep: Path) -> tuple[int, str]:
    """Seek in a process of its own; return how many mutants it read, and what ended it."""
    from benchmarks import readers
    from benchmarks.mutants import MEGABYTES, SECONDS

    name = kind.replace(" ", "-")
    examples = keep / f"examples-{name}"
    examples.mkdir(parents=True, exist_ok=True)
    for number, example in enumerate(readers.KINDS[kind].seeds()):
        content = example.encode() if isinstance(example, str) else bytes(example)
        (examples / f"right-{number}").write_bytes(content)
    bounds = (
        f"-max_total_time={seconds}", f"-timeout={SECONDS}", f"-rss_limit_mb={MEGABYTES + BEFORE}",
        f"-max_len={LONGEST}", f"-artifact_prefix={keep}/{name}-", "-print_final_stats=1",
    )  # fmt: skip
    done = subprocess.run(
        [sys.executable, "-m", "benchmarks.guided", "--seek", kind, *bounds, str(examples)],
        capture_output=True,
        text=True,
        errors="replace",
        check=False,
    )
    said = done.stdout + done.stderr
    read = re.findall(r"number_of_executed_units: (\d+)", said)
    last = [line for line in said.splitlines() if re.match(r"\w+(\.\w+)*(Error|Exception)\b", line)]
    ended = last[-1][:160] if last else said[-300:].strip().replace("\n", " ")
    return int(read[-1]) if read else 0, ended if done.returncode else ""


def main(arguments: Sequence[str]) -> int:
    """Seek in each kind; 1 where something ended a reader."""
    if arguments[:1] == ["--seek"]:
        seek(arguments[1], arguments[2:])
    parser = argparse.ArgumentParser(prog="benchmarks.guided", description=__doc__)
    parser.add_argument("--kind", action="append", choices=KINDS, help="only these kinds")
    parser.add_argument("--seconds", type=int, default=60, help="for each kind")
    parser.add_argument("--keep", type=Path, help="where examples and what ended a reader are kept")
    asked = parser.parse_args(arguments)
    harms = 0
    with tempfile.TemporaryDirectory() as place:
        for kind in asked.kind or KINDS:
            read, ended = _sought(kind, asked.seconds, asked.keep or Path(place))
            harms += bool(ended)
            print(f"{kind:<14} {read:>10,}  {ended or 'no harm'}", flush=True)
    return int(bool(harms))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
