"""The credits as compiled, and on a person's page theirs, with what is behind each line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import cache, partial

from credits.billing.compared.changes import ChangeKind
from credits.billing.compared.compare import Comparison
from credits.billing.credits import Credits, Held, Line, Section
from credits.billing.plan import Picture
from credits.billing.proofs import in_groups
from credits.billing.reasons import ReasonFigure, in_words
from credits.billing.setting.breaking import UsualRuler
from credits.billing.setting.fixed_text import with_line_breaks
from credits.billing.setting.roll import USUAL, WISHED_SECONDS_A_LINE, Roll
from credits.billing.setting.rows import (
    WITH_ROLES,
    LineKind,
    PlacedPicture,
    Printed,
    RowSetter,
    SetCredits,
    SetRow,
    beside,
    role_of,
)
from credits.checks.contracts import BillingNumberTwice, HeadingsAlike, OfGuarantee
from credits.checks.own_lines import NameSpaced, OfLine
from credits.checks.rule import Severity
from credits.editions import Crew, Everyone, Office
from credits.model.facts import EntryNumber
from credits.model.ledger import Ledger
from credits.model.words import counted
from credits.site import links
from credits.site.links import About, Link, Page
from credits.site.source import PageSource
from credits.units.film_time import clock, day_text, seconds, seconds_text
from credits.units.rounding import decimal_text
from credits.units.table import Column, Scale, Table, Unit, columns

OF_CREDITS = (OfGuarantee, BillingNumberTwice, HeadingsAlike, OfLine, NameSpaced)
"""The checks that the page of the credits shows to the office."""
ONE_OF = {"entries": "entry", "engagements": "engagement"}


@dataclass(frozen=True, slots=True, kw_only=True)
class CreditLine:
    """A line as it reads under its heading, and what is behind it."""

    heading: Everyone[str]
    name: Everyone[Link]
    role: Everyone[str]
    rule: Crew[str] = ""
    figures: Crew[str] = ""
    entries: Crew[str] = ""
    contract: Office[str] = ""
    threshold: Office[str] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldCredit:
    """Why nothing prints for somebody, and what is behind that."""

    reason: Office[str] = ""
    rule: Office[str] = ""
    threshold: Office[str] = ""
    figures: Office[str] = ""
    entries: Office[str] = ""


CONSIDERED_COLUMNS = columns(
    heading="Heading", outcome="What became of it", why="Why", figures="Figures"
)


MOST_ENTRIES = 24
"""Stretches of entry numbers that a person's page names of a line; `credits why` names them all."""


def entry_ranges(numbers: Iterable[EntryNumber], most: int | None = None) -> str:
    """Write entry numbers in short: ``A-1, A-3 to A-7, B-2``; past ``most`` how many are left."""
    runs: list[tuple[EntryNumber, EntryNumber]] = []
    for number in sorted(numbers):
        if runs and runs[-1][1] == (number.origin, number.number - 1):
            runs[-1] = (runs[-1][0], number)
        else:
            runs.append((number, number))
    said = [str(a) if a == b else f"{a} to {b}" for a, b in runs[:most]]
    if left := sum(b.number - a.number + 1 for a, b in runs[len(said) :]):
        said.append(f"and {left:,} more")
    return ", ".join(said)


def figure_text(name: str, value: int | str) -> str:
    """Write a figure of a reason as it is read: ``12 entries``, ``first day 3 March 2026``."""
    if isinstance(value, int):
        one = ONE_OF.get(name)
        return counted(value, one, name) if one is not None else f"{name} {value:,}"
    try:
        return f"{name} {day_text(date.fromisoformat(value))}"
    except ValueError:
        return f"{name} {value}"


def figures_text(figures: Iterable[ReasonFigure]) -> str:
    """Write the figures of a reason in a row."""
    return ", ".join(figure_text(name, value) for name, value in figures)


