"""What is still to shoot, by sequence, character and stage, and how long that would take."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from credits.editions import Crew
from credits.footage.footage import WEEK
from credits.footage.remaining import (
    ShotRemaining,
    WantedFrames,
    characters_or_none,
    shots_remaining,
    to_shoot_by,
    wanted_frames,
    wanted_together,
)
from credits.model.words import counted
from credits.review.projection import (
    LEAST_PEOPLE,
    Span,
    UnitPace,
    UnitWeek,
    people_in,
    projection,
    target_of,
    unit_pace,
    unit_weeks,
)
from credits.site import links
from credits.site.charts import Chart, week_chart
from credits.site.folded import Folded, folded
from credits.site.links import About, Page
from credits.site.pages.shot import sequence_link
from credits.site.source import Amount, PageSource, grouped
from credits.units.film_time import iso_week
from credits.units.rounding import Exact, decimal_text, half_up
from credits.units.table import Column, Table, Unit, columns

NO_CHARACTER = "no character logged yet"
NO_STAGE = "on no stage yet"
MOST_LISTED = 300
"""Shots: a longer list is left to the page of all shots."""
SEQUENCE_COLUMNS = (
    Column(key="sequence", heading="Sequence"),
    *columns(Unit.FRAMES, adds_up=True, nothing="", wanted="Frames wanted"),
    *columns(Unit.FRAMES, adds_up=True, nothing="", accepted="Accepted"),
    *columns(Unit.FRAMES, adds_up=True, nothing="", open="Kept, not decided"),
    *columns(Unit.FRAMES, adds_up=True, nothing="", unlogged="Finished, not logged"),
    *columns(Unit.FRAMES, adds_up=True, nothing="", again="To shoot again", unshot="Not shot yet"),
    *columns(Unit.FRAMES, adds_up=True, nothing="", to_shoot="Still to shoot"),
    Column(key="shots", heading="Shots", unit=Unit.NUMBER, adds_up=True, nothing=""),
)
FIGURES = (
    Column(key="frames", heading="Still to shoot", unit=Unit.FRAMES),
    Column(key="seconds", heading="Seconds", unit=Unit.SECONDS, places=1),
    Column(key="shots", heading="Shots", unit=Unit.NUMBER),
)
SHOT_COLUMNS = (
    Column(key="shot", heading="Shot", unit=Unit.CODE),
    *columns(characters="Characters", stage="Stage"),
    *columns(Unit.FRAMES, adds_up=True, nothing="", again="To shoot again", unshot="Not shot yet"),
    Column(key="to_shoot", heading="Still to shoot", unit=Unit.FRAMES, adds_up=True),
)
WEEK_COLUMNS = (
    Column(key="week", heading="Week", unit=Unit.CODE),
    Column(key="days", heading="Shoot days", unit=Unit.NUMBER, adds_up=True),
    *columns(Unit.FRAMES, adds_up=True, kept="Frames kept", accepted="Accepted"),
    Column(key="pace", heading="Kept a shoot day", unit=Unit.DECIMAL, places=1),
    Column(key="target", heading="Target", unit=Unit.FRAMES, nothing=""),
    Column(key="over", heading="Over or under it", unit=Unit.TEXT),
)
MINUS = "\N{MINUS SIGN}"


@dataclass(frozen=True, slots=True, kw_only=True)
class AheadPage:
    """What is ahead of the unit.

    wanted: what is counted, in a sentence. said: the pace of the last weeks and what follows from
    it; where there is none, why. target: what follows from the last target.
    """

    wanted: Crew[str] = ""
    empty: Crew[bool] = False
    to_shoot: Crew[Amount | None] = None
    shots: Crew[str] = ""
    again: Crew[str] = ""
    open: Crew[str] = ""
    accepted: Crew[str] = ""
    unlogged: Crew[str] = ""
    said: Crew[tuple[str, ...]] = ()
    target: Crew[str] = ""
    sequences: Crew[Table | None] = None
    characters: Crew[Table | None] = None
    several: Crew[bool] = False
    stages: Crew[Table | None] = None
    bars: Crew[Chart | None] = None
    weeks: Crew[Table | None] = None
    listed: Crew[Folded | None] = None


def _figures(wanted: WantedFrames) -> tuple[int | None, ...]:
    """Return the figures of a row; None for no frames."""
    figures = (
        *(wanted.frames, wanted.accepted, wanted.open, wanted.unlogged),
        *(wanted.again, wanted.unshot, wanted.to_shoot),
    )
    return tuple(frames or None for frames in figures)


def _sequences(source: PageSource, shots: Sequence[ShotRemaining]) -> Table:
    by_sequence = grouped(shots, lambda shot: shot.sequence)
    rows = []
    for code in source.ledger.sequences:
        if own := by_sequence.get(code):
            together = wanted_together(shot.wanted for shot in own)
            count = sum(shot.wanted.to_shoot > 0 for shot in own)
            rows.append((sequence_link(source, code), *_figures(together), count or None))
    table = Table.of("What is still to shoot by sequence", SEQUENCE_COLUMNS, rows, label="total")
    return table.without_empty("open", "unlogged", "again")


def _table(
    source: PageSource, caption: str, heading: str, rows: list[Any], total: tuple[int, int]
) -> Table:
    """Return what is still to shoot by something; total: frames and shots, each once."""
    first = Column(key="what", heading=heading)
    values = ((name, own.frames, own.frames, own.shots) for name, own in rows)
    totals = {"frames": total[0], "seconds": total[0], "shots": total[1]}
    table = Table.of(caption, (first, *FIGURES), values, source.scale, "total")
    return Table(
        caption=caption,
        columns=table.columns,
        rows=table.rows,
        scale=table.scale,
        label="total, each frame once",
        totals=totals,
    )


def _listed(source: PageSource, shots: Sequence[ShotRemaining]) -> Folded | None:
    left = [shot for shot in shots if shot.wanted.to_shoot]
    if not 0 < len(left) <= MOST_LISTED:
        return None
    rows = (
        (
            source.shot(shot.shot),
            source.characters(shot.characters),
            shot.stage,
            *_figures(shot.wanted)[4:],
        )
        for shot in left
    )
    table = Table.of("Shots with frames to shoot", SHOT_COLUMNS, rows, label="total")
    return folded(source, table.without_empty("again"))


def _over(kept: Exact, target: int | None, is_going_on: bool) -> str:
    """Write by how much a week is over its target: ``+12``, or under it, in whole frames.

    is_going_on: it is the last week of the log, and may have days to come.
    """
    if target is None:
        return ""
    apart = half_up(kept) - target
    if is_going_on and apart < 0:
        return f"{-apart:,} to go"
    return f"+{apart:,}" if apart > 0 else f"{MINUS}{-apart:,}" if apart else "on it"


def _weeks(source: PageSource, weeks: Sequence[UnitWeek]) -> Table:
    targets = source.ledger.production.targets
    rows = []
    for own in weeks:
        target = target_of(own.week, targets)
        name = links.week_link(own.week)
        over = _over(own.kept, target, own is weeks[-1])
        rows.append((name, own.days, own.kept, own.accepted, own.pace, target, over))
    table = Table.of("Weeks with shooting", WEEK_COLUMNS, rows, label="total")
    return table if targets else table.without("target", "over")


def _spanned(span: Span, one: str) -> str:
    """Write ``14 shoot days (11 to 19)``; without an end where the slowest week kept nothing."""
    said = counted(span.expected, one)
    if span.most is None:
        return f"{said} (at least {span.least:,}; in the slowest of these weeks nothing was kept)"
    return said if span.least == span.most else f"{said} ({span.least:,} to {span.most:,})"


def _projected(frames: int, pace: UnitPace) -> tuple[str, ...]:
    """Tell the pace of the last weeks, and what follows from it for so many frames."""
    first, last = pace.weeks[0].week, pace.weeks[-1].week
    a_day = decimal_text(pace.pace, 1)
    if len(pace.weeks) == 1:
        at = f"At the pace of the only week with shooting ({first})"
        ranged = "One week says little: there is no range yet."
    else:
        at = f"At the pace of the last {len(pace.weeks)} weeks with shooting ({first} to {last})"
        low, high = decimal_text(pace.low, 1), decimal_text(pace.high, 1)
        ranged = f"The slowest of these weeks kept {low} frames a shoot day, the quickest {high}."
    found = projection(frames, pace)
    days, weeks = _spanned(found.days, "shoot day"), _spanned(found.weeks, "week")
    each = decimal_text(pace.days_a_week, 1).removesuffix(".0")
    return (
        f"{counted(frames, 'frame')} still to shoot. {at}, {a_day} frames kept a shoot day, they"
        f" would take {days}: {weeks} of {each} shoot days.",
        f"{ranged} A projection of what follows if the unit goes on as it did, never a promise."
        " Retakes that are still to come are not in it.",
    )


def _said(source: PageSource, weeks: Sequence[UnitWeek], frames: int) -> tuple[str, ...]:
    """Tell how long it would take, or why nobody can say."""
    if not frames:
        return ()
    pace, left = unit_pace(weeks), counted(frames, "frame")
    if pace is None:
        why = "nothing that was shot lately is kept" if weeks else "nothing with a day is shot yet"
        return (f"{left} still to shoot. How long that takes cannot be projected: {why}.",)
    if not source.office and people_in(source.results.footage, pace.weeks) < LEAST_PEOPLE:
        return (
            f"{left} still to shoot. How long that takes is not shown here: fewer than"
            f" {LEAST_PEOPLE} people animated in the last weeks, and their pace would be somebody’s"
            " own.",
        )
    return _projected(frames, pace)


def _at_target(source: PageSource, frames: int) -> str:
    """Tell how long it would take at the last target; empty where there is none."""
    targets = source.ledger.production.targets
    if not targets or not frames:
        return ""
    target = targets[-1].frames
    at_target = counted(-(-frames // target), "week")
    return f"At the target of {counted(target, 'frame')} a week it would take {at_target}."


def _wanted_text(source: PageSource) -> str:
    cut = source.ledger.cut
    if cut is None:
        return "There is no cut yet, so the film wants all frames of every shot that is not omitted"
    return f"The film wants the frames that cut version {cut.version} uses, each once"


def _page(source: PageSource) -> AheadPage:
    results, ledger = source.results, source.ledger
    wanted = wanted_frames(ledger, results.use, results.takes if results.use is None else {})
    shots = shots_remaining(ledger, wanted, results.kept_of(wanted))
    together = wanted_together(shot.wanted for shot in shots)
    left = [shot for shot in shots if shot.wanted.to_shoot]
    total = (together.to_shoot, len(left))
    by_character = to_shoot_by(left, characters_or_none)
    by_stage = to_shoot_by(left, lambda shot: (shot.stage,))
    characters = [
        (source.character(code) if code is not None else NO_CHARACTER, by_character[code])
        for code in (*ledger.characters, None)
        if code in by_character
    ]
    stages = [
        (code if code is not None else NO_STAGE, by_stage[code])
        for code in (*ledger.stages, None)
        if code in by_stage
    ]
    weeks = unit_weeks(results.footage)
    targets = ledger.production.targets
    footage = results.footage.summed_by(WEEK)
    by_week = footage.by(lambda cell: iso_week(cell.day) if cell.day is not None else None)
    caption = "What is still to shoot by"
    return AheadPage(
        wanted=_wanted_text(source),
        empty=not shots,
        to_shoot=source.amount(together.to_shoot) if shots else None,
        shots=counted(len(left), "shot"),
        again=f"{together.again:,}" if together.again else "",
        open=f"{together.open:,}",
        accepted=f"{together.accepted:,}",
        unlogged=counted(together.unlogged, "frame") if together.unlogged else "",
        said=_said(source, weeks, together.to_shoot),
        target=_at_target(source, together.to_shoot),
        sequences=_sequences(source, shots) if shots else None,
        characters=_table(source, f"{caption} character", "Character", characters, total)
        if characters
        else None,
        several=sum(own.frames for own in by_character.values()) > together.to_shoot,
        stages=_table(source, f"{caption} stage", "Stage", stages, total) if stages else None,
        bars=week_chart("Frames kept by week", by_week, targets, again=False),
        weeks=_weeks(source, weeks) if weeks else None,
        listed=_listed(source, shots),
    )


def ahead_pages(source: PageSource) -> Iterator[Page]:
    """Make the one page of what is still to shoot. For the crew and the office."""
    make = partial(_page, source)
    yield Page(links.AHEAD, "ahead.html", "Ahead", links.AHEAD, make, About("shots"))
