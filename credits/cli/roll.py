"""The command roll: the credits, speeds, proofs."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

import typer

from credits.app.credits import PITCH, RASTER, Speeds, read_credits, save_proof, speeds_of
from credits.app.named import text_meant
from credits.app.production import open_snapshot
from credits.billing.compare import Comparison, CreditChange
from credits.billing.credits import Credits, Section
from credits.billing.reasons import in_words
from credits.cautions import CREDITS_CAUTION
from credits.cli import printing
from credits.cli.options import JsonOption, ProductionOption
from credits.cli.production import folder_of, production_codes
from credits.errors import Finding, WrongCall
from credits.formats.deliver.json import credits_shape
from credits.model.facts import ProofMark
from credits.store import open_log
from credits.units.film_time import clock, seconds, seconds_text
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


def speeds_json(found: Speeds) -> dict[str, object]:
    """Return the speeds as JSON."""
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
    """Print the speeds as a table; cards, and lines that do not fit, beside it."""
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


def refuse_alone(by: str | None, note: str | None) -> None:
    """Refuse words about a proof when none is made."""
    for name, value in (("--by", by), ("--note", note)):
        if value is not None:
            hint = "Write --save with it, or leave it out."
            raise WrongCall(Finding("is said of a proof that is made", hint, None, name, value))


def list_proofs(folder: Path, as_json: bool) -> None:
    """List every proof, the first one first."""
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
    """Return a change as JSON; ``person`` null: a section changed."""
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
    """Print what changed, kind by kind, and why."""
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
    saved = False
    if save_it:
        who = text_meant(by, "--by") if by is not None else None
        what = text_meant(note, "--note") if note is not None else None
        now, saved = save_proof(folder, who, what, against)
    else:
        now = read_credits(folder, against)
    compiled, number, comparison = now.credits, now.same_as, now.comparison
    if as_json:
        _say_json(compiled, number, comparison)
        return
    if comparison is not None:
        say_changes(comparison)
    else:
        _say(compiled)
    if saved:
        printing.remark(f"Saved as proof {number}.")
    elif save_it:
        printing.remark(f"Nothing has changed since proof {number}: no new proof was made.")
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
    snapshot = open_snapshot(folder)
    rate = snapshot.ledger.production.rate
    found = speeds_of(snapshot.credits, rate, raster, pitch, length)
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
