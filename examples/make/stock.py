"""The parts of the puppets, and which part was on which puppet from when to when."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta

from .cast import CHARACTERS, RETIRED, Character, puppets_of
from .tables import Row

OPEN = date.max


@dataclass(slots=True)
class Fitting:
    """A part on a puppet; `to_on` is date.max while it is still on."""

    part: str
    puppet: str
    from_on: date
    to_on: date = OPEN

    def row(self) -> Row:
        """The fitting as cells of its table."""
        return {
            "part": self.part,
            "puppet": self.puppet,
            "from_on": self.from_on.isoformat(),
            "to_on": "" if self.to_on == OPEN else self.to_on.isoformat(),
        }


@dataclass(slots=True)
class Stock:
    """Every fitting there was; a part is on one puppet at a time."""

    fittings: list[Fitting] = field(default_factory=list)

    def where(self, part: str) -> Fitting | None:
        """The fitting that a part is in now, None when it lies in its box."""
        now = [f for f in self.fittings if f.part == part and f.to_on == OPEN]
        return now[0] if now else None

    def fit(self, part: str, puppet: str, day: date) -> None:
        """Put a part on a puppet on a day, taking it off the one it was on the day before."""
        self.take_off(part, day - timedelta(days=1))
        self.fittings.append(Fitting(part, puppet, day))

    def take_off(self, part: str, day: date) -> None:
        """Take a part off; the day is the last one on which it was on."""
        before = self.where(part)
        if before is not None:
            if day < before.from_on:
                raise ValueError(f"{part} would come off {before.puppet} before it went on")
            before.to_on = day


def kits_of(character: Character) -> list[str]:
    """The codes of a character's face kits."""
    return [f"{character.code}-kit-{letter}" for letter in character.kits]


def hands_of(character: Character) -> list[str]:
    """The codes of a character's pairs of hands."""
    return [f"{character.code}-hands-{'abcdef'[n]}" for n in range(character.hands)]


def _part(part: str, kind: str, character: str, note: str = "") -> Row:
    return {"part": part, "kind": kind, "character": character, "note": note}


def _parts_of(c: Character) -> Iterator[Row]:
    for n, _ in enumerate(puppets_of(c.code), 1):
        yield _part(f"{c.code}-armature-{n}", "armature", c.code)
    for n, _ in enumerate(puppets_of(c.code), 1):
        if c.costume:
            yield _part(f"{c.code}-{c.costume}-{n}", "costume", c.code)
    for hands in hands_of(c):
        yield _part(hands, "hands", c.code)
    for letter, kit in zip(c.kits, kits_of(c), strict=True):
        yield _part(kit, "face kit", c.code, f"Box of {c.faces} faces and two pairs of lids.")
        for n in range(1, c.faces + 1):
            yield _part(f"{c.code}-{letter}-{n:02}", "face", c.code)
        yield _part(f"{c.code}-{letter}-lid-1", "eyelids", c.code, "half shut")
        yield _part(f"{c.code}-{letter}-lid-2", "eyelids", c.code, "shut")


SPECIAL: tuple[Row, ...] = (
    _part("tibb-fork", "prop", "tibb", "The A. Brass, 38 mm. *Rings at no known A.*"),
    _part("echo-trumpet", "prop", "echo", "The horn of the funicular, by then. See 050-060."),
    _part("echo-head-wide", "head", "echo", "With the mouth that can say **oh**."),
    _part("yost-head-yodel", "head", "yost", "Jaw goes to the collar bone and means it."),
    _part("piano-lid", "head", "piano", "The acting lid. Four hinges, one squeak, kept."),
)


def part_rows() -> list[Row]:
    """The parts table."""
    return [row for c in CHARACTERS for row in _parts_of(c)] + list(SPECIAL)


def first_fittings(stock: Stock, ready: dict[str, date]) -> None:
    """What each copy leaves the workshop with: armature, costume, and a kit while they last."""
    for c in CHARACTERS:
        copies = puppets_of(c.code)
        for n, puppet in enumerate(copies, 1):
            stock.fit(f"{c.code}-armature-{n}", puppet, ready[f"{c.code}-armature-{n}"])
            if c.costume:
                stock.fit(f"{c.code}-{c.costume}-{n}", puppet, ready[puppet])
        for part, puppet in (
            *zip(kits_of(c), copies, strict=False),
            *zip(hands_of(c), copies, strict=False),
        ):
            stock.fit(part, puppet, max(ready[part], ready[puppet]))


def later_fittings(stock: Stock) -> None:
    """The moves between puppets that are not face kits: hands, heads, a rescued armature."""
    for fitting in stock.fittings:
        if fitting.to_on > RETIRED.get(fitting.puppet, OPEN):
            fitting.to_on = RETIRED[fitting.puppet]
    for part, puppet, day in (
        ("tibb-hands-b", "tibb-5", date(2026, 2, 16)),
        ("tibb-hands-b", "tibb-2", date(2026, 3, 9)),
        ("fugg-hands-b", "fugg-3", date(2026, 3, 23)),
        ("crank-hands-a", "crank-3", date(2026, 2, 23)),
        ("tibb-fork", "tibb-1", date(2026, 1, 12)),
        ("tibb-fork", "tibb-4", date(2026, 2, 9)),
        ("tibb-fork", "tibb-2", date(2026, 3, 16)),
        ("echo-trumpet", "echo-1", date(2026, 3, 2)),
        ("echo-trumpet", "echo-2", date(2026, 3, 30)),
        ("echo-head-wide", "echo-3", date(2026, 2, 16)),
        ("yost-head-yodel", "yost-1", date(2026, 1, 12)),
        ("yost-head-yodel", "yost-2", date(2026, 3, 9)),
        ("piano-lid", "piano-2", date(2026, 1, 12)),
    ):
        stock.fit(part, puppet, day)
    stock.take_off("echo-head-wide", date(2026, 4, 1))
    stock.take_off("fugg-armature-3", date(2026, 3, 24))
    stock.fit("fugg-armature-2", "fugg-3", date(2026, 3, 25))
    stock.take_off("tibb-coat-5", date(2026, 4, 6))
    stock.fit("tibb-coat-3", "tibb-5", date(2026, 4, 7))
    stock.fit("tibb-hands-c", "tibb-4", date(2026, 4, 7))
