"""A review as CSV, JSON and PDF."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from credits.billing.roll import one_line
from credits.footage.footage import MEASURES
from credits.formats.deliver.fonts import SERIF, Needed
from credits.formats.deliver.pdf import Typesetter
from credits.model.facts import Production
from credits.model.ledger import Ledger
from credits.names import direction
from credits.review.days import Figures, Wait
from credits.review.expectation import Expectation, ExpectationOutcome
from credits.review.review import Period, Review
from credits.review.shown import (
    TITLE,
    ShownExpectation,
    ShownReview,
    decimal_or_nothing,
    range_ends,
)
from credits.review.unit import Range
from credits.text import guarded
from credits.units.rounding import Exact, decimal_text
from credits.units.table import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewSheet:
    """A review ready to be set. data: how far the log goes. waits: with the puppets' names."""

    film: str
    name: str
    period: str
    data: str
    caution: str
    shown: ShownReview
    expectation: ShownExpectation | None
    waits: Table

    @property
    def tables(self) -> tuple[Table, ...]:
        """The tables that hold something, in the order in which they are set."""
        every = (*(table for _, table, _ in self.shown.tables), self.waits)
        return tuple(table for table in every if table)

    @property
    def texts(self) -> Iterator[Needed]:
        """Every text of the production's own that is set, with whose it is."""
        yield Needed(one_line(self.film), "the title")
        yield Needed(one_line(self.name), f"the name {one_line(self.name)}")
        for shot in self.shown.footage_by_shot.column("shot"):
            yield Needed(shot, f"the shot {shot}")
        for wait in self.waits.rows:
            yield Needed(" ".join(map(_words, wait)), "a wait for a repair")


COLUMNS = (
    "row", "from", "to", "week", "shot",
    *(f"{measure}_frames" for measure in MEASURES), "kept_character_frames", "kept_seconds",
    "minutes", "stage_days", "shoot_days", "block_days", "rehearsal_days", "pace", "poses",
    "reshot_percent", "characters_a_frame", "wait_minutes", "takes",
    "others_pace_low", "others_pace_high", "caution",
)  # fmt: skip
PLACES = 4


def _exact(value: Exact) -> str:
    """A divided figure in decimals: fine enough that a column still adds up to a whole frame."""
    return str(value) if isinstance(value, int) or value.denominator == 1 else _decimals(value)


def _decimals(value: Exact) -> str:
    return decimal_text(value, PLACES)


def _or_empty(value: Exact | None, times: int = 1) -> str:
    return "" if value is None else decimal_or_nothing(value, PLACES, times)


def _figures(figures: Figures, production: Production) -> tuple[str, ...]:
    frames = figures.totals.by_shot
    return (
        *(_exact(frames.of(measure)) for measure in MEASURES),
        _exact(figures.totals.character.kept),
        _decimals(frames.kept / production.rate.per_second),
        str(figures.minutes),
        str(figures.stage_days),
        str(figures.shoot_days),
        str(figures.block_days),
        str(figures.rehearsal_days),
        _or_empty(figures.pace(production.rate)),
        _exact(figures.poses),
        _or_empty(figures.reshot_share, 100),
        _or_empty(figures.characters_a_frame),
        str(figures.wait),
        str(len(figures.takes)),
    )


def _days(period: Period) -> tuple[str, str]:
    return (
        period.first.isoformat() if period.first is not None else "",
        period.last.isoformat() if period.last is not None else "",
    )


def _rows(review: Review, production: Production, caution: str) -> Iterator[tuple[str, ...]]:
    def of(figures: Figures) -> tuple[str, ...]:
        return _figures(figures, production)

    pace = review.ranges.get("pace")
    ends = tuple(map(_decimals, range_ends(pace))) if pace is not None else ("", "")
    yield ("total", *_days(review.period), "", "", *of(review.total), *ends, caution)
    for week in review.weeks:
        pace = week.ranges.get("pace")
        ends = tuple(map(_decimals, range_ends(pace))) if pace is not None else ("", "")
        name = week.week or "undated"
        yield ("week", "", "", name, "", *of(week.figures), *ends, "")
        for shot in week.shots:
            code = guarded(shot.shot or "")
            yield ("week and shot", "", "", name, code, *of(shot.figures), "", "", "")
    for shot in review.shots:
        yield ("shot", "", "", "", guarded(shot.shot or ""), *of(shot.figures), "", "", "")
    for own in review.earlier:
        yield ("earlier", *_days(own.period), "", "", *of(own.figures), "", "", "")


