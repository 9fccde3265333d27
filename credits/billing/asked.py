"""The compiled credits as they are asked about: by heading, by character, all that do not print."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from credits.billing.compile import people_owed
from credits.billing.credits import Considered, Credits, Held, Line, Outcome, Section
from credits.billing.plan import CreditPlan, planned_headings
from credits.model.facts import CreditWish
from credits.model.ledger import Ledger
from credits.text import fold_words


@dataclass(frozen=True, slots=True, kw_only=True)
class UnderHeading:
    """A heading: what prints under it, and whom it considered without printing them.

    sections: several where they are called alike. not_here: in the order of the plan.
    """

    heading: str
    sections: tuple[Section, ...]
    not_here: tuple[Considered, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OfCharacter:
    """A character: the lines that are for work on it, and who worked on it and does not print."""

    character: str
    lines: tuple[tuple[Section, Line], ...]
    held: tuple[Held, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NotPrinted:
    """Everybody who does not print, and every line of others that does not.

    people: who is owed a credit. lines: those held of people who print elsewhere. left_out:
    sections in which the plan leaves people out who print elsewhere. not_owed: people of the list
    without work and engagement, by their codes.
    """

    people: tuple[Held, ...]
    lines: tuple[Held, ...]
    left_out: tuple[Considered, ...]
    not_owed: tuple[str, ...]


def headings_of(credits: Credits, plan: CreditPlan, ledger: Ledger) -> dict[str, str]:
    """Return every heading that can be asked about, as compared and as spelled.

    Those that print, those that considered somebody, those of the plan and of contracts.
    """
    spelled: dict[str, str] = {}
    every = (
        *(section.heading for section in credits.sections),
        *(one.heading for one in credits.considered),
        *planned_headings(plan, ledger),
    )
    for heading in filter(None, every):
        spelled.setdefault(fold_words(heading), heading)
    return spelled


def under_heading(credits: Credits, heading: str) -> UnderHeading:
    """Return what is under a heading; case and spaces do not count."""
    key = fold_words(heading)
    return UnderHeading(
        heading=heading,
        sections=tuple(s for s in credits.sections if fold_words(s.heading) == key),
        not_here=tuple(one for one in credits.not_here if fold_words(one.heading) == key),
    )


def by_character(
    credits: Credits, ledger: Ledger, wanted: Iterable[str] | None = None
) -> Mapping[str, OfCharacter]:
    """Return the lines of each character, in the order of the characters; of none where none are.

    wanted: only these characters.
    """
    codes = tuple(ledger.characters if wanted is None else wanted)
    lines: dict[str, list[tuple[Section, Line]]] = defaultdict(list)
    for section, line in credits.lines:
        for code in line.characters:
            lines[code].append((section, line))
    held = {one.person: one for one in credits.held}
    on: dict[str, dict[str, Held]] = defaultdict(dict)
    for done in ledger.done:
        if done.person in held:
            for code in done.characters:
                on[code][done.person] = held[done.person]
    found = {
        code: OfCharacter(
            character=code,
            lines=tuple(lines[code]),
            held=tuple(one for one in credits.held if one.person in on[code]),
        )
        for code in codes
    }
    return {code: own for code, own in found.items() if own.lines or own.held}


def not_printed(credits: Credits, ledger: Ledger) -> NotPrinted:
    """Return everybody and everything that does not print."""
    owed, printed = frozenset(people_owed(ledger)), credits.printed
    out = (one for one in credits.not_here if one.outcome is Outcome.LEFT_OUT)
    return NotPrinted(
        people=credits.held,
        lines=credits.held_lines,
        left_out=tuple(one for one in out if one.person in printed),
        not_owed=tuple(
            code
            for code, person in ledger.people.items()
            if code not in owed
            and ledger.one_person.get(code, code) == code
            and code not in printed
            and person.wish is not CreditWish.UNCREDITED
        ),
    )
