"""What goes into a deliverable: the credits as they stand, or those of a proof."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from credits.compute.credits import Credits
    from credits.editions import Edition
    from credits.exchange.delivery import Delivery
    from credits.model.facts import ProofMark
    from credits.model.ledger import Ledger


def draft(
    folder: Path, edition: Edition, with_changes: bool = False, against: int | None = None
) -> Delivery:
    """The credits as they stand; called by the number of the last proof when they are that proof.

    As in the public site, the public edition has the proof's number without its day, and the last
    day of the data without entries and cut.

    ``with_changes``: what changed since proof ``against``, or since the one before these credits.
    Raises WrongCall for a proof that was never made.
    """
    from dataclasses import replace

    from credits.app import proof_number, read_credits
    from credits.editions import Edition
    from credits.store import open_log

    ledger, credits = read_credits(folder)
    with open_log(folder) as log:
        marks = log.proofs()
    number = proof_number(folder, ledger, credits)
    made = replace(_delivery(ledger, credits, edition), proof=number, day=ledger.last_day)
    if edition.sees(Edition.CREW):
        made = replace(
            made,
            saved_on=marks[-1].saved_at.date() if number is not None else None,
            last_line=ledger.last_line,
            cut=ledger.cut.version if ledger.cut is not None else None,
        )
    if with_changes and edition.sees(Edition.OFFICE):
        changes = _changes(folder, ledger, credits, marks[:-1] if number else marks, against)
        made = replace(made, changes=changes)
    return made


def proof(folder: Path, edition: Edition, number: int) -> Delivery:
    """The credits of a proof, as they were frozen. Raises WrongCall when there is none of it."""
    from dataclasses import replace

    from credits.app import read_ledger
    from credits.compute.proof import thawed
    from credits.editions import Edition
    from credits.store import open_log

    with open_log(folder) as log:
        frozen = log.proof(number)
    mark = frozen.mark
    made = _delivery(read_ledger(folder), thawed(frozen.content), edition)
    if not edition.sees(Edition.CREW):
        return replace(made, proof=mark.number)
    return replace(
        made,
        proof=mark.number,
        saved_on=mark.saved_at.date(),
        last_line=mark.last_line,
        cut=mark.cut,
    )


def _changes(
    folder: Path,
    ledger: Ledger,
    credits: Credits,
    marks: Sequence[ProofMark],
    against: int | None,
) -> tuple[tuple[str, str, str], ...] | None:
    from credits.app import changes_since

    if against is None:
        if not marks:
            return None
        against = marks[-1].number
    compared = changes_since(folder, ledger, credits, against)
    return compared.rows if compared is not None else None


def _delivery(ledger: Ledger, credits: Credits, edition: Edition) -> Delivery:
    from credits.cautions import CREDITS_CAUTION
    from credits.editions import Edition
    from credits.exchange.delivery import Delivery

    return Delivery(
        title=ledger.production.title,
        code=ledger.production.code,
        credits=credits,
        caution=CREDITS_CAUTION,
        shows_unconfirmed=edition.sees(Edition.CREW),
        shows_reasons=edition.sees(Edition.CREW),
        shows_held=edition.sees(Edition.OFFICE),
    )
