"""The command roll: the credits, speeds, proofs."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

import typer

from credits import app
from credits.app import save_proof
from credits.billing.compare import Comparison, CreditChange
from credits.billing.credits import Credits, Section
from credits.billing.reasons import in_words
from credits.billing.roll import (
    Card,
    Raster,
    Roll,
    cards,
    parse_length,
    proposals,
    roll_lines,
    wished_length,
)
from credits.billing.setting import RollSetting, too_small
from credits.cautions import CREDITS_CAUTION
from credits.cli import printing
from credits.cli.codes import folder_of, production_codes
from credits.cli.export import PITCH, RASTER
from credits.cli.options import JsonOption, ProductionOption
from credits.cli.targets import text_meant
from credits.errors import CreditsError, Finding, WrongCall
from credits.formats.deliver.fonts import font_folders
from credits.formats.deliver.json import credits_shape
from credits.formats.deliver.png import measured_lines
from credits.model.facts import ProofMark
from credits.store import open_log
from credits.units.film_time import FrameRate, clock, seconds, seconds_text
from credits.units.rounding import decimal_text

RasterOption = Annotated[
    str | None,
    typer.Option("--raster", metavar="WxH", help=f"Propose speeds for this picture; {RASTER}."),
]
PitchOption = Annotated[
    int | None,
    typer.Option("--pitch", metavar="PX", help=f"Propose speeds for lines so high; {PITCH}."),
]
LengthOption = Annotated[
    str | None,
    typer.Option("--length", metavar="M:SS", help="Propose speeds around this length."),
]


@dataclass(frozen=True, slots=True)
class Speeds:
    """The roll of compiled credits in a picture: its speeds, its cards, what does not fit.

    ``unmeasured``: why the widths could not be measured, where they could not.
    """

    setting: RollSetting
    rate: FrameRate
    lines: int
    rolls: tuple[Roll, ...]
    cards: tuple[Card, ...]
    small: Finding | None
    problems: tuple[Finding, ...]
    unmeasured: tuple[Finding, ...]


def speeds(
    compiled: Credits,
    rate: FrameRate,
    raster: str | None,
    pitch: int | None,
    length: str | None,
) -> Speeds:
    """Work out the speeds. Raises WrongCall for a picture, pitch or length that is none."""

    setting = RollSetting(Raster.parse(raster or RASTER), PITCH if pitch is None else pitch)
    lines = len(roll_lines(compiled))
    wished = (
        wished_length(lines, setting.pitch, setting.raster)
        if length is None
        else parse_length(length)
    )
    rolls = proposals(lines, setting.pitch, setting.raster, rate, wished) if lines else ()
    problems: tuple[Finding, ...] = ()
    unmeasured: tuple[Finding, ...] = ()
    try:
        problems = measured_lines(compiled, setting, font_folders(os.environ)).problems
    except CreditsError as error:
        unmeasured = error.findings
    return Speeds(
        setting, rate, lines, rolls, cards(compiled), too_small(setting), problems, unmeasured
    )


def speeds_json(found: Speeds) -> dict[str, object]:
    """The speeds as JSON."""

    setting, rate = found.setting, found.rate
    return {
        "raster": setting.raster.text,
        "pitch": setting.pitch,
        "title_safe": list(setting.raster.title_safe),
        "text_size": setting.size,
        "least_capitals": setting.raster.least_text,
        "lines": found.lines,
        "speeds": [
            {
                "pixels_a_frame": roll.speed,
                "frames": roll.frames,
                "seconds": round(float(seconds(roll.frames, rate)), 3),
                "line_frames": str(roll.line_frames),
                "line_seconds": round(float(seconds(roll.line_frames, rate)), 3),
                "too_fast": roll.too_fast,
            }
            for roll in found.rolls
        ],
        "cards": [{"heading": card.heading, "seconds": str(card.seconds)} for card in found.cards],
        "problems": [
            printing.finding_json(finding)
            for finding in (*_small(found), *found.problems, *found.unmeasured)
        ],
    }


def _small(found: Speeds) -> tuple[Finding, ...]:
    return () if found.small is None else (found.small,)


def say_speeds(found: Speeds) -> None:
    """The speeds as a table; cards, and lines that do not fit, beside it."""

    setting, rate = found.setting, found.rate
    printing.remark(
        f"{found.lines:,} lines of {setting.pitch} px in a picture of {setting.raster.text},"
        f" at {rate.text} frames a second."
    )
    if not found.rolls:
        printing.remark("Nothing rolls.")
    rows = [
        (
            roll.speed,
            clock(roll.frames, rate),
            roll.frames,
            seconds_text(roll.line_frames, rate),
            "too fast to read" if roll.too_fast else "",
        )
        for roll in found.rolls
    ]
    printing.table(("px a frame", "length", "frames", "a line stays (s)", "remark"), rows)
    for card in found.cards:
        printing.remark(f"Card '{card.heading}': hold {decimal_text(card.seconds, 1)} s.")
    printing.problems((*_small(found), *found.problems, *found.unmeasured))


SaveOption = Annotated[
    bool, typer.Option("--save", help="Freeze these credits as a numbered proof.")
]
ByOption = Annotated[
    str | None,
    typer.Option(
        "--by",
        metavar="WHO",
        help="With --save: who makes the proof.",
        autocompletion=production_codes("people"),
    ),
]
NoteOption = Annotated[
    str | None, typer.Option("--note", metavar="TEXT", help="With --save: what it is for.")
]
AgainstOption = Annotated[
    int | None,
    typer.Option("--against", metavar="N", help="Say what changed since proof N, and why."),
]
ProofsOption = Annotated[bool, typer.Option("--proofs", help="List the proofs.")]


def save(folder: Path, by: str | None, note: str | None) -> tuple[int, bool]:
    """Freeze a proof; its number, and whether it is a new one."""

    return save_proof(
        folder,
        text_meant(by, "--by") if by is not None else None,
        text_meant(note, "--note") if note is not None else None,
    )


def refuse_alone(by: str | None, note: str | None) -> None:
    """Words about a proof when none is made. Raises WrongCall."""
    for name, value in (("--by", by), ("--note", note)):
        if value is not None:
            hint = "Write --save with it, or leave it out."
            raise WrongCall(Finding("is said of a proof that is made", hint, None, name, value))


def say_saved(number: int, is_new: bool) -> None:
    """Tell which proof it is."""
    if is_new:
        printing.remark(f"Saved as proof {number}.")
    else:
        printing.remark(f"Nothing has changed since proof {number}: no new proof was made.")


def list_proofs(folder: Path, as_json: bool) -> None:
    """Every proof, the first one first."""

    with open_log(folder) as log:
        proofs = log.proofs()
    if as_json:
        printing.say_json({"proofs": [_mark_json(mark) for mark in proofs]})
        return
    if not proofs:
        printing.remark("No proof has been made yet. Freeze one: credits roll --save")
        return
    rows = [
        (
            mark.number,
            f"{mark.saved_at:%Y-%m-%d %H:%M} UTC",
            mark.saved_by,
            mark.note,
            mark.cut,
            mark.last_line,
            mark.lines,
            mark.people,
        )
        for mark in proofs
    ]
    heads = ("proof", "saved", "by", "note", "cut", "log up to", "lines", "people")
    printing.table(heads, rows, numbers=2)


def _mark_json(mark: ProofMark) -> dict[str, object]:
    return {
        "proof": mark.number,
        "saved_at": mark.saved_at.isoformat(),
        "saved_by": mark.saved_by,
        "note": mark.note,
        "cut": mark.cut,
        "last_line": str(mark.last_line) if mark.last_line else None,
        "lines": mark.lines,
        "people": mark.people,
    }


def change_json(change: CreditChange) -> dict[str, object]:
    """A change as JSON; ``person`` null: a section changed."""
    return {
        "change": str(change.kind),
        "person": change.person or None,
        "name": change.name or None,
        "heading": change.heading or None,
        "what": change.what,
        "why": list(change.why),
        "entries": [str(number) for number in change.entries],
    }


def say_changes(comparison: Comparison) -> None:
    """What changed, kind by kind, and why."""
    mark = comparison.mark
    if comparison.changes:
        rows = [
            (str(change.kind), change.what, "; ".join(change.why)) for change in comparison.changes
        ]
        printing.parts(("change", "what", "why"), rows)
    count = len(comparison.changes)
    said = f"{count} {'change' if count == 1 else 'changes'}" if count else "Nothing that is read"
    verb = "" if count else " has changed"
    printing.remark(f"{said}{verb} since proof {mark.number} of {mark.saved_at:%Y-%m-%d}.")
    if not count and not comparison.same:
        printing.remark("The figures or entries behind the lines, the plan or the cut have.")


def roll(
    save_it: SaveOption = False,
    by: ByOption = None,
    note: NoteOption = None,
    against: AgainstOption = None,
    proofs: ProofsOption = False,
    raster: RasterOption = None,
    pitch: PitchOption = None,
    length: LengthOption = None,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Compile the end credits by the plan; say who is held.

    A proof is a frozen copy with a number: --save makes one, --against says what changed since.
    """

    folder = folder_of(production)
    if proofs:
        list_proofs(folder, as_json)
        return
    if raster is not None or pitch is not None or length is not None:
        _propose(folder, raster, pitch, length, as_json)
        return
    if not save_it:
        refuse_alone(by, note)
    ledger, compiled = app.read_credits(folder)
    comparison = None
    if against is not None:
        comparison = app.changes_since(folder, ledger, compiled, against)
    saved = save(folder, by, note) if save_it else None
    number = app.proof_number(folder, ledger, compiled)
    if as_json:
        _say_json(compiled, number, comparison)
        return
    if comparison is not None:
        say_changes(comparison)
    else:
        _say(compiled)
    if saved is not None:
        say_saved(*saved)
    elif number is not None:
        printing.remark(f"These are the credits of proof {number}.")
    printing.remark(CREDITS_CAUTION)


