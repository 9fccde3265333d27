"""What pages are made from, for one edition."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from credits.billing.compare import Comparison
from credits.editions import Edition
from credits.figures.snapshot import Snapshot
from credits.model.facts import CreditWish, Person
from credits.model.ledger import Ledger
from credits.names import BLANK, ERASED, FOLDS, direction, fold, sort_key
from credits.site import links
from credits.site.page import DataFile, Link


@dataclass(frozen=True, slots=True)
class PageSource:
    """The results, the edition, and the pictures that the production folder holds.

    ``pictures``: code (character, puppet or shot) -> the picture's file name in the site.
    ``comparison``: the credits against the last proof; None: no proof was made.
    """

    results: Snapshot
    edition: Edition
    pictures: Mapping[str, str] = field(default_factory=dict)
    printed: frozenset[str] = frozenset()
    comparison: Comparison | None = None

    @property
    def ledger(self) -> Ledger:
        """The ledger behind the results."""
        return self.results.ledger

    @property
    def crew(self) -> bool:
        """Whether the readers may see what the crew sees."""
        return self.edition.sees(Edition.CREW)

    @property
    def office(self) -> bool:
        """Whether the readers may see what the office sees."""
        return self.edition.sees(Edition.OFFICE)

    def named(self, code: str) -> bool:
        """Whether this edition names the person and gives them a page.

        Public: those whose credit prints. Crew: all but those who asked to be uncredited.
        """
        if self.edition is Edition.OFFICE:
            return True
        person = self.ledger.person(code)
        if person.wish is CreditWish.UNCREDITED:
            return False
        return self.edition is Edition.CREW or person.code in self.printed

    def person(self, code: str) -> Link | None:
        """The person's name, leading to their page, as this edition may show it.

        None: this edition does not mention the person at all. In the crew edition somebody who
        asked to be uncredited is "uncredited", without a page.
        """
        person = self.ledger.person(code)
        if self.named(code):
            name = person.credit_name
            return Link(name, links.person_page(person.code), direction(name))
        return Link("uncredited") if self.edition is Edition.CREW else None

    def people_in_order(self) -> tuple[Person, ...]:
        """Everybody this edition names, each human being once, by sort name (rule 3.9)."""
        ledger = self.ledger
        ones = [p for p in ledger.people.values() if ledger.one_person.get(p.code) == p.code]
        shown = [person for person in ones if self.named(person.code)]
        return tuple(sorted(shown, key=lambda p: (sort_key(p.files_under), p.code)))

    def name_order(self, code: str) -> tuple[object, ...]:
        """The place of a person in a list of names."""
        person = self.ledger.person(code)
        return (sort_key(person.files_under), person.code)

    def character(self, code: str) -> Link:
        """The character's name, leading to its page."""
        name = self.ledger.characters[code].name
        return Link(name, links.character_page(code), direction(name))

    def puppet(self, code: str) -> Link:
        """The puppet as people call it ("Wick, copy 3"), leading to its page."""
        puppet = self.ledger.puppets[code]
        name = self.ledger.characters[puppet.character].name
        copy = puppet.copy or puppet.code
        text = f"{name}, copy {copy}" if copy.isdigit() else f"{name}, {copy}"
        return Link(text, links.puppet_page(code), direction(name))

    def shot(self, code: str) -> Link:
        """The shot's code; it leads to the shot's page for those who may see shots."""
        return Link(code, links.shot_page(code) if self.crew else None)

    def craft(self, code: str) -> Link:
        """The craft's name, leading to its page."""
        craft = self.ledger.crafts[code]
        return Link(craft.name, links.craft_page(code))


def page_source(
    results: Snapshot,
    edition: Edition,
    pictures: Mapping[str, str] | None = None,
    comparison: Comparison | None = None,
) -> PageSource:
    """The source of an edition's pages."""
    printed = frozenset(
        line.person for section in results.credits.sections for line in section.lines
    )
    return PageSource(results, edition, pictures or {}, printed, comparison)


# kind, name, what tells it apart, place in the site, folded text that is searched
JumpRow = tuple[str, str, str, str, str]


def jump_rows(source: PageSource) -> Iterator[JumpRow]:
    """The places that can be jumped to, in the order in which equals are listed."""
    ledger = source.ledger
    for code, character in ledger.characters.items():
        yield _row("character", character.name, "", links.character_page(code), code)
    for person in source.people_in_order():
        href = links.person_page(person.code)
        # A sort name may still be an earlier name's, and is nothing that the public is shown.
        also = f"{person.sort_name or ''} {person.code}" if source.crew else ""
        yield _row("person", person.credit_name, "", href, also)
    for code in ledger.puppets:
        yield _row("puppet", source.puppet(code).text, code, links.puppet_page(code), code)
    if source.crew:
        for code, shot in ledger.shots.items():
            name = ledger.sequences[shot.sequence].name or shot.sequence
            yield _row("shot", code, name, links.shot_page(code), name)
    for code, craft in ledger.crafts.items():
        yield _row("craft", craft.name, "", links.craft_page(code), code)


def _row(kind: str, name: str, apart: str, href: str, also: str) -> JumpRow:
    return (kind, name, apart, href, fold(f"{name} {also}"))


def jump_file(source: PageSource) -> Iterator[DataFile]:
    """``jump.js``: the index, and the rule by which both sides fold a text."""
    rule = {"erased": ERASED, "folds": FOLDS, "blank": BLANK}
    rows = ",\n".join(json.dumps(row, ensure_ascii=True) for row in jump_rows(source))
    text = (
        f"window.CREDITS_FOLDING = {json.dumps(rule, ensure_ascii=True)};\n"
        f"window.CREDITS_JUMP = [\n{rows}\n];\n"
    )
    yield DataFile("jump.js", text.encode("ascii"))
