"""The credits as compiled."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from credits.billing.compare import ChangeKind, Comparison, CreditChange
from credits.billing.credits import Credits, Section
from credits.billing.reasons import in_words
from credits.billing.roll import (
    WISHED_SECONDS_A_LINE,
    WITH_ROLES,
    LineKind,
    Raster,
    Roll,
    cards,
    proposals,
    wished_length,
)
from credits.billing.roll import RollLine as RolledLine
from credits.billing.roll import roll_lines as rolled_lines
from credits.cautions import CREDITS_CAUTION
from credits.editions import Crew, Everyone, Office
from credits.model.words import counted
from credits.names import direction
from credits.site import links
from credits.site.page import Link, Page
from credits.site.pages.person_credit import figures_text
from credits.site.source import PageSource
from credits.units.film_time import FrameRate, clock, day_text, seconds, seconds_text
from credits.units.rounding import decimal_text

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


RASTER = Raster(1920, 1080)
PITCH = 60


@dataclass(frozen=True, slots=True)
class RollName:
    """A name of the roll and how it is written."""

    text: Everyone[str]
    direction: Everyone[str]


@dataclass(frozen=True, slots=True)
class RollLineView:
    """One line of the roll: a heading, or a role and a name, or up to three names; or nothing."""

    heading: Everyone[str] = ""
    role: Everyone[str] = ""
    names: Everyone[tuple[RollName, ...]] = ()
    columns: Everyone[int] = 1


@dataclass(frozen=True, slots=True)
class SpeedRow:
    """A whole speed: the length of the roll, how long a line stays, and what to think of it."""

    speed: Everyone[str]
    length: Everyone[str]
    frames: Everyone[str]
    stays: Everyone[str]
    remark: Everyone[str]


@dataclass(frozen=True, slots=True)
class RollView:
    """The preview. ``seconds`` is how long it runs, ``pitch`` a line's height in per cent of the
    picture's, both ready to be written into a style."""

    lines: Everyone[tuple[RollLineView, ...]]
    count: Everyone[str]
    speed: Everyone[str]
    length: Everyone[str]
    stays: Everyone[str]
    seconds: Everyone[str]
    pitch: Everyone[str]
    raster: Everyone[str]
    speeds: Everyone[tuple[SpeedRow, ...]]
    cards: Everyone[str]


def _line(line: RolledLine) -> RollLineView:
    texts = tuple(RollName(piece.text, direction(piece.text)) for piece in line.pieces)
    if line.kind is LineKind.HEADING:
        return RollLineView(heading=texts[0].text)
    if line.kind is LineKind.ROLE:
        return RollLineView(role=texts[0].text, names=texts[1:], columns=0)
    return RollLineView(names=texts, columns=line.columns)


def roll_lines(credits: Credits) -> tuple[RollLineView, ...]:
    """The lines in the order in which they run, as in the printed roll. ``columns`` 0: role and
    name."""
    return tuple(_line(line) for line in rolled_lines(credits))


def _cards(credits: Credits) -> str:
    """The cards that stand still and for how long each is to be held; empty without any."""
    return ", ".join(
        f"{card.heading or 'a card'} ({decimal_text(card.seconds, 1)} s)" for card in cards(credits)
    )


def _remark(roll: Roll, chosen: Roll) -> str:
    if roll.too_fast:
        return "too fast to read"
    return "as in the preview" if roll is chosen else ""


def roll_view(credits: Credits, rate: FrameRate) -> RollView | None:
    """The roll in a 1920 x 1080 picture; None where nothing prints.

    The preview runs at the proposed speed whose lines stay nearest to the wished time.
    """
    lines = roll_lines(credits)
    if not lines:
        return None
    wished = wished_length(len(lines), PITCH, RASTER)
    rolls = proposals(len(lines), PITCH, RASTER, rate, wished)
    chosen = min(
        rolls,
        key=lambda roll: (abs(seconds(roll.line_frames, rate) - WISHED_SECONDS_A_LINE), roll.speed),
    )
    speeds = tuple(
        SpeedRow(
            f"{roll.speed}",
            clock(roll.frames, rate),
            f"{roll.frames:,}",
            seconds_text(roll.line_frames, rate),
            _remark(roll, chosen),
        )
        for roll in rolls
    )
    return RollView(
        lines,
        f"{len(lines):,}",
        f"{chosen.speed} px a frame",
        clock(chosen.frames, rate),
        f"{seconds_text(chosen.line_frames, rate)} s",
        decimal_text(seconds(chosen.frames, rate), 3),
        decimal_text(Fraction(100 * PITCH, RASTER.height), 5),
        f"{RASTER.width} × {RASTER.height}",
        speeds,
        _cards(credits),
    )


