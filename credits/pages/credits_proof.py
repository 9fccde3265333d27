"""The last proof on the page of the end credits: its number and day, and what changed since."""

from __future__ import annotations

from dataclasses import dataclass

from credits.compute.proof_changes import ChangeKind, Comparison, CreditChange
from credits.editions import Crew, Everyone, Office
from credits.names import direction
from credits.pages import links
from credits.pages.page import Link
from credits.pages.source import PageSource
from credits.pages.words import counted, day_text

KIND_WORDS = {
    ChangeKind.CAME: "came",
    ChangeKind.WENT: "went",
    ChangeKind.MOVED: "moved",
    ChangeKind.ROLE: "other role",
    ChangeKind.RESPELLED: "respelled",
    ChangeKind.ORDER: "other place",
    ChangeKind.HELD: "held",
    ChangeKind.SECTION: "section",
}


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """What happened since the proof to one person, or to a section, and why."""

    kind: Office[str] = ""
    about: Office[Link | None] = None
    what: Office[str] = ""
    why: Office[str] = ""


@dataclass(frozen=True, slots=True)
class ProofView:
    """The last proof. ``standing``: whether the lines are still its lines."""

    number: Everyone[str]
    day: Crew[str] = ""
    by: Office[str] = ""
    note: Office[str] = ""
    standing: Crew[str] = ""
    changes: Office[tuple[ChangeRow, ...]] = ()


def _row(change: CreditChange) -> ChangeRow:
    about = Link(change.heading, None, direction(change.heading))
    if change.person:
        page = f"{links.person_page(change.person)}#credit"
        about = Link(change.name, page, direction(change.name))
    return ChangeRow(KIND_WORDS[change.kind], about, change.what, "; ".join(change.why))


def _standing(comparison: Comparison) -> str:
    if comparison.changes:
        count = counted(len(comparison.changes), "change")
        return f"The lines below are the log as it stands, with {count} since then."
    return "The lines below are still those of the proof."


def proof_view(source: PageSource) -> ProofView | None:
    """The last proof against the credits as they stand; None where no proof was made."""
    comparison = source.comparison
    if comparison is None:
        return None
    mark = comparison.mark
    people = source.ledger.people
    return ProofView(
        f"Proof {mark.number}",
        day_text(mark.saved_at.date()),
        mark.saved_by or "",
        mark.note or "",
        _standing(comparison),
        tuple(
            _row(change)
            for change in comparison.changes
            if not change.person or change.person in people
        ),
    )
