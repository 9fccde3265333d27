"""The day as a list: `credits day DATE` where no session is wanted, and its JSON."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from pathlib import Path

from credits.app.work.day import DayAtAGlance, day_at_a_glance, entries_table, expected, missing
from credits.app.work.entries import deed, sentence
from credits.cli.check import check_json, say_check
from credits.cli.terminal import printing
from credits.footage.day import WorkplaceDay, lacking
from credits.model.ledger import Entry, Ledger
from credits.model.words import counted
from credits.units.film_time import day_text


def say_day(folder: Path, on: date, stage: str | None, as_json: bool) -> None:
    """Print a day: what each stage and workshop logged, what and who is missing, what is asked.

    As JSON: {"day", "last_day": the last day with entries, "entries": [E], "places": [{"stage",
    "department" (one of them is null), "entries": [numbers], "before_on": the last working day,
    "not_yet": [E] (of that day, and nothing of it on this one), "idle": [{"person", "name"}]}],
    "undated": [E] (without a day, written down on this one), "questions": as in check}. E:
    {"entry", "says", "person", "name", "craft", "character", "puppet", "part", "sequence", "shot",
    "take", "frames", "minutes", "stage", "lacks": ["frames", "minutes", "finished_on"]}.
    """
    found = day_at_a_glance(folder, on, stage)
    if as_json:
        printing.say_json(_day_json(found))
    else:
        _say_day(found)


_CODES = "entry=number person craft character puppet part sequence shot take"


def _entry_json(ledger: Ledger, entry: Entry) -> dict[str, object]:
    return {
        **printing.fields_json(entry, _CODES),
        "name": ledger.people[entry.person].credit_name,
        "frames": entry.work.frames.text if entry.work.frames else None,
        "minutes": entry.work.minutes,
        "stage": entry.stage,
        "lacks": list(lacking(ledger, entry)),
        "says": sentence(entry.work, ledger),
    }


def _day_json(found: DayAtAGlance) -> dict[str, object]:
    ledger, work = found.ledger, found.work

    def shapes(entries: Iterable[Entry]) -> list[dict[str, object]]:
        return [_entry_json(ledger, entry) for entry in entries]

    return {
        "day": work.on.isoformat(),
        "last_day": ledger.last_day and ledger.last_day.isoformat(),
        "entries": shapes(work.entries),
        "places": [
            {
                "stage": each.place.stage,
                "department": each.place.department,
                "entries": [str(entry.number) for entry in each.entries],
                "not_yet": shapes(each.not_yet),
                "before_on": each.before_on and each.before_on.isoformat(),
                "idle": [
                    {"person": code, "name": ledger.people[code].credit_name} for code in each.idle
                ],
            }
            for each in work.places
        ],
        "undated": shapes(work.undated),
        "questions": [check_json(check) for check in found.questions],
    }


def _say_day(found: DayAtAGlance) -> None:
    """Print the day, place by place; lines wrap at words on a terminal."""
    ledger, work = found.ledger, found.work
    printing.heading(f"{work.on:%A}, {day_text(work.on)}")
    own, others = expected(ledger, work.places)
    for each in own:
        _say_place(each, ledger)
    if others:
        printing.say()
        printing.heading("Other departments")
    for each in others:
        printing.say_wrapped(f"{each.place.name}: nothing logged by {_people(each.idle, ledger)}")
    if work.undated:
        printing.say()
        printing.heading("Without a day, written down on this one")
        _say_entries(work.undated, ledger)
    if found.questions:
        printing.say()
        printing.heading("Open questions")
    for check in found.questions:
        say_check(check, found.names)
        printing.say_wrapped(f"  -> {check.hint}")
    count = len(work.entries)
    said = [counted(count, "entry", "entries") if count else "No entry of this day"]
    incomplete = sum(bool(lacking(ledger, entry)) for entry in work.entries)
    idle = sum(len(each.idle) for each in own)
    said += [f"{len(work.undated)} without a day"] if work.undated else []
    said += [f"{incomplete} incomplete"] if incomplete else []
    said += [f"{counted(idle, 'person', 'people')} with nothing"] if idle else []
    said += [counted(len(found.questions), "open question")] if found.questions else []
    printing.say()
    printing.say(f"{', '.join(said)}.")
    last = ledger.last_day
    if not work.entries and last is not None and last != work.on:
        printing.remark(f"The last day with entries is {last}: credits day {last}")


def _say_place(each: WorkplaceDay, ledger: Ledger) -> None:
    printing.say()
    kind = "Stage" if each.place.stage else "Workshop"
    printing.heading(f"{kind} {each.place.name}")
    if each.entries:
        _say_entries(each.entries, ledger)
    if each.not_yet and each.before_on:
        printing.say_wrapped(f"Nothing yet of what was done on {day_text(each.before_on)}:")
        for entry in each.not_yet:
            printing.say_wrapped(f"  {entry.number}: {_briefly(entry, ledger)}")
    if each.idle:
        printing.say_wrapped(f"Engaged, and nothing logged: {_people(each.idle, ledger)}")


def _people(codes: Iterable[str], ledger: Ledger) -> str:
    return ", ".join(ledger.people[code].credit_name for code in codes)


def _briefly(entry: Entry, ledger: Ledger) -> str:
    """Say an entry without its day and its stage, which stand above it."""
    minutes = entry.work.minutes
    took = f", {counted(minutes, 'minute')}" if minutes is not None else ""
    return deed(entry.work, ledger) + took


def _say_entries(entries: Iterable[Entry], ledger: Ledger) -> None:
    """Print entries as a table where the lines are as wide as the terminal, else as sentences."""
    every = tuple(entries)
    shown = entries_table(ledger, every)
    if printing.fits(shown):
        printing.say_table(shown)
        return
    for entry in every:
        lacks = missing(ledger, entry)
        said = f" Missing: {lacks}." if lacks else ""
        printing.say_wrapped(f"  {entry.number}: {_briefly(entry, ledger)}.{said}")