def review_csv(review: Review, production: Production, caution: str) -> bytes:
    """The review as CSV: UTF-8 with a byte-order mark, which spreadsheets need.

    ``row`` says what a row is: total, week, week and shot, shot, earlier. Weeks add up to the
    total, and so do the footage, poses, minutes and waits of the shots. Divided figures have four
    decimals; ``pace`` is in seconds a shoot day. The caution stands in the row of the total.
    """
    text = io.StringIO()
    writer = csv.writer(text, quoting=csv.QUOTE_NONNUMERIC)
    writer.writerow(COLUMNS)
    writer.writerows(_rows(review, production, caution))
    return text.getvalue().encode("utf-8-sig", "replace")


def _rounded(value: Exact | None, places: int = 2) -> float | None:
    return None if value is None else float(decimal_text(value, places))


def _exact_text(value: Exact | None) -> str | None:
    return None if value is None else str(value)


def figures_json(figures: Figures, ledger: Ledger) -> dict[str, object]:
    """The figures of a row."""
    rate = ledger.production.rate
    character, by_shot = figures.totals.character, figures.totals.by_shot
    pace = figures.pace(rate)
    return {
        "character_frames": {m: str(character.of(m)) for m in MEASURES},
        "shot_frames": {m: str(by_shot.of(m)) for m in MEASURES},
        "seconds": {m: _rounded(by_shot.of(m) / rate.per_second) for m in MEASURES},
        "minutes": figures.minutes,
        "stage_days": figures.stage_days,
        "shoot_days": figures.shoot_days,
        "block_days": figures.block_days,
        "rehearsal_days": figures.rehearsal_days,
        "pace": _exact_text(pace),
        "pace_rounded": _rounded(pace),
        "poses": str(figures.poses),
        "poses_rounded": _rounded(figures.poses),
        "reshot_share": _exact_text(figures.reshot_share),
        "reshot_share_rounded": _rounded(figures.reshot_share, 4),
        "characters_a_frame": _exact_text(figures.characters_a_frame),
        "characters_a_frame_rounded": _rounded(figures.characters_a_frame),
        "wait_minutes": figures.wait,
        "takes": [{"shot": shot, "take": take} for shot, take in _takes(figures, ledger)],
    }


def _takes(figures: Figures, ledger: Ledger) -> list[tuple[str, int]]:
    places = {shot: place for place, shot in enumerate(ledger.shots)}
    return sorted(figures.takes, key=lambda own: (places[own[0]], own[1]))


def _ranges(ranges: Mapping[str, Range]) -> dict[str, object]:
    """The others' ranges, each end rounded outward, and how many others have the figure."""
    found: dict[str, object] = {}
    for name, own in ranges.items():
        low, high = range_ends(own)
        found[name] = {"low": float(low), "high": float(high), "others": own.others}
    return found


def _period(period: Period) -> dict[str, object]:
    return {
        "from": period.first.isoformat() if period.first is not None else None,
        "to": period.last.isoformat() if period.last is not None else None,
    }


def _wait(wait: Wait) -> dict[str, object]:
    return {
        "entry": str(wait.entry),
        "date": wait.day.isoformat() if wait.day is not None else None,
        "shot": wait.shot,
        "puppet": wait.puppet,
        "part": wait.part,
        "minutes": wait.minutes,
    }


def _expectation(found: Expectation) -> dict[str, object] | None:
    if found.outcome is ExpectationOutcome.OFF:
        return None
    said: dict[str, object] = {"model": True, "outcome": str(found.outcome)}
    if found.outcome is not ExpectationOutcome.GIVEN:
        return said
    return {
        **said,
        "level": 0.9,
        "pace": round(found.pace, 4),
        "low": round(found.low, 4),
        "high": round(found.high, 4),
        "own_pace": round(found.own_pace, 4),
        "own_days": round(found.own_days, 2),
        "factors": [
            {
                "of": str(each.regressor),
                "factor": round(each.factor, 4),
                "low": round(each.low, 4),
                "high": round(each.high, 4),
            }
            for each in found.effects
        ],
        "unused": [str(each) for each in found.unused],
        "beyond": [str(each) for each in found.beyond],
        "explained": round(found.explained, 4),
        "days": round(found.days, 2),
        "pieces": found.pieces,
        "others": found.others,
    }


