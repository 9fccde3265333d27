"""Ask how names are spelled: who has not answered, and the sheet that goes round."""

from __future__ import annotations

from pathlib import Path

from credits.app.production import open_snapshot
from credits.errors import Finding, WrongCall
from credits.files import write_whole
from credits.formats.deliver.delivery import check_target
from credits.formats.tables.confirmations import Asked, asked, confirmation_sheet
from credits.model.facts import Confirmation
from credits.store import read_settings


def unanswered(folder: Path) -> list[tuple[Asked, Confirmation | None]]:
    """List the printed people who have not confirmed their spelling, with their last answer."""
    snapshot = open_snapshot(folder)
    every = asked(snapshot.credits, snapshot.ledger)
    return [
        (one, snapshot.ledger.confirmation(one.person)) for one in every if one.confirmed_on is None
    ]


def write_sheet(folder: Path, out: str | None) -> Path:
    """Write the workbook that ``credits load`` takes back; where it is.

    out: None: a file named after the production in the working folder. Raises WrongCall.
    """
    if out == "-":
        hint = "Name a file, such as confirmations.xlsx."
        raise WrongCall(Finding("a workbook is no text", hint, None, "--out", out))
    target = Path(out or f"{read_settings(folder).code}-confirmations.xlsx")
    check_target(target, ".xlsx")
    snapshot = open_snapshot(folder)
    write_whole(target, confirmation_sheet(snapshot.credits, snapshot.ledger))
    return target
