"""The list of shots; and of each shot who animated which frames, and whose hands are in it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property, partial

from credits.editions import Everyone
from credits.footage.cut import CutUse
from credits.model.facts import ShotStatus, Take
from credits.model.ledger import Ledger
from credits.model.words import counted, listed
from credits.site import links, strips
from credits.site.csv_file import table_csv
from credits.site.links import (
    About,
    DataFile,
    Link,
    Page,
    Steps,
    with_steps,
)
from credits.site.pages.take import TakeFrames, TakeSection, replacement_table
from credits.site.pieces import Stretch, sequence_of, stretches_by
from credits.site.source import (
    Amount,
    PageSource,
    grouped,
    shot_log,
    without_cut,
)
from credits.units.film_time import clock, day_text
from credits.units.frames import Frames
from credits.units.table import Column, Marked, Table, Unit, columns

TAKE_COLUMNS = (
    *columns(take="Take", purpose="Purpose", decision="Decision"),
    Column(key="decided_on", heading="Decided on", unit=Unit.DAY),
    Column(key="claimed", heading="Frames claimed", unit=Unit.RANGES),
    Column(key="counts", heading="Counts"),
)
LENGTH_COLUMNS = (
    Column(key="frames", heading="Frames", unit=Unit.FRAMES, adds_up=True, nothing=""),
    Column(key="seconds", heading="Seconds", unit=Unit.SECONDS, places=1, adds_up=True, nothing=""),
    Column(key="feet", heading="Feet", unit=Unit.FEET, adds_up=True, nothing=""),
)
SEQUENCE_COLUMNS = (
    Column(key="sequence", heading="Sequence", unit=Unit.CODE),
    Column(key="name", heading="Name"),
    Column(key="shots", heading="Shots", unit=Unit.NUMBER, adds_up=True),
    *LENGTH_COLUMNS,
    Column(key="in_cut", heading="Frames in the cut", unit=Unit.FRAMES, adds_up=True, nothing=""),
    Column(key="in_film", heading="In the film at", unit=Unit.RUNNING, nothing=""),
)
SHOT_COLUMNS = (
    Column(key="shot", heading="Shot", unit=Unit.CODE),
    Column(key="description", heading="What happens", unit=Unit.NOTE),
    *columns(characters="Characters", animators="Animated by", status="Status", take="Take"),
    *LENGTH_COLUMNS,
    Column(key="in_cut", heading="In the cut", unit=Unit.FRAMES, adds_up=True, nothing=""),
)


def shots_in_order(ledger: Ledger) -> tuple[str, ...]:
    """Return all shots, by sequence, as the tables have them."""
    return tuple(shot for code in ledger.sequences for shot in ledger.shots_of.get(code, ()))


def shots_counted(ledger: Ledger, sequence: str) -> tuple[str, ...]:
    """Return the shots of a sequence that are in the film: those that were not omitted."""
    own = ledger.shots_of.get(sequence, ())
    return tuple(code for code in own if ledger.shots[code].status is not ShotStatus.OMITTED)


def decision_text(take: Take) -> str:
    """Return ``accepted 6 March 2026``, ``open``."""
    words = take.decision.value
    return f"{words} {day_text(take.decided_on)}" if take.decided_on else words


SequenceShots = tuple[str, str, str, str, Table]
"""A sequence: its place in the page, code, name, how many shots; and those, the omitted too."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotsPage:
    """The shots of the film."""

    csv: Everyone[str]
    long: Everyone[bool]
    sequences: Everyone[Table]
    shots: Everyone[tuple[SequenceShots, ...]]
    count: Everyone[str]
    omitted: Everyone[str]
    length: Everyone[Amount]
    cut_length: Everyone[str]
    in_cut: Everyone[str]
    film_strip: Everyone[strips.Strip | None]


def sequence_anchor(code: str) -> str:
    """Return the id of a sequence on the page of shots."""
    return f"s-{links.file_name(code)}"


