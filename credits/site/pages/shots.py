"""The list of shots."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from credits.editions import Everyone
from credits.footage.cut import CutUse
from credits.model.facts import ShotStatus, Take
from credits.model.ledger import Ledger
from credits.model.words import counted, listed
from credits.site import links
from credits.site.entries import without_cut
from credits.site.links import Link, Page
from credits.site.source import Amount, PageSource, grouped
from credits.site.strips import HAIRS, Strip, film_block, film_marks, strip
from credits.units.film_time import clock, day_text
from credits.units.frames import Frames
from credits.units.table import Column, Table, Unit

TAKE_COLUMNS = (
    Column(key="take", heading="Take"),
    Column(key="purpose", heading="Purpose"),
    Column(key="decision", heading="Decision"),
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
    Column(key="characters", heading="Characters"),
    Column(key="animators", heading="Animated by"),
    Column(key="status", heading="Status"),
    Column(key="take", heading="Take"),
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


class TakesOfShots:
    """For each shot: the takes that count, and the takes that have claims. Made once for a site.

    The takes that count are those the cut uses, in its order; without a use in the cut, the one
    that the shot means.
    """

    def __init__(self, source: PageSource) -> None:
        self._source = source
        self._claimed = grouped(source.results.runs, lambda key: key[0])

    def that_count(self, shot: str) -> tuple[int, ...]:
        """Return the takes that count; none where there is nothing to show."""
        meant = self._source.results.takes.get(shot)
        used = self._source.takes_in_cut.get(shot)
        return tuple(used) if used else () if meant is None else (meant,)

    def in_cut(self, shot: str) -> dict[int, Frames]:
        """Return the frames of each take that the cut uses; without takes of which it uses none."""
        used = ((take, self._source.in_cut(shot, take)) for take in self.that_count(shot))
        return {take: frames for take, frames in used if frames}

    def with_claims(self, shot: str) -> tuple[int, ...]:
        """Return the takes in which frames are claimed, those that count first."""
        claimed = [take for _, take in self._claimed.get(shot, ())]
        first = [take for take in self.that_count(shot) if take in claimed]
        return (*first, *(take for take in claimed if take not in first))

    def table(self, shot: str) -> Table:
        """Return the takes, by number: those entered, those worked on, those the cut names."""
        ledger, runs = self._source.ledger, self._source.results.runs
        counting = self.that_count(shot)
        used = self._source.takes_in_cut.get(shot, ())
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


def decision_text(take: Take) -> str:
    """Return ``accepted 6 March 2026``, ``open``."""
    words = take.decision.value
    return f"{words} {day_text(take.decided_on)}" if take.decided_on else words


@dataclass(frozen=True, slots=True, kw_only=True)
class SequenceShots:
    """A sequence and its shots. An omitted shot stands there and has no length."""

    anchor: Everyone[str]
    code: Everyone[str]
    name: Everyone[str]
    count: Everyone[str]
    omitted: Everyone[str]
    shots: Everyone[Table]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotsPage:
    """The shots of the film. has_cut: whether there is a cut to be in."""

    sequences: Everyone[Table]
    shots: Everyone[tuple[SequenceShots, ...]]
    count: Everyone[str]
    omitted: Everyone[str]
    length: Everyone[Amount]
    has_cut: Everyone[bool]
    cut_length: Everyone[str]
    in_cut: Everyone[str]
    film_strip: Everyone[Strip | None]


def sequence_anchor(code: str) -> str:
    """Return the id of a sequence on the page of shots."""
    return f"s-{links.file_name(code)}"


def sequence_link(source: PageSource, code: str) -> Link:
    """Return ``Sequence 030, The Quay``, leading to its shots."""
    return Link(f"Sequence {source.sequence(code)}", f"{links.SHOTS}#{sequence_anchor(code)}")


Row = tuple[object, ...]


class _Shots:
    def __init__(self, source: PageSource) -> None:
        self.source = source
        self.ledger = source.ledger
        self.takes = TakesOfShots(source)

    def in_cut(self, shot: str) -> int:
        return sum(frames.count for frames in self.takes.in_cut(shot).values())

    def row(self, code: str) -> Row:
        shot = self.ledger.shots[code]
        takes = self.takes.that_count(code)
        runs = [self.source.results.runs.get((code, take)) for take in takes]
        kept = [layer for own in runs if own for run in own.runs for layer in run.kept]
        length = None if shot.status is ShotStatus.OMITTED else shot.length
        return (
            self.source.shot(code),
            shot.description or "",
            self.source.characters(layer.character for layer in kept),
            self.source.names(claim.person for layer in kept for claim in layer.claims),
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
        stretches = _stretches(self.source, use) if use else []
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

    def shots(self, code: str, shown: Mapping[str, int]) -> SequenceShots:
        """Return a sequence and its shots.

        shown: the units that the table of sequences shows of this one, by column.
        """
        every = self.ledger.shots_of[code]
        table = self.table(f"Shots of sequence {code}", SHOT_COLUMNS, map(self.row, every))
        kept = len(shots_counted(self.ledger, code))
        left = len(every) - kept
        return SequenceShots(
            anchor=sequence_anchor(code),
            code=code,
            name=self.ledger.sequences[code].name or "",
            count=counted(kept, "shot"),
            omitted=f"{left:,} omitted" if left else "",
            shots=replace(table, shown_totals=shown),
        )

    def page(self) -> ShotsPage:
        ledger, use = self.ledger, self.source.results.use
        codes = [code for code in ledger.sequences if ledger.shots_of.get(code)]
        sequences = self.sequences(codes)
        units = sequences.printed().units
        lengths = [column.key for column in LENGTH_COLUMNS]
        count = sum(sequences.column("shots"))
        left = len(ledger.shots) - count
        return ShotsPage(
            sequences=sequences,
            shots=tuple(
                self.shots(code, {key: units[key][at] for key in lengths})
                for at, code in enumerate(codes)
            ),
            count=f"{count:,}",
            omitted=f"{left:,}" if left else "",
            length=self.source.amount(sum(sequences.column("frames"))),
            has_cut=self.source.has_cut,
            cut_length=clock(use.cut.length, self.source.scale.rate) if use else "",
            in_cut=f"{sum(map(self.in_cut, ledger.shots)):,}",
            film_strip=_film_strip(self.source, codes, use) if use else None,
        )


def _stretches(source: PageSource, use: CutUse) -> list[tuple[int, int, str]]:
    """Return the film in stretches of one sequence: film frames (half open) and the sequence."""
    out: list[tuple[int, int, str]] = []
    hair = use.cut.length / HAIRS
    for clip in sorted(use.clips, key=lambda clip: clip.film_first):
        code = source.ledger.shots[clip.shot].sequence
        stop = clip.film_first + clip.shown
        if out and out[-1][2] == code and clip.film_first - out[-1][1] <= hair:
            out[-1] = (out[-1][0], max(stop, out[-1][1]), code)
        else:
            out.append((clip.film_first, stop, code))
    return out


def _film_strip(source: PageSource, codes: Sequence[str], use: CutUse) -> Strip | None:
    rate = source.ledger.production.rate
    place = {code: at for at, code in enumerate(codes)}
    blocks = []
    for first, stop, code in _stretches(source, use):
        what = source.sequence(code)
        blocks.append(film_block(what, (first, stop), place[code], rate, code))
    if not blocks:
        return None
    title = "The sequences in the cut. Where each begins is in the table."
    marks = film_marks(use.cut, source.ledger.production)
    return strip(title, [("the cut", blocks)], (1, use.cut.length + 1), marks)


def shots_page(source: PageSource) -> Iterator[Page]:
    """Make the one page of all shots."""
    yield Page(links.SHOTS, "shots.html", "Shots", links.SHOTS, _Shots(source).page())
