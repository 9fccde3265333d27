"""The proofs of ``credits roll``: freezing one, listing them, what changed since one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from credits.cli import printing
from credits.cli.completion import production_codes
from credits.errors import Finding, WrongCall

if TYPE_CHECKING:
    from credits.compute.proof_changes import Comparison, CreditChange
    from credits.model.facts import ProofMark

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
    from credits.app import save_proof
    from credits.cli.corrections import text_meant

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
    from credits.store import open_log

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