NO_PROOF = "No proof has been frozen yet: these lines are compiled from the log as it stands."


@dataclass(frozen=True, slots=True)
class CreditRow:
    """A line: the name leads to its reasons. ``opens``: the first with its role."""

    name: Everyone[Link]
    role: Everyone[str]
    role_direction: Everyone[str]
    opens: Everyone[bool]
    unconfirmed: Crew[bool] = False


@dataclass(frozen=True, slots=True)
class SectionView:
    """A heading and its lines: with roles on the gutter, or names alone in columns; or a text."""

    heading: Everyone[str]
    anchor: Everyone[str]
    with_roles: Everyone[bool]
    in_columns: Everyone[bool]
    text: Everyone[str]
    lines: Everyone[tuple[CreditRow, ...]]


@dataclass(frozen=True, slots=True)
class Appearance:
    """A character in order of appearance. ``at``: where in the film it is first seen."""

    character: Everyone[Link]
    at: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class HeldRow:
    """Somebody whom the plan does not print, and why; or a line of somebody who prints elsewhere,
    under ``heading``."""

    person: Office[Link | None] = None
    heading: Office[str] = ""
    reason: Office[str] = ""
    rule: Office[str] = ""
    threshold: Office[str] = ""
    figures: Office[str] = ""


@dataclass(frozen=True, slots=True)
class CreditsPage:
    """Everything the page of the end credits shows."""

    caution: Everyone[str]
    proof: Everyone[str]
    plan: Everyone[str]
    line_count: Everyone[str]
    people_count: Everyone[str]
    sections: Everyone[tuple[SectionView, ...]]
    appearance: Everyone[tuple[Appearance, ...]]
    roll: Everyone[RollView | None]
    unconfirmed: Crew[str] = ""
    held_count: Office[str] = ""
    held: Office[tuple[HeldRow, ...]] = ()
    last_proof: Everyone[ProofView | None] = None


def reasons_of(code: str) -> str:
    """Where the reasons of a person's lines stand."""
    return f"{links.person_page(code)}#credit"


def _section(section: Section, place: int) -> SectionView:
    rows = []
    before = None
    for line in section.lines:
        name = Link(line.name, reasons_of(line.person), direction(line.name))
        role = line.role or ""
        opens = role != before
        rows.append(CreditRow(name, role, direction(role), opens, not line.confirmed))
        before = role
    return SectionView(
        section.heading,
        f"section-{place}",
        section.layout in WITH_ROLES,
        section.columns > 1,
        section.text,
        tuple(rows),
    )


def _held(source: PageSource) -> tuple[HeldRow, ...]:
    credits = source.results.credits
    rows = []
    for held in (*credits.held, *credits.held_lines):
        words = in_words(held.because)
        rows.append(
            HeldRow(
                Link(held.name, reasons_of(held.person), direction(held.name)),
                held.heading,
                held.reason,
                words.rule,
                words.threshold,
                figures_text(words.figures),
            )
        )
    return tuple(rows)


def _held_count(credits: Credits) -> str:
    """``2 people, 3 lines of others``; empty where nobody is held."""
    people = counted(len(credits.held), "person", "people") if credits.held else ""
    lines = counted(len(credits.held_lines), "line") if credits.held_lines else ""
    return ", ".join(text for text in (people, f"{lines} of others" if lines else "") if text)


def _appearance(source: PageSource) -> tuple[Appearance, ...]:
    rate = source.ledger.production.rate
    return tuple(
        Appearance(source.character(code), clock(frame - 1, rate))
        for code, frame in source.results.first_seen
    )


def credits_pages(source: PageSource) -> Iterator[Page]:
    """``credits.html``."""
    credits = source.results.credits
    lines = [line for section in credits.sections for line in section.lines]
    last_proof = proof_view(source)
    unconfirmed = {line.person for line in lines if not line.confirmed}
    model = CreditsPage(
        caution=CREDITS_CAUTION,
        proof="" if last_proof is not None else NO_PROOF,
        plan=credits.plan,
        line_count=f"{len(lines):,}",
        people_count=f"{len({line.person for line in lines}):,}",
        sections=tuple(_section(s, place) for place, s in enumerate(credits.sections, 1)),
        appearance=_appearance(source),
        roll=roll_view(credits, source.ledger.production.rate),
        unconfirmed=counted(len(unconfirmed), "name") if unconfirmed else "",
        held_count=_held_count(credits),
        held=_held(source),
        last_proof=last_proof,
    )
    yield Page(links.CREDITS, "credits.html", "End credits", links.CREDITS, model)
