"""The page of a shot."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date

from credits.editions import Everyone, Office
from credits.hands.hands import Via
from credits.model.facts import Kind, ShotStatus
from credits.model.ledger import Entry
from credits.model.words import counted, listed
from credits.site import links
from credits.site.links import day_link
from credits.site.page import Link, Page
from credits.site.pages.shot_frames import ClaimTable, KeyItem, TakeFrames, copy_link
from credits.site.pages.shots import (
    TakeRow,
    TakesOfShots,
    decision_text,
    sequence_link,
    shots_in_order,
)
from credits.site.source import PageSource
from credits.site.strips import Strip
from credits.site.words import Length, adding_up
from credits.units.film_time import clock, day_text
from credits.units.frames import NO_FRAMES, Frames, union

MOST_PARTS = 12
_WORDS = {
    Via.FRAME: "these frames",
    Via.SHOT: "the shot",
    Via.SEQUENCE: "the sequence",
}
_ORDER = {via: at for at, via in enumerate(Via)}


@dataclass(frozen=True, slots=True)
class HandRow:
    """One person's craft in a character: by way of what, since when, in which frames."""

    craft: Everyone[Link]
    person: Everyone[Link]
    way: Everyone[str]
    puppets: Everyone[tuple[Link, ...]]
    since: Everyone[str]
    frames: Everyone[str]


@dataclass(frozen=True, slots=True)
class HandGroup:
    """A character of the take and the hands in it. ``height``: rows its name stands beside."""

    character: Everyone[Link]
    height: Everyone[int]
    rows: Everyone[tuple[HandRow, ...]]


@dataclass(slots=True)
class _Reached:
    frames: list[tuple[int, int]] = field(default_factory=list)
    puppets: set[str] = field(default_factory=set)
    parts: set[str] = field(default_factory=set)
    days: set[date] = field(default_factory=set)


_Key = tuple[str, str, str, Via]


def people_in(source: PageSource, shot: str, takes: tuple[int, ...]) -> int:
    """How many people's hands are in the takes."""
    found = (hand.person for take in takes for hand in source.results.hands.of_take(shot, take))
    return len(frozenset(found))


def _reached(source: PageSource, shot: str, take: int) -> dict[_Key, _Reached]:
    found: dict[_Key, _Reached] = defaultdict(_Reached)
    for hand in source.results.hands.of_take(shot, take):
        own = found[hand.character, hand.craft, hand.person, hand.via]
        own.frames.extend(hand.frames.ranges)
        if hand.puppet is not None:
            own.puppets.add(hand.puppet)
        if hand.part is not None:
            own.parts.add(hand.part)
        if hand.since is not None:
            own.days.add(hand.since)
    return found


def way_text(source: PageSource, craft: str, via: Via, parts: set[str]) -> str:
    """By way of what a hand is in the frames; empty for puppets, which are named by links."""
    if via is Via.CHARACTER:
        whole = source.ledger.crafts[craft].kind is Kind.PERFORMANCE
        return "the whole part" if whole else "the character"
    if via is Via.PART:
        kinds: dict[str, list[str]] = defaultdict(list)
        for code in sorted(parts):
            kinds[source.ledger.parts[code].kind].append(code)
        return "; ".join(f"{kind} {listed(codes, MOST_PARTS)}" for kind, codes in kinds.items())
    return _WORDS.get(via, "")


def hand_groups(
    source: PageSource, shot: str, take: int, place: Mapping[str, int], crafts: Mapping[str, int]
) -> tuple[HandGroup, ...]:
    """The hands of a take by character, in the order of the crafts, from the voice to the repair.

    ``place``, ``crafts``: the places of characters and crafts in their tables.
    """
    reached = _reached(source, shot, take)

    def order(key: _Key) -> tuple[object, ...]:
        character, craft, person, via = key
        return (place[character], crafts[craft], source.name_order(person), _ORDER[via])

    rows: dict[str, list[HandRow]] = defaultdict(list)
    for key in sorted(reached, key=order):
        character, craft, person, via = key
        link = source.person(person)
        if link is None:
            continue
        own = reached[key]
        rows[character].append(
            HandRow(
                source.craft(craft),
                link,
                way_text(source, craft, via, own.parts),
                tuple(copy_link(source, code) for code in sorted(own.puppets)),
                day_text(min(own.days, default=None)) if own.days else "",
                Frames.of(*own.frames).text.replace(",", ", "),
            )
        )
    return tuple(
        HandGroup(source.character(code), len(own), tuple(own)) for code, own in rows.items()
    )


