"""What a section asks for at least, and what somebody reaches of it, exactly."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import cached_property
from itertools import chain
from operator import attrgetter

from credits.billing.stages import Stages, WorkOnStages
from credits.footage.footage import MEASURE_WORDS, NO_FOOTAGE, Footage, FootageTotals
from credits.model.ledger import Ledger, WorkDone
from credits.model.replay import grouped
from credits.units.rounding import MOST_PLACES, Exact, decimal_text, plain_decimal

NEED_A_CUT = frozenset({"cut", "screen"})
SHOWN_PLACES = 2


class ThresholdUnit(StrEnum):
    """What a threshold is counted in."""

    SECONDS = "seconds"
    FRAMES = "frames"
    FEET = "feet"
    STAGE_DAYS = "stage days"
    DAYS = "days"
    PERCENT = "%"
    ENTRIES = "entries"


_ONES = ("second", "frame", "foot", "stage day", "day", "%", "entry")
ONE_OF = dict(zip(ThresholdUnit, _ONES, strict=True))
FOOTAGE_UNITS = frozenset(map(ThresholdUnit, ("seconds", "frames", "feet", "%")))


@dataclass(frozen=True, slots=True, kw_only=True)
class Threshold:
    """What a section asks for at least.

    ``measure``: one of the five of footage, for seconds, frames and feet. They are of shot footage;
    of character footage where ``by_character``. Per cent are of a character's screen time: the
    person's character footage of that character on screen, and the best character counts.
    """

    least: Fraction
    unit: ThresholdUnit
    measure: str = ""
    by_character: bool = False

    @property
    def words(self) -> str:
        """As it is written and read: ``at least 20 seconds on screen``."""
        counted_in = self.counted_in
        if self.least == 1:
            counted_in = counted_in.replace(self.unit, ONE_OF[self.unit], 1)
        return f"at least {plain_decimal(self.least)} {counted_in}"

    @property
    def counted_in(self) -> str:
        """``seconds on screen``, ``stage days``, ``% of the character's screen time``."""
        if self.unit is ThresholdUnit.PERCENT:
            return "% of the character's screen time"
        if self.unit not in FOOTAGE_UNITS:
            return self.unit.value
        of = "character " if self.by_character else ""
        return f"{of}{self.unit} {MEASURE_WORDS[self.measure]}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reached:
    """What somebody reaches of a threshold, exactly.

    ``character``, ``character_name``: the one that per cent are of. ``without_cut``: there is no
    cut yet, and kept frames were counted.
    """

    threshold: Threshold
    figure: Exact
    character: str | None = None
    character_name: str | None = None
    without_cut: bool = False

    @property
    def enough(self) -> bool:
        """Whether the threshold is reached; exactly at it is enough."""
        return self.figure >= self.threshold.least

    @property
    def shown(self) -> str:
        """The figure in decimals, with as many places as tell it from the threshold."""
        if Fraction(self.figure).denominator == 1:
            return str(int(self.figure))
        for places in range(SHOWN_PLACES, MOST_PLACES):
            shown = decimal_text(self.figure, places)
            if (Fraction(shown) >= self.threshold.least) is self.enough:
                return shown
        return decimal_text(self.figure, MOST_PLACES)

    @property
    def words(self) -> str:
        """``at least 20 seconds on screen: 12.50 reached``."""
        note = ", counted over the kept frames since there is no cut yet" * self.without_cut
        of = f" ({self.character_name})" if self.character_name is not None else ""
        return f"{self.threshold.words}: {self.shown} reached{note}{of}"


