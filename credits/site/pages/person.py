"""A person's page: credits, crafts, shots, things, and how much of the film they reach."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache, partial
from typing import NamedTuple

from credits.cautions import REVIEW_CAUTION
from credits.editions import Crew, Edition, Everyone, Office
from credits.footage.footage import MEASURE_WORDS, MEASURES, Footage, work_time
from credits.footage.table import By, footage_column, footage_rows, footage_table
from credits.hands.hands import Via, build_target, together
from credits.hands.reach import Reach
from credits.hands.ways import PersonWays
from credits.model.facts import CreditWish, Person
from credits.model.ledger import Entry, performs_in_shot
from credits.model.words import counted, listed
from credits.site import links
from credits.site.folded import Folded, folded
from credits.site.links import About, DataFile, Link, LinkedOnce, Page, file_name
from credits.site.pages.credits import (
    CreditLine,
    HeldCredit,
    credit_lines,
    held_credit,
    no_line,
    not_here,
    spelling,
)
from credits.site.pages.shot import sequence_link
from credits.site.reel_files import ReelFiles
from credits.site.source import PageSource, grouped, plain, repairs_table, without_cut, worked_days
from credits.site.strips import Strip, film_strip
from credits.text import guarded
from credits.units.film_time import clock, day_text, days_between, seconds, timecode
from credits.units.frames import Frames
from credits.units.rounding import decimal_text
from credits.units.table import Column, Table, Unit, columns

WAY_COLUMNS = (
    Column(key="way", heading="Through"),
    Column(key="frames", heading="Frames", unit=Unit.FRAMES),
    Column(key="time", heading="Time", unit=Unit.RUNNING),
    Column(key="shots", heading="Shots", unit=Unit.NUMBER),
)
MOST_PICTURES = 6
MOST_ON_PAPER = 60  # crafts, and characters beside them
MOST_LINKED = 60  # shots; of more than that each is named, and the sequence leads to all its own
SEQUENCE_COLUMNS = (
    *columns(sequence="Sequence", shots="Shots"),
    Column(key="frames", heading="Frames", unit=Unit.FRAMES, adds_up=True),
    Column(key="in_film", heading="Position in the film", unit=Unit.RUNNING, nothing=""),
)
WAY_WORDS = {
    Via.FRAME: "the frames themselves, animated",
    Via.SHOT: "work on the shot",
    Via.SEQUENCE: "work for the whole sequence",
    Via.CHARACTER: "work on the character, wherever it is seen",
    Via.PUPPET: "a puppet that was photographed",
    Via.PART: "a part that was fitted or shown",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ReachView:
    """The reach of a person in figures and in a picture."""

    running: Crew[str] = ""
    of_film: Crew[str] = ""
    frames: Crew[str] = ""
    shots: Crew[str] = ""
    in_shots: Crew[str] = ""
    characters: Crew[tuple[Link, ...]] = ()
    ways: Crew[Table | None] = None
    sequences: Crew[Table | None] = None
    strip: Crew[Strip | None] = None


def _film_strip(source: PageSource, ways: PersonWays, person: str) -> Strip | None:
    use = source.results.use
    if use is None:
        return None
    name = source.ledger.people[person].credit_name
    by_character = [
        (source.character(code).text, [span for own in takes for span in source.film_spans(*own)])
        for code, takes in ways.by_character()
    ]
    rows = [("total", [span for _, own in by_character for span in own])]
    if len(by_character) > 1:
        rows += by_character
    title = f"Where in the film {name} worked, character by character"
    return film_strip(title, rows, use.cut, source.ledger.production)


def _ways(source: PageSource, ways: PersonWays, reach: Reach) -> Table:
    rows = (
        (WAY_WORDS[via], total, total, len(frames))
        for via in Via
        if (frames := ways.reach(via)) and (total := sum(frames.values()))
    )
    caption = "Through what this work is in the film"
    table = Table.of(caption, WAY_COLUMNS, rows, source.scale, "each frame once")
    totals = {"frames": reach.frames, "time": reach.frames, "shots": reach.shots}
    return replace(table, totals=totals)


def within(sequence: str, shots: tuple[str, ...]) -> tuple[str, ...]:
    """Return shots as they are called where their sequence is said: 020 for 010-020.

    Where one of them does not begin with its sequence all are called by their codes.
    """
    begins = re.compile(rf"{re.escape(sequence)}[-_. ](?=.)", re.IGNORECASE)
    if all(map(begins.match, shots)):
        return tuple([begins.sub("", shot, count=1) for shot in shots])
    return shots


def _sequences(source: PageSource, reach: Reach) -> Table:
    by_sequence = grouped(reach.in_shots, lambda own: source.ledger.shots[own[0]].sequence)
    linked = reach.shots <= MOST_LINKED

    def named(sequence: str, shots: Iterable[str]) -> tuple[Link, ...]:
        if linked:
            return tuple(map(source.shot, shots))
        return tuple(map(Link, within(sequence, tuple(shots))))

    rows = (
        (
            sequence_link(source, code),
            named(code, dict.fromkeys(shot for shot, _, _ in takes)),
            sum(frames.count for _, _, frames in takes),
            min((at[0][0] - 1 for own in takes if (at := source.film_spans(*own))), default=None),
        )
        for code, takes in by_sequence.items()
    )
    caption = "Shots worked on, by sequence"
    table = Table.of(caption, SEQUENCE_COLUMNS, rows, source.scale, "total")
    return without_cut(source, replace(table, totals={"shots": f"{reach.shots:,}"}))


def reach_view(source: PageSource, ways: PersonWays, person: str) -> ReachView | None:
    """Return the reach of a person for their page; None: in no frame that counts."""
    reach = source.results.reach_of(person)
    if reach is None:
        return None
    use = source.results.use
    share = decimal_text(100 * reach.share_of(use), 1) if use is not None else ""
    return ReachView(
        running=clock(reach.frames, source.ledger.production.rate),
        of_film=f"{share} % of the film, each frame counted once" if share else "",
        frames=f"{reach.frames:,}",
        shots=f"{reach.shots:,}",
        in_shots=counted(reach.shots, "shot"),
        characters=plain(source.characters(reach.characters)),
        ways=_ways(source, ways, reach),
        sequences=_sequences(source, reach),
        strip=_film_strip(source, ways, person),
    )


JOB_COLUMNS = (
    *columns(department="Department", job="Job", days="When"),
    Column(key="guaranteed", heading="Guaranteed heading", edition=Edition.OFFICE),
    Column(key="billing", heading="Billing", unit=Unit.NUMBER, edition=Edition.OFFICE, nothing=""),
)
BUILT_COLUMNS = (
    *columns(thing="What", crafts="Craft"),
    Column(key="days", heading="When", unit=Unit.DAY, edition=Edition.CREW),
    Column(key="shots", heading="Shots", unit=Unit.NUMBER, edition=Edition.CREW),
    Column(key="frames", heading="Frames", unit=Unit.FRAMES, edition=Edition.CREW),
)
SHOT_COLUMNS = (
    Column(key="shot", heading="Shot"),
    Column(key="take", heading="Take", unit=Unit.NUMBER),
    *columns(craft="Craft", character="Character"),
    Column(key="frames", heading="Which frames", unit=Unit.RANGES),
    Column(key="count", heading="Frames", unit=Unit.FRAMES),
    Column(key="screen", heading="On screen", unit=Unit.FRAMES, nothing=""),
    Column(key="in_film", heading="Position in the film", unit=Unit.RUNNING, nothing=""),
)
CSV_COLUMNS = (
    "shot", "sequence", "take", "craft", "character", "first", "last", "frames", "film_in",
    "film_out",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class PersonCraftRow:
    """A craft opposite the characters it was done for."""

    craft: Everyone[Link]
    characters: Everyone[tuple[Link, ...]]
    days: Crew[str] = ""


def craft_rows(source: PageSource, entries: Iterable[Entry]) -> tuple[PersonCraftRow, ...]:
    """Return crafts in the order of the table, each with its characters in theirs."""
    once = LinkedOnce()
    return tuple(
        PersonCraftRow(
            source.craft(code),
            once(source.characters(entry.character for entry in own)),
            days_between(*(worked_days(own) or (None, None))),
        )
        for code, own in source.by_craft(entries)
    )


def jobs_table(source: PageSource, person: str) -> Table:
    """Return the engagements of a person; what the contract guarantees is the office's."""
    rows = []
    for job in source.ledger.engagements.get(person, ()):
        if job.starts_on is not None and job.ends_on is not None:
            days = days_between(job.starts_on, job.ends_on)
        elif job.starts_on is not None:
            days = f"from {day_text(job.starts_on)}"
        else:
            days = f"until {day_text(job.ends_on)}" if job.ends_on is not None else ""
        contract = (job.guaranteed_heading, job.billing_number)
        rows.append((job.department, job.job_title, days, *contract))
    return Table.of("Engagements", JOB_COLUMNS, rows)


