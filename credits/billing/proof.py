"""Proofs: compiled credits as frozen text, and read back from it.

The text is JSON with everything that prints and everything that is held, the reasons included, so
that a proof can be shown again years later whatever became of the log and the plan. It carries the
number of its format; the first format had none, and held the words of its reasons instead of data.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
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
WithReasons = TypeVar("WithReasons", Line, Held)


def credits_to_json(credits: Credits) -> str:
    """Return the credits as JSON text: the same credits, the same text."""
    content = {
        "format": FORMAT,
        "plan": credits.plan,
        "sections": [_section_to_json(section) for section in credits.sections],
        "held": [_held_to_json(held) for held in credits.held],
        "held_lines": [_held_to_json(held) for held in credits.held_lines],
        "order_of_appearance": list(credits.order_of_appearance),
    }
    return json.dumps(content, ensure_ascii=False, separators=(",", ":"))


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
        sections=tuple(_section_from_json(section) for section in read["sections"]),
        held=tuple(_held_from_json(held) for held in read["held"]),
        order_of_appearance=tuple(read["order_of_appearance"]),
        held_lines=tuple(_held_from_json(held) for held in read["held_lines"]),
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


def _section_to_json(section: Section) -> dict[str, object]:
    return {
        "heading": section.heading,
        "layout": section.layout.value,
        "columns": section.columns,
        "text": section.text,
        "lines": [
            {
                "person": line.person,
                "name": line.name,
                "role": line.role,
                "characters": list(line.characters),
                "confirmed": line.confirmed,
                "because": _reasons_to_json(line.because),
            }
            for line in section.lines
        ],
    }


def _section_from_json(read: Mapping[str, Any]) -> Section:
    return Section(
        heading=read["heading"],
        lines=tuple(
            Line(
                person=line["person"],
                name=line["name"],
                role=line["role"],
                characters=tuple(line["characters"]),
                confirmed=line["confirmed"],
                because=_reasons_from_json(line["because"]),
            )
            for line in read["lines"]
        ),
        layout=Layout(read["layout"]),
        columns=read["columns"],
        text=read["text"],
    )


def _held_to_json(held: Held) -> dict[str, object]:
    return {
        "person": held.person,
        "name": held.name,
        "kind": held.kind.value,
        "heading": held.heading,
        "because": _reasons_to_json(held.because),
    }


def _held_from_json(read: Mapping[str, Any]) -> Held:
    kind = ReasonKind(read["kind"]) if "kind" in read else _KIND_OF_WORDS[read["reason"]]
    return Held(
        person=read["person"],
        name=read["name"],
        kind=kind,
        because=_reasons_from_json(read["because"]),
        heading=read["heading"],
    )


def _reasons_to_json(reasons: tuple[Reason, ...]) -> list[dict[str, object]]:
    """The reasons, each with the data that its kind has."""
    return [
        {
            key: value
            for key, value in (
                ("kind", reason.kind.value),
                ("headings", list(reason.headings)),
                ("names", list(reason.names)),
                ("engagements", reason.engagements),
                ("billing_number", reason.billing_number),
                ("entries", [str(number) for number in reason.entries]),
                ("days", [day.isoformat() for day in reason.days]),
                ("reached", _reached_to_json(reason.reached) if reason.reached else None),
                ("figures", [list(figure) for figure in reason.figures]),
            )
            if value is not None and value != []
        }
        for reason in reasons
    ]


def _reasons_from_json(read: Any) -> tuple[Reason, ...]:
    """The reasons; in the first format one, of words, figures and entries."""
    if isinstance(read, dict):
        names = [read["rule"], read["threshold"]]
        read = [{**read, "kind": ReasonKind.EARLIER_TEXT, "names": names}]
    return tuple(
        Reason(
            kind=ReasonKind(one["kind"]),
            headings=tuple(one.get("headings", ())),
            names=tuple(one.get("names", ())),
            engagements=one.get("engagements", 0),
            billing_number=one.get("billing_number"),
            entries=tuple(EntryNumber.parse(number) for number in one.get("entries", ())),
            days=tuple(date.fromisoformat(day) for day in one.get("days", ())),
            reached=_reached_from_json(one["reached"]) if "reached" in one else None,
            figures=tuple((name, value) for name, value in one.get("figures", ())),
        )
        for one in read
    )


def _reached_to_json(reached: Reached) -> dict[str, object]:
    return {
        "least": str(reached.threshold.least),
        "unit": reached.threshold.unit.value,
        "measure": reached.threshold.measure,
        "by_character": reached.threshold.by_character,
        "figure": str(reached.figure),
        "character": reached.character,
        "character_name": reached.character_name,
        "without_cut": reached.without_cut,
    }


def _reached_from_json(read: Mapping[str, Any]) -> Reached:
    return Reached(
        threshold=Threshold(
            least=Fraction(read["least"]),
            unit=ThresholdUnit(read["unit"]),
            measure=read["measure"],
            by_character=read["by_character"],
        ),
        figure=Fraction(read["figure"]),
        character=read["character"],
        character_name=read["character_name"],
        without_cut=read["without_cut"],
    )
