"""The account of a small production written as text: what tests of open standards stand on."""

from __future__ import annotations

from credits.editions import Edition
from credits.figures.snapshot import Snapshot
from credits.formats.standards.account import Account, Thing, account_of
from credits.site.source import PageSource
from tests.small_log import small_ledger

FILM = ("film", "small")

# Every text here that some edition may not hold begins with canary.
THE_FILM = """
    [people]
    person, credit_name, legal_name, email, isni, credit_wish
    ana, Ana Lind, canary-legal, canary-mail@example.org, 000000012281955X
    ben, canary-uncredited, canary-legal, canary-mail@example.org, , uncredited
    cai, Cai <script>

    [characters]
    character
    wick
    brine

    [puppets]
    puppet, character, copy
    wick-1, wick, 1
    wick-2, wick, 2
    brine-1, brine, 1

    [parts]
    part, kind, character
    wick-face-3, face, wick
    coat, costume

    [fittings]
    part, puppet, from_on, to_on
    coat, wick-1, 2026-03-01, 2026-03-09
    coat, wick-2, 2026-03-10

    [stages]
    stage
    canary-stage

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    canary-shot, 010, 48
    canary-shot-2, 010, 24

    [replacements]
    shot, character, part, frames
    canary-shot, wick, wick-face-3, 5-8

    [entries]
    craft, person, character, puppet, part, shot, frames, stage, finished_on, minutes, wait_minutes, note, private
    animation, ana, wick, wick-1, , canary-shot, 1-30, canary-stage, 2026-03-02, 77001, , canary-note
    animation, ben, wick, wick-1, , canary-shot, 25-48, canary-stage, 2026-03-03, 77002, , canary-private, yes
    animation, cai, brine, brine-1, , canary-shot-2, 13-24, canary-stage, 2026-03-03
    sculpt, cai, wick, , , , , , 2025-09-01
    casting, cai, , wick-1, , , , , 2025-10-01
    fabrication, cai, , wick-2, , , , , 2025-12-01
    costume, ben, , , coat, , , , 2026-02-01
    costume, cai, , , coat, , , , 2026-02-02
    faces, cai, , , wick-face-3, , , , 2026-02-03
    voice, ana, wick, , , , , , 2025-06-01
    repair, ana, , wick-1, , canary-shot, , canary-stage, 2026-03-03, 77003, 77004

    [cut]
    shot, first, last
    canary-shot, 9, 40
    canary-shot-2, 1, 24
"""  # noqa: E501

NEVER = ("canary-legal", "canary-mail")
OFFICE_ALONE = ("canary-private", "7700", "canary-uncredited")
CREW_AND_OFFICE = ("canary-shot", "canary-stage", "canary-note", "2026-03-0", "2025-", "955X")


def account(
    edition: Edition = Edition.OFFICE, scope: Thing = FILM, text: str = THE_FILM
) -> Account:
    """The account of the production that the text writes, for an edition."""
    source = PageSource(Snapshot(small_ledger(text)), edition)
    return account_of(
        source.results,
        scope,
        edition,
        named=source.named,
        puppet_name=lambda code: source.puppet(code).text,
        as_of=source.as_of,
    )


def character(code: str) -> Thing:
    """The scope of a character."""
    return "character", code


def shot(code: str) -> Thing:
    """The scope of a shot."""
    return "shot", code
