"""A shot's page: its frames and who animated them, the hands in it, its takes, its entries."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from credits.editions import Everyone
from credits.model.facts import ShotStatus
from credits.pages import links
from credits.pages.page import Link, Page
from credits.pages.shot_frames import ClaimTable, KeyItem, TakeFrames
from credits.pages.shot_hands import HandGroup, hand_groups, people_in
from credits.pages.shot_lengths import Length, adding_up
from credits.pages.shot_log import EntryRow, ReplacementRow, entry_rows, replacement_rows
from credits.pages.shot_takes import (
    TakeRow,
    TakesOfShots,
    decision_text,
    shots_in_order,
)
from credits.pages.shots import sequence_link
from credits.pages.source import PageSource
from credits.pages.strips import Strip
from credits.pages.words import counted, listed
from credits.units.film_time import clock
from credits.units.frames import NO_FRAMES


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
    replacements: Everyone[tuple[ReplacementRow, ...]]
    takes: Everyone[tuple[TakeRow, ...]]
    entries: Everyone[tuple[EntryRow, ...]]
    previous: Everyone[Link | None]
    following: Everyone[Link | None]


class _Builder:
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
    builder = _Builder(source)
    codes = shots_in_order(source.ledger)
    around = zip((None, *codes), codes, (*codes[1:], None), strict=False)
    for previous, code, following in around:
        page = builder.page(code, previous, following)
        yield Page(links.shot_page(code), "shot.html", f"Shot {code}", links.SHOTS, page)
