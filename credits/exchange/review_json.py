"""A review as JSON: exact figures as texts such as "32/3" beside rounded numbers."""

from __future__ import annotations

from collections.abc import Mapping

from credits.compute.expectation import Expectation, Outcome
from credits.compute.review import Period, Review
from credits.compute.review_figures import Figures
from credits.compute.review_ranges import Range
from credits.compute.review_waits import Wait
from credits.compute.review_words import range_ends
from credits.footage.claims import Exact
from credits.footage.footage import MEASURES
from credits.model.ledger import Ledger
from credits.units.rounding import decimal_text


def _rounded(value: Exact | None, places: int = 2) -> float | None:
    return None if value is None else float(decimal_text(value, places))


def _exact(value: Exact | None) -> str | None:
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
        "pace": _exact(pace),
        "pace_rounded": _rounded(pace),
        "poses": str(figures.poses),
        "poses_rounded": _rounded(figures.poses),
        "reshot_share": _exact(figures.reshot_share),
        "reshot_share_rounded": _rounded(figures.reshot_share, 4),
        "characters_a_frame": _exact(figures.characters_a_frame),
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
    if found.outcome is Outcome.OFF:
        return None
    said: dict[str, object] = {"model": True, "outcome": str(found.outcome)}
    if found.outcome is not Outcome.GIVEN:
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
