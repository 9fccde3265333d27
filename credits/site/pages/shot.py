"""Of each shot who animated which frames, and who worked on it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from functools import cached_property, partial
from itertools import chain

from credits.editions import Everyone
from credits.footage.claims import Layer, TakeRuns
from credits.footage.footage import NO_FOOTAGE
from credits.footage.table import footage_columns
from credits.model.facts import ShotStatus, Take
from credits.model.ledger import Ledger
from credits.model.words import counted, listed
from credits.site import links, strips
from credits.site.links import (
    About,
    Link,
    LinkedOnce,
    Page,
    Steps,
    linked_day,
    with_steps,
)
from credits.site.pages.worked import CharacterHands, hands_in_take
from credits.site.source import (
    PART_COLUMNS,
    Amount,
    PageSource,
    grouped,
    part_values,
    shot_log,
    without_cut,
)
from credits.units.film_time import Gauge, clock, day_text, feet_text
from credits.units.frames import Frames, Range, union
from credits.units.table import Column, Marked, Table, Unit, columns

TAKE_COLUMNS = (
    *columns(take="Take", purpose="Purpose", decision="Decision"),
    Column(key="decided_on", heading="Decided on", unit=Unit.DAY),
    Column(key="claimed", heading="Frames claimed", unit=Unit.RANGES),
    Column(key="counts", heading="Counts"),
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


MOST_MARKS = 14
_FEET = (1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 1024)
People = tuple[str, ...]
_Days = dict[date | None, list[Range]]
FRAME_COLUMNS = (
    *columns(character="Character", person="Animated by"),
    *columns(Unit.RANGES, frames="Frames", again="Photographed again"),
    Column(key="puppets", heading="Puppet"),
    Column(key="days", heading="Days", unit=Unit.DAY),
)
FIGURES = footage_columns(kept="Kept", cut="In the cut", screen="On screen")


class TakeFrames:
    """The claims of one take, gathered for its strip and its table."""

    def __init__(self, source: PageSource, own: TakeRuns) -> None:
        self.source = source
        self.own = own
        self.shot = source.ledger.shots[own.shot]
        self.feet = source.results.footage_of_shot(own.shot)
        self.used = source.in_cut(own.shot, own.take)
        place = source.results.places.characters
        self.layers = [
            ((run.first, run.stop), layer, layer in run.kept)
            for run in own.runs
            for layer in run.layers
        ]
        found = {layer.character for _, layer, _ in self.layers}
        self.characters = sorted(found, key=place.__getitem__)

    def _patterns(self) -> dict[People, int]:
        """Return a pattern for each animator, most frames first; then for those who shared some."""
        seen: Counter[People] = Counter()
        for (first, stop), layer, _ in self.layers:
            seen[_people(layer)] += stop - first
        order = sorted(seen, key=lambda p: (len(p), -seen[p], [*map(self.source.name_order, p)]))
        return {people: at for at, people in enumerate(order)}

    def _blocks(
        self, pattern: int, people: People, kept: bool, days: _Days
    ) -> list[strips.BlockSpec]:
        name = listed([link.text for link in self.source.names(people)])
        ordered = sorted(days, key=lambda day: day or date.min)
        blocks = []
        for first, stop in Frames.of(*chain.from_iterable(days.values())).ranges:
            here = [day for day in ordered if any(a < stop and first < b for a, b in days[day])]
            frames, on = Frames(((first, stop),)).text, listed([day_text(day) for day in here])
            title = f"{name}, frames {frames}, {on}"
            blocks.append(strips.BlockSpec(first, stop, pattern, title, name, thin=not kept))
        return blocks

    def strip(self, patterns: Mapping[People, int]) -> strips.Strip:
        """Tell who animated which frames, a row per character; the bracket is what the cut uses."""
        found: dict[tuple[str, bool, People], _Days] = defaultdict(lambda: defaultdict(list))
        for frames, layer, kept in self.layers:
            found[layer.character, kept, _people(layer)][layer.day].append(frames)
        blocks: dict[str, list[strips.BlockSpec]] = defaultdict(list)
        for (character, kept, people), days in found.items():
            blocks[character].extend(self._blocks(patterns[people], people, kept, days))
        rows = []
        for code in self.characters:
            own = sorted(blocks[code], key=lambda block: (block.thin, block.first))
            rows.append((self.source.character(code).text, own))
        last = max(self.shot.length, self.own.claimed.last, self.used.last if self.used else 0)
        title = f"Who animated which frames of shot {self.shot.code}. The same is in the table."
        marks = frame_marks(last, self.source.ledger.production.gauge)
        return strips.strip(title, rows, (1, last + 1), marks, self.used.ranges)

    def table(self, of: str) -> Table:
        """Return the strip in words and figures, in character frames."""
        take = self.own.take
        figures = self.feet.by(
            lambda cell: (cell.character, cell.person) if cell.take == take else None
        )
        works = grouped(
            (
                (frames, layer, claim, kept)
                for frames, layer, kept in self.layers
                for claim in layer.claims
            ),
            lambda work: (work[1].character, work[2].person),
        )

        def order(key: tuple[str, str]) -> tuple[object, ...]:
            # By the first frame that is kept, if any is.
            begins = min((not kept, frames) for frames, _, _, kept in works[key])
            return (self.characters.index(key[0]), begins, self.source.name_order(key[1]))

        rows, once = [], LinkedOnce()
        for key in sorted(works, key=order):
            character, person = key
            measures = figures.get(key, NO_FOOTAGE).character
            puppets = (code for _, _, claim, _ in works[key] for code in claim.puppets)
            rows.append(
                (
                    self.source.character(character),
                    once((self.source.person(person) or Link(""),))[0],
                    Frames.of(*(frames for frames, _, _, kept in works[key] if kept)),
                    Frames.of(*(frames for frames, _, _, kept in works[key] if not kept)),
                    once(self.source.copies(puppets)),
                    _worked_on(layer.day for _, layer, _, _ in works[key]),
                    *(measures.of(column.key) for column in FIGURES),
                )
            )
        caption, label = f"Who animated which frames{of}", "total, each character's frames"
        table = Table.of(caption, (*FRAME_COLUMNS, *FIGURES), rows, label=label)
        return without_cut(self.source, replace(table.without_empty("again"), grouped=True))

    def section(self, decision: str, several: bool) -> TakeSection:
        """Return the take as its page shows it. several: whether the shot has more takes."""
        take, production = self.own.take, self.source.ledger.production
        of = f"take {take}" if several else ""
        below = "feet+frames" if production.gauge.whole_feet else "feet"
        legend = [f"above: frames; below: {below}"]
        if self.used:
            legend.insert(0, "the bracket: what the cut uses")
        if not all(kept for _, _, kept in self.layers):
            legend.insert(0, "thin: photographed again later")
        over = self.own.claimed.from_frame(self.shot.length + 1)
        length = f"the shot's length of {self.shot.length:,} frames"
        patterns = self._patterns()
        return TakeSection(
            of=of,
            said=(f"{decision}; in the cut" if self.used else decision) if several else "",
            strip=self.strip(patterns),
            key=tuple(
                (at % strips.PATTERNS, self.source.names(who)) for who, at in patterns.items()
            ),
            legend=tuple(legend),
            table=self.table(f" of {of}" if several else ""),
            beyond=f"Frames {over.shown} are claimed beyond {length}." if over else "",
            hands=hands_in_take(self.source, self.own),
        )


def _worked_on(days: Iterable[date | None]) -> Marked | tuple[date, date]:
    """Return the days of some work: one, which leads to its week, or the first and the last."""
    dated = {day for day in days if day is not None}
    if len(dated) > 1:
        return min(dated), max(dated)
    return linked_day(next(iter(dated), None))


def _people(layer: Layer) -> People:
    return tuple([claim.person for claim in layer.claims])


def frame_marks(last: int, gauge: Gauge) -> list[strips.TickSpec]:
    """Return the scale of a shot of so many frames: frame numbers above, feet below."""
    foot = gauge.frames_per_foot
    whole = int(foot) if foot.denominator == 1 else 24
    steps = sorted({1, 2, 4, *(whole * n // 4 for n in (1, 2)), *(whole * n for n in _FEET)})
    step = int(strips.scale_step(last, MOST_MARKS, steps))
    while Fraction(last, step) > MOST_MARKS:
        step *= 2
    return [(at + 1, str(at + 1), feet_text(at, gauge)) for at in range(0, last, step)]


REPLACEMENT_COLUMNS = (
    Column(key="character", heading="Character"),
    *PART_COLUMNS,
    Column(key="take", heading="Take"),
    Column(key="frames", heading="Frames", unit=Unit.RANGES),
)


def replacement_table(source: PageSource, shot: str) -> Table:
    """Tell which part shows in which frames, by character and take, as they are seen."""
    found = source.ledger.replacements_by_shot.get(shot, ())
    shown = grouped(found, lambda one: (one.character, one.take, one.part))
    place = source.results.places.characters
    sets = {key: union(one.frames for one in own) for key, own in shown.items()}
    rows = []
    for key in sorted(sets, key=lambda k: (place[k[0]], k[1] or 0, sets[k].ranges, k[2])):
        character, take, part = key
        taken = "every take" if take is None else take
        rows.append((source.character(character), *part_values(source, part), taken, sets[key]))
    table = Table.of(f"Replacements seen in shot {shot}", REPLACEMENT_COLUMNS, rows)
    return table.with_values("makers", LinkedOnce())


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeSection:
    """A take with claims: its strip, who animated what, and the hands in it.

    of: ``take 2`` where the shot has several. said: what became of it. key: whose each pattern of
    the strip is. legend: what else is drawn.
    """

    of: Everyone[str]
    said: Everyone[str]
    strip: Everyone[strips.Strip]
    key: Everyone[tuple[tuple[int, tuple[Link, ...]], ...]]
    legend: Everyone[tuple[str, ...]]
    table: Everyone[Table]
    beyond: Everyone[str]
    hands: Everyone[tuple[CharacterHands, ...]]


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


def shot_pages(source: PageSource) -> Iterator[Page]:
    """Make one page for every shot, in the order of the tables, by sequence."""
    shots = Shots(source)
    for code, steps in with_steps([source.shot(code) for code in shots_in_order(source.ledger)]):
        page, make = links.shot_page(code), partial(shots.page, code, steps)
        about = About("shot", code)
        yield Page(page, "shot.html", f"Shot {code}", links.SHOTS, make, about, shots.share)
