"""The end credits as JSON, in the shape that ``credits roll --json`` has too."""

from __future__ import annotations

import json

from credits.billing.credits import Because, Credits
from credits.formats.deliver.delivery import Delivery

# What a contract says of somebody's place is between that person and the office.
CONTRACT_FIGURES = frozenset({"billing number"})


def because_json(because: Because, contract: bool = True) -> dict[str, object]:
    """A reason: the rule, the figures, the entries; what contracts say only where wanted."""
    figures = {
        name: value for name, value in because.figures if contract or name not in CONTRACT_FIGURES
    }
    return {
        "rule": because.rule_told(contract),
        "threshold": (because.threshold or None) if contract else None,
        "figures": figures,
        "entries": [str(number) for number in because.entries],
    }


def credits_shape(
    credits: Credits,
    proof: int | None = None,
    *,
    reasons: bool = True,
    office: bool = True,
) -> dict[str, object]:
    """The credits as plain data. Without ``office``, nobody who is held and nothing of contracts;
    without ``reasons``, ``because`` is null."""
    return {
        "proof": proof,
        "sections": [
            {
                "heading": section.heading,
                "layout": section.layout.value,
                "columns": section.columns,
                "text": section.text or None,
                "lines": [
                    {
                        "person": line.person,
                        "name": line.name,
                        "role": line.role,
                        "because": because_json(line.because, office) if reasons else None,
                    }
                    for line in section.lines
                ],
            }
            for section in credits.sections
        ],
        "held": [
            {
                "person": held.person,
                "heading": held.heading or None,
                "reason": held.reason,
                "threshold": held.because.threshold or None,
                "figures": dict(held.because.figures),
            }
            for held in ((*credits.held, *credits.held_lines) if office else ())
        ],
        "order_of_appearance": list(credits.order_of_appearance),
    }


def credits_json(delivery: Delivery) -> bytes:
    """The JSON file: the shape, and the film, the data and the caution beside it."""
    shape = credits_shape(
        delivery.credits,
        delivery.proof,
        reasons=delivery.shows_reasons,
        office=delivery.shows_held,
    )
    whole = {
        "title": delivery.title,
        "data": delivery.data,
        **shape,
        "caution": delivery.caution,
    }
    return (json.dumps(whole, ensure_ascii=False, indent=2) + "\n").encode("utf-8", "replace")