def credit_lines(own: Credits, office: bool) -> tuple[CreditLine, ...]:
    """Return every line of a person, in the order of the credits.

    office: with the rules of contracts.
    """
    rows = []
    for section, line in own.lines:
        crew, whole = in_words(line.because, office=False), in_words(line.because)
        rows.append(
            CreditLine(
                heading=section.heading,
                name=Link(line.name),
                role=line.role or "",
                rule=(whole if office else crew).rule,
                figures=figures_text(crew.figures),
                entries=entry_ranges(crew.entries, MOST_ENTRIES),
                contract=figures_text(f for f in whole.figures if f not in crew.figures),
                threshold=whole.threshold,
            )
        )
    return tuple(rows)


def held_credit(held: Held) -> HeldCredit:
    """Return why a person is held."""
    words = in_words(held.because)
    return HeldCredit(
        reason=held.reason,
        rule=words.rule,
        threshold=words.threshold,
        figures=figures_text(words.figures),
        entries=entry_ranges(words.entries),
    )


def not_here(own: Credits) -> Table:
    """Return the sections that considered a person and do not print them, in their order."""
    rows = []
    for one in own.not_here:
        figures = figures_text(in_words(one.because, office=False).figures)
        rows.append((one.heading, one.outcome.value, one.not_here, figures))
    return Table.of("Headings that considered this person", CONSIDERED_COLUMNS, rows)


def no_line(own: Credits, office: bool) -> str:
    """Return what to say where nothing prints and no reason may be, or need be, given."""
    if own.lines:
        return ""
    if not own.held:
        return "No credit is owed yet: the log has no work and the crew list no engagement."
    return "" if office else "No line prints yet. The production office can say why."


def spelling(ledger: Ledger, person: str) -> str:
    """Say whether the person has confirmed how the name is written, or another spelling of it."""
    last = ledger.confirmation(person)
    if last is not None and ledger.confirmed(person):
        return f"The spelling was confirmed on {day_text(last.confirmed_on)}."
    tell = "tell the production office if your name is not right."
    if last is not None and last.is_right:
        return f"Another spelling was confirmed, on {day_text(last.confirmed_on)}: {tell}"
    return f"The spelling is not yet confirmed: {tell}"


