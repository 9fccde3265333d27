"""What the unit took again: by sequence, by week and by shot, with the reasons as logged."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import partial

from credits.editions import Office
from credits.model.words import counted
from credits.review.retakes import (
    Again,
    again_together,
    reasons_noted,
    shots_taken,
    taken_again,
    weeks_taken,
)
from credits.site import links
from credits.site.folded import Folded, folded
from credits.site.links import About, Link, Page
from credits.site.pages.shot import sequence_link
from credits.site.source import PageSource, grouped
from credits.units.rounding import decimal_text, half_up
from credits.units.table import Column, Table, Unit, columns

MOST_REASONS = 3
LONGEST_REASON = 160  # letters
FRAMES = (
    *columns(Unit.FRAMES, adds_up=True, frames="Frames shot", kept="Kept"),
    *columns(Unit.FRAMES, adds_up=True, nothing="", again="Shot again"),
)
SHARE = Column(key="share", heading="Re-shot", unit=Unit.PERCENT, places=1)
TAKES = (
    *columns(Unit.NUMBER, adds_up=True, takes="Takes"),
    *columns(Unit.NUMBER, adds_up=True, nothing="", retakes="Marked retake"),
)
OF_RETAKES = columns(Unit.FRAMES, adds_up=True, nothing="", of_retakes="Kept in retakes")
SEQUENCE_COLUMNS = (
    Column(key="sequence", heading="Sequence"),
    *columns(Unit.NUMBER, adds_up=True, shots="Shots", again_shots="Taken again"),
    *TAKES,
    *FRAMES,
    SHARE,
    *OF_RETAKES,
)
WEEK_COLUMNS = (
    Column(key="week", heading="Week", unit=Unit.CODE),
    *FRAMES,
    SHARE,
    *columns(Unit.NUMBER, adds_up=True, nothing="", retakes="Takes marked retake"),
)
SHOT_COLUMNS = (
    Column(key="shot", heading="Shot", unit=Unit.CODE),
    *TAKES,
    *FRAMES,
    *OF_RETAKES,
    Column(key="reasons", heading="Noted", unit=Unit.NOTE),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RetakesPage:
    """What the unit took again. again, share, retakes: of the whole unit, in words."""

    empty: Office[bool] = True
    again: Office[str] = ""
    share: Office[str] = ""
    retakes: Office[str] = ""
    of_retakes: Office[str] = ""
    shots: Office[str] = ""
    sequences: Office[Table | None] = None
    weeks: Office[Table | None] = None
    listed: Office[Folded | None] = None


def _frames(own: Again) -> tuple[object, ...]:
    return own.shot, own.kept, own.again or None


def _sequences(source: PageSource, shots: Mapping[str, Again], whole: Again) -> Table:
    by_sequence = grouped(shots, lambda shot: source.ledger.shots[shot].sequence)
    rows = []
    for code in source.ledger.sequences:
        if code not in by_sequence:
            continue
        own = {shot: shots[shot] for shot in by_sequence[code]}
        together = again_together(own.values())
        rows.append(
            (
                sequence_link(source, code),
                *(len(own), len(taken_again(own)), together.takes, together.retakes or None),
                *_frames(together),
                together.reshot_share,
                together.of_retakes or None,
            )
        )
    return Table(
        caption="Taken again by sequence",
        columns=SEQUENCE_COLUMNS,
        rows=tuple(rows),
        label="total",
        totals={"share": whole.reshot_share},
    )


def _weeks(source: PageSource, whole: Again) -> Table:
    rows = tuple(
        (
            links.week_link(own.week) if own.week is not None else Link("undated"),
            *(own.shot, own.kept, own.again or None),
            own.reshot_share,
            own.retakes or None,
        )
        for own in weeks_taken(source.ledger, source.results.footage)
    )
    return Table(
        caption="Taken again by week",
        columns=WEEK_COLUMNS,
        rows=rows,
        label="total",
        totals={"share": whole.reshot_share},
    )


def _reasons(source: PageSource, shot: str) -> str:
    """Write what was noted, each note once, the first few of them."""
    said = list(dict.fromkeys(reason.said for reason in reasons_noted(source.ledger, shot)))
    short = [s if len(s) <= LONGEST_REASON else f"{s[: LONGEST_REASON - 1]}…" for s in said]
    more = len(said) - MOST_REASONS
    shown = " / ".join(short[:MOST_REASONS])
    return f"{shown} / and {counted(more, 'note')} more" if more > 0 else shown


def _listed(source: PageSource, shots: Mapping[str, Again]) -> Folded:
    rows = (
        (
            source.shot(shot),
            *(own.takes, own.retakes or None),
            *_frames(own),
            own.of_retakes or None,
            _reasons(source, shot),
        )
        for shot, own in shots.items()
    )
    table = Table.of("Shots that were taken again", SHOT_COLUMNS, rows, label="total")
    return folded(source, table)


def _page(source: PageSource) -> RetakesPage:
    cells = source.results.footage.summed_by("shot", "take").cells
    every = shots_taken(source.ledger, cells)
    again, whole = taken_again(every), again_together(every.values())
    share = whole.reshot_share
    return RetakesPage(
        empty=not every,
        again=f"{half_up(whole.again):,}",
        share=f"{decimal_text(100 * share, 1)} %" if share is not None else "",
        retakes=counted(whole.retakes, "take"),
        of_retakes=f"{half_up(whole.of_retakes):,}",
        shots=f"{len(again):,} of {counted(len(every), 'shot')}",
        sequences=_sequences(source, every, whole) if every else None,
        weeks=_weeks(source, whole) if every else None,
        listed=_listed(source, again) if again else None,
    )


def retakes_pages(source: PageSource) -> Iterator[Page]:
    """Make the one page of what was taken again. For the office alone."""
    make, about = partial(_page, source), About("shots")
    yield Page(links.RETAKES, "retakes.html", "Retakes", links.FOOTAGE, make, about)