@dataclass(frozen=True, slots=True)
class EntryRow:
    """An entry of the log that names the shot."""

    anchor: Everyone[str]
    number: Everyone[str]
    corrects: Everyone[str]
    day: Everyone[Link]
    sort: Everyone[str]
    person: Everyone[Link]
    craft: Everyone[Link]
    what: Everyone[tuple[Link, ...]]
    take: Everyone[str]
    frames: Everyone[str]
    stage: Everyone[str]
    note: Everyone[str]
    minutes: Office[str] = ""
    wait: Office[str] = ""


@dataclass(frozen=True, slots=True)
class ShotReplacementRow:
    """A part that is seen in certain frames of the shot."""

    character: Everyone[Link]
    part: Everyone[str]
    kind: Everyone[str]
    take: Everyone[str]
    frames: Everyone[str]
    sort: Everyone[int]
    makers: Everyone[tuple[Link, ...]]


def what_of(source: PageSource, entry: Entry) -> tuple[Link, ...]:
    """What an entry's work was on: the puppet, else the character; and the part."""
    found = []
    # A voice is not given to a copy, though the character may have only one.
    if entry.puppet is not None and (entry.work.puppet or source.ledger.is_footage(entry)):
        found.append(source.puppet(entry.puppet))
    elif entry.character is not None:
        found.append(source.character(entry.character))
    if entry.part is not None:
        found.append(Link(f"{source.ledger.parts[entry.part].kind} {entry.part}"))
    return tuple(found)


def note_of(source: PageSource, entry: Entry) -> str:
    """The note of an entry, where the edition's readers may see it."""
    return entry.work.note or "" if source.office or not entry.work.private else ""


def minutes_text(minutes: int | None) -> str:
    """``90``: minutes in a column of minutes; empty where none were logged."""
    return f"{minutes:,}" if minutes else ""


def entry_rows(source: PageSource, shot: str) -> tuple[EntryRow, ...]:
    """The current entries that name the shot, by day, then by number; undated ones first."""
    rows = []
    found = source.ledger.entries_by_shot.get(shot, ())
    for entry in sorted(found, key=lambda e: (e.day or date.min, e.number)):
        person = source.person(entry.person)
        if person is None:
            continue
        rows.append(
            EntryRow(
                f"entry-{entry.number}",
                str(entry.number),
                f"corrects {entry.first}" if entry.first != entry.number else "",
                day_link(entry.day),
                entry.day.isoformat() if entry.day else "",
                person,
                source.craft(entry.craft),
                what_of(source, entry),
                "" if entry.take is None else str(entry.take),
                entry.frames.text.replace(",", ", ") if entry.frames else "",
                entry.stage or "",
                note_of(source, entry),
                minutes_text(entry.work.minutes),
                minutes_text(entry.work.wait_minutes),
            )
        )
    return tuple(rows)


def makers_of_part(source: PageSource, part: str) -> tuple[Link, ...]:
    """Who made a part, by name; those who mended it are not among them."""
    crafts = source.ledger.crafts
    people = {
        entry.person
        for entry in source.ledger.entries_by_part.get(part, ())
        if not crafts[entry.craft].repair and crafts[entry.craft].kind is Kind.BUILD
    }
    links = (source.person(person) for person in sorted(people, key=source.name_order))
    return tuple(link for link in links if link is not None)


def replacement_rows(source: PageSource, shot: str) -> tuple[ShotReplacementRow, ...]:
    """Which part shows in which frames, by character and take, in the order they are seen."""
    shown: dict[tuple[str, int | None, str], list[Frames]] = defaultdict(list)
    for replacement in source.ledger.replacements_by_shot.get(shot, ()):
        key = (replacement.character, replacement.take, replacement.part)
        shown[key].append(replacement.frames)
    place = list(source.ledger.characters).index
    sets = {key: union(frames) for key, frames in shown.items()}
    rows = []
    for key in sorted(sets, key=lambda k: (place(k[0]), k[1] or 0, sets[k].ranges, k[2])):
        character, take, part = key
        rows.append(
            ShotReplacementRow(
                source.character(character),
                part,
                source.ledger.parts[part].kind,
                "every take" if take is None else str(take),
                sets[key].text.replace(",", ", "),
                sets[key].first if sets[key] else 0,
                makers_of_part(source, part),
            )
        )
    return tuple(rows)


@dataclass(frozen=True, slots=True)
class TakeSection:
    """A take with claims: strip, table, hands. ``of``: ``take 2`` where there are more."""

    of: Everyone[str]
    said: Everyone[str]
    strip: Everyone[Strip]
    key: Everyone[tuple[KeyItem, ...]]
    bracket: Everyone[bool]
    table: Everyone[ClaimTable]
    beyond: Everyone[str]
    hands: Everyone[tuple[HandGroup, ...]]


@dataclass(frozen=True, slots=True)
class TakeFact:
    """A take that counts, and what was decided of it."""

    number: Everyone[str]
    decision: Everyone[str]