NO_TEXT = Link("")
KIND_WORDS = {
    ChangeKind.ROLE: "other role",
    ChangeKind.ORDER: "other place",
    ChangeKind.CONFIRMED: "spelling confirmed",
}
CHANGE_COLUMNS = columns(kind="Change", about="Who", what="What", why="Why")
SPEED_COLUMNS = (
    Column(key="speed", heading="Pixels a frame", unit=Unit.NUMBER),
    Column(key="length", heading="Length", unit=Unit.RUNNING),
    Column(key="frames", heading="Frames", unit=Unit.FRAMES),
    Column(key="stays", heading="A line stays, s", unit=Unit.SECONDS, places=1),
    Column(key="remark", heading="Remark"),
)
HELD_COLUMNS = columns(
    person="Person", heading="Heading", reason="Reason", rule="Rule", figures="Figures"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofView:
    """The last proof. standing: whether the lines are still its lines. changes: since it, or those
    that it brought since the one before."""

    number: Everyone[str]
    day: Crew[str] = ""
    by: Office[str] = ""
    note: Office[str] = ""
    seal: Office[str] = ""
    log_seal: Office[str] = ""
    standing: Crew[str] = ""
    changes: Office[Table | None] = None
    since: Office[str] = ""


def _changes(source: PageSource, comparison: Comparison) -> Table:
    rows = []
    for change in comparison.changes:
        known = change.person in source.ledger.people
        about = Link(change.name or change.heading, reasons_of(change.person) if known else None)
        kind = KIND_WORDS.get(change.kind, change.kind.value)
        rows.append((kind, about, change.what, change.why_words))
    caption = f"What changed since Proof {comparison.mark.number}, and why"
    return Table.of(caption, CHANGE_COLUMNS, rows)


def proof_view(source: PageSource) -> ProofView | None:
    """Return the last proof against the credits as they stand; None where no proof was made."""
    comparison = source.comparison
    if comparison is None:
        return None
    mark, standing = comparison.mark, "The lines below are still those of the proof."
    if comparison.changes:
        count = counted(len(comparison.changes), "change")
        standing = f"The lines below are the log as it stands, with {count} since then."
    # Where nothing is new since the last proof, what it changed itself is told.
    shown = comparison if comparison.changes else source.round_before or comparison
    return ProofView(
        number=f"Proof {mark.number}",
        day=day_text(mark.saved_at.date()),
        by=mark.saved_by or "",
        note=mark.note or "",
        seal=in_groups(mark.seal or ""),
        log_seal=in_groups(source.log_seal),
        standing=standing,
        changes=_changes(source, shown),
        since=f"Proof {shown.mark.number}",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class LogoView:
    """A picture that the credits set: what it shows, its file, and how many lines it is high.

    file: in the site; empty: the production's folder has none, and the words stand for it.
    """

    shows: Everyone[str]
    file: Everyone[str]
    lines: Everyone[int]


def _logos(
    pictures: Iterable[Picture | PlacedPicture], logos: Mapping[str, str]
) -> tuple[LogoView, ...]:
    return tuple(
        LogoView(shows=own.shows or own.file, file=logos.get(own.file, ""), lines=own.lines)
        for own in pictures
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class RollLineView:
    """One row of the roll: a heading, or a role and a name, or up to three names; or nothing.

    columns 0: role and name. pictures: logos instead of names. goes_on: a name that goes on from
    the row above. high: how many lines the row is high, where it is more than one.
    """

    heading: Everyone[str] = ""
    role: Everyone[str] = ""
    names: Everyone[tuple[Link, ...]] = ()
    pictures: Everyone[tuple[LogoView, ...]] = ()
    columns: Everyone[int] = 1
    goes_on: Everyone[bool] = False
    high: Everyone[int] = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class RollView:
    """The preview.

    seconds: how long it runs, pitch: a line's height in per cent of the picture's; both ready to
    be written into a style. cards: those that stand still, and for how long each is to be held.
    """

    lines: Everyone[tuple[RollLineView, ...]]
    count: Everyone[str]
    speed: Everyone[str]
    length: Everyone[str]
    stays: Everyone[str]
    seconds: Everyone[str]
    pitch: Everyone[str]
    raster: Everyone[str]
    speeds: Everyone[Table]
    cards: Everyone[str]


def _line(row: SetRow, logos: Mapping[str, str]) -> RollLineView:
    high = row.high if row.high > 1 else 0
    if row.pictures:
        return RollLineView(pictures=_logos(row.pictures, logos), high=high)
    texts = {piece.column: Link(piece.text) for piece in row.pieces}
    goes_on = any(piece.follows for piece in row.pieces)
    if row.kind is LineKind.HEADING:
        return RollLineView(heading=texts[0].text, high=high)
    if row.kind is LineKind.ROLE:
        role, name = texts.get(0, NO_TEXT).text, texts.get(1, NO_TEXT)
        return RollLineView(role=role, names=(name,), columns=0, goes_on=goes_on, high=high)
    # What stands in no column of a row leaves its place empty, where others stand behind it.
    names = tuple(texts.get(at, NO_TEXT) for at in range(max(texts, default=-1) + 1))
    return RollLineView(names=names, columns=row.columns, goes_on=goes_on, high=high)


def usual_rows(credits: Credits) -> SetCredits:
    """Set the credits in a 1920 x 1080 picture, in letters of usual width: no font is asked."""
    return RowSetter(setting=USUAL, ruler=UsualRuler()).set(credits)


def _speeds(rolls: Iterable[Roll], chosen: Roll, scale: Scale) -> Table:
    rows = []
    for roll in rolls:
        shown = "as in the preview" if roll is chosen else ""
        remark = "too fast to read" if roll.too_fast else shown
        rows.append((roll.speed, roll.frames, roll.frames, roll.line_frames, remark))
    caption = "Whole speeds, the length of the roll and the time a line stays"
    return Table.of(caption, SPEED_COLUMNS, rows, scale)


def roll_view(credits: Credits, scale: Scale, logos: Mapping[str, str]) -> RollView | None:
    """Return the roll in a 1920 x 1080 picture; None where nothing prints.

    The preview runs at the proposed speed whose lines stay nearest to the wished time. logos: as
    in PageSource.
    """
    made, rate = usual_rows(credits), scale.rate
    lines, count = tuple(_line(row, logos) for row in made.roll), made.lines
    if not lines:
        return None
    held = ((card.heading or "a card", decimal_text(card.seconds, 1)) for card in made.cards)
    rolls = USUAL.proposals(count, rate, USUAL.wished_length(count))
    chosen = min(
        rolls,
        key=lambda roll: (abs(seconds(roll.line_frames, rate) - WISHED_SECONDS_A_LINE), roll.speed),
    )
    return RollView(
        lines=lines,
        count=f"{count:,}",
        speed=f"{chosen.speed} px a frame",
        length=clock(chosen.frames, rate),
        stays=f"{seconds_text(chosen.line_frames, rate)} s",
        seconds=decimal_text(seconds(chosen.frames, rate), 3),
        pitch=decimal_text(Fraction(100 * USUAL.pitch, USUAL.height), 5),
        raster=f"{USUAL.width} × {USUAL.height}",
        speeds=_speeds(rolls, chosen, scale),
        cards=", ".join(f"{heading} ({length} s)" for heading, length in held),
    )


NO_PROOF = "No proof has been frozen yet: these lines are compiled from the log as it stands."


@dataclass(frozen=True, slots=True, kw_only=True)
class JoinedName:
    """A name that stands on the line of another. ``joined``: the word between them."""

    joined: Everyone[str]
    name: Everyone[Link]
    note: Everyone[str]
    unconfirmed: Crew[bool] = False


@dataclass(frozen=True, slots=True)
class CreditRow:
    """A line: the name leads to its reasons. ``note`` stands beside it, ``more`` behind it."""

    name: Everyone[Link]
    role: Everyone[Link]
    unconfirmed: Crew[bool] = False
    note: Everyone[str] = ""
    more: Everyone[tuple[JoinedName, ...]] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionView:
    """A heading and its lines: with roles on the gutter, or names alone in columns; or a text.

    ``also``: the heading in another language. ``under``: it stands under a heading of the first
    level. ``logos``: the pictures under it.
    """

    heading: Everyone[str]
    also: Everyone[str]
    under: Everyone[bool]
    logos: Everyone[tuple[LogoView, ...]]
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


@dataclass(frozen=True, slots=True, kw_only=True)
class CreditsPage:
    """Everything the page of the end credits shows.

    contracts: what is open about what contracts guarantee: the message, the hint, whether wrong.
    """

    proof: Everyone[str]
    plan: Everyone[str]
    line_count: Everyone[str]
    people_count: Everyone[str]
    sections: Everyone[tuple[SectionView, ...]]
    appearance: Everyone[tuple[Appearance, ...]]
    roll_length: Everyone[str]
    roll_speed: Everyone[str]
    line_stays: Everyone[str]
    unconfirmed: Crew[str] = ""
    held_count: Office[str] = ""
    contracts: Office[tuple[tuple[str, str, bool], ...]] = ()
    held: Office[Table | None] = None
    last_proof: Everyone[ProofView | None] = None


def reasons_of(code: str) -> str:
    """Return where the reasons of a person's lines stand."""
    return f"{links.person_page(code)}#credit"


def _name_link(line: Line) -> Link:
    return Link(line.name, reasons_of(line.person) if line.person else None)


def _row(printed: Printed) -> CreditRow:
    """A printed line: the first name, and those that are joined to it."""
    first, *others = printed
    more = tuple(
        JoinedName(
            joined=line.joined,
            name=_name_link(line),
            note=beside(line.note),
            unconfirmed=not line.confirmed,
        )
        for line in others
    )
    role = " / ".join(filter(None, role_of(printed)))
    return CreditRow(_name_link(first), Link(role), not first.confirmed, beside(first.note), more)


def _section(section: Section, place: int, under: bool, logos: Mapping[str, str]) -> SectionView:
    return SectionView(
        heading=section.heading,
        also=section.heading_also,
        under=under,
        logos=_logos(section.pictures, logos),
        anchor=f"section-{place}",
        with_roles=section.layout in WITH_ROLES,
        in_columns=section.columns > 1,
        text=with_line_breaks(section.text) if section.text else "",
        lines=tuple(map(_row, section.printed)),
    )


def _sections(credits: Credits, logos: Mapping[str, str]) -> Iterator[SectionView]:
    over = False
    for place, section in enumerate(credits.sections, 1):
        over = over or (section.level == 1 and bool(section.heading))
        yield _section(section, place, over and section.level > 1, logos)


def _held(credits: Credits) -> Table:
    """Return the people whom the plan does not print, and lines of people who print elsewhere."""
    rows = []
    for held in (*credits.held, *credits.held_lines):
        words = in_words(held.because)
        who, rule = Link(held.name, reasons_of(held.person)), f"{words.rule} {words.threshold}"
        rows.append((who, held.heading, held.reason, rule.strip(), figures_text(words.figures)))
    return Table.of("People and lines that the plan does not print", HELD_COLUMNS, rows)


def _held_count(credits: Credits) -> str:
    """Write ``2 people, 3 lines of others``; empty where nobody is held."""
    people = counted(len(credits.held), "person", "people") if credits.held else ""
    lines = counted(len(credits.held_lines), "line") if credits.held_lines else ""
    return ", ".join(text for text in (people, f"{lines} of others" if lines else "") if text)


@dataclass(frozen=True, slots=True)
class RollPage:
    """The roll: a preview in true proportions."""

    roll: Everyone[RollView]


def _about_contracts(source: PageSource) -> Iterator[tuple[str, str, bool]]:
    """Give the open checks of contracts, and of the lines that the plan has of its own."""
    for check in source.results.open_checks:
        if isinstance(check, OF_CREDITS):
            yield check.message, check.hint, check.severity is Severity.WRONG


def _credits_page(source: PageSource, roll: RollView | None) -> CreditsPage:
    credits = source.results.credits
    lines = [line for _, line in credits.lines]
    last_proof = proof_view(source)
    unconfirmed = {line.person or line.name for line in lines if not line.confirmed}
    return CreditsPage(
        proof="" if last_proof is not None else NO_PROOF,
        plan=credits.plan,
        line_count=f"{len(lines):,}",
        people_count=f"{len(credits.printed):,}",
        sections=tuple(_sections(credits, source.logos)),
        appearance=tuple(
            Appearance(source.character(code), clock(frame - 1, source.scale.rate))
            for code, frame in source.results.first_seen
        ),
        roll_length=roll.length if roll else "",
        roll_speed=roll.speed if roll else "",
        line_stays=roll.stays if roll else "",
        unconfirmed=counted(len(unconfirmed), "name") if unconfirmed else "",
        held_count=_held_count(credits),
        contracts=tuple(_about_contracts(source)) if source.office else (),
        held=_held(credits),
        last_proof=last_proof,
    )


def credits_pages(source: PageSource) -> Iterator[Page]:
    """Yield ``credits.html``, and ``roll.html`` where there is anything to roll."""
    roll = roll_view(source.results.credits, source.scale, source.logos)
    make = partial(_credits_page, source, roll)
    # The reasons of those who are held, which the office reads, count entries; so do changes.
    is_decided = source.comparison is None and not source.office
    also = cache(partial(_also, source))
    about = About(also=also) if is_decided else None
    yield Page(links.CREDITS, "credits.html", "End credits", links.CREDITS, make, about)
    if roll is not None:
        rolling, about = partial(RollPage, roll), About(also=also)
        yield Page(links.ROLL, "roll.html", "The roll", links.CREDITS, rolling, about)


def _also(source: PageSource) -> object:
    """Return what credits and roll are made of, where nothing in them counts entries."""
    return source.results.credits.decided(), source.results.first_seen
