"""The first page: how far the film is, what is open, what is on the stages; for everybody the cast
and how the credits begin."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from functools import partial
from itertools import chain, islice
from math import floor

from credits.billing.setting.rows import WITH_ROLES, role_of
from credits.editions import Crew, Everyone, Office
from credits.footage.footage import NO_FOOTAGE
from credits.footage.how_far import FrameStand, HowFar
from credits.footage.table import footage_columns, footage_values
from credits.model.facts import CutClip
from credits.model.ledger import Entry
from credits.model.words import counted
from credits.site import bands, links, strips
from credits.site.bands import FilmStrip
from credits.site.links import Link, Page, linked_day
from credits.site.pages.character import CharacterCard, character_cards
from credits.site.pages.credits import reasons_of
from credits.site.pages.shot import sequence_link, shots_counted
from credits.site.pages.shots import LACKS, lacking, shots_found
from credits.site.pieces import Stretch, sequence_of, stretches_by
from credits.site.source import PageSource, grouped, without_cut
from credits.units.film_time import clock, week_days
from credits.units.rounding import decimal_text
from credits.units.table import Column, Table, Unit, columns

DAYS_LOOKED_AT = 10
"""The last days with work on stages: a stage that stood still on all of them is told shortly."""
CREDITS_SHOWN = 12
"""Lines of the end credits that everybody sees on the first page."""
FIGURES = footage_columns(kept="Kept", kept_feet="Feet", accepted="Accepted", screen="On screen")
SEQUENCE_COLUMNS = (
    Column(key="sequence", heading="Sequence"),
    Column(key="shots", heading="Shots", unit=Unit.NUMBER, adds_up=True),
    Column(key="planned", heading="Planned frames", unit=Unit.FRAMES, adds_up=True),
    *FIGURES,
)
STAGE_COLUMNS = (
    Column(key="stage", heading="Stage"),
    Column(key="unit", heading="Unit"),
    Column(key="shot", heading="Shot", unit=Unit.CODE),
    *columns(people="Animated by", puppets="Puppets"),
    Column(key="day", heading="Last day", unit=Unit.DAY),
)
STANDS = {
    FrameStand.ACCEPTED: (bands.SOLID, "accepted"),
    FrameStand.KEPT: (bands.HATCHED, "kept, not yet accepted"),
    FrameStand.MISSING: (bands.DOTTED, "still to shoot or to log"),
}
"""How a part of the film that is so far is drawn, and what it is called."""
TENTH = 10  # of a per cent


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenRow:
    """Something that is still open: what, how much of it with a link to it, and in frames."""

    what: Crew[str] = ""
    count: Crew[Link | None] = None
    more: Crew[str] = ""


CreditSample = tuple[str, bool, tuple[tuple[str, Link], ...]]
"""A heading of the end credits, whether its lines have roles, and these: the role and the name."""


SENTENCE = "Who made each character's performance, and what follows from it."
"""What is said of a film that has no sentence of its own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HomePage:
    """The production at a glance.

    share: the one figure of how far the film is, share_of: what it is a share of. quiet: the stages
    on which nothing was done lately. omitted: shots that are not counted, nor their frames. wrong
    and questions: what the checks ask.
    """

    film: Everyone[str]
    sentence: Everyone[str]
    characters: Everyone[tuple[CharacterCard, ...]]
    credited: Everyone[str]
    empty: Everyone[bool]
    sample: Everyone[tuple[CreditSample, ...]] = ()
    share: Crew[str] = ""
    share_of: Crew[str] = ""
    strip: Crew[FilmStrip | None] = None
    open: Crew[tuple[OpenRow, ...]] = ()
    stages: Crew[Table | None] = None
    quiet: Crew[str] = ""
    sequences: Crew[Table | None] = None
    omitted: Crew[str] = ""
    wrong: Office[str] = ""
    questions: Office[str] = ""