def built_table(source: PageSource, ways: PersonWays | None, entries: Iterable[Entry]) -> Table:
    """Return what a person built, in the order of the tables, and how far that reaches.

    ways: None where reach is not shown.
    """
    places, crafts = source.results.places, source.ledger.crafts
    tables = {
        Via.CHARACTER: places.characters,
        Via.PUPPET: places.puppets,
        Via.PART: places.parts,
    }
    found = grouped(filter(source.makes, entries), build_target)
    ordered = sorted(
        (thing for thing in found if thing is not None),
        key=lambda thing: (list(tables).index(thing[0]), tables[thing[0]][thing[1]]),
    )
    rows = []
    for thing in ordered:
        via, code = thing
        frames = ways.reach(via, code) if ways is not None else None
        rows.append(
            (
                source.thing(via, code),
                listed([crafts[c].name for c in dict.fromkeys(e.craft for e in found[thing])]),
                worked_days(found[thing]) or "undated",
                len(frames) if frames is not None else None,
                sum(frames.values()) if frames is not None else None,
            )
        )
    return Table.of("Characters, puppets and parts worked on", BUILT_COLUMNS, rows)


class OwnWork(NamedTuple):
    """Frames that somebody worked in, by craft and character. take None: every take."""

    shot: str
    take: int | None
    craft: str
    character: str | None
    frames: Frames


