"""Checks of where people, puppets and parts were."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from credits.checks.rule import Case, Known, Severity, Subject
from credits.footage.claims import Run, TakeRuns, claims_frames
from credits.model import words
from credits.model.facts import EntryNumber, Fitting, Replacement
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


def _end(fitting: Fitting) -> date:
    return fitting.to_on or date.max


def _overlaps(fittings: Iterable[Fitting]) -> Iterator[tuple[Fitting, Fitting]]:
    """Each fitting that begins while the part is still on another puppet, with the one it meets.

    Of all that it meets only the one that ends last is given: n fittings make less than n cases.
    """
    latest: Fitting | None = None
    latest_elsewhere: Fitting | None = None
    for fitting in sorted(fittings, key=lambda f: (f.from_on, _end(f), f.puppet)):
        if _end(fitting) < fitting.from_on:
            continue
        met = latest
        if met is not None and met.puppet == fitting.puppet:
            met = latest_elsewhere
        if met is not None and _end(met) >= fitting.from_on:
            yield met, fitting
        if latest is None or _end(fitting) >= _end(latest):
            if latest is not None and latest.puppet != fitting.puppet:
                latest_elsewhere = latest
            latest = fitting
        elif fitting.puppet != latest.puppet and (
            latest_elsewhere is None or _end(fitting) > _end(latest_elsewhere)
        ):
            latest_elsewhere = fitting


def _held(fitting: Fitting) -> str:
    until = f" to {fitting.to_on}" if fitting.to_on else ", without an end"
    return f"{fitting.puppet} (from {fitting.from_on}{until})"


def parts_on_two_puppets(known: Known) -> Iterator[Case]:
    """One part with fittings on two puppets that share a day."""
    for code, fittings in known.ledger.fittings_of_part.items():
        for earlier, later in _overlaps(fittings):
            yield Case(
                (("part", code), ("puppet", earlier.puppet), ("puppet", later.puppet)),
                f"{words.begin(words.part(known.ledger, code))} is fitted to "
                f"{_held(earlier)} and to {_held(later)} at the same time.",
                f"Ask when it was taken off {earlier.puppet}, set to_on of that row in the "
                "fittings table to the last day it was on, and load the table again.",
            )


def _dated_claims(ledger: Ledger, puppet: str) -> list[tuple[date, Entry]]:
    return [
        (entry.day, entry)
        for entry in ledger.entries_by_puppet.get(puppet, ())
        if entry.day is not None and claims_frames(ledger, entry)
    ]


def _out_of_service(
    ledger: Ledger, puppet: str, found: list[tuple[date, Entry]], retired: bool, limit: date
) -> Case:
    entries = tuple(entry.number for _, entry in found)
    said = f"was retired on {limit}" if retired else f"was ready on {limit}"
    column = "retired_on" if retired else "ready_on"
    when = words.days(day for day, _ in found)
    return Case(
        (("puppet", puppet),),
        f"{words.begin(words.puppet(ledger, puppet))} {said}, and frames are claimed with it "
        f"{when} ({words.numbers(entries)}).",
        f"Correct {column} in the puppets table and load it again; or ask which copy it was, "
        f"then: credits amend {entries[-1]} --puppet COPY",
        entries,
        Severity.WRONG if retired else Severity.QUESTION,
    )


def puppets_out_of_service(known: Known) -> Iterator[Case]:
    """A puppet claimed after it was retired (wrong), or before it was ready (a question)."""
    ledger = known.ledger
    for puppet in ledger.puppets.values():
        if puppet.retired_on is None and puppet.ready_on is None:
            continue
        claims = _dated_claims(ledger, puppet.code)
        for limit, retired in ((puppet.retired_on, True), (puppet.ready_on, False)):
            if limit is None:
                continue
            found = [
                (day, entry) for day, entry in claims if (day > limit if retired else day < limit)
            ]
            if found:
                yield _out_of_service(ledger, puppet.code, found, retired, limit)


def _without_puppet(ledger: Ledger, character: str) -> dict[str, list[Entry]]:
    """The character's claims that name no puppet, by shot."""
    found: dict[str, list[Entry]] = defaultdict(list)
    for entry in ledger.entries_by_character.get(character, ()):
        if entry.puppet is None and entry.shot is not None and claims_frames(ledger, entry):
            found[entry.shot].append(entry)
    return found


def puppets_unknown(known: Known) -> Iterator[Case]:
    """Claims on a character of several puppets that name none, by character and shot."""
    ledger = known.ledger
    for character, copies in ledger.puppets_of.items():
        if len(copies) < 2:
            continue
        named = words.character(ledger, character)
        which = f"which of {len(copies)} puppets it was ({words.listed(copies)})"
        for shot, own in _without_puppet(ledger, character).items():
            entries = tuple(entry.number for entry in own)
            yield Case(
                (("character", character), ("shot", shot)),
                f"{named} is animated in shot {shot} ({words.numbers(entries)}) without a word "
                f"{which}.",
                f"Ask which copy it was, then: credits amend {entries[0]} "
                f"--puppet {words.typed(copies[0])}",
                entries,
            )
