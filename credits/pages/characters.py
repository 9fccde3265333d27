"""The list of characters, in order of appearance."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from credits.editions import Crew, Everyone
from credits.footage.footage import NO_FOOTAGE
from credits.pages import links
from credits.pages.page import Link, Page
from credits.pages.source import PageSource
from credits.pages.words import Amount, amount
from credits.units.rounding import largest_remainder


@dataclass(frozen=True, slots=True)
class CharacterCard:
    """A character in the list: its picture, who gives it a voice, how many copies it has."""

    name: Everyone[Link]
    picture: Everyone[str]
    voices: Everyone[tuple[Link, ...]]
    puppets: Everyone[int]
    on_screen: Crew[Amount | None] = None
    kept: Crew[Amount | None] = None
    shots: Crew[int] = 0
    hands: Crew[int] = 0


@dataclass(frozen=True, slots=True)
class CharactersPage:
    """All characters; those that the cut shows first, in order of appearance."""

    characters: Everyone[tuple[CharacterCard, ...]]
    in_order: Everyone[bool]
    total_kept: Crew[Amount | None] = None
    total_screen: Crew[Amount | None] = None


def characters_in_order(source: PageSource) -> tuple[str, ...]:
    """The codes of all characters: in order of appearance, then those not seen, as in the table."""
    seen = [code for code, _ in source.results.first_seen]
    return (*seen, *(code for code in source.ledger.characters if code not in set(seen)))


def _voices(source: PageSource, code: str) -> tuple[Link, ...]:
    people = {
        entry.person
        for entry in source.ledger.entries_by_character.get(code, ())
        if entry.craft == "voice"
    }
    named = (source.person(person) for person in sorted(people, key=source.name_order))
    return tuple(link for link in named if link is not None)


def characters_pages(source: PageSource) -> Iterator[Page]:
    """The one page that lists the characters."""
    results, production = source.results, source.ledger.production
    order = characters_in_order(source)
    feet = results.footage_by_character
    totals = {c: feet[c].total.character if c in feet else NO_FOOTAGE.character for c in order}
    kept = dict(zip(order, largest_remainder([totals[c].kept for c in order]), strict=True))
    screen = dict(zip(order, largest_remainder([totals[c].screen for c in order]), strict=True))
    hands = dict.fromkeys(order, 0)
    for reach in results.reach.values():
        for character in reach.characters:
            hands[character] += 1
    cards = tuple(
        CharacterCard(
            source.character(code),
            source.pictures.get(code, ""),
            _voices(source, code),
            len(source.ledger.puppets_of.get(code, ())),
            amount(totals[code].screen, production, screen[code]) if results.use else None,
            amount(totals[code].kept, production, kept[code]),
            len({cell.shot for cell in feet[code].cells}) if code in feet else 0,
            hands[code],
        )
        for code in order
    )
    whole = results.footage.total.character
    model = CharactersPage(
        cards,
        bool(results.first_seen),
        amount(whole.kept, production),
        amount(whole.screen, production) if results.use else None,
    )
    yield Page(links.CHARACTERS, "characters.html", "Characters", links.CHARACTERS, model)