class FiguresOf:
    """Answers how much of a threshold somebody reaches. What is never asked is not summed."""

    def __init__(
        self, ledger: Ledger, footage: Footage, work: WorkOnStages, stages: Stages = None
    ) -> None:
        self._ledger = ledger
        self._work = work
        self._stages = stages
        self._has_cut = footage.cut is not None
        self._footage = footage

    @cached_property
    def _by_person(self) -> Mapping[str, FootageTotals]:
        return self._by_either.by(lambda cell: cell.person)

    @cached_property
    def _by_both(self) -> Mapping[tuple[str, str], FootageTotals]:
        return self._by_either.by(lambda cell: (cell.person, cell.character))

    @cached_property
    def _by_either(self) -> Footage:
        if self._stages is None:
            return self._footage.summed_by("person", "character")
        stages, on_stage = self._stages, self._footage.summed_by("person", "character", "stage")
        return on_stage.where(lambda cell: cell.stage in stages)

    @cached_property
    def _by_character(self) -> Mapping[str, FootageTotals]:
        return self._footage.by(lambda cell: cell.character)

    @cached_property
    def _done_by(self) -> Mapping[str, tuple[WorkDone, ...]]:
        return grouped(self._ledger.done, attrgetter("person"))

    @cached_property
    def _on(self) -> dict[frozenset[str], FiguresOf]:
        return {}

    def on(self, stages: Stages) -> FiguresOf:
        """Return the same figures of work on some stages alone."""
        if stages is None or stages == self._stages:
            return self
        if stages not in self._on:
            self._on[stages] = FiguresOf(self._ledger, self._footage, self._work, stages)
        return self._on[stages]

    def on_screen(self, person: str) -> Exact:
        """Shot footage on screen, in frames; kept footage where there is no cut yet."""
        return self._by_person.get(person, NO_FOOTAGE).by_shot.of(self._measure("screen"))

    def work_of(self, person: str, characters: tuple[str, ...] = ()) -> tuple[WorkDone, ...]:
        """Return the person's work on these characters; on all where none is given."""
        own = self._work.of(self._done_by.get(person, ()), self._stages)
        if not characters:
            return own
        parts = chain.from_iterable(done.by_character.items() for done in own)
        return tuple(done for character, done in parts if character in characters)

    def _measure(self, measure: str) -> str:
        return "kept" if measure in NEED_A_CUT and not self._has_cut else measure

    def reached(
        self,
        threshold: Threshold,
        person: str,
        work: Iterable[WorkDone],
        characters: tuple[str, ...] = (),
    ) -> Reached:
        """Return what the person reaches.

        work: what the section takes, for entries and days.
        characters: count only the footage and stage days of these; empty: of all.
        """
        unit, character, without_cut = threshold.unit, None, False
        figure: Exact
        if unit is ThresholdUnit.ENTRIES:
            figure = sum(done.brief.entries for done in work)
        elif unit is ThresholdUnit.DAYS:
            figure = len(set[str]().union(*(done.days for done in work)))
        elif unit is ThresholdUnit.STAGE_DAYS:
            own, crafts = self.work_of(person, characters), self._ledger.crafts
            shot = (done.days for done in own if crafts[done.craft].footage)
            figure = len(set[str]().union(*shot))
        elif unit is ThresholdUnit.PERCENT:
            figure, character = self._per_cent(person, characters)
            without_cut = not self._has_cut
        else:
            production = self._ledger.production
            seconds, feet = production.rate.per_second, production.gauge.frames_per_foot
            frames_in = {ThresholdUnit.SECONDS: seconds, ThresholdUnit.FEET: feet}.get(unit, 1)
            figure = Fraction(self._frames(threshold, person, characters)) / frames_in
            without_cut = not self._has_cut and threshold.measure in NEED_A_CUT
        of = self._ledger.characters.get(character or "")
        return Reached(
            threshold=threshold,
            figure=figure,
            character=character,
            character_name=of.name if of is not None else None,
            without_cut=without_cut,
        )

    def _frames(self, threshold: Threshold, person: str, characters: tuple[str, ...]) -> Exact:
        measure = self._measure(threshold.measure)
        parts = [self._by_both.get((person, c), NO_FOOTAGE) for c in dict.fromkeys(characters)]
        parts = parts if characters else [self._by_person.get(person, NO_FOOTAGE)]
        of_parts = ((p.character if threshold.by_character else p.by_shot) for p in parts)
        return sum((totals.of(measure) for totals in of_parts), Fraction(0))

    def _per_cent(self, person: str, characters: tuple[str, ...]) -> tuple[Exact, str | None]:
        """The person's largest part of a character's screen time, in per cent, and whose it is."""
        measure = self._measure("screen")
        best: tuple[Exact, str | None] = (0, None)
        for character in characters or self._by_character:
            whole = self._by_character.get(character, NO_FOOTAGE).character.of(measure)
            own = self._by_both.get((person, character), NO_FOOTAGE).character.of(measure)
            if whole and Fraction(own, whole) * 100 > best[0]:
                best = (Fraction(own, whole) * 100, character)
        return best
