"""Checks of puppets and what is fitted to them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date

from credits.compute import check_words as words
from credits.compute.check_rule import Case, Known, Severity
from credits.footage.claims import claims_frames
from credits.model.facts import Fitting
from credits.model.ledger import Entry, Ledger


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
