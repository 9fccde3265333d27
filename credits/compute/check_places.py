"""Checks: the same puppet, person or part in two places on one date.

An entry is on the date of its ``day`` alone, also when it began on an earlier one; undated entries
and entries without a stage are in no place.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from credits.compute import check_words as words
from credits.compute.check_rule import Case, Known, Subject
from credits.footage.claims import Run, TakeRuns
from credits.model.facts import EntryNumber, Replacement
from credits.model.ledger import Entry, Ledger
from credits.units.frames import Frames

_Seen = dict[tuple[str, date], dict[str, set[EntryNumber]]]


@dataclass(frozen=True, slots=True)
class _TwoPlaces:
    """Something on two stages or more on one date, with the entries that say so."""

    code: str
    day: date
    by_stage: dict[str, set[EntryNumber]]
    entries: tuple[EntryNumber, ...]

    @property
    def where(self) -> str:
        stages = words.listed(sorted(self.by_stage))
        return f"on stages {stages} on {self.day} ({words.numbers(self.entries)})"

    @property
    def amend(self) -> str:
        """How the last of the entries is moved to a stage that another one names."""
        last = self.entries[-1]
        stages = sorted(self.by_stage)
        other = next((s for s in stages if last not in self.by_stage[s]), stages[0])
        return f"credits amend {last} --stage {words.typed(other)}"

    def subjects(self, kind: str) -> tuple[Subject, ...]:
        stages = (("stage", stage) for stage in sorted(self.by_stage))
        return ((kind, self.code), ("date", self.day.isoformat()), *stages)


def _nowhere_yet() -> _Seen:
    return defaultdict(lambda: defaultdict(set))


def _in_two_places(seen: _Seen) -> Iterator[_TwoPlaces]:
    for (code, day), by_stage in seen.items():
        if len(by_stage) > 1:
            entries = tuple(sorted(set().union(*by_stage.values())))
            yield _TwoPlaces(code, day, by_stage, entries)


def _placed(
    entries: Sequence[Entry], code_of: Callable[[Entry], str | None]
) -> Iterator[tuple[tuple[str, date], str, EntryNumber]]:
    for entry in entries:
        if entry.stage is None or entry.day is None:
            continue
        code = code_of(entry)
        if code is not None:
            yield (code, entry.day), entry.stage, entry.number


def _on_stages(entries: Sequence[Entry], code_of: Callable[[Entry], str | None]) -> _Seen:
    """What was on two stages or more on a date. Most things never are: they are only passed by."""
    first_stage: dict[tuple[str, date], str] = {}
    moved: set[tuple[str, date]] = set()
    for key, stage, _ in _placed(entries, code_of):
        if first_stage.setdefault(key, stage) != stage:
            moved.add(key)
    seen = _nowhere_yet()
    for key, stage, number in _placed(entries, code_of) if moved else ():
        if key in moved:
            seen[key][stage].add(number)
    return seen


def _puppet_in_hand(ledger: Ledger, entry: Entry) -> str | None:
    """The puppet that was certainly there: one that is named, or the only one that can be animated.

    A voice or a track reading of a character that has one puppet does not bring it to the stage.
    """
    if entry.work.puppet is not None:
        return entry.work.puppet
    return entry.puppet if ledger.is_footage(entry) else None


def puppets_in_two_places(known: Known) -> Iterator[Case]:
    """One puppet, one date, entries on two stages."""
    ledger = known.ledger
    seen = _on_stages(ledger.entries, lambda entry: _puppet_in_hand(ledger, entry))
    for found in _in_two_places(seen):
        yield Case(
            found.subjects("puppet"),
            f"The log has {words.puppet(ledger, found.code)} {found.where}.",
            "Ask which copy each stage had, or whether it was carried over. If a copy or a stage "
            f"is wrong: {found.amend}",
            found.entries,
        )


def people_in_two_places(known: Known) -> Iterator[Case]:
    """One person, one date, entries on two stages."""
    ledger = known.ledger
    for found in _in_two_places(_on_stages(ledger.entries, lambda entry: entry.person)):
        yield Case(
            found.subjects("person"),
            f"The log has {words.person(ledger, found.code)} {found.where}.",
            "Ask whether both are right: the stage, the date or the person may be another; "
            f"correct what is wrong: {found.amend}",
            found.entries,
        )


def _runs_that_show(own: TakeRuns, stops: list[int], frames: Frames) -> Iterator[Run]:
    """The runs of a take that hold any of the frames; each may come more than once."""
    for first, stop in frames.ranges:
        for run in own.runs[bisect_right(stops, first) :]:
            if run.first >= stop:
                break
            yield run


def _part_on_stages(seen: _Seen, own: TakeRuns, shown: Iterable[Replacement]) -> None:
    stops = [run.stop for run in own.runs]
    for replacement in shown:
        if replacement.take not in (None, own.take):
            continue
        for run in _runs_that_show(own, stops, replacement.frames):
            for layer in run.kept:
                if layer.character != replacement.character or layer.day is None:
                    continue
                for claim in layer.claims:
                    if claim.stage is not None:
                        on_stage = seen[replacement.part, layer.day][claim.stage]
                        on_stage.update(claim.entries)


def parts_in_two_places(known: Known) -> Iterator[Case]:
    """One part that replacements show in kept frames of one date on two stages."""
    seen = _nowhere_yet()
    for (shot, _), own in known.runs.items():
        shown = known.ledger.replacements_by_shot.get(shot)
        if shown:
            _part_on_stages(seen, own, shown)
    for found in _in_two_places(seen):
        yield Case(
            found.subjects("part"),
            f"The face sheets show {words.part(known.ledger, found.code)} in frames that were "
            f"shot {found.where}.",
            "Ask whether there is a second one with the same number, or which face sheet is "
            f"wrong; correct the replacements table, or the stage: {found.amend}",
            found.entries,
        )
