"""Why a person stands where they stand in the end credits, and why not elsewhere."""

from __future__ import annotations

from dataclasses import dataclass

from credits.compute.credits import Considered, Credits, Held, Line, Outcome, Section


@dataclass(frozen=True, slots=True)
class Why:
    """Everything that the credits decided of one person.

    ``lines``: what prints. ``not_here``: the sections that considered the person and do not print
    them, in the plan's order. ``held``: the person, when nothing prints; ``held_lines``: lines held
    although another prints. All of them empty: no credit is owed yet.
    """

    person: str
    lines: tuple[tuple[Section, Line], ...]
    not_here: tuple[Considered, ...]
    held: Held | None
    held_lines: tuple[Held, ...]


def why(credits: Credits, person: str) -> Why:
    """The decisions about a person, by the code that they are known by."""
    return Why(
        person,
        credits.lines_of(person),
        tuple(
            one
            for one in credits.considered
            if one.person == person and one.outcome is not Outcome.PRINTED
        ),
        next((held for held in credits.held if held.person == person), None),
        tuple(held for held in credits.held_lines if held.person == person),
    )


def not_here_words(one: Considered) -> str:
    """Why the section does not print the person, in a sentence without its reason's figures."""
    if one.outcome is Outcome.ELSEWHERE:
        return f"Named once in all: already under '{one.to}'."
    if one.outcome is Outcome.UNCREDITED:
        return "Asked to be uncredited."
    reached = f"{one.because.threshold} " if one.because.threshold else ""
    if one.to.startswith("held"):
        return f"{reached}{one.to.capitalize()}." if one.to != "held" else f"{reached}Held."
    return f"{reached}Goes on to '{one.to}'."
