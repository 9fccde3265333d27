"""The page of a shot."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from credits.editions import Everyone
from credits.hands.hands import Spread, Via
from credits.model.facts import Kind, ShotStatus
from credits.model.words import counted, listed
from credits.site import links
from credits.site.entries import PART_COLUMNS, entry_table, part_values
from credits.site.links import Link, Page, with_neighbours
from credits.site.pages.shot_frames import TakeFrames
from credits.site.pages.shots import (
    TakesOfShots,
    decision_text,
    sequence_link,
    shots_in_order,
)
from credits.site.source import Amount, PageSource, grouped
from credits.site.strips import Strip
from credits.units.film_time import clock
from credits.units.frames import union
from credits.units.table import Column, Marked, Table, Unit

MOST_PARTS = 12
_WORDS = {
    Via.FRAME: "these frames",
    Via.SHOT: "the shot",
    Via.SEQUENCE: "the sequence",
}
_ORDER = {via: at for at, via in enumerate(Via)}
HAND_COLUMNS = (
    Column(key="character", heading="Character"),
    Column(key="craft", heading="Craft"),
    Column(key="person", heading="By"),
    Column(key="way", heading="By way of"),
    Column(key="since", heading="Since", unit=Unit.DAY),
    Column(key="frames", heading="Frames", unit=Unit.RANGES),
)
REPLACEMENT_COLUMNS = (
    Column(key="character", heading="Character"),
    *PART_COLUMNS,
    Column(key="take", heading="Take"),
    Column(key="frames", heading="Frames", unit=Unit.RANGES),
)
_Key = tuple[str, str, str, Via]


def _parts_text(source: PageSource, own: list[Spread]) -> str:
    parts = sorted({hand.part for hand in own if hand.part is not None})
    kinds = grouped(parts, lambda code: source.ledger.parts[code].kind)
    return "; ".join(f"{kind} {listed(codes, MOST_PARTS)}" for kind, codes in kinds.items())


def _way(source: PageSource, craft: str, via: Via, own: list[Spread]) -> str | tuple[Link, ...]:
    """Tell by way of what a hand is in the frames: words, or the puppets."""
    if via is Via.CHARACTER:
        whole = source.ledger.crafts[craft].kind is Kind.PERFORMANCE
        return "the whole part" if whole else "the character"
    if via is Via.PART:
        return _parts_text(source, own)
    return _WORDS.get(via) or source.copies(hand.puppet for hand in own)


def hand_table(source: PageSource, shot: str, take: int, of: str) -> Table:
    """Return the hands of a take by character, in the order of the crafts.

    of: ``take 2`` where the shot has several.
    """
    places = source.results.places
    hands = source.results.hands.of_take(shot, take)
    reached = grouped(hands, lambda hand: (hand.character, hand.craft, hand.person, hand.via))

    def order(key: _Key) -> tuple[object, ...]:
        character, craft, person, via = key
        at = (places.characters[character], places.crafts[craft])
        return (*at, source.name_order(person), _ORDER[via])

    rows = []
    for key in sorted(reached, key=order):
        character, craft, person, via = key
        own = reached[key]
        rows.append(
            (
                source.character(character),
                source.craft(craft),
                source.person(person),
                _way(source, craft, via, own),
                min((hand.since for hand in own if hand.since is not None), default=None),
                union(hand.frames for hand in own),
            )
        )
    mentioned = (row for row in rows if row[2] is not None)
    table = Table.of(f"Everybody whose hands are in {of or 'it'}", HAND_COLUMNS, mentioned)
    return replace(table, grouped=True)


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
    return Table.of(f"Replacements seen in shot {shot}", REPLACEMENT_COLUMNS, rows)


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeSection:
    """A take with claims: its strip, who animated what, and the hands in it.

    of: ``take 2`` where the shot has several. said: what became of it. key: whose each pattern of
    the strip is. legend: what else is drawn.
    """

    of: Everyone[str]
    said: Everyone[str]
    strip: Everyone[Strip]
    key: Everyone[tuple[tuple[int, tuple[Link, ...]], ...]]
    legend: Everyone[tuple[str, ...]]
    table: Everyone[Table]
    beyond: Everyone[str]
    hands: Everyone[Table]


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
    has_cut: Everyone[bool]
    in_cut: Everyone[str]
    in_cut_where: Everyone[str]
    counting: Everyone[tuple[Marked, ...]]
    hands: Everyone[str]
    hands_word: Everyone[str]
    sections: Everyone[tuple[TakeSection, ...]]
    replacements: Everyone[Table]
    takes: Everyone[Table]
    entries: Everyone[Table]
    previous: Everyone[Link | None]
    following: Everyone[Link | None]


class _ShotPages:
    """What is the same for all shots, made once."""

    def __init__(self, source: PageSource) -> None:
        self.source = source
        self.ledger = source.ledger
        self.takes = TakesOfShots(source)

    def section(self, shot: str, take: int, several: bool) -> TakeSection:
        frames = TakeFrames(self.source, self.source.results.runs[shot, take])
        decision = decision_text(self.ledger.take(shot, take))
        of = f"take {take}" if several else ""
        return TakeSection(
            of=of,
            said=(f"{decision}; in the cut" if frames.used else decision) if several else "",
            strip=frames.strip(),
            key=frames.key(),
            legend=frames.legend(),
            table=frames.table(f" of {of}" if several else ""),
            beyond=frames.beyond(),
            hands=hand_table(self.source, shot, take, of),
        )

    def in_cut(self, shot: str) -> tuple[str, str]:
        """Count the frames that the cut uses, and tell which, how often, and where in the film."""
        use, used = self.source.results.use, self.takes.in_cut(shot)
        takes = self.takes.that_count(shot)
        clips = [c for take in takes for c in use.clips_of.get((shot, take), ())] if use else []
        if not used or not clips:
            return "", ""
        several = len(used) > 1
        ranges = [
            f"{frames.shown} of take {take}" if several else frames.shown
            for take, frames in used.items()
        ]
        at = clock(min(clip.film_first for clip in clips) - 1, self.ledger.production.rate)
        told = [listed(ranges), f"at {at} in the film"]
        count = sum(frames.count for frames in used.values())
        shown = sum(clip.shown for clip in clips)
        if shown != count:
            told.append(f"on screen for {counted(shown, 'frame')}")
        return f"{count:,}", "; ".join(told)

    def page(self, code: str, previous: str | None, following: str | None) -> ShotPage:
        shot, source = self.ledger.shots[code], self.source
        counting = self.takes.that_count(code)
        claimed = self.takes.with_claims(code)
        in_cut, where = self.in_cut(code)
        entries = sorted(self.ledger.entries_by_shot.get(code, ()), key=lambda e: e.number)
        found = (hand for n in counting for hand in source.results.hands.of_take(code, n))
        hands = len({hand.person for hand in found})
        return ShotPage(
            code=code,
            sequence=sequence_link(source, shot.sequence),
            description=shot.description or "",
            picture=source.pictures.get(code, ""),
            length=source.amount(shot.length),
            status=shot.status.value,
            omitted=shot.status is ShotStatus.OMITTED,
            has_cut=source.has_cut,
            in_cut=in_cut,
            in_cut_where=where,
            counting=tuple(
                Marked(value=n, note=decision_text(self.ledger.take(code, n))) for n in counting
            ),
            hands=f"{hands:,}" if hands else "",
            hands_word="person" if hands == 1 else "people",
            sections=tuple(self.section(code, take, len(claimed) > 1) for take in claimed),
            replacements=replacement_table(source, code),
            takes=self.takes.table(code),
            entries=entry_table(
                source, f"Entries of the log that name shot {code}", entries
            ).without("shot"),
            previous=source.shot(previous) if previous else None,
            following=source.shot(following) if following else None,
        )


def shot_pages(source: PageSource) -> Iterator[Page]:
    """Make one page for every shot, in the order of the sequences."""
    builder = _ShotPages(source)
    for previous, code, following in with_neighbours(shots_in_order(source.ledger)):
        page = builder.page(code, previous, following)
        yield Page(links.shot_page(code), "shot.html", f"Shot {code}", links.SHOTS, page)
