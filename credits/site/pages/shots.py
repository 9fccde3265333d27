"""The list of shots."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from credits.editions import Everyone
from credits.figures.results import Results
from credits.footage.cut import CutUse
from credits.model.facts import ShotStatus, Take
from credits.model.ledger import Ledger
from credits.model.words import counted, listed
from credits.site import links
from credits.site.page import Link, Page
from credits.site.source import PageSource
from credits.site.strips import BlockSpec, RowSpec, Strip, film_marks, strip
from credits.site.words import Length, Printed, adding_up, together
from credits.units.film_time import clock, day_text
from credits.units.frames import Frames


@dataclass(frozen=True, slots=True)
class TakeRow:
    """A take in the table of takes."""

    take: Everyone[str]
    purpose: Everyone[str]
    decision: Everyone[str]
    decided_on: Everyone[str]
    sort: Everyone[str]
    claimed: Everyone[str]
    counts: Everyone[str]


def shots_in_order(ledger: Ledger) -> tuple[str, ...]:
    """All shots, by sequence, as the tables have them."""
    return tuple(shot for code in ledger.sequences for shot in ledger.shots_of.get(code, ()))


class TakesOfShots:
    """For each shot: the takes that count, and the takes that have claims. Made once for a site.

    The takes that count are those the cut uses, in its order; without a use in the cut, the one
    that the shot means (rule 3.4).
    """

    def __init__(self, results: Results) -> None:
        self._results = results
        self._used: dict[str, list[int]] = defaultdict(list)
        for shot, take in results.use.clips_of if results.use else ():
            self._used[shot].append(take)
        self._claimed: dict[str, list[int]] = defaultdict(list)
        for shot, take in results.runs:
            self._claimed[shot].append(take)

    def that_count(self, shot: str) -> tuple[int, ...]:
        """The takes that count; none where there is nothing to show."""
        used = self._used.get(shot)
        if used:
            return tuple(used)
        meant = self._results.takes.get(shot)
        return () if meant is None else (meant,)

    def with_claims(self, shot: str) -> tuple[int, ...]:
        """The takes in which frames are claimed, those that count first."""
        claimed = self._claimed.get(shot, [])
        first = [take for take in self.that_count(shot) if take in claimed]
        return (*first, *(take for take in claimed if take not in first))

    def rows(self, shot: str) -> tuple[TakeRow, ...]:
        """The table of takes, by number: those entered, those worked on, those the cut names."""
        ledger = self._results.ledger
        counting = self.that_count(shot)
        numbers = {take.number for take in ledger.takes_of.get(shot, ())}
        numbers |= {e.take for e in ledger.entries_by_shot.get(shot, ()) if e.take is not None}
        rows = []
        for number in sorted({*numbers, *counting}):
            take = ledger.take(shot, number)
            runs = self._results.runs.get((shot, number))
            rows.append(
                TakeRow(
                    str(number),
                    take.purpose.value,
                    take.decision.value,
                    day_text(take.decided_on) if take.decided_on else "",
                    take.decided_on.isoformat() if take.decided_on else "",
                    runs.claimed.text if runs else "",
                    self._counts(number in counting, number in self._used.get(shot, ())),
                )
            )
        return tuple(rows)

    @staticmethod
    def _counts(counts: bool, used: bool) -> str:
        return "in the cut" if used else "counts" if counts else ""


def decision_text(take: Take) -> str:
    """``accepted 6 March 2026``, ``open``."""
    words = take.decision.value
    return f"{words} {day_text(take.decided_on)}" if take.decided_on else words


def takes_text(ledger: Ledger, shot: str, takes: tuple[int, ...]) -> str:
    """``2, accepted``: the takes that count, in a table of shots."""
    return listed([f"{n}, {ledger.take(shot, n).decision.value}" for n in takes])


@dataclass(frozen=True, slots=True)
class ShotLine:
    """A shot in the table of its sequence. An omitted shot has no length: it is not counted."""

    shot: Everyone[Link]
    description: Everyone[str]
    length: Everyone[Length | None]
    status: Everyone[str]
    characters: Everyone[tuple[Link, ...]]
    take: Everyone[str]
    in_cut: Everyone[str]
    animators: Everyone[tuple[Link, ...]]


@dataclass(frozen=True, slots=True)
class SequenceLines:
    """A sequence: its shots, and their total."""

    anchor: Everyone[str]
    code: Everyone[str]
    name: Everyone[str]
    shots: Everyone[tuple[ShotLine, ...]]
    count: Everyone[str]
    shot_number: Everyone[str]
    omitted: Everyone[str]
    length: Everyone[Length]
    in_cut: Everyone[str]
    in_film: Everyone[str]
    in_film_sort: Everyone[str]


@dataclass(frozen=True, slots=True)
class ShotsPage:
    """The shots of the film. ``has_cut``: whether there is a cut to be in."""

    sequences: Everyone[tuple[SequenceLines, ...]]
    count: Everyone[str]
    length: Everyone[Length]
    running: Everyone[str]
    has_cut: Everyone[bool]
    cut_length: Everyone[str]
    in_cut: Everyone[str]
    omitted: Everyone[str]
    film_strip: Everyone[Strip | None]


def sequence_anchor(code: str) -> str:
    """The id of a sequence on the page of shots."""
    return f"s-{links.file_name(code)}"


def sequence_link(source: PageSource, code: str) -> Link:
    """``Sequence 030, The Quay``, leading to its shots."""
    name = source.ledger.sequences[code].name
    text = f"Sequence {code}, {name}" if name else f"Sequence {code}"
    return Link(text, f"{links.SHOTS}#{sequence_anchor(code)}")


class _Shots:
    def __init__(self, source: PageSource) -> None:
        self.source = source
        self.ledger = source.ledger
        self.takes = TakesOfShots(source.results)
        self.place = {code: at for at, code in enumerate(source.ledger.characters)}

    def in_cut(self, shot: str) -> int:
        use = self.source.results.use
        if use is None:
            return 0
        return sum(use.used.get((shot, t), Frames()).count for t in self.takes.that_count(shot))

    def line(self, code: str, printed: Printed | None) -> ShotLine:
        shot = self.ledger.shots[code]
        takes = self.takes.that_count(code)
        runs = [self.source.results.runs.get((code, take)) for take in takes]
        kept = [layer for own in runs if own for run in own.runs for layer in run.kept]
        people = {claim.person for layer in kept for claim in layer.claims}
        shown = (self.source.person(p) for p in sorted(people, key=self.source.name_order))
        cast = sorted({layer.character for layer in kept}, key=self.place.__getitem__)
        used = self.in_cut(code)
        return ShotLine(
            self.source.shot(code),
            shot.description or "",
            printed.length(self.ledger.production.gauge) if printed else None,
            shot.status.value,
            tuple(self.source.character(character) for character in cast),
            takes_text(self.ledger, code, takes),
            f"{used:,}" if used else "",
            tuple(link for link in shown if link is not None),
        )

    def counted(self, sequence: str) -> list[str]:
        """The shots of a sequence that are in the film: those that were not omitted."""
        shots = self.ledger.shots
        own = self.ledger.shots_of.get(sequence, ())
        return [code for code in own if shots[code].status is not ShotStatus.OMITTED]

    def sequence(self, code: str, total: Printed, starts: int | None) -> SequenceLines:
        own = self.ledger.shots_of.get(code, ())
        kept = self.counted(code)
        lengths = [self.ledger.shots[shot].length for shot in kept]
        printed = dict(zip(kept, adding_up(lengths, self.ledger.production, total), strict=True))
        used = sum(self.in_cut(shot) for shot in own)
        left = len(own) - len(kept)
        return SequenceLines(
            sequence_anchor(code),
            code,
            self.ledger.sequences[code].name or "",
            tuple(self.line(shot, printed.get(shot)) for shot in own),
            counted(len(kept), "shot"),
            f"{len(kept):,}",
            f"{left} omitted" if left else "",
            total.length(self.ledger.production.gauge),
            f"{used:,}" if used else "",
            clock(starts - 1, self.ledger.production.rate) if starts else "",
            str(starts or ""),
        )

    def page(self) -> ShotsPage:
        ledger, use = self.ledger, self.source.results.use
        production = ledger.production
        codes = [code for code in ledger.sequences if ledger.shots_of.get(code)]
        lengths = [sum(ledger.shots[s].length for s in self.counted(code)) for code in codes]
        totals = adding_up(lengths, production)
        every = together(totals)
        starts = _starts(use, self.source) if use else {}
        sequences = tuple(
            self.sequence(code, total, starts.get(code))
            for code, total in zip(codes, totals, strict=True)
        )
        shots = sum(len(self.counted(code)) for code in codes)
        left = len(ledger.shots) - shots
        used = sum(self.in_cut(shot) for shot in ledger.shots)
        return ShotsPage(
            sequences,
            f"{shots:,}",
            every.length(production.gauge),
            clock(every.frames, production.rate),
            use is not None,
            clock(use.cut.length, production.rate) if use else "",
            f"{used:,}",
            f"{left:,}" if left else "",
            _film_strip(self.source, codes, use) if use else None,
        )


def _stretches(source: PageSource, use: CutUse) -> list[tuple[int, int, str]]:
    """The film in stretches of one sequence: film frames (half open) and the sequence."""
    out: list[tuple[int, int, str]] = []
    hair = use.cut.length / 1700
    for clip in sorted(use.clips, key=lambda clip: clip.film_first):
        code = source.ledger.shots[clip.shot].sequence
        stop = clip.film_first + clip.shown
        if out and out[-1][2] == code and clip.film_first - out[-1][1] <= hair:
            out[-1] = (out[-1][0], max(stop, out[-1][1]), code)
        else:
            out.append((clip.film_first, stop, code))
    return out


def _starts(use: CutUse, source: PageSource) -> dict[str, int]:
    """The film frame in which each sequence first begins."""
    starts: dict[str, int] = {}
    for first, _, code in _stretches(source, use):
        starts.setdefault(code, first)
    return starts


def _film_strip(source: PageSource, codes: Sequence[str], use: CutUse) -> Strip | None:
    rate = source.ledger.production.rate
    place = {code: at for at, code in enumerate(codes)}
    blocks = []
    for first, stop, code in _stretches(source, use):
        name = source.ledger.sequences[code].name
        what = f"{code}, {name}" if name else code
        span = f"{clock(first - 1, rate)} to {clock(stop - 1, rate)}"
        blocks.append(BlockSpec(first, stop, place[code], f"{what}: {span}", code))
    if not blocks:
        return None
    title = "The sequences in the cut. Where each begins is in the table."
    marks = film_marks(use.cut, source.ledger.production)
    return strip(title, [RowSpec("the cut", blocks)], (1, use.cut.length + 1), marks)


def shots_page(source: PageSource) -> Iterator[Page]:
    """The one page of all shots."""
    yield Page(links.SHOTS, "shots.html", "Shots", links.SHOTS, _Shots(source).page())
