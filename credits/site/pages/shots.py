"""The list of shots: what remains of the film, and everything that one looks a shot up by."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial
from urllib.parse import quote

from credits.editions import Everyone
from credits.footage.cut import CutUse
from credits.footage.footage import Cell, Footage
from credits.footage.how_far import HowFar, ShotLack, ShotStand
from credits.model.facts import ShotStatus
from credits.model.words import counted, listed
from credits.site import bands, html, links, strips
from credits.site.bands import FilmStrip
from credits.site.csv_file import table_csv
from credits.site.links import DataFile, Link, Page
from credits.site.pages.shot import (
    Shots,
    sequence_anchor,
    sequence_link,
    shots_counted,
    shots_in_order,
    status_text,
)
from credits.site.pieces import Stretch, sequence_of, stretches_by
from credits.site.source import Amount, PageSource, plain, without_cut
from credits.units.film_time import clock, day_text
from credits.units.table import Column, Marked, Table, Unit, columns

SHOTS_CSV = "shots/shots.csv"
LENGTH_COLUMNS = (
    Column(key="frames", heading="Frames", unit=Unit.FRAMES, adds_up=True, nothing=""),
    Column(key="seconds", heading="Seconds", unit=Unit.SECONDS, places=1, adds_up=True, nothing=""),
    Column(key="feet", heading="Feet", unit=Unit.FEET, adds_up=True, nothing=""),
)
SEQUENCE_COLUMNS = (
    Column(key="sequence", heading="Sequence", unit=Unit.CODE),
    Column(key="name", heading="Name"),
    Column(key="shots", heading="Shots", unit=Unit.NUMBER, adds_up=True),
    Column(key="open", heading="Still open", unit=Unit.NUMBER, adds_up=True, nothing=""),
    *LENGTH_COLUMNS,
    Column(key="in_cut", heading="Frames in the cut", unit=Unit.FRAMES, adds_up=True, nothing=""),
    Column(key="in_film", heading="Position in the film", unit=Unit.RUNNING, nothing=""),
)
SHOT_COLUMNS = (
    Column(key="shot", heading="Shot", unit=Unit.CODE),
    *columns(sequence="Sequence", status="Status", open="Still open", take="Take"),
    Column(key="description", heading="What happens", unit=Unit.NOTE),
    *LENGTH_COLUMNS,
    Column(key="in_cut", heading="In the cut", unit=Unit.FRAMES, adds_up=True, nothing=""),
    *columns(characters="Characters", animators="Animated by", stage="Stage", day="Last shot on"),
)
# What nobody compares is left to the page of a shot, and to the CSV.
TOLD_BY_THE_SHOT = ("description", "take", "seconds", "feet")
MOST_SHOTS = 300
"""Of more shots the list has no links but to the shots."""
MOST_BYTES = 260_000
"""A longer table takes long to open: it leaves these columns to the CSV, one after the other."""
LEFT_TO_THE_CSV = ("frames", "characters", "animators")
TELLING = ("stage", "day", "open")
"""Columns that are left out where no shot has anything in them."""

STATUS_PATTERNS = {
    ShotStatus.DONE: bands.SOLID,
    ShotStatus.SHOOTING: bands.HATCHED,
    ShotStatus.PLANNED: bands.DOTTED,
}
LACKS = {
    ShotLack.ANIMATION: "to animate",
    ShotLack.AGAIN: "to shoot again",
    ShotLack.FRAMES: "to finish",
    ShotLack.ENTRIES: "to log",
    ShotLack.ACCEPTANCE: "to accept",
    ShotLack.PLACE: "not in the cut",
}
"""What a shot lacks, as it stands in the list and as it is looked for."""


def shots_found(words: str) -> str:
    """Return the address of the list of shots with those in whose row some words stand together."""
    in_quotes = quote(f'"{words}"')
    return f"{links.SHOTS}#find={in_quotes}"


def lacking(far: HowFar) -> dict[ShotLack, list[ShotStand]]:
    """Return the shots that lack something, by what they lack first."""
    found: dict[ShotLack, list[ShotStand]] = {lack: [] for lack in LACKS}
    for own in far.shots.values():
        if (lack := own.lack) is not None:
            found[lack].append(own)
    return {lack: own for lack, own in found.items() if own}


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotsPage:
    """The shots of the film. remains: how many lack what, each leading to those shots."""

    csv: Everyone[str]
    sequences: Everyone[Table]
    shots: Everyone[Table]
    count: Everyone[str]
    omitted: Everyone[str]
    length: Everyone[Amount]
    cut_length: Everyone[str]
    in_cut: Everyone[str]
    remains: Everyone[tuple[Link, ...]]
    strip: Everyone[FilmStrip | None]


Row = tuple[object, ...]


class ShotList:
    """What is told of every shot, made once for a site."""

    def __init__(self, source: PageSource) -> None:
        self.source = source
        self.ledger = source.ledger
        self.facts = Shots(source)

    def share(self) -> object:
        """Compute what is read of the figures."""
        own = self.source.results
        return own.how_far, self.cells, own.use, self.facts.that_count("")

    @property
    def cells(self) -> Mapping[str, Footage]:
        """The footage of each shot."""
        return self.source.results.footage_by_shot

    def _open(self, code: str) -> str | Marked:
        own = self.source.results.how_far.shots.get(code)
        if own is None or own.lack is None:
            return ""
        if own.lack in (ShotLack.FRAMES, ShotLack.ENTRIES):
            return Marked(value=LACKS[own.lack], note=counted(own.lacking, "frame"))
        return LACKS[own.lack]

    def row(self, code: str) -> Row:
        """Return what stands in the columns of a shot."""
        shot, takes, source = self.ledger.shots[code], self.facts.that_count(code), self.source
        cells: Sequence[Cell] = own.cells if (own := self.cells.get(code)) is not None else ()
        kept = [cell for cell in cells if cell.take in takes and cell.character_kept]
        length = None if shot.status is ShotStatus.OMITTED else shot.length
        last = max((cell.day for cell in cells if cell.day is not None), default=None)
        on = sorted({cell.stage for cell in cells if cell.stage and cell.day == last})
        return (
            source.shot(code),
            shot.sequence,
            status_text(shot.status),
            self._open(code),
            listed([f"{n}, {self.ledger.take(code, n).decision.value}" for n in takes]),
            shot.description or "",
            *([length] * len(LENGTH_COLUMNS)),
            self.facts.in_cut(code) or None,
            source.characters(cell.character for cell in kept),
            source.names(cell.person for cell in kept),
            ", ".join(on),
            day_text(last) if last else "",
        )

    @cached_property
    def table(self) -> Table:
        """Every shot, with everything that is told of each."""
        rows = list(map(self.row, shots_in_order(self.ledger)))
        table = Table.of("Shots", SHOT_COLUMNS, rows, self.source.scale, "total")
        return without_cut(self.source, table)

    def shown(self) -> Table:
        """Return the table of the page. A long film's is shorter in all that is said twice."""
        table = self.table.without(*TOLD_BY_THE_SHOT).without_empty(*TELLING)
        if len(self.ledger.shots) <= MOST_SHOTS:
            return self._placed(table.with_values("sequence", self.source.sequence))
        table = table.with_values("characters", plain).with_values("animators", plain)
        code, *others = table.columns
        table = replace(table, columns=(replace(code, unit=Unit.TEXT), *others))
        for key in LEFT_TO_THE_CSV:
            if len(html.table(table, links.root_of(links.SHOTS)).encode("utf-8")) <= MOST_BYTES:
                break
            table = table.without(key)
        return self._placed(table)

    def _placed(self, table: Table) -> Table:
        """Make the first shot of each sequence the place to which links to the sequence lead."""
        begins: set[str] = set()

        def placed(link: Link) -> Link | Marked:
            code = self.ledger.shots[str(link)].sequence
            if code in begins:
                return link
            begins.add(code)
            return Marked(value=link, anchor=sequence_anchor(code))

        return table.with_values("shot", placed)

    def sequences_with_shots(self) -> list[str]:
        """Return the sequences that have shots."""
        return [code for code in self.ledger.sequences if self.ledger.shots_of.get(code)]

    @cached_property
    def still_open(self) -> Mapping[str, int]:
        """How many shots of each sequence lack something."""
        far = self.source.results.how_far
        return Counter(
            self.ledger.shots[code].sequence
            for code, own in far.shots.items()
            if own.lack is not None
        )

    def sequences(self, still_open: Mapping[str, int]) -> Table:
        """Return the sequences: how long they are, what of them is open, where they are."""
        use = self.source.results.use
        starts: dict[str, int] = {}
        for first, _, code in _drawn(self.source, use) if use else ():
            starts.setdefault(code, first)
        rows: list[Row] = []
        for code in self.sequences_with_shots():
            shots = shots_counted(self.ledger, code)
            length = sum(self.ledger.shots[shot].length for shot in shots)
            used = sum(map(self.facts.in_cut, self.ledger.shots_of[code])) or None
            start = starts[code] - 1 if code in starts else None
            link = Link(code, sequence_link(self.source, code).href)
            name, left = self.ledger.sequences[code].name or "", still_open.get(code)
            lengths = [length] * len(LENGTH_COLUMNS)
            rows.append((link, name, len(shots), left, *lengths, used, start))
        caption = "The sequences and their lengths"
        table = Table.of(caption, SEQUENCE_COLUMNS, rows, self.source.scale, "total")
        return without_cut(self.source, table.without_empty("name"))

    def strip(self) -> FilmStrip | None:
        """Draw the shots end to end, each to its length, by status."""
        stretches: list[Stretch] = []
        parts: list[bands.Part] = []
        at, frames = 1, dict.fromkeys(STATUS_PATTERNS, 0)
        for sequence in self.sequences_with_shots():
            begins = at
            for code in shots_counted(self.ledger, sequence):
                shot = self.ledger.shots[code]
                parts.append((at, at + shot.length, STATUS_PATTERNS[shot.status]))
                frames[shot.status] += shot.length
                at += shot.length
            if at > begins:
                stretches.append((begins, at, sequence))
        if not parts:
            return None
        told = [(status_text(status), count) for status, count in frames.items()]
        length, link_of = at - 1, partial(sequence_link, self.source)
        return FilmStrip(
            bands=tuple(bands.bands(stretches, length, link_of, bands.LEAST_LINKED)),
            parts=bands.parts_drawn(bands.said_of(told, "The shots by status"), parts, length),
            key=tuple((STATUS_PATTERNS[s], status_text(s)) for s, n in frames.items() if n),
        )

    def _remains(self) -> Iterator[Link]:
        for lack, own in lacking(self.source.results.how_far).items():
            yield Link(f"{counted(len(own), 'shot')} {LACKS[lack]}", shots_found(LACKS[lack]))

    def page(self) -> ShotsPage:
        """Return the page of the list."""
        ledger, use = self.ledger, self.source.results.use
        sequences = self.sequences(self.still_open)
        count = sum(sequences.column("shots"))
        left = len(ledger.shots) - count
        return ShotsPage(
            csv=SHOTS_CSV,
            sequences=sequences,
            shots=self.shown(),
            count=f"{count:,}",
            omitted=f"{left:,}" if left else "",
            length=self.source.amount(sum(sequences.column("frames"))),
            cut_length=clock(use.cut.length, self.source.scale.rate) if use else "",
            in_cut=f"{sum(map(self.facts.in_cut, ledger.shots)):,}",
            remains=tuple(self._remains()),
            strip=self.strip(),
        )

    def csv(self) -> bytes:
        """Return the shots as CSV, everything that is told of each on the page or on its own."""
        return table_csv(self.table.seen_by(self.source.edition))


def _drawn(source: PageSource, use: CutUse) -> list[Stretch]:
    """Return the film in stretches of one sequence as they are drawn: over gaps that are hairs."""
    return stretches_by(use, partial(sequence_of, source.ledger), use.cut.length / strips.HAIRS)


def sequences_in_film(source: PageSource) -> Table:
    """Tell of each sequence how many shots it has, and where it is in the film."""
    table = ShotList(source).sequences({})
    return table.without("open", *(column.key for column in LENGTH_COLUMNS))


def shots_pages(source: PageSource) -> Iterator[Page | DataFile]:
    """Make the list of shots, and its CSV."""
    made = ShotList(source)
    yield Page(links.SHOTS, "shots.html", "Shots", links.SHOTS, made.page, share=made.share)
    yield DataFile(SHOTS_CSV, made.csv, share=made.share)
