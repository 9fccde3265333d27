"""Which shot a clip of the cut means."""

from __future__ import annotations

import re
from dataclasses import dataclass

from credits.errors import Finding, ProblemsFound
from credits.exchange.codes import Codes
from credits.ledger.written import WrittenLog


@dataclass(frozen=True, slots=True)
class ShotMeant:
    """The shot as the log spells it, or as the cut writes it when the log does not have it."""

    shot: str
    take: int | None
    known: bool
    like: str | None = None


class CutShots:
    """Finds shots in what a cut calls them."""

    def __init__(self, written: WrittenLog, pattern: str | None = None) -> None:
        """``pattern``: a regular expression with a group ``shot`` and perhaps a group ``take``.

        Raises ProblemsFound when it is none.
        """
        self._codes = Codes("shots", (shot.code for shot in written.shots))
        self._pattern = _compiled(pattern) if pattern is not None else None

    def named(self, text: str, take: int | None = None) -> ShotMeant:
        """The shot of a text that is a shot code, or that the pattern finds one in."""
        if self._pattern is not None and (match := self._pattern.search(text)):
            text = match["shot"] or text
            said = match.groupdict().get("take")
            if take is None and said and said.isascii() and said.isdigit() and int(said):
                take = int(said)
        known = self._codes.get(text)
        if known is None:
            return ShotMeant(text, take, False, self._codes.like(text))
        return ShotMeant(known, take, True)


def _compiled(pattern: str) -> re.Pattern[str]:
    try:
        compiled = re.compile(pattern)
    except re.error as error:
        mend = "Correct it, for instance '(?P<shot>[0-9]+-[0-9]+)'."
        what = f"is not a regular expression ({error})"
        raise ProblemsFound(Finding(what, mend, None, "--shot-pattern", pattern)) from None
    if "shot" not in compiled.groupindex:
        mend = "Name the group that is the shot: (?P<shot>...)."
        raise ProblemsFound(Finding("has no group shot", mend, None, "--shot-pattern", pattern))
    return compiled
