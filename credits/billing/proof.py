"""Proofs: compiled credits as frozen text, and read back from it.

The text is JSON with everything that prints and everything that is held, the reasons included, so
that a proof can be shown again years later whatever became of the log and the plan. It carries the
number of its format; the first format had none, and held the words of its reasons instead of data.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import fields, replace
from datetime import date
from fractions import Fraction
from typing import Any, TypeVar

from credits.billing.credits import Credits, Held, Line, Section
from credits.billing.plan import Layout
from credits.billing.reasons import HELD_LINE_WORDS, HELD_WORDS, Reason, ReasonKind, in_words
from credits.billing.threshold import Reached, Threshold, ThresholdUnit
from credits.errors import Finding, LogUnusable
from credits.model.facts import EntryNumber, Proof
from credits.model.log import NewProof

FORMAT = 2
WORDED_FORMAT = 1
_KIND_OF_WORDS = {
    HELD_LINE_WORDS: ReasonKind.BELOW_THRESHOLD,
    **{words: kind for kind, words in HELD_WORDS.items()},
}
T = TypeVar("T")
WithReasons = TypeVar("WithReasons", Line, Held)


def credits_to_json(credits: Credits) -> str:
    """Return the credits as JSON text: the same credits, the same text."""
    content = {"format": FORMAT, **_fields(replace(credits, considered=()))}
    return json.dumps(content, ensure_ascii=False, separators=(",", ":"), default=_to_json)


def _to_json(value: Any) -> object:
    return str(value) if isinstance(value, date | Fraction) else _fields(value)


def _fields(value: Any) -> dict[str, object]:
    """The fields of a dataclass that are given: what is empty is not written."""
    given = {field.name: getattr(value, field.name) for field in fields(value)}
    if "entries" in given:  # json would write a number of an entry as a list of its two parts
        given["entries"] = tuple(map(str, given["entries"]))
    return {name: own for name, own in given.items() if own is not None and own != ()}


def credits_from_json(content: str) -> Credits:
    """Read the credits that a text froze. Which sections considered whom is not in it.

    Raises LogUnusable for a format that only a later release can read.
    """
    read: Mapping[str, Any] = json.loads(content)
    number = read.get("format", WORDED_FORMAT)
    if number not in (WORDED_FORMAT, FORMAT):
        what = f"the proof is of format {number}, and this release reads up to format {FORMAT}"
        raise LogUnusable(Finding(what, "Use the release that made the proof, or a later one."))
    return Credits(
        plan=read["plan"],
        sections=_each(_section, read, "sections"),
        held=_each(_held, read, "held"),
        order_of_appearance=tuple(read.get("order_of_appearance", ())),
        held_lines=_each(_held, read, "held_lines"),
    )


def new_proof(
    credits: Credits, plan: str, saved_by: str | None = None, note: str | None = None
) -> NewProof:
    """Make the credits ready to be frozen.

    plan: its TOML text, or the built-in plan's name.
    """
    people = {line.person for section in credits.sections for line in section.lines}
    lines = sum(len(section.lines) for section in credits.sections)
    return NewProof(credits_to_json(credits), plan, lines, len(people), saved_by, note)


def is_same(proof: Proof, credits: Credits, plan: str, cut: int | None) -> bool:
    """Return whether a proof is exactly of these credits, by the same plan and cut."""
    return (proof.mark.plan, proof.mark.cut) == (plan, cut) and froze(proof, credits)


def froze(proof: Proof, credits: Credits) -> bool:
    """Return whether a proof is of these credits, reasons included.

    Of a proof that holds its reasons in words, their figures and entries are compared.
    """
    then, now = credits_from_json(proof.content), replace(credits, considered=())
    if json.loads(proof.content).get("format", WORDED_FORMAT) == WORDED_FORMAT:
        return _without_sentences(then) == _without_sentences(now)
    return then == now


def _without_sentences(credits: Credits) -> Credits:
    """The credits with the figures and entries of their reasons alone."""

    def bare(one: WithReasons) -> WithReasons:
        words = in_words(one.because)
        kept = Reason(kind=ReasonKind.EARLIER_TEXT, figures=words.figures, entries=words.entries)
        return replace(one, because=(kept,))

    return replace(
        credits,
        sections=tuple(replace(s, lines=tuple(map(bare, s.lines))) for s in credits.sections),
        held=tuple(map(bare, credits.held)),
        held_lines=tuple(map(bare, credits.held_lines)),
    )


def _each(make: Callable[[Any], T], read: Mapping[str, Any], key: str) -> tuple[T, ...]:
    return tuple(make(one) for one in read.get(key, ()))


def _section(read: Mapping[str, Any]) -> Section:
    lines = _each(_line, read, "lines")
    return Section(**{**read, "lines": lines, "layout": Layout(read["layout"])})


def _line(read: Mapping[str, Any]) -> Line:
    characters = tuple(read.get("characters", ()))
    return Line(**{**read, "characters": characters, "because": _reasons(read)})


def _held(read: Mapping[str, Any]) -> Held:
    return Held(
        person=read["person"],
        name=read["name"],
        kind=ReasonKind(read["kind"]) if "kind" in read else _KIND_OF_WORDS[read["reason"]],
        because=_reasons(read),
        heading=read["heading"],
    )


def _reasons(read: Mapping[str, Any]) -> tuple[Reason, ...]:
    """The reasons of a line or of somebody held; in the first format one, of words and figures."""
    because = read["because"]
    if isinstance(because, dict):
        names = (because.pop("rule"), because.pop("threshold"))
        because = [{**because, "kind": ReasonKind.EARLIER_TEXT, "names": names}]
    return tuple(
        Reason(
            **{
                **one,
                "kind": ReasonKind(one["kind"]),
                "headings": tuple(one.get("headings", ())),
                "names": tuple(one.get("names", ())),
                "entries": _each(EntryNumber.parse, one, "entries"),
                "days": _each(date.fromisoformat, one, "days"),
                "reached": _reached(one["reached"]) if "reached" in one else None,
                "figures": _each(tuple, one, "figures"),
            }
        )
        for one in because
    )


def _reached(read: Mapping[str, Any]) -> Reached:
    asked = read["threshold"]
    least, unit = Fraction(asked["least"]), ThresholdUnit(asked["unit"])
    threshold = Threshold(**{**asked, "least": least, "unit": unit})
    return Reached(**{**read, "threshold": threshold, "figure": Fraction(read["figure"])})
