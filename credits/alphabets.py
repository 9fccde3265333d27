"""The order that a country or a language puts names in, by the collation of ICU (UTS #35, part 5).

The order of the Unicode Collation Algorithm (``credits.collation``) is the one that all languages
share: Å stands with A. In Swedish it stands after Z, in Danish it is the last letter of all, and
the Czech Ch is a letter behind H. Which of these a production wants, its ``alphabet`` says: a
language tag (BCP 47), such as sv, cs, es, or de-u-co-phonebk for the order of German telephone
books. ICU is an extra of the installation, asked for by those alone who set an alphabet.
"""

from __future__ import annotations

from functools import cache, lru_cache
from importlib import import_module
from typing import Any

from credits.collation import COLLATED_LENGTH, Weights
from credits.errors import CreditsError, Finding

BEHIND = "…"
_KEYWORD = "collation"


class UnknownAlphabet(CreditsError):
    """A language tag that names no order of names, or ICU that is wanted and not there."""


def checked_alphabet(tag: str) -> str:
    """Return the tag of an alphabet. Raises UnknownAlphabet where ICU has no order of that name."""
    try:
        icu = _icu()
    except ImportError:
        what = "asks for the order of names of a language, for which ICU is not installed"
        hint = "Whoever installed this program can add it (see the README); or take the line out."
        raise UnknownAlphabet(Finding(what, hint)) from None
    if not _orders_by(icu, tag):
        what = "is no language whose order of names is known"
        raise UnknownAlphabet(Finding(what, 'Write a language tag: alphabet = "sv", "cs" or "es".'))
    return tag


def order_of(text: str, alphabet: str) -> tuple[Weights, Weights]:
    """Return the keys of a text in an alphabet: of its base letters, and of all its levels."""
    letters, levels = _collators(alphabet)
    text = text[:COLLATED_LENGTH]
    return tuple(letters.getSortKey(text)), tuple(levels.getSortKey(text))


@lru_cache(maxsize=65536)
def heading_in(text: str, alphabet: str) -> str:
    """Return the letter of an alphabet that a text files under; where it has none for it, an empty
    text before its letters, BEHIND between or behind them."""
    index, kinds = _index(alphabet)
    label, kind = index.getBucket(index.getBucketIndex(text[:COLLATED_LENGTH]))
    if kind == kinds.NORMAL:
        return str(label)
    return "" if kind == kinds.UNDERFLOW else BEHIND


def _icu() -> Any:
    """ICU's library, which is imported when an alphabet is set: few set one."""
    return import_module("icu")


@cache
def _languages() -> frozenset[str]:
    icu = _icu()
    locales = icu.Collator.getAvailableLocales()
    return frozenset(icu.Locale(name).getLanguage() for name in locales) - {"", "root"}


@cache
def _collators(alphabet: str) -> tuple[Any, Any]:
    icu = _icu()
    locale = icu.Locale.forLanguageTag(alphabet)
    letters, levels = (icu.Collator.createInstance(locale) for _ in range(2))
    letters.setStrength(icu.Collator.PRIMARY)
    levels.setStrength(icu.Collator.TERTIARY)
    return letters, levels


@cache
def _index(alphabet: str) -> tuple[Any, Any]:
    icu = _icu()
    made = icu.AlphabeticIndex(icu.Locale.forLanguageTag(alphabet))
    return made.buildImmutableIndex(), icu.UAlphabeticIndexLabelType


def _orders_by(icu: Any, tag: str) -> bool:
    """Tell whether a tag is one by which ICU orders, and not by something else instead of it."""
    try:
        locale = icu.Locale.forLanguageTag(tag)
    except icu.ICUError:
        return False
    if locale.getLanguage() not in _languages():
        return False
    wanted = locale.getKeywordValue(_KEYWORD)
    known = icu.Collator.getKeywordValuesForLocale(_KEYWORD, locale, False)
    return wanted is None or wanted in known