def sequence_link(source: PageSource, code: str) -> Link:
    """Return ``Sequence 030, The Quay``, leading to its shots."""
    return Link(f"Sequence {source.sequence(code)}", f"{links.SHOTS}#{sequence_anchor(code)}")


Row = tuple[object, ...]
# The list of a long film leaves to the page of a shot, and to the CSV, what no reader compares.
MOST_SHOTS = 300
TOLD_BY_THE_SHOT = ("characters", "animators", "seconds", "feet")
SHOTS_CSV = "shots/shots.csv"


class _Shots:
    """What is the same for all shots, made once for a site.

    The takes that count are those the cut uses, in its order; without a use in the cut, the one
    that the shot means.
    """

    def __init__(self, source: PageSource) -> None:
        self.source = source
        self.ledger = source.ledger
        self.row = cache(self._row)  # for the page of all shots, and the CSV beside it

    @cached_property
    def claimed(self) -> Mapping[str, list[tuple[str, int]]]:
        """The takes of each shot in which frames are claimed."""
        return grouped(self.source.results.runs, lambda key: key[0])

    def share(self) -> object:
        """Compute what the pages of shots have in common."""
        return self.that_count(""), self.claimed, self.source.results.footage_by_shot

    def that_count(self, shot: str) -> tuple[int, ...]:
        """Return the takes that count; none where there is nothing to show."""
        meant = self.source.results.takes.get(shot)
        used = self.source.takes_in_cut.get(shot)
        return tuple(used) if used else () if meant is None else (meant,)

    def used(self, shot: str) -> dict[int, Frames]:
        """Return the frames of each take that the cut uses; without takes of which it uses none."""
        used = ((take, self.source.in_cut(shot, take)) for take in self.that_count(shot))
        return {take: frames for take, frames in used if frames}

    def with_claims(self, shot: str) -> tuple[int, ...]:
        """Return the takes in which frames are claimed, those that count first."""
        counting, claimed = self.that_count(shot), [take for _, take in self.claimed.get(shot, ())]
        return tuple(dict.fromkeys(take for take in (*counting, *claimed) if take in claimed))

    def takes(self, shot: str) -> Table:
        """Return the takes, by number: those entered, those worked on, those the cut names."""
        ledger, runs = self.ledger, self.source.results.runs
        counting = self.that_count(shot)
        used = self.source.takes_in_cut.get(shot, ())
        numbers = {take.number for take in ledger.takes_of.get(shot, ())}
        numbers |= {e.take for e in ledger.entries_by_shot.get(shot, ()) if e.take is not None}
        rows = []
        for number in sorted({*numbers, *counting}):
            take = ledger.take(shot, number)
            own = runs.get((shot, number))
            claimed = own.claimed if own else None
            counts = "in the cut" if number in used else "counts" if number in counting else ""
            told = (take.purpose.value, take.decision.value, take.decided_on)
            rows.append((number, *told, claimed, counts))
        return Table.of(f"Takes of shot {shot}", TAKE_COLUMNS, rows)

    def in_cut(self, shot: str) -> int:
        return sum(frames.count for frames in self.used(shot).values())

    def _row(self, code: str) -> Row:
        shot = self.ledger.shots[code]
        takes = self.that_count(code)
        feet = self.source.results.footage_by_shot.get(code)
        cells = feet.cells if feet is not None else ()
        kept = [cell for cell in cells if cell.take in takes and cell.character_kept]
        length = None if shot.status is ShotStatus.OMITTED else shot.length
        return (
            self.source.shot(code),
            shot.description or "",
            self.source.characters(cell.character for cell in kept),
            self.source.names(cell.person for cell in kept),
            shot.status.value,
            listed([f"{n}, {self.ledger.take(code, n).decision.value}" for n in takes]),
            *([length] * len(LENGTH_COLUMNS)),
            self.in_cut(code) or None,
        )

    def table(self, caption: str, columns: tuple[Column, ...], rows: Iterable[Row]) -> Table:
        table = Table.of(caption, columns, rows, self.source.scale, "total")
        return without_cut(self.source, table)

    def sequences(self, codes: Sequence[str]) -> Table:
        use = self.source.results.use
        stretches = _drawn(self.source, use) if use else []
        starts = {code: first for first, _, code in reversed(stretches)}
        rows: list[Row] = []
        for code in codes:
            shots = shots_counted(self.ledger, code)
            length = sum(self.ledger.shots[shot].length for shot in shots)
            used = sum(map(self.in_cut, self.ledger.shots_of[code])) or None
            start = starts[code] - 1 if code in starts else None
            link = Link(code, sequence_link(self.source, code).href)
            name = self.ledger.sequences[code].name or ""
            rows.append((link, name, len(shots), *([length] * len(LENGTH_COLUMNS)), used, start))
        return self.table("The sequences and their lengths", SEQUENCE_COLUMNS, rows)

    def sequences_with_shots(self) -> list[str]:
        return [code for code in self.ledger.sequences if self.ledger.shots_of.get(code)]

    def shots(self, code: str, shown: Mapping[str, int]) -> SequenceShots:
        """Return a sequence and its shots.

        shown: the units that the table of sequences shows of this one, by column.
        """
        every = self.ledger.shots_of[code]
        table = self.table(f"Shots of sequence {code}", SHOT_COLUMNS, map(self.row, every))
        if len(self.ledger.shots) > MOST_SHOTS:
            table = table.without(*TOLD_BY_THE_SHOT)
        kept = len(shots_counted(self.ledger, code))
        left = len(every) - kept
        count = f"{counted(kept, 'shot')}, {left:,} omitted" if left else counted(kept, "shot")
        name = self.ledger.sequences[code].name or ""
        return sequence_anchor(code), code, name, count, replace(table, shown_totals=shown)

    def overview(self) -> ShotsPage:
        ledger, use = self.ledger, self.source.results.use
        codes = self.sequences_with_shots()
        sequences = self.sequences(codes)
        units = sequences.printed().units
        lengths = [column.key for column in LENGTH_COLUMNS]
        count = sum(sequences.column("shots"))
        left = len(ledger.shots) - count
        return ShotsPage(
            csv=SHOTS_CSV,
            long=len(ledger.shots) > MOST_SHOTS,
            sequences=sequences,
            shots=tuple(
                self.shots(code, {key: units[key][at] for key in lengths})
                for at, code in enumerate(codes)
            ),
            count=f"{count:,}",
            omitted=f"{left:,}" if left else "",
            length=self.source.amount(sum(sequences.column("frames"))),
            cut_length=clock(use.cut.length, self.source.scale.rate) if use else "",
            in_cut=f"{sum(map(self.in_cut, ledger.shots)):,}",
            film_strip=_film_strip(self.source, codes, use) if use else None,
        )

    def csv(self) -> bytes:
        """Return the shots as CSV, everything that is told of each on the page or on its own."""
        codes = shots_in_order(self.ledger)
        table = self.table("Shots", SHOT_COLUMNS, map(self.row, codes))
        return table_csv(table.seen_by(self.source.edition))

    def told_in_cut(self, shot: str) -> tuple[str, str]:
        """Count the frames that the cut uses, and tell which, how often, and where in the film."""
        use, used = self.source.results.use, self.used(shot)
        takes = self.that_count(shot)
        clips = [c for take in takes for c in use.clips_of.get((shot, take), ())] if use else []
        if not used or not clips:
            return "not used" if use else "", ""
        several = len(used) > 1
        ranges = [f"{own.shown} of take {n}" if several else own.shown for n, own in used.items()]
        at = clock(min(clip.film_first for clip in clips) - 1, self.ledger.production.rate)
        told = [listed(ranges), f"at {at} in the film"]
        count = sum(frames.count for frames in used.values())
        shown = sum(clip.shown for clip in clips)
        if shown != count:
            told.append(f"on screen for {counted(shown, 'frame')}")
        return f"{count:,}", "; ".join(told)

    def page(self, code: str, steps: Steps) -> ShotPage:
        shot, source = self.ledger.shots[code], self.source
        counting = self.that_count(code)
        claimed = self.with_claims(code)
        in_cut, where = self.told_in_cut(code)
        entries = sorted(self.ledger.entries_by_shot.get(code, ()), key=lambda e: e.number)
        log = shot_log(source, f"Entries of the log that name shot {code}", entries)
        if len({entry.take for entry in entries} - {None}) == 1:
            log = log.without("take")
        works = (work for n in counting for work in source.results.hands.crafts_of_take(code, n))
        hands = len(set[str]().union(*(work.people for work in works)))
        return ShotPage(
            code=code,
            sequence=sequence_link(source, shot.sequence),
            description=shot.description or "",
            picture=source.pictures.get(code, ""),
            length=source.amount(shot.length),
            status=shot.status.value,
            omitted=shot.status is ShotStatus.OMITTED,
            in_cut=in_cut,
            in_cut_where=where,
            counting=tuple(
                Marked(value=n, note=decision_text(self.ledger.take(code, n))) for n in counting
            ),
            hands=f"{hands:,}" if hands else "",
            hands_word="person" if hands == 1 else "people",
            sections=tuple(
                TakeFrames(source, source.results.runs[code, take]).section(
                    decision_text(self.ledger.take(code, take)), several=len(claimed) > 1
                )
                for take in claimed
            ),
            replacements=replacement_table(source, code),
            takes=self.takes(code),
            entries=log.without("shot").without_empty("wait", "note"),
            steps=steps,
        )


