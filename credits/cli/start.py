"""Commands for a production as a whole: demo, start, backup, restore, verify."""

from __future__ import annotations

import os
import shlex
from datetime import datetime
from pathlib import Path

import typer

from credits.app.demo import MadeDemo, make_demo
from credits.app.lists.blank import write_blank_tables
from credits.app.logs.copied import copy_log
from credits.app.logs.moved import is_packed_folder, open_folder, pack_folder
from credits.app.logs.restore import restore as put_back
from credits.app.logs.verified import Sealed, sealed, verify_copy, verify_production
from credits.cli.options import JsonOption, ProductionOption, Text, argument, option, refuse
from credits.cli.production import folder_of
from credits.cli.site import say_sites
from credits.cli.terminal import printing, progress
from credits.errors import Finding, WrongCall
from credits.files import LOG, require_folder
from credits.model.words import counted
from credits.store.engines.address import KEY, checked_address
from credits.store.file import BACKUPS, LOG_NAME
from credits.store.production import ORIGIN, back_up, create_production
from credits.store.settings import SETTINGS_NAME, slug
from credits.text import quoted_toml
from credits.units.film_time import clock


def demo(
    folder: Path = argument(Path("demo"), "[DIR]", "Where to make it."),
) -> None:
    """Make the example production, an invented film, with its pages."""
    made = make_demo(folder, progress.step)
    if not made.is_new:
        printing.remark(f"{folder} held an earlier demo: it was brought up to date.")
    _say_demo(made, folder)
    say_sites(made.sites)
    printing.remark(f"Try for example: credits footage --production {folder}")


def _say_demo(made: MadeDemo, folder: Path) -> None:
    ledger = made.ledger
    shots = counted(len(ledger.shots), "shot")
    people = counted(len(set(ledger.one_person.values())), "person", "people")
    characters = counted(len(ledger.characters), "character")
    entries = counted(len(ledger.entries), "entry", "entries")
    cut = ""
    if ledger.cut is not None:
        length = clock(ledger.cut.length, ledger.production.rate)
        cut = f"; cut version {ledger.cut.version} runs {length}"
    counts = f"{people}, {characters}, {shots}, {entries}"
    printing.say(f"{ledger.production.title} in {os.path.relpath(folder)}: {counts}{cut}.")


def start(
    title: str = argument(..., "TITLE", "The title of the film."),
    folder: Path | None = argument(
        None, "[DIR]", "The folder to make; else one named after the title."
    ),
    code: Text = option(None, "--code", "A short name of the production.", "CODE"),
    rate: str = option("24", "--rate", "Frames a second: 24, or 24000/1001.", "RATE"),
    gauge: str = option(
        "35mm-4perf", "--gauge", "The film gauge that feet are counted in.", "GAUGE"
    ),
    day_minutes: int = option(600, "--day-minutes", "How long a working day is.", "N"),
    origin: str = option(
        ORIGIN,
        "--origin",
        "The letters that its entries are numbered with; a second unit has its own.",
        "LETTERS",
    ),
    workbook: bool = option(False, "--workbook", "Blank tables as one workbook, not as CSV files."),
    shared: bool = option(
        False, "--shared", "Other users of this machine may read the log, as your umask allows."
    ),
    log: Text = option(
        None,
        "--log",
        "A database on a server for the log, for several sites: postgresql://ana@host/film.",
        "ADDRESS",
    ),
) -> None:
    """Make an empty production: its log, its settings, and blank tables to fill in."""
    address = None if log is None else checked_address(log, column="--log")
    tables = Path()

    def blank_tables(made: Path) -> None:
        nonlocal tables
        tables = write_blank_tables(made, workbook)

    made = create_production(
        folder or Path.cwd() / slug(title),
        title,
        code,
        rate,
        gauge,
        day_minutes,
        origin=origin.strip().upper(),
        log=address,
        shared=shared,
        before=blank_tables,
    )
    printing.say(f"Made the production '{printing.clean(title)}' in {made}.")
    where = os.path.relpath(tables, made)
    if origin.strip().upper() != ORIGIN:
        printing.say(f"Next: cd {made}, then take in what the first unit has: credits merge OTHER")
        return
    printing.say(f"Next: cd {made}, fill in {where}, then load it: credits load {where}")


