"""Where a character is in the film, and the work on it from the first drawing to the last frame."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from credits.footage.cut import steps_showing
from credits.model.facts import Cut, Production
from credits.model.ledger import Entry
from credits.pages.film_scale import film_marks
from credits.pages.source import PageSource
from credits.pages.strips import BlockSpec, RowSpec, Strip, merged, strip
from credits.pages.time_lines import time_line
from credits.pages.words import counted
from credits.units.film_time import clock

MOST_ROWS = 8
# A gap thinner than a hair on paper does not break a band.
HAIRS = 1700

Span = tuple[int, int]


def film_row(
    label: str, spans: list[Span], pattern: int, cut: Cut, production: Production
) -> RowSpec:
    """A row of the film strip: stretches of film frames, half open, joined where they touch."""
    rate = production.rate
    blocks = []
    for first, stop in merged(spans, gap=cut.length / HAIRS):
        said = f"{label}: {clock(int(first) - 1, rate)} to {clock(int(stop) - 1, rate)}"
        blocks.append(BlockSpec(first, stop, pattern, said))
    return RowSpec(label, blocks)


def _spans(source: PageSource, character: str) -> dict[str, list[Span]]:
    """Film frames in which each animator's work on the character is seen; "" for anybody's."""
    spans: dict[str, list[Span]] = defaultdict(list)
    use = source.results.use
    for (shot, take), clips in use.clips_of.items() if use else ():
        own = source.results.runs.get((shot, take))
        for run in own.runs if own else ():
            people = [
                claim.person
                for layer in run.kept
                if layer.character == character
                for claim in layer.claims
            ]
            for clip in clips if people else ():
                low, high = steps_showing(clip, run.first, run.stop)
                if low < high:
                    for person in ("", *people):
                        spans[person].append((clip.film_first + low, clip.film_first + high))
    return spans


def film_strip_of(source: PageSource, character: str) -> Strip | None:
    """The whole film with the stretches that show the character, and a row for each animator.

    Those who animated most stand first; past eight the rest share a row. None: not in a cut.
    """
    use = source.results.use
    spans = _spans(source, character)
    if use is None or not spans:
        return None
    name = source.ledger.characters[character].name
    seen = {person: sum(b - a for a, b in own) for person, own in spans.items() if person}
    ranked = sorted(seen, key=lambda person: (-seen[person], source.name_order(person)))
    groups: list[tuple[str, list[str]]] = [(name, [""])]
    for person in ranked[:MOST_ROWS]:
        link = source.person(person)
        groups.append((link.text if link else "", [person]))
    if len(ranked) > MOST_ROWS:
        rest = ranked[MOST_ROWS:]
        groups.append((counted(len(rest), "other"), rest))
    production = source.ledger.production
    rows = [
        film_row(label, [s for p in people for s in spans[p]], place, use.cut, production)
        for place, (label, people) in enumerate(groups)
    ]
    title = f"Where {name} is in the film, and who animated it; the table of shots says the same"
    return strip(title, rows, (1, use.cut.length + 1), film_marks(use.cut, production))


def time_line_of(source: PageSource, character: str) -> Strip | None:
    """The work on a character, a row per craft in the order in which it began."""
    ledger = source.ledger
    by_craft: dict[str, list[Entry]] = defaultdict(list)
    for entry in ledger.entries_by_character.get(character, ()):
        if entry.day is not None:
            by_craft[entry.craft].append(entry)
    names = {code: craft.name for code, craft in ledger.crafts.items()}
    name = ledger.characters[character].name
    title = f"The work on {name} by craft; the lists of who performed and made it say the same"
    return time_line(title, _in_order_begun(by_craft, names))


def _in_order_begun(
    by_craft: Mapping[str, list[Entry]], names: Mapping[str, str]
) -> dict[str, list[Entry]]:
    begun = {
        code: min(entry.work.started_on or entry.day for entry in own if entry.day is not None)
        for code, own in by_craft.items()
    }
    return {names[code]: by_craft[code] for code in sorted(begun, key=lambda c: (begun[c], c))}
