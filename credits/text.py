"""Words that people type: folded to be compared, and the nearest known word found.

One way to fold a code and one way to find what somebody meant; every door into the log uses them.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Callable, Iterable
from importlib import import_module
from typing import TypeVar

T = TypeVar("T")

LEAST_LIKENESS = 70
SUGGESTED = 3

# What a spreadsheet may take for the beginning of a formula, the full-width forms included.
FORMULA_SIGNS = frozenset("=+-@\t\r\n＝＋－＠")
_INVISIBLE_EDGES = "\ufeff\u200b"


def fold_code(code: str) -> str:
    """Fold a code to what makes it unique: without regard to case, in any script.

    Canonical composition stands before and after the case folding (Unicode Standard, section 3.13,
    canonical caseless matching), so that composed and decomposed spellings are one code.
    """
    if code.isascii():
        return code.lower()
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", code).casefold())


def fold_words(text: str) -> str:
    """Fold a heading or a department: without regard to case and spacing."""
    return fold_code(" ".join(text.split()))


_SPACES = re.compile(r"[^\S\n]{2,}")


def single_spaced(text: str) -> str:
    """Return a text with one space where several stand in a row; line breaks stay."""
    return _SPACES.sub(" ", text)


def doubled_spaces(text: str) -> tuple[str, str] | None:
    """Return what stands before and behind the first spaces in a row; None: none are."""
    found = _SPACES.search(text)
    return None if found is None else (text[: found.start()], text[found.end() :])


def nearest(
    word: str,
    known: Iterable[T],
    spellings: Callable[[T], Iterable[str]] | None = None,
    most: int = SUGGESTED,
) -> list[T]:
    """Find the known things whose spelling is most like a word, the likest first.

    spellings: the texts that a thing is known by; without it the things are texts themselves.
    most: how many at most. Empty where nothing reaches LEAST_LIKENESS per cent (the ratio of
    rapidfuzz, an edit distance that counts insertions and deletions).
    """
    # Only who has mistyped a word waits for the library.
    ratio = import_module("rapidfuzz.fuzz").ratio
    wanted = fold_words(word)
    bare = wanted.lstrip("0") if wanted.isdigit() else None
    scored: list[tuple[float, str, int, T]] = []
    for place, each in enumerate(known):
        texts = (str(each),) if spellings is None else tuple(spellings(each))
        score = 0.0
        for text in map(fold_words, texts):
            if bare is not None and text.isdigit() and text.lstrip("0") == bare:
                score = 100.0
            elif len(wanted) > 1 and wanted in text.split():
                score = max(score, LEAST_LIKENESS + 10.0)
            score = max(score, ratio(wanted, text, score_cutoff=LEAST_LIKENESS))
        if score >= LEAST_LIKENESS:
            scored.append((-score, texts[0], place, each))
    return [each for *_, each in sorted(scored, key=lambda item: item[:3])[:most]]


def guarded(text: str) -> str:
    """Put an apostrophe before a cell of a CSV file that a spreadsheet would run as a formula."""
    return f"'{text}" if text.lstrip(" ")[:1] in FORMULA_SIGNS and text.strip(" ") else text


LONGEST_CELL = 32_767
"""The characters that a cell of a workbook holds."""


def workbook_text(text: str) -> str:
    """Return a text as a workbook can hold it: no characters that XML has not, not too long."""
    clean = "".join(sign for sign in text if sign in "\n\t" or sign >= " ")
    clean = "".join(sign for sign in clean if not "\ud800" <= sign <= "\udfff")
    clean = clean.replace("\ufffe", "").replace("\uffff", "")
    return clean if len(clean) <= LONGEST_CELL else f"{clean[: LONGEST_CELL - 1]}…"


def quoted_toml(text: str) -> str:
    """Write a text as a basic string of TOML, whatever it holds."""
    return json.dumps(str(text), ensure_ascii=False).replace("\x7f", "\\u007f")


def stripped(text: str) -> str:
    """Return the text without white space around it (no-break spaces and invisible marks too)."""
    out = text.strip()
    if out and (out[0] in _INVISIBLE_EDGES or out[-1] in _INVISIBLE_EDGES):
        return out.strip(_INVISIBLE_EDGES + " \t\r\n\xa0")
    return out
