"""The index of the jump box: every place that a reader may want to go to, and what it is called.

The script of the site reads it when the box is first used, folds it as it folds what is typed, and
forgives a mistyped letter.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator
from datetime import date

from credits.model.facts import Part
from credits.names import BLANK, ERASED, FOLDS, fold, romanised
from credits.site import links
from credits.site.links import DataFile
from credits.site.pages.people import does
from credits.site.pages.shot import sequence_link
from credits.site.pages.week import days_text
from credits.site.source import PageSource
from credits.units.film_time import iso_week, week_days

Row = tuple[str, str, str, str, str]
"""A place: kind, name, what tells it apart, its address, what else it is searched by."""
LONGEST_APART = 90  # characters of a description beside a name


def _characters(source: PageSource) -> Iterator[Row]:
    for code, character in source.ledger.characters.items():
        also = f"{code} {romanised(character.name)}"
        yield "character", character.name, "", links.character_page(code), also


def _people(source: PageSource) -> Iterator[Row]:
    """Yield the people; who has the name of another is told apart by what they do."""
    everybody = source.people_in_order()
    named = Counter(fold(person.credit_name) for person in everybody)
    shared = [person for person in everybody if named[fold(person.credit_name)] > 1]
    apart = {person.code: does(source, person) for person in shared}
    alike = Counter((fold(person.credit_name), apart[person.code]) for person in shared)
    for person in everybody:
        said = apart.get(person.code, "")
        if alike[fold(person.credit_name), said] > 1:
            # The address of the page says the code too.
            said = ", ".join(filter(None, (said, person.code)))
        # A sort name may still be an earlier name's, and is nothing that the public is shown.
        files_under = person.sort_name or "" if source.crew else ""
        also = [files_under, *map(romanised, (person.credit_name, files_under))]
        also += [person.code] if source.crew else []
        place = links.person_page(person.code)
        yield "person", person.credit_name, said, place, " ".join(filter(None, also))


def _things(source: PageSource) -> Iterator[Row]:
    ledger = source.ledger
    for code in ledger.puppets:
        yield "puppet", source.puppet(code).text, code, links.puppet_page(code), ""
    for code, part in ledger.parts.items():
        if (place := _place_of(source, part)) is not None:
            of = ledger.characters[part.character].name if part.character is not None else ""
            yield "part", f"{part.kind} {code}", of, place, ""


def _place_of(source: PageSource, part: Part) -> str | None:
    """Return the page that lists a part: its character's, else that of the puppet that wore it."""
    if part.character is not None:
        return links.character_page(part.character)
    worn = [fitting for fitting in source.ledger.fittings if fitting.part == part.code]
    if not (source.crew and worn):
        return None
    return links.puppet_page(max(worn, key=lambda fitting: fitting.from_on).puppet)


def _film(source: PageSource) -> Iterator[Row]:
    ledger = source.ledger
    for code in ledger.sequences:
        link = sequence_link(source, code)
        if link.href is not None and ledger.shots_of.get(code):
            yield "sequence", source.sequence(code), "", link.href, ""
    for code, shot in ledger.shots.items():
        sequence = ledger.sequences[shot.sequence].name or shot.sequence
        text = " ".join((shot.description or "").replace("*", "").split())
        short = text if len(text) <= LONGEST_APART else f"{text[:LONGEST_APART]}…"
        apart = f"{sequence}: {short}" if short else sequence
        yield "shot", code, apart, links.shot_page(code), text if short != text else ""


def _days(source: PageSource) -> Iterator[Row]:
    last: dict[str, date] = {}
    # The lists of characters and of shots look at every cell, too: they are read once.
    for cell in source.results.footage.cells:
        if cell.stage is not None and cell.day is not None:
            last[cell.stage] = max(cell.day, last.get(cell.stage, cell.day))
    for code, stage in source.ledger.stages.items():
        day = last.get(code)
        place = links.week_page(iso_week(day)) if day is not None else links.WEEKS
        when = f"last at work in week {iso_week(day)}" if day is not None else ""
        yield "stage", f"Stage {code}", ", ".join(filter(None, (stage.unit, when))), place, ""
    for week in sorted(filter(None, source.ledger.by_week)):
        first, *_, final = week_days(week)
        yield "week", f"Week {week}", days_text(first, final), links.week_page(week), ""


def _crafts(source: PageSource) -> Iterator[Row]:
    for code, craft in source.ledger.crafts.items():
        yield "craft", craft.name, craft.department, links.craft_page(code), code


def jump_rows(source: PageSource) -> Iterator[Row]:
    """Yield the places that can be jumped to, in the order in which equals are listed."""
    yield from _characters(source)
    yield from _people(source)
    yield from _things(source)
    if source.crew:
        yield from _film(source)
    yield from _crafts(source)
    if source.crew:
        yield from _days(source)


def jump_file(source: PageSource) -> Iterator[DataFile]:
    """Yield ``jump.js``: the index, and the rule by which a text is folded."""

    def content() -> bytes:
        rule = {"erased": ERASED, "folds": FOLDS, "blank": BLANK}
        rows = ",\n".join(json.dumps((*row[:4], row[4].strip())) for row in jump_rows(source))
        text = (
            f"window.CREDITS_FOLDING = {json.dumps(rule)};\nwindow.CREDITS_JUMP = [\n{rows}\n];\n"
        )
        return text.encode("ascii")

    yield DataFile("jump.js", content)