def _sequences(source: PageSource) -> Table:
    """Tell how much of each sequence is planned, kept, accepted and on screen, in shot frames."""
    ledger, results = source.ledger, source.results
    footage = results.footage if results.is_held else results.footage.summed_by("shot")
    sums = footage.by(lambda cell: ledger.shots[cell.shot].sequence)
    rows = []
    for code in ledger.sequences:
        lengths = [ledger.shots[shot].length for shot in shots_counted(ledger, code)]
        figures = footage_values(sums.get(code, NO_FOOTAGE), FIGURES)
        rows.append((sequence_link(source, code), len(lengths), sum(lengths), *figures))
    caption = "Footage by sequence, in shot frames"
    return without_cut(source, Table.of(caption, SEQUENCE_COLUMNS, rows, source.scale, "total"))


def _share(source: PageSource, far: HowFar) -> tuple[str, str]:
    """Return how many frames in a hundred are accepted, and of what; nothing without frames.

    It is rounded down: what is 100 % is whole.
    """
    frames = far.frames
    whole, accepted = sum(frames.values()), frames[FrameStand.ACCEPTED]
    if not whole:
        return "", ""
    tenths = floor(Fraction(100 * TENTH * accepted, whole))
    rate = source.scale.rate
    what = f"of the cut ({clock(far.length, rate)})" if far.of_cut else "of all shots as planned"
    said = f"{what} is accepted: {accepted:,} of {counted(whole, 'frame')}"
    # Titles and gaps are in the cut and show no shot.
    said += " that show shots" if whole < far.length else ""
    return f"{decimal_text(Fraction(tenths, TENTH), 1)} %", said


def _stretches(source: PageSource, far: HowFar) -> list[Stretch]:
    """Return the sequences along the film: in the cut, else as the shots are laid end to end."""
    if source.results.use is not None:

        def of(clip: CutClip) -> str:
            return sequence_of(source.ledger, clip)

        return stretches_by(source.results.use, of, far.length / strips.HAIRS)
    found, at = [], 1
    for code in source.ledger.sequences:
        own = source.ledger.shots_of.get(code, ())
        stop = at + sum(far.shots[shot].wanted.frames for shot in own if shot in far.shots)
        if stop > at:
            found.append((at, stop, code))
        at = stop
    return found


def _strip(source: PageSource, far: HowFar) -> FilmStrip | None:
    frames = far.frames
    if not sum(frames.values()):
        return None
    told = [(STANDS[stand][1], count) for stand, count in frames.items()]
    parts = [(first, stop, STANDS[stand][0]) for first, stop, stand in far.stretches]
    stretches, link_of = _stretches(source, far), partial(sequence_link, source)
    return FilmStrip(
        bands=tuple(bands.bands(stretches, far.length, link_of, bands.LEAST_LINKED)),
        parts=bands.parts_drawn(bands.said_of(told, "How far the film is"), parts, far.length),
        key=tuple(STANDS[stand] for stand, count in frames.items() if count),
    )


def _open(source: PageSource, far: HowFar) -> Iterator[OpenRow]:
    """Yield what is still open: shots by what they lack first, and unfinished repairs."""
    for lack, own in lacking(far).items():
        frames = sum(shot.lacking for shot in own)
        yield OpenRow(
            what=LACKS[lack],
            count=Link(counted(len(own), "shot"), shots_found(LACKS[lack])),
            more=counted(frames, "frame") if frames else "",
        )
    waiting = source.results.open_repairs
    if waiting:
        puppets = sorted({entry.puppet for entry in waiting if entry.puppet is not None})
        yield OpenRow(
            what="to repair",
            count=Link(counted(len(waiting), "repair"), links.HOSPITAL),
            more=", ".join(str(source.puppet(code)) for code in puppets),
        )


