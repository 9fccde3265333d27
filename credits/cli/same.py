"""``credits same``: two codes are one person; and taken back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

import typer

from credits.cli import printing
from credits.cli.codes import fact_named, with_name
from credits.cli.completion import production_codes
from credits.cli.options import JsonOption, ProductionOption, folder_of
from credits.errors import Finding, ProblemsFound, WrongCall

if TYPE_CHECKING:
    from credits.model.facts import Person

PersonArgument = Annotated[
    str, typer.Argument(metavar="PERSON", autocompletion=production_codes("people"))
]


def same(
    first: PersonArgument,
    second: PersonArgument,
    undo: Annotated[bool, typer.Option("--undo", help="They are two people after all.")] = False,
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say that two codes are one person; --undo takes it back.

    The person is known by the first of the two codes.
    """
    from credits.model.batch import Batch
    from credits.model.replay import one_person
    from credits.store import open_log

    with open_log(folder_of(production)) as log, log.writing() as pen:
        people = pen.read().people
        one, other = (fact_named("people", text, people) for text in (first, second))
        if one.code == other.code:
            what = "is one code, not two"
            raise WrongCall(Finding(what, "Name two codes of the people table.", value=one.code))
        by_code = {person.code: person for person in people}
        change = _parted(one, other, by_code) if undo else _joined(one, other, people)
        if change is not None:
            pen.write(Batch(people=(change,)))
            by_code[change.code] = change
    ends = one_person(by_code.values())
    if as_json:
        printing.say_json(
            {
                "person": ends[one.code],
                "codes": sorted(code for code, end in ends.items() if end == ends[one.code]),
                "changed": change is not None,
            }
        )
    elif change is None:
        printing.say(f"Nothing new: {with_name(other)} is {with_name(one)} already.")
    elif undo:
        printing.say(f"{with_name(one)} and {with_name(other)} are two people again.")
    else:
        end = by_code[ends[one.code]]
        also = "" if end.code == one.code else f", known as {with_name(end)}"
        printing.say(f"{with_name(other)} is {with_name(one)}: one person everywhere{also}.")


def _joined(one: Person, other: Person, people: tuple[Person, ...]) -> Person | None:
    """The row that joins them: the end of the second's chain points at the first's; None: done."""
    from credits.model.replay import one_person

    ends = one_person(people)
    if ends[one.code] == ends[other.code]:
        return None
    last = next(person for person in people if person.code == ends[other.code])
    return replace(last, same_as=ends[one.code])


def _parted(one: Person, other: Person, by_code: Mapping[str, Person]) -> Person:
    """The row that parts them. Raises ProblemsFound when they are not joined, or by others."""
    from credits.model.replay import one_person

    ends = one_person(by_code.values())
    if ends[one.code] != ends[other.code]:
        what = f"{with_name(one)} and {with_name(other)} are two people: there is nothing to undo"
        raise ProblemsFound(Finding(what))
    for person in (other, one):
        if person.same_as is None:
            continue
        parted = replace(person, same_as=None)
        after = one_person({**by_code, person.code: parted}.values())
        if after[one.code] != after[other.code]:
            return parted
    what = f"{with_name(one)} and {with_name(other)} are joined by way of other codes"
    hint = f"Undo these one by one; all of them stand for {ends[one.code]}."
    raise ProblemsFound(Finding(what, hint))
