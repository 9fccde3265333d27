"""The questions the log leaves open: slips as they happen, planted on purpose."""

from __future__ import annotations

from datetime import date

from .story import BY_CODE
from .tables import Entry

PUPPET_TWICE_FROM = date(2026, 3, 2)
BEYOND = ("020-110", "fugg")
DAY_LOST = "030-060"
UNNAMED = ("010-030", "prim")
LONG_DAY = "060-110"


def plant(entries: list[Entry]) -> None:
    """Change the shoot's entries in place into what the stages really wrote down."""
    _one_copy_on_two_stages(entries)
    _too_many_frames(entries)
    _a_sheet_gone_missing(entries)
    _which_copy(entries)
    _a_day_without_end(entries)


def _animation(entries: list[Entry], shot: str, character: str = "") -> list[Entry]:
    return [
        e
        for e in entries
        if e.craft == "animation" and e.shot == shot and character in ("", e.character)
    ]


def _one_copy_on_two_stages(entries: list[Entry]) -> None:
    """On a day when Tibb is on three stages, the third writes down the first one's copy."""
    days: dict[date, dict[str, str]] = {}
    for e in entries:
        if e.craft == "animation" and e.character == "tibb" and e.finished_on:
            days.setdefault(e.finished_on, {})[e.stage] = e.puppet
    day = min(d for d, on in days.items() if d >= PUPPET_TWICE_FROM and len(on) == 3)
    stages = sorted(days[day])
    for e in entries:
        if e.finished_on == day and e.stage == stages[2] and e.character == "tibb" and e.puppet:
            e.puppet = days[day][stages[0]]
            e.note = "Copy number from the stand, not from the foot. *Look at the foot.*"


def _too_many_frames(entries: list[Entry]) -> None:
    """The animator shot a longer handle than the shot's length in the list."""
    entry = max(_animation(entries, *BEYOND), key=lambda e: e.last)
    entry.last = BY_CODE[BEYOND[0]].frames + 4
    entry.note = "Four more on the tail, the moustache had not *landed*."


def _a_sheet_gone_missing(entries: list[Entry]) -> None:
    """The animator's line of one day was never handed in."""
    days = sorted({e.finished_on for e in _animation(entries, DAY_LOST) if e.finished_on})
    for e in _animation(entries, DAY_LOST):
        if e.finished_on == days[1]:
            entries.remove(e)


def _which_copy(entries: list[Entry]) -> None:
    for e in _animation(entries, *UNNAMED):
        e.puppet = ""
    first = min(_animation(entries, *UNNAMED), key=lambda e: e.finished_on or date.min)
    first.note = "They are twins *twice over*, nobody can tell. Copy to follow."


def _a_day_without_end(entries: list[Entry]) -> None:
    """1,015 minutes: a slip of the pen for 10 h 15, or somebody has to be sent home."""
    last = max(_animation(entries, LONG_DAY), key=lambda e: (e.finished_on or date.min, e.last))
    others = [
        e
        for e in entries
        if e is not last and e.person == last.person and e.finished_on == last.finished_on
    ]
    last.minutes = 1015 - sum(e.minutes for e in others)
    last.note = "Stayed until the snail was home."


def from_the_bench() -> list[Entry]:
    """A repair after the last day of an engagement."""
    note = "Came in for her mug and did the knee. **Is she on the list for April?**"
    late = Entry("repair", "sunniva", puppet="tibb-2", finished_on=date(2026, 4, 1), minutes=40)
    late.note = note
    return [late]


def from_the_workshop() -> list[Entry]:
    """Two days by somebody who has no engagement."""
    entries = []
    for day, note in (
        (22, "Pip, on a visit from the college, did all the knots. They are *good knots*."),
        (23, ""),
    ):
        entry = Entry("fabrication", "pip", puppet="prim-2", finished_on=date(2025, 9, day))
        entry.minutes, entry.note = 240, note
        entries.append(entry)
    return entries
