"""The shots that a person worked in, frame by frame: for the page, and as CSV for a show reel."""

from __future__ import annotations

import csv
import io
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from credits.editions import Crew
from credits.model.facts import EntryNumber, Kind
from credits.pages.links import file_name
from credits.pages.page import DataFile, Link
from credits.pages.person_film import FilmPlaces
from credits.pages.source import PageSource
from credits.text import guarded
from credits.units.film_time import timecode
from credits.units.frames import Frames, Range

COLUMNS = (
    "shot", "sequence", "take", "craft", "character", "first", "last", "frames", "film_in",
    "film_out",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class OwnWork:
    """Frames that somebody worked in, by craft and character. ``take`` None: every take."""

    shot: str
    take: int | None
    craft: str
    character: str | None
    frames: Frames


@dataclass(frozen=True, slots=True)
class ShotRow:
    """A row of the table of shots."""

    shot: Crew[Link | None] = None
    take: Crew[str] = ""
    craft: Crew[str] = ""
    character: Crew[Link | None] = None
    frames: Crew[str] = ""
    count: Crew[str] = ""
    screen: Crew[str] = ""
    film: Crew[str] = ""


def _claimed(source: PageSource, person: str) -> Iterable[tuple[OwnWork, Range]]:
    feet = source.results.footage_by_person.get(person)
    crafts: dict[EntryNumber, str] = {
        entry.number: entry.craft for entry in source.ledger.entries_by_person.get(person, ())
    }
    cells = feet.cells if feet is not None else ()
    for shot, take in dict.fromkeys((cell.shot, cell.take) for cell in cells):
        for run in source.results.runs[shot, take].runs:
            for layer in run.kept:
                for claim in layer.claims:
                    if claim.person == person:
                        for craft in dict.fromkeys(crafts[number] for number in claim.entries):
                            key = OwnWork(shot, take, craft, layer.character, Frames())
                            yield key, (run.first, run.stop)


def _logged(source: PageSource, person: str) -> Iterable[tuple[OwnWork, Range]]:
    crafts = source.ledger.crafts
    for entry in source.ledger.entries_by_person.get(person, ()):
        craft = crafts[entry.craft]
        if entry.shot is None or craft.kind is not Kind.PERFORMANCE or craft.footage:
            continue
        for stretch in (entry.frames or Frames()).ranges:
            yield (
                OwnWork(entry.shot, entry.take, craft.code, entry.character, Frames()),
                stretch,
            )


def own_work(source: PageSource, person: str) -> tuple[OwnWork, ...]:
    """What somebody did in shots: the frames they animated that are kept, and their other
    performance work there; in the order of the shots."""
    found: dict[OwnWork, list[Range]] = defaultdict(list)
    for key, stretch in (*_claimed(source, person), *_logged(source, person)):
        found[key].append(stretch)
    places = {shot: at for at, shot in enumerate(source.ledger.shots)}
    work = [
        OwnWork(key.shot, key.take, key.craft, key.character, Frames.of(*ranges))
        for key, ranges in found.items()
    ]
    work.sort(key=lambda w: (places[w.shot], w.take or 0, w.craft, w.character or ""))
    return tuple(work)


def shot_rows(
    source: PageSource, films: FilmPlaces, work: Iterable[OwnWork]
) -> tuple[ShotRow, ...]:
    """The table of shots of a person's page."""
    rows = []
    for own in work:
        spans = films.spans(own.shot, own.take, own.frames)
        shown = sum(stop - first for first, stop in spans)
        rows.append(
            ShotRow(
                source.shot(own.shot),
                str(own.take) if own.take is not None else "every",
                source.ledger.crafts[own.craft].name,
                source.character(own.character) if own.character is not None else None,
                own.frames.text,
                f"{own.frames.count:,}",
                f"{shown:,}" if shown else "",
                films.clock(spans[0][0]) if spans else "",
            )
        )
    return tuple(rows)


def shots_csv(source: PageSource, films: FilmPlaces, work: Iterable[OwnWork]) -> bytes:
    """The shots as CSV (UTF-8 with a byte-order mark, which spreadsheets need).

    A row for each stretch of frames and each place in the film that shows any of it; ``film_out``
    is the first film frame after, as edit lists have it (common practice). Frames that the cut
    does not show have a row without film timecode.
    """
    ledger = source.ledger
    rate = ledger.production.rate
    text = io.StringIO()
    writer = csv.writer(text, quoting=csv.QUOTE_NONNUMERIC)
    writer.writerow(COLUMNS)
    for own in work:
        character = ledger.characters[own.character].name if own.character is not None else ""
        for first, stop in own.frames.ranges:
            spans = films.spans(own.shot, own.take, Frames(((first, stop),)))
            places = [(timecode(a - 1, rate), timecode(b - 1, rate)) for a, b in spans]
            for film_in, film_out in places or [("", "")]:
                writer.writerow(
                    (
                        guarded(own.shot),
                        guarded(ledger.shots[own.shot].sequence),
                        own.take if own.take is not None else "",
                        guarded(ledger.crafts[own.craft].name),
                        guarded(character),
                        first,
                        stop - 1,
                        stop - first,
                        film_in,
                        film_out,
                    )
                )
    return text.getvalue().encode("utf-8-sig", "replace")


def shots_file(
    source: PageSource, films: FilmPlaces, person: str, work: tuple[OwnWork, ...]
) -> DataFile | None:
    """The CSV beside a person's page; None where there is nothing to list."""
    if not work:
        return None
    path = f"people/{file_name(person)}-shots.csv"
    return DataFile(path, shots_csv(source, films, work))