WorkOf = Callable[[str], tuple[OwnWork, ...]]
"""What tells a person's work in shots."""
ReelOf = Callable[[str], ReelFiles]
"""What makes the files of a person's reel."""


def _works(source: PageSource, person: str) -> Iterator[OwnWork]:
    """Yield the frames they animated that are kept, and their other performance work in shots."""
    for own in source.results.animated.get(person, ()):
        yield OwnWork._make(own[1:])
    for entry in source.ledger.entries_by_person.get(person, ()):
        if performs_in_shot(source.ledger.crafts, entry) and entry.shot and entry.frames:
            yield OwnWork(entry.shot, entry.take, entry.craft, entry.character, entry.frames)


def own_work(source: PageSource, person: str) -> tuple[OwnWork, ...]:
    """Return what somebody did in shots, in the order of the shots."""
    found = grouped(_works(source, person), lambda own: own[:-1])
    work = [OwnWork(*key, together(own.frames for own in every)) for key, every in found.items()]
    places = source.results.places.shots
    work.sort(key=lambda w: (places[w.shot], w.take or 0, w.craft, w.character or ""))
    return tuple(work)


def shots_table(source: PageSource, work: Iterable[OwnWork]) -> Table:
    """Return the shots that somebody worked in, and where in the film that is seen."""
    rows, once = [], LinkedOnce()
    for own in work:
        spans = source.film_spans(own.shot, own.take, own.frames)
        rows.append(
            (
                *once((source.shot(own.shot),)),
                own.take if own.take is not None else "every",
                source.ledger.crafts[own.craft].name,
                source.ledger.characters[own.character].name if own.character is not None else "",
                own.frames,
                own.frames.count,
                sum(stop - first for first, stop in spans) or None,
                spans[0][0] - 1 if spans else None,
            )
        )
    table = Table.of("Work in shots", SHOT_COLUMNS, rows, source.scale)
    # The CSV says it too; where it is always the first, nothing need.
    return without_cut(source, table.without("take") if _first_takes(table) else table)


