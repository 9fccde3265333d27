"""The end credits as JSON, in the shape that ``credits roll --json`` has too."""

from __future__ import annotations

import json

from credits.billing.credits import Credits
from credits.billing.reasons import Reason, in_words
from credits.formats.deliver.delivery import Delivery


def because_json(reasons: tuple[Reason, ...], office: bool = True) -> dict[str, object]:
    """Return reasons as data: rule, threshold, figures, entries; to the office all of them."""
    words = in_words(reasons, office=office)
    return {
        "rule": words.rule,
        "threshold": words.threshold or None,
        "figures": dict(words.figures),
        "entries": [str(number) for number in words.entries],
    }


def credits_shape(
    credits: Credits,
    proof: int | None = None,
    *,
    reasons: bool = True,
    office: bool = True,
) -> dict[str, object]:
    """Return the credits as plain data.

    reasons: whether it is said why somebody stands where they stand. office: whether the people who
    are held, and what contracts say, are in it.
    """
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
                "threshold": words.threshold or None,
                "figures": dict(words.figures),
            }
            for held in ((*credits.held, *credits.held_lines) if office else ())
            for words in (in_words(held.because),)
        ],
        "order_of_appearance": list(credits.order_of_appearance),
    }


def credits_json(delivery: Delivery) -> bytes:
    """Return the JSON file: the shape, and the film, the data and the caution beside it."""
    reasons, office = delivery.shows_reasons, delivery.shows_held
    shape = credits_shape(delivery.credits, delivery.proof, reasons=reasons, office=office)
    whole = {"title": delivery.title, "data": delivery.data, **shape, "caution": delivery.caution}
    return (json.dumps(whole, ensure_ascii=False, indent=2) + "\n").encode("utf-8", "replace")
