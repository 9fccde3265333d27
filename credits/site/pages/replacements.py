"""A character's replacements: who made each, in which shots and frames it is seen. For the crew."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from credits.editions import Crew, Everyone
from credits.model.facts import Replacement
from credits.model.words import counted
from credits.site import links
from credits.site.entries import makers_of_part
from credits.site.page import Link, Page
from credits.site.source import PageSource
from credits.units.frames import Frames, union


@dataclass(frozen=True, slots=True)
class SeenIn:
    """A shot that shows a replacement, and the frames."""

    shot: Crew[Link | None] = None
    frames: Crew[str] = ""


@dataclass(frozen=True, slots=True)
class ReplacementRow:
    """A replacement. ``in_cut``: how many different frames of the cut show it."""

    part: Crew[str] = ""
    sort: Crew[str] = ""
    kind: Crew[str] = ""
    makers: Crew[tuple[Link, ...]] = ()
    seen: Crew[tuple[SeenIn, ...]] = ()
    frames: Crew[int] = 0
    in_cut: Crew[int] = 0


@dataclass(frozen=True, slots=True)
class ReplacementsPage:
    """The replacements of one character."""

    character: Everyone[Link]
    said: Crew[str] = ""
    has_cut: Crew[bool] = False
    rows: Crew[tuple[ReplacementRow, ...]] = ()


def replacements_page(code: str) -> str:
    """The page of a character's replacements."""
    return links.character_page(code).removesuffix(".html") + "-replacements.html"


def _natural(code: str) -> str:
    """A code whose numbers sort by their value: face-9 before face-12."""
    return re.sub(r"\d+", lambda found: found[0].zfill(9), code.casefold())


Used = Mapping[str, Mapping[int, Frames]]


def _used_by_shot(source: PageSource) -> Used:
    """The frames that the cut uses, by shot and take."""
    used: dict[str, dict[int, Frames]] = defaultdict(dict)
    if source.results.use is not None:
        for (shot, take), frames in source.results.use.used.items():
            used[shot][take] = frames
    return used


def _in_cut(used: Used, shown: list[Replacement]) -> int:
    by_take: dict[tuple[str, int], list[Frames]] = defaultdict(list)
    for replacement in shown:
        for take in used.get(replacement.shot, ()):
            if replacement.take in (None, take):
                by_take[replacement.shot, take].append(replacement.frames)
    return sum((union(own) & used[shot][take]).count for (shot, take), own in by_take.items())


def _row(source: PageSource, part: str, shown: list[Replacement], used: Used) -> ReplacementRow:
    by_shot: dict[str, list[Frames]] = defaultdict(list)
    for replacement in shown:
        by_shot[replacement.shot].append(replacement.frames)
    joined = {shot: union(by_shot[shot]) for shot in source.ledger.shots if shot in by_shot}
    return ReplacementRow(
        part,
        _natural(part),
        source.ledger.parts[part].kind,
        makers_of_part(source, part),
        tuple(
            SeenIn(source.shot(shot), frames.text.replace(",", ", "))
            for shot, frames in joined.items()
        ),
        sum(frames.count for frames in joined.values()),
        _in_cut(used, shown),
    )


def replacement_pages(source: PageSource) -> Iterator[Page]:
    """One page for every character whose face sheets show replacements."""
    by_character: dict[str, dict[str, list[Replacement]]] = defaultdict(lambda: defaultdict(list))
    for replacement in source.ledger.replacements:
        by_character[replacement.character][replacement.part].append(replacement)
    used = _used_by_shot(source)
    for code in source.ledger.characters:
        if code not in by_character:
            continue
        name = source.character(code)
        parts = sorted(by_character[code], key=_natural)
        rows = tuple(_row(source, part, by_character[code][part], used) for part in parts)
        shots = {r.shot for shown in by_character[code].values() for r in shown}
        said = f"{counted(len(rows), 'replacement')} seen in {counted(len(shots), 'shot')}"
        model = ReplacementsPage(name, said, source.results.use is not None, rows)
        title = f"Replacements of {name.text}"
        path = replacements_page(code)
        yield Page(path, "replacements.html", title, links.CHARACTERS, model)
