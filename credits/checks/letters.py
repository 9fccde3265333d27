"""Texts that differ by one letter: most likely one of them is a slip."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping

from rapidfuzz import process
from rapidfuzz.distance import OSA

from credits.names import fold

LEAST_LETTERS = 4
"""Of shorter texts a letter is too much of the whole."""
_FIGURES = re.compile(r"\d+")


def _is_slip(one: str, other: str) -> bool:
    """Tell whether two texts that are near are not two numbers of one thing."""
    return min(len(one), len(other)) >= LEAST_LETTERS and (
        _FIGURES.findall(one) == _FIGURES.findall(other)
    )


def pairs_by_a_letter(texts: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Find the pairs of texts that one letter more, less, other or exchanged makes the same.

    Accents and case do not count; figures do: Unit 1 and Unit 2 are two. Each pair once.
    """
    every = list(dict.fromkeys(texts))
    folded = [fold(text) for text in every]
    for at, text in enumerate(folded):
        near = process.extract(
            text, folded[at + 1 :], scorer=OSA.distance, limit=None, score_cutoff=1
        )
        for other, _, behind in sorted(near, key=lambda each: each[2]):
            if _is_slip(text, other):
                yield every[at], every[at + 1 + behind]


def likely_meant(text: str, others: Mapping[str, str]) -> list[str]:
    """Find the keys of the texts that differ from a text by one letter, and are not the same.

    others: each key with its text.
    """
    wanted = fold(text)
    near = process.extract(
        wanted,
        {key: fold(other) for key, other in others.items()},
        scorer=OSA.distance,
        limit=None,
        score_cutoff=1,
    )
    return sorted(key for other, _, key in near if _is_slip(wanted, other) and others[key] != text)
