"""``credits cut``: the editors' cut, its versions, and which of them is in use."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from credits import app
from credits.cli import printing
from credits.cli.codes import folder_of
from credits.cli.options import JsonOption, ProductionOption
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.files import write_whole
from credits.formats.cut.clips import CutReading
from credits.formats.cut.otio import cut_to_otio
from credits.formats.cut.read import read_cut
from credits.model.facts import Cut
from credits.model.log import Batch, CutVersion
from credits.model.words import counted
from credits.store import open_log, read_settings
from credits.units.film_time import FrameRate, clock

SHOWN_CLIPS = 20


def cut(
    file: Annotated[
        Path | None, typer.Argument(metavar="FILE", help="The cut: .otio, .edl, or cut.csv.")
    ] = None,
    first_frame: Annotated[
        int,
        typer.Option("--first-frame", metavar="N", help="The number of a shot's frame 1 in FILE."),
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
    save: Annotated[
        Path | None,
        typer.Option("--save", metavar="FILE", help="Write the cut in use as FILE.otio."),
    ] = None,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Bring in the editors' cut as a new version; earlier ones stay."""
    if (file is not None) + show_list + (use is not None) + (save is not None) != 1:
        hint = "Write a FILE, or --list, or --use N, or --save FILE.otio."
        raise WrongCall(Finding("one thing at a time", hint))
    folder = folder_of(production)
    if file is not None:
        version, reading, new = bring_in_cut(folder, file, first_frame, shot_pattern)
        _say_brought_in(version, reading, new, folder, as_json)
    elif use is not None:
        _use(folder, use, as_json)
    elif save is not None:
        _save(folder, save, as_json)
    else:
        _list(folder, as_json)


def bring_in_cut(
    folder: Path, file: Path, first_frame: int = 1, shot_pattern: str | None = None
) -> tuple[int, CutReading, bool]:
    """Read a cut and write it as a new version: its number, what was read, whether it is new.

    A cut that is the same as the current one is not written again. Raises ProblemsFound.
    """

    with open_log(folder) as log, log.writing() as pen:
        written = pen.read()
        reading = read_cut(file, written, first_frame=first_frame, shot_pattern=shot_pattern)
        if reading.problems or reading.cut is None:
            raise ProblemsFound.of((*reading.problems, *reading.not_understood))
        if written.cut is not None and _says_the_same(reading.cut, written.cut):
            return written.cut.version, reading, False
        version = pen.write(Batch(cut=reading.cut)).cut_version
        return version or 0, reading, True


def _says_the_same(one: Cut, other: Cut) -> bool:
    return replace(one, version=0, source="", brought_in_on=None) == replace(
        other, version=0, source="", brought_in_on=None
    )


def _say_brought_in(
    version: int, reading: CutReading, new: bool, folder: Path, as_json: bool
) -> None:
    the_cut = reading.cut
    assert the_cut is not None
    shots = len({clip.shot for clip in the_cut.clips})
    if as_json:
        printing.say_json(
            {
                "cut": version,
                "new": new,
                "clips": len(the_cut.clips),
                "shots": shots,
                "length": the_cut.length,
                "not_understood": [printing.finding_json(f) for f in reading.not_understood],
            }
        )
        return
    if new:
        printing.say(_sentence(version, the_cut, shots, read_settings(folder).rate))
    else:
        printing.say(f"Nothing new: cut version {version} is the same.")
    _say_not_understood(reading.not_understood)


def _sentence(version: int, the_cut: Cut, shots: int, rate: FrameRate) -> str:

    size = f"{counted(len(the_cut.clips), 'clip')} of {counted(shots, 'shot')}"
    length = f"{counted(the_cut.length, 'frame')} ({clock(the_cut.length, rate)})"
    return f"Cut version {version}: {size}, {length}."


def _say_not_understood(findings: tuple[Finding, ...]) -> None:
    """What a person should look at, on standard error; on a terminal the first twenty of it."""
    if not findings:
        return
    printing.remark("Please look at:")
    shown = findings[:SHOWN_CLIPS] if printing.is_terminal(sys.stderr) else findings
    for finding in shown:
        printing.remark(str(finding))
    if len(shown) < len(findings):
        printing.remark(f"… and {len(findings) - len(shown)} more.")


def _use(folder: Path, version: int, as_json: bool) -> None:

    with open_log(folder) as log, log.writing() as pen:
        pen.use_cut(version)
    if as_json:
        printing.say_json({"cut": version})
    else:
        printing.say(f"Cut version {version} is in use.")


def _save(folder: Path, file: Path, as_json: bool) -> None:
    if file.suffix.lower() != ".otio":
        hint = "Write a name that ends in .otio."
        raise WrongCall(Finding("the cut is written as .otio", hint, None, "--save", str(file)))

    ledger = app.read_ledger(folder)
    if ledger.cut is None:
        hint = "Bring one in: credits cut FILE."
        raise ProblemsFound(Finding("there is no cut yet", hint))
    write_whole(file, cut_to_otio(ledger.cut, ledger).encode())
    if as_json:
        printing.say_json({"cut": ledger.cut.version, "file": str(file)})
    else:
        printing.say(f"Cut version {ledger.cut.version} is written as {file}.")


def _list(folder: Path, as_json: bool) -> None:

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