def _first_takes(table: Table) -> bool:
    return set(table.column("take")) == {1}


def shots_csv(source: PageSource, work: WorkOf, person: str) -> bytes:
    """Return the CSV beside a person's page: their work in shots.

    A row for each stretch of frames and each place in the film that shows any of it; film_out is
    the first film frame after, as edit lists have it. Frames that the cut does not show have a row
    without film timecode.
    """
    ledger = source.ledger
    rate = ledger.production.rate
    text = io.StringIO()
    writer = csv.writer(text, quoting=csv.QUOTE_NONNUMERIC)
    writer.writerow(CSV_COLUMNS)
    for own in work(person):
        character = ledger.characters[own.character].name if own.character is not None else ""
        shot, sequence, craft, character = map(
            guarded,
            (own.shot, ledger.shots[own.shot].sequence, ledger.crafts[own.craft].name, character),
        )
        work_in = (shot, sequence, own.take if own.take is not None else "", craft, character)
        for first, stop in own.frames.ranges:
            spans = source.film_spans(own.shot, own.take, Frames(((first, stop),)))
            places = [(timecode(a - 1, rate), timecode(b - 1, rate)) for a, b in spans]
            for place in places or [("", "")]:
                writer.writerow((*work_in, first, stop - 1, stop - first, *place))
    # The byte-order mark is for spreadsheets.
    return text.getvalue().encode("utf-8-sig", "replace")


TOTAL_COLUMNS = (
    Column(key="measure", heading="Total"),
    Column(key="character", heading="Character frames", unit=Unit.FRAMES),
    Column(key="time", heading="As running time", unit=Unit.RUNNING),
    Column(key="feet", heading="As feet", unit=Unit.FEET),
    Column(key="shot", heading="Shot frames", unit=Unit.FRAMES),
)


def _office(source: PageSource, person: str) -> tuple[tuple[str, str], ...]:
    results = source.results
    time = work_time(source.ledger, source.ledger.entries_by_person.get(person, ()))
    feet = results.footage_of_person(person)
    assert feet is not None
    total = feet.total.by_shot
    days = len(time.shoot_days)
    figures = [
        ("minutes logged", f"{time.minutes:,}"),
        ("stage days", counted(len(time.stage_days), "day")),
        ("of them block, rehearsal", f"{len(time.block_days):,}, {len(time.rehearsal_days):,}"),
    ]
    if days:
        pace = seconds(total.kept, source.ledger.production.rate) / days
        figures.append(("pace", f"{decimal_text(pace, 1)} s a shoot day"))
    if total.shot:
        again = 100 - Fraction(100 * total.kept) / total.shot
        figures.append(("re-shot share", f"{decimal_text(again, 1)} %"))
    return tuple(figures)


def _by_character(source: PageSource, feet: Footage, measures: Sequence[str]) -> Table:
    figures = [
        footage_column(f"{measure}_character", MEASURE_WORDS[measure].capitalize())
        for measure in measures
    ]
    rows = (
        ((source.character(row.key[0] or ""),), row.totals)
        for row in footage_rows(feet, source.ledger, (By.CHARACTER,))
    )
    key = (Column(key="character", heading="Character"),)
    caption = "Character frames in each measure"
    return footage_table(caption, key, figures, rows, source.ledger.production)


