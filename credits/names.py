"""Names of people and characters: their order, headings and direction.

Order is that of the Unicode Collation Algorithm (UTS #10), punctuation and spaces counted. A sort
name has two parts, ``entry element, rest``: "Gogh, Vincent van". Which part a name files under is
asked of the person, never guessed here. Any text is a name: empty, one word, emoji, 200 characters.
"""

from __future__ import annotations

import re
import unicodedata
from bisect import bisect_right
from functools import cache, lru_cache
from typing import Literal

from credits.alphabets import BEHIND, heading_in, order_of
from credits.collation import (
    HAN_WEIGHT,
    UNLISTED_WEIGHT,
    Weights,
    all_levels,
    elements_of,
    first_primary,
    letters_by_weight,
    primary,
)

NO_LETTER = "#"
HAN_HEADING = "漢字"
KANA_ROWS = "あかさたなはまやらわ"
HANGUL_LEADS = "ㄱㄲㄴㄷㄸㄹㅁㅂㅃㅅㅆㅇㅈㅉㅊㅋㅌㅍㅎ"
FIRST_HANGUL_LEAD = 0x1100

# --- Folding, for search and likeness. A script that folds a typed word must do the same steps:
#     normalise NFKD, lower case, drop ERASED, replace each character by FOLDS, one space for BLANK.

ERASED = (  # accents of Latin, Greek and Cyrillic; points of Hebrew and Arabic; invisible signs
    "[\u0300-\u036f\u0483-\u0489\u0591-\u05bd\u05bf-\u05c7\u064b-\u065f\u0670\u1ab0-\u1aff"
    "\u1dc0-\u1dff\u20d0-\u20f0\ufe20-\ufe2f\u00ad\u200b-\u200f\u202a-\u202e\u2060-\u206f"
    "\ufe00-\ufe0f\ufeff]"
)
FOLDS: dict[str, str] = dict(zip("øłđðħŧıς‘’ʼ‐–—", "olddhtiσ'''---", strict=True))
FOLDS |= {"ß": "ss", "æ": "ae", "œ": "oe", "þ": "th"}
BLANK = "[\t-\r \u0085\u00a0\u1680\u2000-\u200a\u2028\u2029\u202f\u205f\u3000]+"

_ERASED = re.compile(ERASED)
_BLANK = re.compile(BLANK)
_FOLDS = str.maketrans(FOLDS)


@lru_cache(maxsize=65536)
def fold(text: str) -> str:
    """Fold a name as search and likeness see it: "Zoë  Ødegård" -> "zoe odegard".

    Lower case, compatibility forms made plain, accents of Latin, Greek and Cyrillic dropped, the
    letters of FOLDS replaced, white space collapsed. Vowel signs of Indic scripts, Thai signs and
    Japanese voicing marks stay: without them the names would be other names. The result is in NFKD,
    so that a Hangul syllable is found while it is being typed. Folding twice changes nothing.
    """
    if text.isascii():  # which has nothing but its case and its blanks
        return _BLANK.sub(" ", text.lower()).strip(" ")
    plain = _ERASED.sub("", unicodedata.normalize("NFKD", text).lower()).translate(_FOLDS)
    return unicodedata.normalize("NFKD", _BLANK.sub(" ", plain).strip(" "))


# --- Order


@lru_cache(maxsize=65536)
def sort_key(sort_name: str, alphabet: str = "") -> tuple[Weights, Weights, Weights, Weights, str]:
    """Return the key by which people sort: ``entry element, rest``, parted at the first comma.

    Base letters of the entry element, then of the rest, then accents and case of the entry element,
    then of the rest, and last the text itself, so that the order is total. Sorting the joined
    string would put "Smith-Jones, Al" before "Smith, Jo"; sorting the two parts one after the other
    would put "Muller, Zoe" before "Müller, Al".

    alphabet: whose order it is (``alphabets``); empty for the one that all languages share. Keys
    of different alphabets do not compare.
    """
    entry, _, rest = (part.strip() for part in sort_name.partition(","))
    entry_letters, entry_levels = _order(entry, alphabet)
    rest_letters, rest_levels = _order(rest, alphabet)
    return (entry_letters, rest_letters, entry_levels, rest_levels, sort_name)


def _order(text: str, alphabet: str) -> tuple[Weights, Weights]:
    if alphabet:
        return order_of(text, alphabet)
    elements = elements_of(text)
    return primary(elements), all_levels(elements)


# --- Latin letters, for search


_GLIDE = re.compile("Y[AEIOU]")
_SOUND = re.compile(r"[^AEIOUY]+|[AEIOUY]")
_CYRILLIC_E = re.compile(r"E[^AEIOUY]+")  # EL, EM, EN: the letter is what follows
_SYLLABLE = re.compile(r"HANGUL SYLLABLE|(?:HIRAGANA|KATAKANA) LETTER|ETHIOPIC SYLLABLE")
_SPELLED = re.compile(r"(?:LETTER|SYLLABLE|VOWEL SIGN|CHARACTER) (?P<name>.+)")


