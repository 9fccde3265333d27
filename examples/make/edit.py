"""The editors' cut and the takes it chooses from."""

from __future__ import annotations

from datetime import date

from .chance import Chance, next_workday
from .plan import RETAKEN, TWO_TAKES_USED
from .schedule import Booked
from .story import BY_CODE, SHOTS, status
from .tables import Row

MOVED = {
    "020-070": "020-050",
    "030-050": "030-070",
    "040-130": "040-090",
    "050-130": "050-110",
    "010-020": "010-030",
}
"""Shots that the cut has after another shot than the one they follow in number."""
REPRISE = ("010-040", 58, 97, "060-050")
"""Uncle Jorlo's first yodel, frames 58 to 97, remembered after 060-050."""
HALF_SPEED = "050-090"


def take_rows(booked: list[Booked]) -> list[Row]:
    """The takes table: what was decided at the viewing on the next working day."""
    last: dict[tuple[str, int], tuple[date, str]] = {}
    for b in booked:
        last[b.shot.code, b.day.take] = (b.on, b.day.purpose)
    highest = {code: max(take for shot, take in last if shot == code) for code, _ in last}
    rows: list[Row] = []
    for (code, take), (day, purpose) in sorted(last.items()):
        decision = "accepted"
        if purpose == "shoot" and code in RETAKEN and take < highest[code]:
            decision = "retake"
        if purpose == "shoot" and status(code) != "done":
            decision = "open"
        decided = "" if decision == "open" else next_workday(day).isoformat()
        row = {"shot": code, "take": str(take), "purpose": purpose, "decision": decision}
        rows.append({**row, "decided_on": decided})
    return rows


def _film_order() -> list[str]:
    order = [s.code for s in SHOTS if status(s.code) == "done"]
    for code, after in MOVED.items():
        order.remove(code)
        order.insert(order.index(after) + 1, code)
    return order


def _clip(code: str, first: int, last: int, take: int = 0, speed: str = "") -> Row:
    row = {"shot": code, "first": str(first), "last": str(last), "speed": speed}
    return {**row, "take": str(take) if take else ""}


def cut_rows(takes: list[Row]) -> list[Row]:
    """The cut in film order: handles trimmed, one shot slowed, one from two takes, one reprise."""
    used = {row["shot"]: int(row["take"]) for row in takes if row["purpose"] == "shoot"}
    rows: list[Row] = []
    for code in _film_order():
        chance = Chance("cut", code)
        frames = BY_CODE[code].frames
        first, last = chance.between(4, 8), frames - chance.between(3, 7)
        if code == TWO_TAKES_USED:
            joint = frames // 2 - 4
            rows.append(_clip(code, first, joint, used[code] - 1))
            rows.append(_clip(code, joint + 1, last, used[code]))
        elif code == HALF_SPEED:
            rows.append(_clip(code, first, last - 20, speed="1/2"))
        else:
            take = used[code] if chance.happens(20) else 0
            rows.append(_clip(code, first, last, take))
        if code == REPRISE[3]:
            rows.append(_clip(REPRISE[0], REPRISE[1], REPRISE[2]))
    return rows


def screen_frames(cut: list[Row]) -> int:
    """The length of the cut in frames as shown."""
    length = 0
    for row in cut:
        shown = int(row["last"]) - int(row["first"]) + 1
        length += shown * 2 if row["speed"] == "1/2" else shown
    return length
