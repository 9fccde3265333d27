"""The command roll: the credits, speeds, proofs."""

from __future__ import annotations

from pathlib import Path

import typer

from credits.app.credits import PITCH, RASTER, Speeds, read_credits, save_proof, speeds_of
from credits.app.named import text_meant
from credits.app.production import open_snapshot
from credits.billing.compare import Comparison, CreditChange
from credits.billing.credits import Credits
from credits.billing.reasons import in_words
from credits.cautions import CREDITS_CAUTION
from credits.cli import printing
from credits.cli.options import JsonOption, Number, ProductionOption, Text, option
from credits.cli.production import codes, folder_of
from credits.errors import Finding, WrongCall
from credits.formats.deliver.plain import credits_shape
from credits.model.words import counted
from credits.store import open_log
from credits.units.film_time import clock, seconds, seconds_text
from credits.units.rounding import decimal_text


def _speeds_json(found: Speeds) -> dict[str, object]:
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
            printing.finding_json(finding) for finding in (*found.problems, *found.unmeasured)
        ],
    }


def _say_speeds(found: Speeds) -> None:
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
    printing.problems((*found.problems, *found.unmeasured))


def _list_proofs(folder: Path, as_json: bool) -> None:
    """List every proof, the first one first."""
    with open_log(folder) as log:
        proofs = log.proofs()
    if as_json:
        fields = "saved_at saved_by note cut last_line lines people"
        shapes = [{"proof": mark.number, **printing.fields_json(mark, fields)} for mark in proofs]
        printing.say_json({"proofs": shapes})
        return
    if not proofs:
        printing.remark("No proof has been made yet. Freeze one: credits roll --save")
        return
    rows = [
        (m.number, saved, m.saved_by, m.note, m.cut, m.last_line, m.lines, m.people)
        for m in proofs
        for saved in (f"{m.saved_at:%Y-%m-%d %H:%M} UTC",)
    ]
    heads = ("proof", "saved", "by", "note", "cut", "log up to", "lines", "people")
    printing.table(heads, rows, numbers=2)


def _change_json(change: CreditChange) -> dict[str, object]:
    """Return a change as JSON; ``person`` null: a section changed."""
    return {
        "change": str(change.kind),
        "person": change.person or None,
        "name": change.name or None,
        "heading": change.heading or None,
        **printing.fields_json(change, "what why entries"),
    }


def _say_changes(comparison: Comparison) -> None:
    """Print what changed, kind by kind, and why."""
    mark, count = comparison.mark, len(comparison.changes)
    rows = [(change.kind, change.what, "; ".join(change.why)) for change in comparison.changes]
    if rows:
        printing.table(("change", "what", "why"), rows, in_parts=True)
    said = counted(count, "change", grouped=False) if count else "Nothing that is read has changed"
    printing.remark(f"{said} since proof {mark.number} of {mark.saved_at:%Y-%m-%d}.")
    if not count and not comparison.same:
        printing.remark("The figures or entries behind the lines, the plan or the cut have.")


def roll(
    save_it: bool = option(False, "--save", "Freeze these credits as a numbered proof."),
    by: Text = option(None, "--by", "With --save: who makes the proof.", "WHO", codes("people")),
    note: Text = option(None, "--note", "With --save: what it is for.", "TEXT"),
    against: Number = option(None, "--against", "Say what changed since proof N, and why.", "N"),
    proofs: bool = option(False, "--proofs", "List the proofs."),
    raster: Text = option(None, "--raster", f"Propose speeds for this picture; {RASTER}.", "WxH"),
    pitch: Number = option(None, "--pitch", f"Propose speeds for lines so high; {PITCH}.", "PX"),
    length: Text = option(None, "--length", "Propose speeds around this length.", "M:SS"),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Compile the end credits by the plan; say who is held.

    A proof is a frozen copy with a number: --save makes one, --against says what changed since.
    """
    folder = folder_of(production)
    if proofs:
        _list_proofs(folder, as_json)
        return
    if raster is not None or pitch is not None or length is not None:
        _propose(folder, raster, pitch, length, as_json)
        return
    if not save_it:
        for name, value in (("--by", by), ("--note", note)):
            if value is not None:
                hint = "Write --save with it, or leave it out."
                said = "is said of a proof that is made"
                raise WrongCall(Finding(said, hint, None, name, value))
        now, saved = read_credits(folder, against), False
    else:
        who = text_meant(by, "--by") if by is not None else None
        what = text_meant(note, "--note") if note is not None else None
        now, saved = save_proof(folder, who, what, against)
    compiled, number, comparison = now.credits, now.same_as, now.comparison
    if as_json:
        shape: dict[str, object] = {"plan": compiled.plan, **credits_shape(compiled, number)}
        if comparison is not None:
            shape["against"] = comparison.mark.number
            shape["changes"] = [_change_json(change) for change in comparison.changes]
        printing.say_json({**shape, "caution": CREDITS_CAUTION})
        return
    if comparison is not None:
        _say_changes(comparison)
    else:
        _say(compiled)
    if saved:
        printing.remark(f"Saved as proof {number}.")
    elif save_it:
        printing.remark(f"Nothing has changed since proof {number}: no new proof was made.")
    elif number is not None:
        printing.remark(f"These are the credits of proof {number}.")
    printing.remark(CREDITS_CAUTION)


def _propose(
    folder: Path, raster: str | None, pitch: int | None, length: str | None, as_json: bool
) -> None:
    snapshot = open_snapshot(folder)
    rate = snapshot.ledger.production.rate
    found = speeds_of(snapshot.credits, rate, raster, pitch, length)
    if as_json:
        printing.say_json({"roll": _speeds_json(found)})
    else:
        _say_speeds(found)
    if found.problems:
        raise typer.Exit(1)


def _say(compiled: Credits) -> None:
    rows: list[tuple[str, str, str | None, str]] = []
    for section in compiled.sections:
        texts = filter(None, map(str.strip, section.text.splitlines()))
        rows += [(section.heading, text, "", "") for text in texts]
        for line in section.lines:
            remark = "" if line.confirmed else "spelling not confirmed"
            rows.append((section.heading, line.name, line.role, remark))
    rows += [("(held)", held.name, "", held.reason) for held in compiled.held]
    rows += [
        ("(held line)", held.name, held.heading, in_words(held.because).threshold)
        for held in compiled.held_lines
    ]
    if not rows:
        printing.remark("Nobody yet: the log has no entries and no engagements.")
        return
    printing.table(("heading", "name", "role", "remark"), rows, in_parts=True)