def _say_json(compiled: Credits, number: int | None, comparison: Comparison | None) -> None:

    shape: dict[str, object] = {"plan": compiled.plan, **credits_shape(compiled, number)}
    if comparison is not None:
        shape["against"] = comparison.mark.number
        shape["changes"] = [change_json(change) for change in comparison.changes]
    printing.say_json({**shape, "caution": CREDITS_CAUTION})


def _propose(
    folder: Path, raster: str | None, pitch: int | None, length: str | None, as_json: bool
) -> None:

    ledger, compiled = app.read_credits(folder)
    found = speeds(compiled, ledger.production.rate, raster, pitch, length)
    if as_json:
        printing.say_json({"roll": speeds_json(found)})
    else:
        say_speeds(found)
    if found.small is not None or found.problems:
        raise typer.Exit(1)


def _rows(section: Section) -> Iterator[tuple[str, str, str | None, str]]:
    for text in section.text.splitlines():
        if text.strip():
            yield section.heading, text.strip(), "", ""
    for line in section.lines:
        remark = "" if line.confirmed else "spelling not confirmed"
        yield section.heading, line.name, line.role, remark


def _say(compiled: Credits) -> None:
    rows = [row for section in compiled.sections for row in _rows(section)]
    rows += [("(held)", held.name, "", held.reason) for held in compiled.held]
    rows += [
        ("(held line)", held.name, held.heading, in_words(held.because).threshold)
        for held in compiled.held_lines
    ]
    if not rows:
        printing.remark("Nobody yet: the log has no entries and no engagements.")
        return
    printing.parts(("heading", "name", "role", "remark"), rows)