def _sound(character: str) -> str:
    """The sound of a letter as its name in the Unicode Standard begins with it: Π (PI) is p."""
    name = unicodedata.name(character, "")
    spelled = _SPELLED.search(name)
    if spelled is None:
        return character.lower() if character.isascii() and character.isalnum() else ""
    said = spelled["name"].rpartition(" ")[2]
    if _SYLLABLE.match(name) or _GLIDE.fullmatch(said):
        found = said
    elif name.startswith("CYRILLIC") and _CYRILLIC_E.fullmatch(said):
        found = said[1:]
    else:
        begins = _SOUND.match(said)
        found = begins[0] if begins else ""
    return found.lower()


@lru_cache(maxsize=65536)
def romanised(text: str) -> str:
    """Write a name in Latin letters, roughly, so that who cannot type it may find it.

    Letters and syllables are what their names in the Unicode Standard begin with: "Снежкин" is
    "snizhkin", near enough to "Snezhkin" for a search that forgives a letter or two. Empty for a
    name in Latin letters, which ``fold`` makes plain, and for Han, whose characters have no names.
    """
    if not any("LATIN" not in unicodedata.name(c, "LATIN") for c in text if c.isalpha()):
        return ""
    words = []
    for word in text.split():
        # Syllables are whole where they are composed; accents are letters of their own otherwise.
        signs = unicodedata.normalize("NFC", _ERASED.sub("", unicodedata.normalize("NFKD", word)))
        sounds = "".join(map(_sound, signs))
        words.append(re.sub(r"(.)\1+", r"\1", sounds))
    return " ".join(filter(None, words))


# --- Headings of an A-Z list


@cache
def _starts(letters: str) -> list[int]:
    return [first_primary(letter) for letter in letters]


def _capital(letter: str) -> str:
    """The capital of a letter, where there is one that sorts with it."""
    title = letter.title()
    same = len(title) == 1 and primary(elements_of(title)) == primary(elements_of(letter))
    return title if same else letter


@lru_cache(maxsize=65536)
def initial(sort_name: str, alphabet: str = "") -> str:
    """Return the heading that a sort name files under in an A-Z list.

    It follows from the first weight by which the name sorts, so in a sorted list the names of one
    heading stand together: Ø under O, Æ under A, Ð under D, and Þ, which comes after Z, under its
    own. Greek, Cyrillic and other alphabets: the letter, capital where there is one. Hangul: the
    leading consonant. Kana: the row of the fifty sounds (か for か to ご). Han characters share one
    heading, since their order here is not one by sound. Figures, emoji, punctuation, nothing: "#".

    alphabet: as ``sort_key`` has it; its own letters have headings of their own, and what is no
    letter and stands behind all letters there, BEHIND.
    """
    entry = sort_name.partition(",")[0].strip()
    if not alphabet:
        return _initial(entry)
    own = heading_in(entry, alphabet)
    if own not in ("", BEHIND):
        return own
    shared = _initial(entry)
    return own if own and shared == NO_LETTER else shared


def _initial(entry: str) -> str:
    """The heading of an entry element in the order that all languages share."""
    weights = primary(elements_of(entry))
    latin, kana = _starts("abcdefghijklmnopqrstuvwxyz"), _starts(KANA_ROWS)
    if not weights or (first := weights[0]) < latin[0]:
        return NO_LETTER
    if first <= latin[-1]:
        return chr(ord("A") + bisect_right(latin, first) - 1)
    if kana[0] <= first <= first_primary("ん"):
        return KANA_ROWS[bisect_right(kana, first) - 1]
    if HAN_WEIGHT <= first < UNLISTED_WEIGHT:
        return HAN_HEADING
    letter = letters_by_weight().get(first) or next(
        c for c in unicodedata.normalize("NFD", entry) if primary(elements_of(c))
    )
    lead = ord(letter[0]) - FIRST_HANGUL_LEAD
    return HANGUL_LEADS[lead] if 0 <= lead < len(HANGUL_LEADS) else _capital(letter)


SCRIPTS = {"CJK": "Chinese characters", "HANGUL": "Korean", "HIRAGANA": "Japanese"}


def script(letter: str) -> str:
    """Name the script of a heading of an A-Z list: "Latin", "Greek"; empty for what is no letter.

    It is what the letter's name in the Unicode Standard begins with.
    """
    if letter in (NO_LETTER, BEHIND):
        return ""
    word = unicodedata.name(letter[:1], "").partition(" ")[0]
    return SCRIPTS.get(word, word.capitalize())


# --- Direction


def direction(text: str) -> Literal["ltr", "rtl"]:
    """Find the direction of a name by its first strong character (UAX #9, P2); ltr without one."""
    strong = (kind for kind in map(unicodedata.bidirectional, text) if kind in ("L", "R", "AL"))
    return "ltr" if next(strong, "L") == "L" else "rtl"
