"""Reading a threshold of the plan: ``at least 20 seconds on screen``."""

from __future__ import annotations

import re
from fractions import Fraction

from credits.compute.threshold import FOOTAGE_UNITS, MEASURE_WORDS, ONE_OF, Threshold, Unit

NUMBER = r"(\d+(?:\.\d+)?|\d+/\d+)"
_WRITTEN = re.compile(rf"(?:at least )?{NUMBER} ?([a-z%][a-z ']*)")
_UNITS = {
    **{unit.value: unit for unit in Unit},
    **{one: unit for unit, one in ONE_OF.items()},
    "percent": Unit.PERCENT,
    "per cent": Unit.PERCENT,
}
_SCREEN_TIME = "of the character's screen time"
EXAMPLES = (
    "20 seconds on screen",
    "480 frames kept",
    "90 feet shot",
    "30 character seconds accepted",
    "10 stage days",
    "15 days",
    "2 % of the character's screen time",
    "12 entries",
)
HINT = (
    f"Write a number with {', '.join(e for e in EXAMPLES[:2])}, ... "
    f"(seconds, frames or feet {', '.join(MEASURE_WORDS)}), {EXAMPLES[4]}, {EXAMPLES[5]}, "
    f"{EXAMPLES[6]}, or {EXAMPLES[7]}."
)


class NoThreshold(ValueError):
    """The text is no threshold: what is wrong, and what would be right."""

    def __init__(self, what: str, hint: str = HINT) -> None:
        super().__init__(what)
        self.what = what
        self.hint = hint


def read_threshold(text: str) -> Threshold:
    """The threshold that a text writes. Raises NoThreshold."""
    written = _WRITTEN.fullmatch(" ".join(text.replace("’", "'").lower().split()))
    if written is None:
        raise NoThreshold("is not a threshold")
    try:
        least = Fraction(written[1])
    except ZeroDivisionError:
        raise NoThreshold("is not a threshold") from None
    if least <= 0:
        raise NoThreshold("everybody reaches that: a threshold is more than 0")
    words = written[2].strip()
    by_character = words.startswith("character ")
    words = words.removeprefix("character ")
    unit = next((u for u in sorted(_UNITS, key=len, reverse=True) if _begins(words, u)), None)
    if unit is None:
        raise _unknown_unit(words)
    return _threshold(least, _UNITS[unit], words[len(unit) :].strip(), by_character)


def _begins(words: str, unit: str) -> bool:
    return words == unit or words.startswith(f"{unit} ") or (unit == "%" and words[:1] == "%")


def _unknown_unit(words: str) -> NoThreshold:
    from credits.text import nearest

    like = nearest(words.split()[0], _UNITS)
    hint = f"Did you mean {like[0]}? " if like else ""
    return NoThreshold(f"'{words}' is nothing that is counted", f"{hint}{HINT}")


def _threshold(least: Fraction, unit: Unit, rest: str, by_character: bool) -> Threshold:
    if unit is Unit.PERCENT:
        if rest != _SCREEN_TIME or by_character:
            raise NoThreshold("does not say of what", f"Write {least} % {_SCREEN_TIME}.")
        if least > 100:
            raise NoThreshold("nobody reaches that: there are 100 per cent")
        return Threshold(least, unit)
    if unit not in FOOTAGE_UNITS:
        if rest or by_character:
            raise NoThreshold(f"'{rest or 'character'}' does not belong to {unit}")
        return Threshold(least, unit)
    measure = MEASURE_WORDS.get(rest)
    if measure is None:
        which = f"'{rest}' is no measure" if rest else "does not say by which measure"
        raise NoThreshold(which, f"The measures are {', '.join(MEASURE_WORDS)}.")
    return Threshold(least, unit, measure, by_character)
