"""Answers of logs whose fingerprints carry no format number: they were made of the message.

Such an answer holds for as long as the same recipe gives the same figures: the kind, severity and
subjects of the check, its message, and what its entries say. The messages are still those of that
time, letter for letter, so the recipe takes them from the checks; a test holds them to a log and to
the messages that the release of that time wrote. Who rewords a message moves its old wording here
first, as a function of the check's fields, so that the answers in old logs are kept.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import fields

from credits.checks.rule import Check
from credits.model.facts import EntryNumber, Work
from credits.units.frames import Frames


def _said(work: Work) -> dict[str, str]:
    given = {field.name: getattr(work, field.name) for field in fields(work)}
    return {
        name: value.text if isinstance(value, Frames) else str(value)
        for name, value in given.items()
        if value is not None and value is not False
    }


def fingerprint_1(check: Check, works: Mapping[EntryNumber, Work]) -> str:
    """Return the 64 hexadecimal figures that stood for the facts behind a check.

    works: what the lines of the log say that count, by number.
    """
    said = [(str(n), _said(works[n]) if n in works else {}) for n in check.entries]
    facts = (check.kind, str(check.severity), check.subjects, check.message, said)
    text = json.dumps(facts, ensure_ascii=True, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("ascii")).hexdigest()
