"""The ISNI: the number by which a person is known in catalogues."""

from __future__ import annotations

import re

from stdnum import isni
from stdnum.iso7064 import mod_11_2

from credits.errors import Finding, ProblemsFound

_ISNI = re.compile(r"[0-9]{15}[0-9X]")


def check_isni(text: str) -> str:
    """Read an ISNI (ISO 27729), spaces and hyphens or not; return the compact "000000012281955X".

    Raises ProblemsFound when it is not sixteen characters or its check character (ISO 7064,
    MOD 11-2) is not the one that the fifteen figures ask for.
    """
    number: str = isni.compact(text)
    if _ISNI.fullmatch(number) is None:
        hint = "An ISNI has sixteen figures, the last of which may be X: 0000 0001 2281 955X."
        raise ProblemsFound(Finding("is not an ISNI", hint, column="isni", value=text))
    right: str = mod_11_2.calc_check_digit(number[:-1])
    if number[-1] != right:
        what = f"the check character is {number[-1]}, but {number[:-1]} asks for {right}"
        hint = f"Compare every figure; with these it would be {isni.format(number[:-1] + right)}."
        raise ProblemsFound(Finding(what, hint, column="isni", value=text))
    return number
