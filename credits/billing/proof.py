"""Proofs: compiled credits as frozen text, and read back from it.

The text is JSON with everything that prints and everything that is held, the reasons included, so
that a proof can be shown again years later whatever became of the log and the plan.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from credits.billing.credits import Because, Credits, Held, Line, Section
from credits.billing.plan import Layout
from credits.model.facts import EntryNumber, Proof
from credits.model.log import NewProof

BUILT_IN = "built-in plan"


def credits_to_json(credits: Credits) -> str:
    """The credits as JSON text: the same credits, the same text."""
    content = {
        "plan": credits.plan,
        "sections": [_section_out(section) for section in credits.sections],
        "held": [_held_out(held) for held in credits.held],
        "held_lines": [_held_out(held) for held in credits.held_lines],
        "order_of_appearance": list(credits.order_of_appearance),
    }
    return json.dumps(content, ensure_ascii=False, separators=(",", ":"))


def credits_from_json(content: str) -> Credits:
    """The credits that a text froze. Which sections considered whom is not in it."""
    read: Mapping[str, Any] = json.loads(content)
    return Credits(
        read["plan"],
        tuple(_section_in(section) for section in read["sections"]),
        tuple(_held_in(held) for held in read["held"]),
        tuple(read["order_of_appearance"]),
        tuple(_held_in(held) for held in read["held_lines"]),
    )


def new_proof(
    credits: Credits, plan: str, saved_by: str | None = None, note: str | None = None
) -> NewProof:
    """The credits, ready to be frozen. ``plan``: its TOML text, or the built-in plan's name."""
    people = {line.person for section in credits.sections for line in section.lines}
    lines = sum(len(section.lines) for section in credits.sections)
    return NewProof(credits_to_json(credits), plan, lines, len(people), saved_by, note)


def is_same(proof: Proof, credits: Credits, plan: str, cut: int | None) -> bool:
    """Whether a proof is exactly of these credits, by the same plan and cut."""
    mark = proof.mark
    return (mark.plan, mark.cut) == (plan, cut) and proof.content == credits_to_json(credits)


def _because_out(because: Because) -> dict[str, object]:
    return {
        "rule": because.rule,
        "figures": [list(figure) for figure in because.figures],
        "entries": [str(number) for number in because.entries],
        "threshold": because.threshold,
    }


def _because_in(read: Mapping[str, Any]) -> Because:
    return Because(
        read["rule"],
        tuple((name, value) for name, value in read["figures"]),
        tuple(EntryNumber.parse(number) for number in read["entries"]),
        read["threshold"],
    )


def _section_out(section: Section) -> dict[str, object]:
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
                "because": _because_out(line.because),
            }
            for line in section.lines
        ],
    }


def _section_in(read: Mapping[str, Any]) -> Section:
    lines = tuple(
        Line(
            line["person"],
            line["name"],
            line["role"],
            tuple(line["characters"]),
            line["confirmed"],
            _because_in(line["because"]),
        )
        for line in read["lines"]
    )
    layout = Layout(read["layout"])
    return Section(read["heading"], lines, layout, read["columns"], read["text"])


def _held_out(held: Held) -> dict[str, object]:
    return {
        "person": held.person,
        "name": held.name,
        "reason": held.reason,
        "heading": held.heading,
        "because": _because_out(held.because),
    }


def _held_in(read: Mapping[str, Any]) -> Held:
    because = _because_in(read["because"])
    return Held(read["person"], read["name"], read["reason"], because, read["heading"])
