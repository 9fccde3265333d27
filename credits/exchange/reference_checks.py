"""What cannot be in a row of a reference table, once its cells are read."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from credits.model import facts

Wrong = tuple[str, object, str, str]
"""Column, value, what is wrong, what would be right."""


@dataclass(slots=True)
class Checked:
    """The rows as they will stand, by code, for the checks that look across tables."""

    parts: Mapping[str, facts.Part] = field(default_factory=dict)
    puppets: Mapping[str, facts.Puppet] = field(default_factory=dict)
    shots: Mapping[str, facts.Shot] = field(default_factory=dict)
    crafts: Mapping[str, facts.Craft] = field(default_factory=dict)


def questions_of(fact: Any, checked: Checked) -> Iterator[Wrong]:
    """Everything that is wrong with a fact that is about to be written."""
    check = _CHECKS.get(type(fact))
    if check is not None:
        yield from check(fact, checked)


def _person(person: facts.Person, _: Checked) -> Iterator[Wrong]:
    if person.same_as == person.code:
        yield "same_as", person.same_as, "names the person's own code", "Write another, or nothing."


def _engagement(job: facts.Engagement, _: Checked) -> Iterator[Wrong]:
    if job.starts_on and job.ends_on and job.ends_on < job.starts_on:
        what = f"ends before it starts ({job.starts_on})"
        yield "ends_on", job.ends_on, what, "Correct one of the two dates."


def _craft(craft: facts.Craft, _: Checked) -> Iterator[Wrong]:
    if craft.footage and craft.kind is facts.Kind.BUILD:
        what = "a build craft claims no frames"
        yield "footage", "yes", what, "Write no, or kind performance."


def _puppet(puppet: facts.Puppet, _: Checked) -> Iterator[Wrong]:
    if puppet.ready_on and puppet.retired_on and puppet.retired_on < puppet.ready_on:
        what = f"lies before ready_on ({puppet.ready_on})"
        yield "retired_on", puppet.retired_on, what, "Correct one of the two dates."


def _fitting(fitting: facts.Fitting, checked: Checked) -> Iterator[Wrong]:
    if fitting.to_on and fitting.to_on < fitting.from_on:
        what = f"lies before from_on ({fitting.from_on})"
        yield "to_on", fitting.to_on, what, "Correct one of the two dates."
    part, puppet = checked.parts.get(fitting.part), checked.puppets.get(fitting.puppet)
    if part and puppet and part.character and part.character != puppet.character:
        what = f"is a part of {part.character}, but puppet {puppet.code} is {puppet.character}"
        yield "part", part.code, what, "Correct the part or the puppet."


def _replacement(seen: facts.Replacement, checked: Checked) -> Iterator[Wrong]:
    part, shot = checked.parts.get(seen.part), checked.shots.get(seen.shot)
    if part and part.character and part.character != seen.character:
        what = f"is a part of {part.character}, not of {seen.character}"
        yield "part", part.code, what, "Correct the part or the character."
    if shot:
        yield from beyond_shot(seen.frames.last, seen.frames.text, shot)


def beyond_shot(last: int, text: str, shot: facts.Shot) -> Iterator[Wrong]:
    """Frames that show a replacement after the shot has ended: nothing else would ever tell."""
    if last > shot.length:
        what = f"shot {shot.code} has {shot.length} frames"
        yield "frames", text, what, "Shorten the range, or correct the shot's length."


_CHECKS: Mapping[type, Callable[[Any, Checked], Iterator[Wrong]]] = {
    facts.Person: _person,
    facts.Engagement: _engagement,
    facts.Craft: _craft,
    facts.Puppet: _puppet,
    facts.Fitting: _fitting,
    facts.Replacement: _replacement,
}