def backup(
    target: Path | None = argument(
        None, "[TARGET]", "A new file, or a folder; else 'backups' in the production."
    ),
    whole: bool = option(
        False, "--whole", "Everything that the folder needs on another machine, as one ZIP."
    ),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Copy the log, whole, even while others write it.

    With --whole also the settings, the plan, pictures and whatever else lies in the folder; not
    what can be made again: the sites, the figures, backups. `credits restore` opens it elsewhere.
    """
    folder = folder_of(production)
    if whole:
        packed = pack_folder(folder, target, datetime.now())
        for name in packed.left_out:
            printing.warn(f"Left out: {name} is a link, or no file that every system can hold.")
        count = counted(packed.files, "file")
        shape = {
            "copy": str(packed.path),
            "files": packed.files,
            "left_out": list(packed.left_out),
        }
        said = f"Packed {count} into {packed.path}, each compared. On the other machine:"
        typed = shlex.quote(packed.path.name)
        printing.answer(as_json, shape, f"{said} credits restore {typed} --into DIR")
        return
    if target is None:
        target = folder / BACKUPS
        require_folder(target)
        target.mkdir(exist_ok=True)
    copy = back_up(folder, target)
    printing.answer(as_json, {"copy": str(copy)}, f"Copied the log to {copy}.")


def restore(
    file: Path = argument(
        ..., "FILE", "A copy made with `credits backup`, or with `credits backup --whole`."
    ),
    into: Path | None = option(
        None, "--into", "A new folder for the whole production that FILE holds.", "DIR"
    ),
    force: bool = option(False, "--force", "Also over a log that has more than the copy."),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Put a backup in the place of the log, which is kept aside.

    With --into a whole folder is opened in a new place; nothing is ever written over.
    """
    if into is not None:
        refuse({"--force": force or None}, "goes with a copy of the log", "Leave it out.")
        opened = open_folder(file, into)
        shape: dict[str, object] = {"folder": str(opened.path), "files": opened.files}
        said = f"Opened {counted(opened.files, 'file')} in {opened.path}, each compared."
        printing.answer(as_json, shape, f"{said} The log is sound.")
        return
    if is_packed_folder(file):
        hint = "Open it in a new folder: credits restore FILE --into DIR"
        raise WrongCall(Finding("holds a whole production", hint, value=str(file)))
    # Who has lost the log has the folder and the settings still.
    here = production or Path.cwd()
    lost = (here / SETTINGS_NAME).is_file() and not (here / LOG_NAME).exists()
    folder = here if lost else folder_of(production)
    made = put_back(folder, file, force=force)
    kept = None if made.kept is None else str(made.kept)
    told = [f"The log is that of {file} now: {counted(made.lines, 'line')}, every figure compared."]
    if kept is not None:
        told.append(f"What was there lies in {kept}.")
    printing.answer(as_json, {"lines": made.lines, "kept": kept}, " ".join(told))


def copy(
    source: str = argument(
        ..., "FROM", "The folder of a production, or the address of its log on a server."
    ),
    target: str = argument(
        ..., "TO", "The address of an empty database on a server, or a folder without a log."
    ),
    as_json: JsonOption = False,
) -> None:
    """Carry a log between a folder and a server, every figure compared."""
    made = copy_log(source, target)
    shape = {"lines": made.lines, "log": str(made.target)}
    lines = f"{counted(made.lines, 'line')}, every figure compared"
    printing.answer(as_json, shape, f"Copied the log to {made.target}: {lines}.")
    if not isinstance(made.target, Path) and not as_json:
        folder = os.path.relpath(source)
        printing.remark(
            f"Next: write {KEY} = {quoted_toml(target)} into {SETTINGS_NAME}, above all tables, at"
            f" every site; move {LOG} out of {folder}, so that nobody writes to it any more."
        )


def verify(
    file: Path | None = argument(None, "[FILE]", "A backup; else the log of the production."),
    seal: bool = option(False, "--seal", "Print the seal of the log as it is now."),
    against: Text = option(
        None, "--against", "Say whether the log continues what had this seal.", "SEAL"
    ),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Check that the whole log is sound, line by line."""
    folder = Path() if file is not None else folder_of(production)
    found = verify_production(folder) if file is None else verify_copy(file)
    own = None if found or not (seal or against) else sealed(folder, file, against)
    continued = own is not None and (against is None or own.then is not None)
    if as_json:
        shape: dict[str, object] = {"problems": list(map(printing.finding_json, found))}
        if own is not None:
            shape |= _seal_json(own, against)
        printing.say_json(shape)
    if found:
        printing.problems(found)
        raise typer.Exit(1)
    if not as_json:
        printing.say("The log is sound: every line is there and can be read.")
        if own is not None:
            _say_seal(own, against)
    if own is not None and not continued:
        raise typer.Exit(1)


def _seal_json(own: Sealed, against: str | None) -> dict[str, object]:
    fields = "seal sealed_at moment=number lines"
    shape: dict[str, object] = printing.fields_json(own.now, fields)
    if against is not None:
        then = own.then and printing.fields_json(own.then, fields)
        shape |= {"continues": own.then is not None, "then": then}
    return shape


def _say_seal(own: Sealed, against: str | None) -> None:
    now, then = own
    if against is None or then is not None:
        printing.say(f"Its seal, with {counted(now.lines, 'line')}: {now.seal}")
    if then is not None:
        since = now.lines - then.lines
        more = f"{counted(since, 'line')} came since" if since else "no line came since"
        more = more if now.number > then.number else "nothing came since"
        at = f"{then.sealed_at.astimezone():%Y-%m-%d %H:%M}"
        printing.say(f"It continues what had the other seal on {at}: {more}.")
    elif against is not None:
        printing.warn(
            "It does not continue what had the other seal: something that was in the log then is "
            "altered or gone, or it was the seal of another log."
        )