def _last_on_stages(source: PageSource) -> Mapping[str, tuple[date, list[Entry]]]:
    """Find of each stage the last day on which a shot was worked on there, and the entries.

    Only the last days with work on stages are looked at.
    """
    by_day, found = source.ledger.entries_by_day, dict[str, tuple[date, list[Entry]]]()
    weeks = sorted(filter(None, source.ledger.by_week), reverse=True)

    def staged() -> Iterator[tuple[date, dict[str, list[Entry]]]]:
        for day in chain.from_iterable(reversed(week_days(week)) for week in weeks):
            own = [entry for entry in by_day.get(day, ()) if entry.stage and entry.shot]
            if own:
                yield day, grouped(own, lambda entry: entry.stage or "")

    for day, by_stage in islice(staged(), DAYS_LOOKED_AT):
        for stage, entries in by_stage.items():
            found.setdefault(stage, (day, entries))
        if len(found) >= len(source.ledger.stages):
            break
    return found


def _stages(source: PageSource, last: Mapping[str, tuple[date, list[Entry]]]) -> Table:
    """Tell of each stage what was on it on its last day."""
    ledger, rows = source.ledger, []
    for code, stage in ledger.stages.items():
        if code not in last:
            continue
        day, entries = last[code]
        animated = [entry for entry in entries if ledger.is_footage(entry)]
        puppets = sorted({entry.puppet for entry in animated if entry.puppet is not None})
        rows.append(
            (
                code,
                stage.unit or "",
                tuple(map(source.shot, sorted({e.shot for e in entries if e.shot is not None}))),
                source.names(entry.person for entry in animated),
                tuple(map(source.puppet, puppets)),
                linked_day(day),
            )
        )
    caption = "What was on each stage on its last day"
    return Table.of(caption, STAGE_COLUMNS, rows).without_empty("unit", "puppets")


def _quiet(source: PageSource, last: Mapping[str, object]) -> str:
    """Name the stages on which nothing was done lately."""
    quiet = [code for code in source.ledger.stages if code not in last]
    return ", ".join(quiet) if last else ""


def _sample(source: PageSource) -> Iterator[CreditSample]:
    """Yield how the end credits begin."""
    left = CREDITS_SHOWN
    for section in source.results.credits.sections:
        lines = []
        for printed in section.printed[: max(left, 0)]:
            role = " / ".join(filter(None, role_of(printed)))
            line = printed[0]
            lines.append((role, Link(line.name, reasons_of(line.person) if line.person else None)))
        left -= len(lines)
        if lines:
            yield section.heading, section.layout in WITH_ROLES, tuple(lines)


def _home_page(source: PageSource) -> HomePage:
    ledger = source.ledger
    page = HomePage(
        film=ledger.production.title,
        sentence=ledger.production.sentence or SENTENCE,
        characters=character_cards(source),
        credited=counted(len(source.printed), "person", "people"),
        empty=not ledger.done and not ledger.people,
        sample=() if source.crew else tuple(_sample(source)),
    )
    return _of_crew(source, page) if source.crew else page


def _of_crew(source: PageSource, page: HomePage) -> HomePage:
    """Add what only those see who work on the film."""
    far = source.results.how_far
    wrong, questions = source.wrong_and_open if source.office else (0, 0)
    sequences, last = _sequences(source), _last_on_stages(source)
    omitted = len(source.ledger.shots) - sum(sequences.column("shots"))
    share, share_of = _share(source, far)
    return replace(
        page,
        share=share,
        share_of=share_of,
        strip=_strip(source, far),
        open=tuple(_open(source, far)),
        stages=_stages(source, last),
        quiet=_quiet(source, last),
        sequences=sequences,
        omitted=counted(omitted, "shot") if omitted else "",
        wrong=counted(wrong, "error") if wrong else "",
        questions=counted(questions, "question") if questions else "",
    )


def home_pages(source: PageSource) -> Iterator[Page]:
    """Make the one first page."""

    def share() -> object:
        return source.results.how_far if source.crew else None

    make = partial(_home_page, source)
    yield Page(links.HOME, "home.html", "Home", links.HOME, make, share=share)
