"""Checks of names: nearly the same, never confirmed, without a sort name."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from credits.compute import check_words as words
from credits.compute.check_rule import Case, Known
from credits.compute.credits import people_owed
from credits.model.ledger import Ledger
from credits.names import alike


def names_alike(known: Known) -> Iterator[Case]:
    """Two people with entries or engagements whose credit names are nearly the same.

    Codes that are one person already are not asked about: each person is looked at once.
    """
    ledger = known.ledger
    people = [(code, ledger.people[code].credit_name) for code in people_owed(ledger)]
    for one, other, _ in alike(people):
        yield Case(
            (("person", one), ("person", other)),
            f"{words.person(ledger, one)} and {words.person(ledger, other)} have nearly the same "
            "credit name.",
            f"Ask whether they are one person; if so: credits same {words.typed(one)} "
            f"{words.typed(other)}",
        )


def names_unconfirmed(known: Known) -> Iterator[Case]:
    """Everybody the credits print whose spelling was never confirmed, once each."""
    headings: dict[str, dict[str, None]] = defaultdict(dict)
    for section in known.credits.sections:
        for line in section.lines:
            if not line.confirmed:
                headings[line.person][section.heading] = None
    for person, own in headings.items():
        under = words.listed(words.one_line(heading) for heading in own)
        yield Case(
            (("person", person),),
            f"{words.person(known.ledger, person)} would be printed under {under}, and "
            f"{_last_word(known.ledger, person)}.",
            "Send a proof and ask how the name is to appear: credits confirm PERSON, with --as "
            "NAME for another spelling.",
        )


def _last_word(ledger: Ledger, person: str) -> str:
    """What is known of the spelling: nothing, another spelling, or that this one is not right."""
    last = ledger.confirmation(person)
    if last is None:
        return "nobody has confirmed the spelling"
    name = words.one_line(last.name)
    if last.is_right:
        return f"what was confirmed on {last.confirmed_on} is the spelling '{name}'"
    return f"the answer of {last.confirmed_on} was that '{name}' is not confirmed"


def sort_names_missing(known: Known) -> Iterator[Case]:
    """People with entries or engagements, a name of several words and no sort name."""
    ledger = known.ledger
    for code in people_owed(ledger):
        who = ledger.people[code]
        if who.sort_name or len(who.credit_name.split()) < 2:
            continue
        yield Case(
            (("person", code),),
            f"{words.person(ledger, code)} has no sort name, and files under the whole name as it "
            "is written.",
            "Ask under which part the name files; then set sort_name in the people table "
            "(that part first, a comma, the rest) and load it again.",
        )
