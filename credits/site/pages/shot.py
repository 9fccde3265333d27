"""Of each shot who animated which frames, and who worked on it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property, partial

from credits.editions import Everyone
from credits.model.facts import FINISHED, ShotStatus, Take
from credits.model.ledger import Ledger
from credits.model.words import counted, listed
from credits.site import links
from credits.site.links import (
    About,
    Link,
    Page,
    Steps,
    with_steps,
)
from credits.site.pages.take import TakeFrames, TakeSection, replacement_table
from credits.site.source import (
    Amount,
    PageSource,
    grouped,
    shot_log,
)
from credits.units.film_time import clock, day_text
from credits.units.frames import Frames
from credits.units.table import Column, Marked, Table, Unit, columns

STATUS_WORDS = {ShotStatus.DONE: FINISHED}
TAKE_COLUMNS = (
    *columns(take="Take", purpose="Purpose", decision="Decision"),
    Column(key="decided_on", heading="Decided on", unit=Unit.DAY),
    Column(key="claimed", heading="Frames claimed", unit=Unit.RANGES),
    Column(key="counts", heading="Counts"),
)


def status_text(status: ShotStatus) -> str:
    """Return how far a shot is, as people say it."""
    return STATUS_WORDS.get(status, status.value)


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


def sequence_anchor(code: str) -> str:
    """Return the id of a sequence on the page of shots."""
    return f"s-{links.file_name(code)}"


def sequence_link(source: PageSource, code: str) -> Link:
    """Return ``Sequence 030, The Quay``, leading to its shots."""
    return Link(f"Sequence {source.sequence(code)}", f"{links.SHOTS}#{sequence_anchor(code)}")


class Shots:
    """What is the same for all shots, made once for a site.

    The takes that count are those the cut uses, in its order; without a use in the cut, the one
    that the shot means.
    """

    def __init__(self, source: PageSource) -> None:
        self.source = source
        self.ledger = source.ledger

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
        stages = {entry.stage for entry in entries}
        if stage := next(iter(stages)) if len(stages) == 1 else None:
            log = log.without("stage")
        works = (work for n in counting for work in source.results.hands.crafts_of_take(code, n))
        hands = len(set[str]().union(*(work.people for work in works)))
        return ShotPage(
            code=code,
            sequence=sequence_link(source, shot.sequence),
            description=shot.description or "",
            picture=source.pictures.get(code, ""),
            length=source.amount(shot.length),
            status=status_text(shot.status),
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
                    decision_text(self.ledger.take(code, take)),
                    several=len(claimed) > 1,
                    counts=take in counting,
                )
                for take in claimed
            ),
            replacements=replacement_table(source, code),
            takes=self.takes(code),
            entries=log.without("shot").without_empty("wait", "note"),
            stage=stage or "",
            steps=steps,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotPage:
    """Everything the shot's page shows. counting: the takes that count, and what became of them.

    stage: where all of it was done, of which the table of entries then says nothing.
    """

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
    stage: Everyone[str]
    steps: Everyone[Steps]


def shot_pages(source: PageSource) -> Iterator[Page]:
    """Make one page for every shot, in the order of the tables, by sequence."""
    shots = Shots(source)
    for code, steps in with_steps([source.shot(code) for code in shots_in_order(source.ledger)]):
        page, make = links.shot_page(code), partial(shots.page, code, steps)
        about = About("shot", code)
        yield Page(page, "shot.html", f"Shot {code}", links.SHOTS, make, about, shots.share)
