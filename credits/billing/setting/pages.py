"""The rows of the credits on pages: where one ends, and what the next repeats."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from credits.billing.credits import Section
from credits.billing.setting.rows import LineKind, SetCredits, SetRow, SetSection, lines_of

KEPT_TOGETHER = 16  # lines of a section that no page break parts
ABOVE_A_CARD, BELOW_A_CARD = 2, 1  # lines: its number and a little room in its frame


@dataclass(frozen=True, slots=True)
class PlacedRow:
    """A row on a page. ``top``: how many lines stand above it.

    ``begins``: the section whose heading begins with this row; ``again``: a heading repeated.
    """

    top: int
    row: SetRow
    begins: Section | None = None
    again: bool = False


@dataclass(frozen=True, slots=True)
class CardFrame:
    """The frame of a card on a page, and how many lines it is high with its number."""

    top: int
    lines: int
    number: int


@dataclass(slots=True)
class ProofPage:
    """One page, from above."""

    rows: list[PlacedRow] = field(default_factory=list)
    frames: list[CardFrame] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Unit:
    """Rows between which no page ends."""

    rows: tuple[SetRow, ...]

    @property
    def lines(self) -> int:
        return lines_of(self.rows)


def _units(rows: Sequence[SetRow], most: int) -> Iterator[_Unit]:
    """Part rows where a page may end; what is higher than a page is parted row by row."""
    held: list[SetRow] = []
    for row in rows:
        held.append(row)
        if not row.keep:
            yield from _whole_or_rows(held, most)
            held = []
    if held:
        yield from _whole_or_rows(held, most)


def _whole_or_rows(rows: list[SetRow], most: int) -> Iterator[_Unit]:
    if lines_of(rows) <= most:
        yield _Unit(tuple(rows))
    else:
        yield from (_Unit((row,)) for row in rows)


def _under_its_role(unit: _Unit) -> _Unit:
    """Repeat the role of the first row, where it stands on an earlier page."""
    first, *rest = unit.rows
    if not first.role:
        return unit
    *above, last = first.role
    alone = [replace(first, pieces=(piece,), role=(), keep=True) for piece in above]
    return _Unit((*alone, replace(first, pieces=(last, *first.pieces), role=()), *rest))


class _Pager:
    def __init__(self, first: int, most: int) -> None:
        self._room, self._most = first, most
        self.pages = [ProofPage()]
        self._at = 0

    def turn(self) -> None:
        """Begin a page."""
        self.pages.append(ProofPage())
        self._room, self._at = self._most, 0

    def fits(self, lines: int) -> bool:
        """Whether so many lines have room on this page, or would have no more on the next."""
        nothing_above = self._at == 0 and self._room >= self._most
        return nothing_above or self._at + lines <= self._room

    def put(
        self, rows: Sequence[SetRow], begins: Section | None = None, again: bool = False
    ) -> None:
        """Put rows on the page. begins: the section whose heading they begin with."""
        for row in rows:
            if row.kind is not LineKind.BLANK or self._at:
                own = begins if row.kind is LineKind.HEADING else None
                self.pages[-1].rows.append(PlacedRow(self._at, row, own, again))
                self._at += row.high
                begins = None

    def space(self, lines: int) -> None:
        """Leave lines empty, but at the top of a page."""
        if self._at:
            self._at += lines

    def card(self, each: SetSection) -> None:
        """Put a card on the page, in its frame."""
        lines = lines_of(each.all_rows) + ABOVE_A_CARD + BELOW_A_CARD
        if not self.fits(lines):
            self.turn()
        self.pages[-1].frames.append(CardFrame(self._at, lines, each.card))
        self._at += ABOVE_A_CARD
        self.put(each.all_rows, each.section)
        self._at += BELOW_A_CARD

    def rolling(self, each: SetSection, ahead: int) -> None:
        """Put a section on the page, and on others. ahead: lines that must follow on the page."""
        units = list(_units(each.rows, max(1, self._most - lines_of(each.again))))
        if not self.fits(_needed(each, units, self._most) + ahead):
            self.turn()
        self.put(each.heading, each.section)
        for at, unit in enumerate(units):
            placed = unit
            if at and not self.fits(unit.lines):
                self.turn()
                self.put(each.again, again=True)
                placed = _under_its_role(unit)
            self.put(placed.rows)


def paged(credits: SetCredits, first: int, most: int) -> tuple[ProofPage, ...]:
    """Set the rows on pages. first: how many lines the first page has room for; most: the others.

    A heading never stands last on a page. Where a section goes on, its heading stands again, and
    the role of the first name. A card stands whole, where the roll is interrupted by it.
    """
    pager = _Pager(first, most)
    for at, each in enumerate(credits.sections):
        pager.space(each.section.space)
        if each.card:
            pager.card(each)
        else:
            ahead = 0 if each.rows else _ahead(credits.sections[at + 1 :], most)
            pager.rolling(each, ahead)
    return tuple(pager.pages)


def _needed(each: SetSection, units: Sequence[_Unit], most: int) -> int:
    """How many lines of a section must stand on the page on which it begins."""
    whole = lines_of(each.all_rows)
    if whole <= min(KEPT_TOGETHER, most) or not units:
        return whole
    return lines_of(each.heading) + units[0].lines


def _ahead(sections: Sequence[SetSection], most: int) -> int:
    """How many lines must follow a heading that stands alone over others."""
    lines = 0
    for each in sections:
        if each.card:
            break
        units = list(_units(each.rows, most))
        lines += each.section.space + _needed(each, units, most)
        if units:
            break
    return lines