def review_json(
    review: Review, ledger: Ledger, expectation: Expectation, caution: str
) -> dict[str, object]:
    """The review of one person, and nobody else's figures, ready to be written as JSON."""
    return {
        "person": review.person,
        "name": ledger.people[review.person].credit_name,
        **_period(review.period),
        "cut": ledger.cut.version if ledger.cut is not None else None,
        **figures_json(review.total, ledger),
        "others": review.others,
        "ranges": _ranges(review.ranges),
        "weeks": [
            {
                "week": row.week,
                **figures_json(row.figures, ledger),
                "ranges": _ranges(row.ranges),
                "shots": [
                    {"shot": own.shot, **figures_json(own.figures, ledger)} for own in row.shots
                ],
            }
            for row in review.weeks
        ],
        "shots": [{"shot": own.shot, **figures_json(own.figures, ledger)} for own in review.shots],
        "waits": [_wait(wait) for wait in review.waits],
        "earlier": [
            {**_period(own.period), **figures_json(own.figures, ledger)} for own in review.earlier
        ],
        "expectation": _expectation(expectation),
        "caution": caution,
    }


FIGURES = "The figures"
FIGURE_HEADS = ("Figure", "This review", "The others, same weeks")
_OWN_LETTERS = "0123456789 ,.%×–/·+ Review"


def _text(text: str) -> dict[str, object]:
    shown = one_line(text)
    return {"text": shown, "direction": direction(shown)}


def _words(value: object) -> str:
    return ", ".join(map(str, value)) if isinstance(value, tuple) else str(value or "")


def _set(
    caption: str,
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    words: list[bool],
    total: bool,
) -> dict[str, object]:
    """A table for the typesetter. words: which columns hold words; total: the last row is one."""
    return {
        "caption": caption,
        "heads": list(heads),
        "rows": [[_text(cell) for cell in row] for row in rows],
        "words": list(words),
        "total": total,
    }


def _table(table: Table) -> dict[str, object]:
    done = table.printed()
    rows = [[_words(cell.text) for cell in row] for row in (*done.rows, done.total) if row]
    heads = [column.heading[:1].upper() + column.heading[1:] for column in done.columns]
    words = [not column.is_number for column in done.columns]
    return _set(done.caption, heads, rows, words, bool(done.total))


def _data(sheet: ReviewSheet) -> dict[str, object]:
    expectation = sheet.expectation
    figures = [
        (f.name, f"{f.value} ({f.detail})" if f.detail else f.value, f.others)
        for f in sheet.shown.figures
    ]
    effects = expectation.effects if expectation is not None else None
    return {
        "document": f"{one_line(sheet.film)}: review of {one_line(sheet.name)}",
        "film": _text(sheet.film),
        "name": _text(sheet.name),
        "period": f"{sheet.period}. {sheet.shown.takes}.",
        "data": sheet.data,
        "caution": sheet.caution,
        "others": sheet.shown.others,
        "figures": _set(FIGURES, FIGURE_HEADS, figures, [True, False, False], False),
        "model": {
            "title": TITLE,
            "said": list(expectation.said) if expectation is not None else [],
            "effects": _table(effects) if effects is not None else None,
        },
        "tables": [_table(table) for table in sheet.tables],
    }


def review_pdf(sheet: ReviewSheet, folders: Sequence[Path]) -> bytes:
    """The review as PDF: same sheet and fonts, same bytes.

    ``folders``: where fonts are. Raises LettersMissing for letters that none of them has.
    """
    own = (sheet.caution, sheet.shown.others, sheet.data, sheet.period, _OWN_LETTERS)
    texts = [*(Needed(text, "the page itself") for text in own), *sheet.texts]
    return Typesetter.for_texts(folders, texts, SERIF).pdf("review.typ", _data(sheet))
