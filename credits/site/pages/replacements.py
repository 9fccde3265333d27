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
from credits.site.page import Link, Page
from credits.site.source import PageSource
from credits.units.frames import Frames, union
from credits.units.table import Column, Marked, Table, Unit


@dataclass(frozen=True, slots=True)
class ReplacementsPage:
    """The replacements of one character."""

    character: Everyone[Link]
    said: Crew[str] = ""
    table: Crew[Table | None] = None


def _natural(code: str) -> str:
    """Return a code whose numbers sort by their value: face-9 before face-12."""
    return re.sub(r"\d+", lambda found: found[0].zfill(9), code.casefold())


Used = Mapping[str, Mapping[int, Frames]]


def _used_by_shot(source: PageSource) -> Used:
    """Return the frames that the cut uses, by shot and take."""
    used: dict[str, dict[int, Frames]] = defaultdict(dict)
    if source.results.use is not None:
        for (shot, take), frames in source.results.use.used.items():
            used[shot][take] = frames
    return used


def _in_cut(used: Used, shown: list[Replacement]) -> int:
    """Count the different frames of the cut that show a replacement."""
    by_take: dict[tuple[str, int], list[Frames]] = defaultdict(list)
    for replacement in shown:
        for take in used.get(replacement.shot, ()):
            if replacement.take in (None, take):
                by_take[replacement.shot, take].append(replacement.frames)
    return sum((union(own) & used[shot][take]).count for (shot, take), own in by_take.items())


def _table(source: PageSource, name: str, by_part: Mapping[str, list[Replacement]]) -> Table:
    used = _used_by_shot(source)
    rows = []
    for part in sorted(by_part, key=_natural):
        by_shot: dict[str, list[Frames]] = defaultdict(list)
        for replacement in by_part[part]:
            by_shot[replacement.shot].append(replacement.frames)
        seen = [(shot, union(by_shot[shot])) for shot in source.ledger.shots if shot in by_shot]
        rows.append(
            (
                Marked(value=part, sort=_natural(part)),
                source.ledger.parts[part].kind,
                source.makers_of_part(part),
                tuple((source.shot(shot), frames.shown) for shot, frames in seen),
                sum(frames.count for _, frames in seen),
                _in_cut(used, by_part[part]),
            )
        )
    table = Table(
        caption=f"Replacements of {name}",
        columns=(
            Column(key="part", heading="Part", unit=Unit.CODE),
            Column(key="kind", heading="Kind"),
            Column(key="makers", heading="Made by"),
            Column(key="seen", heading="Shots and frames", unit=Unit.RANGES),
            Column(key="frames", heading="Frames", unit=Unit.FRAMES),
            Column(key="in_cut", heading="In the cut", unit=Unit.FRAMES),
        ),
        rows=tuple(rows),
    )
    return table if source.results.use is not None else table.without("in_cut")


def replacement_pages(source: PageSource) -> Iterator[Page]:
    """Yield one page for every character whose face sheets show replacements."""
    by_character: dict[str, dict[str, list[Replacement]]] = defaultdict(lambda: defaultdict(list))
    for replacement in source.ledger.replacements:
        by_character[replacement.character][replacement.part].append(replacement)
    for code in source.ledger.characters:
        if code not in by_character:
            continue
        name = source.character(code)
        by_part = by_character[code]
        shots = {replacement.shot for shown in by_part.values() for replacement in shown}
        said = f"{counted(len(by_part), 'replacement')} seen in {counted(len(shots), 'shot')}"
        model = ReplacementsPage(name, said, _table(source, name.text, by_part))
        title = f"Replacements of {name.text}"
        path = links.replacements_page(code)
        yield Page(path, "replacements.html", title, links.CHARACTERS, model)