def _totals(source: PageSource, feet: Footage, measures: Sequence[str]) -> Table:
    rows, total = [], feet.total
    for measure in measures:
        frames = total.character.of(measure)
        by_shot = total.by_shot.of(measure)
        rows.append((MEASURE_WORDS[measure].capitalize(), frames, frames, frames, by_shot))
    return Table.of("The total in each measure", TOTAL_COLUMNS, rows, source.scale)


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonPage:
    """Everything a person's page shows. Legal name and e-mail are in no edition, so not here.

    passed_on: their credit lines as text, for a letter or a list of works. pictures: of characters
    they worked on; picture: the first of them, where a link to the page is shown. few: their crafts
    and characters have room on one sheet of paper.
    """

    name: Everyone[Link]
    lines: Everyone[tuple[CreditLine, ...]]
    crafts: Everyone[tuple[PersonCraftRow, ...]]
    built: Everyone[Table]
    passed_on: Everyone[tuple[str, ...]]
    address: Everyone[str]
    picture: Everyone[str]
    pictures: Everyone[tuple[tuple[Link, str], ...]]
    few: Everyone[bool]
    spelling: Crew[str] = ""
    no_line: Crew[str] = ""
    isni: Crew[str] = ""
    cut: Crew[bool] = False
    reach: Crew[ReachView | None] = None
    shots: Crew[Folded | None] = None
    csv: Crew[str] = ""
    timeline: Crew[str] = ""
    edit_list: Crew[str] = ""
    footage: Crew[Table | None] = None
    totals: Crew[Table | None] = None
    figures: Office[tuple[tuple[str, str], ...]] = ()
    caution: Office[str] = ""
    repairs: Crew[Table | None] = None
    jobs: Crew[Table | None] = None
    review: Office[Link | None] = None
    uncredited: Office[bool] = False
    held: Office[HeldCredit | None] = None
    not_here: Office[Table | None] = None
    codes: Office[tuple[str, ...]] = ()
    note: Office[str] = ""


def passed_on(line: CreditLine, film: str) -> str:
    """Return a credit line as it is passed on: ``Voices, Wick: Ana Lind – The film``."""
    what = ", ".join(filter(None, (" ".join(line.heading.split()), " ".join(line.role.split()))))
    return f"{what}: {line.name} – {film}" if what else f"{line.name} – {film}"


def _isni_text(isni: str | None) -> str:
    """Write an ISNI as ISO 27729 writes it, in four groups of four."""
    plain = "".join((isni or "").split())
    return " ".join(plain[at : at + 4] for at in range(0, len(plain), 4))


