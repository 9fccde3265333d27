"""People whose names are nearly the same."""

from __future__ import annotations

from collections.abc import Sequence

from rapidfuzz import fuzz, process

from credits.names import fold

LEAST_LIKENESS = 88.0
LEAST_PLAIN_LIKENESS = 80.0


def _near_in_letters(texts: Sequence[str]) -> set[tuple[int, int]]:
    """Pairs of places (lower first) of texts of whose letters 80 % agree in order."""
    return {
        (at, at + 1 + behind)
        for at, text in enumerate(texts)
        for _, _, behind in process.extract(
            text,
            texts[at + 1 :],
            scorer=fuzz.ratio,
            score_cutoff=LEAST_PLAIN_LIKENESS,
            limit=None,
        )
    }


def _within_words(word_sets: Sequence[frozenset[str]]) -> set[tuple[int, int]]:
    """Pairs of places (lower first) where all words of one, two at least, are in the other."""
    holders: dict[str, set[int]] = {}
    for at, words in enumerate(word_sets):
        for word in words:
            holders.setdefault(word, set()).add(at)
    return {
        (min(at, other), max(at, other))
        for at, words in enumerate(word_sets)
        if len(words) > 1
        for other in set.intersection(*(holders[word] for word in words)) - {at}
    }


def alike(names: Sequence[tuple[str, str]]) -> list[tuple[str, str, float]]:
    """Find pairs whose names are nearly the same: people to ask about, not people to join.

    In: (code, name). Out: (code, code, likeness 88-100), lower code first, each pair once, sorted.
    Two folded names are alike when rapidfuzz's WRatio is 88 or more and, since WRatio also finds a
    short name inside a longer one ("Ana" in "Ana Lind"), one of these holds as well: at least 80 %
    of the letters agree in order; or so they do with the words sorted ("Lind Ana"); or all words of
    the shorter, two at least, are words of the longer ("Ana Lind", "Ana Lind Moreau").
    """
    people = sorted({(code, folded) for code, name in names if (folded := fold(name))})
    texts = [folded for _, folded in people]
    words = [folded.split(" ") for folded in texts]
    likely = _near_in_letters(texts)
    likely |= _near_in_letters([" ".join(sorted(parts)) for parts in words])
    likely |= _within_words([frozenset(parts) for parts in words])
    found: dict[tuple[str, str], float] = {}
    for one, other in likely:
        likeness = fuzz.WRatio(texts[one], texts[other])
        pair = (people[one][0], people[other][0])
        if pair[0] != pair[1] and likeness >= LEAST_LIKENESS:
            found[pair] = max(likeness, found.get(pair, likeness))
    return sorted((one, other, likeness) for (one, other), likeness in found.items())
