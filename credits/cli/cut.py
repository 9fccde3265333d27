"""``credits cut``: the editors' cut, its versions, and which of them is in use."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from credits.cli import printing
from credits.cli.options import JsonOption, ProductionOption, folder_of
from credits.errors import Finding, ProblemsFound, WrongCall

if TYPE_CHECKING:
    from credits.exchange.cut_in import CutReading
    from credits.ledger.facts import Cut
    from credits.ledger.written import CutVersion


def cut(
    file: Annotated[
        Path | None, typer.Argument(metavar="FILE", help="The cut: .otio, .edl, or cut.csv.")
    ] = None,
    first_frame: Annotated[
        int, typer.Option("--first-frame", metavar="N", help="The number of a clip's frame 1.")
    ] = 1,
    shot_pattern: Annotated[
        str | None,
        typer.Option(
            "--shot-pattern",
            metavar="REGEX",
            help="How a clip's name holds its shot: a group 'shot', and perhaps 'take'.",
        ),
    ] = None,
    show_list: Annotated[bool, typer.Option("--list", help="List all versions.")] = False,
    use: Annotated[
        int | None, typer.Option("--use", metavar="N", help="Go back to version N.")
    ] = None,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Bring in the editors' cut as a new version; earlier ones stay."""
    if (file is not None) + show_list + (use is not None) != 1:
        mend = "Write a FILE, or --list, or --use N."
        raise WrongCall(Finding("one thing at a time", mend))
    folder = folder_of(production)
    if file is not None:
        version, reading, new = bring_in_cut(folder, file, first_frame, shot_pattern)
        _say_brought_in(version, reading, new, as_json)
    elif use is not None:
        _use(folder, use, as_json)
    else:
        _list(folder, as_json)


def bring_in_cut(
    folder: Path, file: Path, first_frame: int = 1, shot_pattern: str | None = None
) -> tuple[int, CutReading, bool]:
    """Read a cut and write it as a new version: its number, what was read, whether it is new.

    A cut that is the same as the current one is not written again. Raises ProblemsFound.
    """
    from credits.exchange.cut_in import read_cut
    from credits.ledger.batch import Batch
    from credits.store import open_log

    with open_log(folder) as log, log.writing() as pen:
        written = pen.read()
        reading = read_cut(file, written, first_frame=first_frame, shot_pattern=shot_pattern)
        if reading.problems or reading.cut is None:
            raise ProblemsFound.of(reading.problems)
        if written.cut is not None and _says_the_same(reading.cut, written.cut):
            return written.cut.version, reading, False
        version = pen.write(Batch(cut=reading.cut)).cut_version
        return version or 0, reading, True


def _says_the_same(one: Cut, other: Cut) -> bool:
    return replace(one, version=0, source="", brought_in_on=None) == replace(
        other, version=0, source="", brought_in_on=None
    )


def _say_brought_in(version: int, reading: CutReading, new: bool, as_json: bool) -> None:
    from credits.pages.words import counted

    the_cut = reading.cut
    assert the_cut is not None
    if as_json:
        printing.say_json(
            {
                "cut": version,
                "new": new,
                "clips": len(the_cut.clips),
                "length": the_cut.length,
                "not_understood": [printing.finding_json(f) for f in reading.not_understood],
            }
        )
    elif new:
        size = f"{counted(len(the_cut.clips), 'clip')}, {counted(the_cut.length, 'frame')}"
        printing.say(f"Cut version {version}: {size}.")
    else:
        printing.say(f"Nothing new: cut version {version} is the same.")
    printing.problems(reading.not_understood)


def _use(folder: Path, version: int, as_json: bool) -> None:
    from credits.store import open_log

    with open_log(folder) as log, log.writing() as pen:
        pen.use_cut(version)
    if as_json:
        printing.say_json({"cut": version})
    else:
        printing.say(f"Cut version {version} is in use.")


def _list(folder: Path, as_json: bool) -> None:
    from credits.store import open_log

    with open_log(folder) as log:
        versions = log.cut_versions()
    if as_json:
        printing.say_json({"cuts": [_version_json(version) for version in versions]})
        return
    if not versions:
        printing.remark("No cut yet. Bring one in: credits cut FILE.")
        return
    rows = [
        ("in use" if v.current else "", v.source, v.brought_in_on, v.version, v.clips, v.length)
        for v in versions
    ]
    printing.table(("", "file", "brought in on", "version", "clips", "frames"), rows, numbers=3)


def _version_json(version: CutVersion) -> dict[str, object]:
    day = version.brought_in_on
    return {
        "version": version.version,
        "source": version.source,
        "clips": version.clips,
        "length": version.length,
        "brought_in_on": day.isoformat() if day else None,
        "current": version.current,
    }