def _drawn(source: PageSource, use: CutUse) -> list[Stretch]:
    """Return the film in stretches of one sequence as they are drawn: over gaps that are hairs."""
    return stretches_by(use, partial(sequence_of, source.ledger), use.cut.length / strips.HAIRS)


def _film_strip(source: PageSource, codes: Sequence[str], use: CutUse) -> strips.Strip | None:
    rate = source.ledger.production.rate
    place = {code: at for at, code in enumerate(codes)}
    blocks = []
    for first, stop, code in _drawn(source, use):
        what = source.sequence(code)
        blocks.append(strips.film_block(what, (first, stop), place[code], rate, code))
    if not blocks:
        return None
    title = "The sequences in the cut. Where each begins is in the table."
    marks = strips.film_marks(use.cut, source.ledger.production)
    return strips.strip(title, [("the cut", blocks)], (1, use.cut.length + 1), marks)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotPage:
    """Everything the shot's page shows. counting: the takes that count, and what became of them."""

    code: Everyone[str]
    sequence: Everyone[Link]
    description: Everyone[str]
    picture: Everyone[str]
    length: Everyone[Amount]
    status: Everyone[str]
    omitted: Everyone[bool]
    in_cut: Everyone[str]
    in_cut_where: Everyone[str]
    counting: Everyone[tuple[Marked, ...]]
    hands: Everyone[str]
    hands_word: Everyone[str]
    sections: Everyone[tuple[TakeSection, ...]]
    replacements: Everyone[Table]
    takes: Everyone[Table]
    entries: Everyone[Table]
    steps: Everyone[Steps]


def sequences_in_film(source: PageSource) -> Table:
    """Tell of each sequence how many shots it has, and where it is in the film."""
    shots = _Shots(source)
    table = shots.sequences(shots.sequences_with_shots())
    return table.without(*(column.key for column in LENGTH_COLUMNS))


def shot_pages(source: PageSource) -> Iterator[Page | DataFile]:
    """Make the list of shots and its CSV, and one page for every shot, in the order of the film.

    That is by sequence, as the tables have them.
    """
    shots = _Shots(source)
    yield Page(links.SHOTS, "shots.html", "Shots", links.SHOTS, shots.overview)
    yield DataFile(SHOTS_CSV, shots.csv)
    for code, steps in with_steps([source.shot(code) for code in shots_in_order(source.ledger)]):
        page, make = links.shot_page(code), partial(shots.page, code, steps)
        about = About("shot", code)
        yield Page(page, "shot.html", f"Shot {code}", links.SHOTS, make, about, shots.share)
