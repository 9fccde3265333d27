"""The index of the jump box: every person, character, puppet, shot and craft the edition names.

It is a script that sets two globals, since a page that was opened from disk may not fetch.
"""

from __future__ import annotations

import json
from collections.abc import Iterator

from credits.names import BLANK, ERASED, FOLDS, fold
from credits.pages import links
from credits.pages.page import DataFile
from credits.pages.source import PageSource

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