@dataclass(frozen=True, slots=True)
class ShotPage:
    """Everything the shot's page shows."""

    code: Everyone[str]
    sequence: Everyone[Link]
    description: Everyone[str]
    picture: Everyone[str]
    length: Everyone[Length]
    status: Everyone[str]
    omitted: Everyone[bool]
    has_cut: Everyone[bool]
    in_cut: Everyone[str]
    in_cut_where: Everyone[str]
    feet_scale: Everyone[str]
    takes_counting: Everyone[tuple[TakeFact, ...]]
    hands: Everyone[str]
    hands_word: Everyone[str]
    sections: Everyone[tuple[TakeSection, ...]]
    replacements: Everyone[tuple[ShotReplacementRow, ...]]
    takes: Everyone[tuple[TakeRow, ...]]
    entries: Everyone[tuple[EntryRow, ...]]
    previous: Everyone[Link | None]
    following: Everyone[Link | None]


class _ShotPages:
    """What is the same for all shots, made once."""

    def __init__(self, source: PageSource) -> None:
        self.source = source
        self.ledger = source.ledger
        self.takes = TakesOfShots(source.results)
        self.place = {code: at for at, code in enumerate(source.ledger.characters)}
        self.crafts = {code: at for at, code in enumerate(source.ledger.crafts)}
        gauge = source.ledger.production.gauge
        self.feet_scale = "feet+frames" if gauge.whole_feet else "feet"

    def section(self, shot: str, take: int, several: bool) -> TakeSection:
        frames = TakeFrames(self.source, self.source.results.runs[shot, take], self.place)
        decision = decision_text(self.ledger.take(shot, take))
        used = "in the cut" if frames.used else ""
        return TakeSection(
            f"take {take}" if several else "",
            "; ".join(part for part in (decision, used) if part) if several else "",
            frames.strip(),
            frames.key(),
            bool(frames.used),
            frames.table(),
            frames.beyond(),
            hand_groups(self.source, shot, take, self.place, self.crafts),
        )

    def in_cut(self, shot: str, takes: tuple[int, ...]) -> tuple[int, str]:
        """How many frames the cut uses, and which, how often, and where in the film."""
        use = self.source.results.use
        if use is None:
            return 0, ""
        used = {take: use.used.get((shot, take), NO_FRAMES) for take in takes}
        clips = [clip for take in takes for clip in use.clips_of.get((shot, take), ())]
        count = sum(frames.count for frames in used.values())
        if not count or not clips:
            return 0, ""
        several = sum(map(bool, used.values())) > 1
        ranges = [
            frames.text.replace(",", ", ") + (f" of take {take}" if several else "")
            for take, frames in used.items()
            if frames
        ]
        shown = sum(clip.shown for clip in clips)
        at = clock(min(clip.film_first for clip in clips) - 1, self.ledger.production.rate)
        told = [listed(ranges), f"at {at} in the film"]
        if shown != count:
            told.append(f"on screen for {counted(shown, 'frame')}")
        return count, "; ".join(told)

    def page(self, code: str, previous: str | None, following: str | None) -> ShotPage:
        shot, source = self.ledger.shots[code], self.source
        counting = self.takes.that_count(code)
        claimed = self.takes.with_claims(code)
        in_cut, where = self.in_cut(code, counting)
        hands = people_in(source, code, counting)
        production = self.ledger.production
        return ShotPage(
            code=code,
            sequence=sequence_link(source, shot.sequence),
            description=shot.description or "",
            picture=source.pictures.get(code, ""),
            length=adding_up([shot.length], production)[0].length(production.gauge),
            status=shot.status.value,
            omitted=shot.status is ShotStatus.OMITTED,
            has_cut=source.results.use is not None,
            in_cut=f"{in_cut:,}" if in_cut else "",
            in_cut_where=where,
            feet_scale=self.feet_scale,
            takes_counting=tuple(
                TakeFact(str(n), decision_text(self.ledger.take(code, n))) for n in counting
            ),
            hands=f"{hands:,}" if hands else "",
            hands_word="person" if hands == 1 else "people",
            sections=tuple(self.section(code, take, len(claimed) > 1) for take in claimed),
            replacements=replacement_rows(source, code),
            takes=self.takes.rows(code),
            entries=entry_rows(source, code),
            previous=source.shot(previous) if previous else None,
            following=source.shot(following) if following else None,
        )


def shot_pages(source: PageSource) -> Iterator[Page]:
    """One page for every shot, in the order of the sequences."""
    builder = _ShotPages(source)
    codes = shots_in_order(source.ledger)
    around = zip((None, *codes), codes, (*codes[1:], None), strict=False)
    for previous, code, following in around:
        page = builder.page(code, previous, following)
        yield Page(links.shot_page(code), "shot.html", f"Shot {code}", links.SHOTS, page)