def _public_page(source: PageSource, ways: PersonWays | None, person: Person) -> PersonPage:
    entries = source.ledger.entries_by_person.get(person.code, ())
    lines = credit_lines(source.credits_of(person.code), source.office)
    characters = source.characters(entry.character for entry in entries)
    files = {links.character_page(code): name for code, name in source.pictures.items()}
    pictures = [(name, files[name.href]) for name in characters if name.href in files]
    crafts = craft_rows(source, entries)
    return PersonPage(
        name=Link(person.credit_name),
        lines=lines,
        crafts=crafts,
        few=sum(len(row.characters) + 1 for row in crafts) <= MOST_ON_PAPER,
        built=built_table(source, ways, entries),
        passed_on=tuple(passed_on(line, source.ledger.production.title) for line in lines),
        address=links.person_page(person.code),
        picture=next((file for _, file in pictures), ""),
        pictures=tuple(pictures[:MOST_PICTURES]),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkFiles:
    """The files beside the page of a person; empty: there is none."""

    csv: str = ""
    timeline: str = ""
    edit_list: str = ""


def _crew_page(source: PageSource, work: WorkOf, person: Person, beside: WorkFiles) -> PersonPage:
    code = person.code
    ways = source.results.ways_of(code)
    own = source.credits_of(code)
    entries = source.ledger.entries_by_person.get(code, ())
    has_review = any(map(source.ledger.is_footage, entries))
    page = replace(
        _public_page(source, ways, person),
        spelling=spelling(source.ledger, code) if person.wish is CreditWish.CREDITED else "",
        no_line=no_line(own, source.office),
        isni=_isni_text(person.isni),
        cut=source.has_cut,
        reach=reach_view(source, ways, code),
        shots=folded(source, shots_table(source, work(code))),
        csv=beside.csv,
        timeline=beside.timeline,
        edit_list=beside.edit_list,
        repairs=repairs_table(source, entries, f"by {person.credit_name}").without("person"),
        jobs=jobs_table(source, code),
        review=Link("Review", links.review_page(code)) if has_review else None,
        uncredited=person.wish is CreditWish.UNCREDITED,
        held=next(map(held_credit, own.held), None),
        not_here=not_here(own),
        codes=source.ledger.codes_of(code),
        note=person.note or "",
    )
    feet = source.results.footage_of_person(code)
    if feet is None:
        return page
    measures = MEASURES if feet.cut is not None else MEASURES[:3]
    return replace(
        page,
        footage=_by_character(source, feet, measures),
        totals=_totals(source, feet, measures),
        figures=_office(source, code),
        caution=REVIEW_CAUTION,
    )


def _shows_shots(source: PageSource, person: str) -> bool:
    """Tell whether somebody has kept frames, or performed in frames of a shot in another way."""
    kept, _ = source.seen_work.get(person, (False, False))
    return kept or person in source.performed


def _also(source: PageSource, person: str, *beside: bool) -> object:
    """Return what a person's page says that depends on the credits of others and on the cut.

    beside: which files stand beside it.
    """
    use = source.results.use
    film = use.distinct_frames if use is not None else None
    return beside, film, source.credits_of(person).decided()


def _share(source: PageSource) -> object:
    """Compute what the pages of people have in common."""
    results = source.results
    return results.ways, results.footage_by_person, results.reach


def _in_cut(source: PageSource, work: WorkOf, person: str) -> bool:
    """Tell whether the cut shows any frame that somebody worked in."""
    _, shown = source.seen_work.get(person, (False, False))
    performed = not shown and source.has_cut and person in source.performed
    own = work(person) if performed else ()
    return shown or any(source.film_spans(each.shot, each.take, each.frames) for each in own)


def _files(
    source: PageSource, work: WorkOf, reel: ReelOf, person: str, in_cut: bool
) -> tuple[WorkFiles, dict[str, Callable[[], bytes]]]:
    """Return the files beside the page of somebody who has work in shots, and what makes each."""
    stem = f"people/{file_name(person)}"
    beside = WorkFiles(csv=f"{stem}-shots.csv")
    made: dict[str, Callable[[], bytes]] = {beside.csv: partial(shots_csv, source, work, person)}
    if in_cut:
        beside = replace(beside, timeline=f"{stem}-reel.otio", edit_list=f"{stem}-reel.edl")
        made |= {
            beside.timeline: lambda: reel(person).otio(),
            beside.edit_list: lambda: reel(person).edl(),
        }
    return beside, made


def _reel(source: PageSource, work: WorkOf, person: str) -> ReelFiles:
    shown = ((own.shot, own.take, own.frames) for own in work(person))
    return ReelFiles(source, person, shown)


def person_pages(source: PageSource) -> Iterator[Page | DataFile]:
    """Yield a page for everybody this edition names, by sort name.

    For crew and office the files of their work in shots come before it.
    """
    # The page of a person comes after the files of the same work.
    work: WorkOf = lru_cache(maxsize=2)(partial(own_work, source))
    reel: ReelOf = lru_cache(maxsize=1)(partial(_reel, source, work))
    for person in source.people_in_order():
        make: Callable[[], PersonPage] = partial(_public_page, source, None, person)
        has_shots = source.crew and _shows_shots(source, person.code)
        in_cut = has_shots and _in_cut(source, work, person.code)
        also = partial(_also, source, person.code, has_shots, in_cut)
        about = About("person", person.code, also)
        share: Callable[[], object] = partial(getattr, source.results, "credits")
        if source.crew:
            share = partial(_share, source)
            beside = WorkFiles()
            if has_shots:
                beside, files = _files(source, work, reel, person.code, in_cut)
                for path, content in files.items():
                    yield DataFile(path, content, about, share)
            make = partial(_crew_page, source, work, person, beside)
        page = links.person_page(person.code)
        yield Page(page, "person.html", person.credit_name, links.PEOPLE, make, about, share)
