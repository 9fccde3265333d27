"""The fonts that printed credits are set in; a text that none of them can write is refused."""

from __future__ import annotations

import os
import sys
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain
from pathlib import Path
from typing import Any, NamedTuple

from fontTools.ttLib import TTFont, TTLibError
from typst import FontInfo, Fonts

from credits.billing.credits import Credits
from credits.billing.setting.rows import CONTINUED, one_line, role_of
from credits.errors import CreditsError, Finding

FONTS_VARIABLE = "CREDITS_FONTS"
SERIF, SANS = "Noto Serif", "Noto Sans"
# Comes with the typesetter, so that Latin names need no installed font. Its letters are known:
# those of Latin-1 and Latin Extended-A, Greek, Cyrillic and Hebrew, and common punctuation.
BUILT_IN = "Libertinus Serif"
_BUILT_IN_LETTERS = frozenset(
    [
        *range(0x20, 0x7F),
        *range(0xA0, 0x180),
        *map(ord, "–—‘’‚“”„†‡•…‹›"),
        *range(0x391, 0x3A2),
        *range(0x3A3, 0x3CF),
        *range(0x400, 0x460),
        0x5BE,
        *range(0x5D0, 0x5EB),
    ]
)
# What a script's fonts are called where that is not the word by which its letters are called.
_FONT_WORD = {"Cjk": "CJK", "Hangul": "CJK", "Hiragana": "CJK", "Katakana": "CJK"}
# Of the fonts of one script these come first: a text face of Arabic, the default face of CJK.
_FIRST_OF_SCRIPT = {"Naskh", "JP"}
_ENOUGH_PEOPLE = 5
INSTALL = (
    "Install fonts that have them (Debian: fonts-noto-core, fonts-noto-cjk,"
    f" fonts-noto-color-emoji), or name a folder of fonts in {FONTS_VARIABLE}."
)


class LettersMissingError(CreditsError):
    """No font at hand has some of the letters. Nothing was written."""


class Needed(NamedTuple):
    """A text that is to be set; ``owner`` says whose it is, in words."""

    text: str
    owner: str


def texts_needed(credits: Credits) -> Iterator[Needed]:
    """Yield every text that prints, with whose it is."""
    for section in credits.sections:
        heading = one_line(section.heading)
        for text in (section.heading, section.heading_also):
            yield Needed(text, f"the heading '{heading}'")
        yield Needed(section.text, f"the text under '{heading}'")
        for line in section.lines:
            owner = one_line(line.name) + (f" (person {line.person})" if line.person else "")
            for text in (line.name, line.joined):
                yield Needed(text, owner)
            yield Needed(line.note, f"the note of {owner}")
            for text in role_of((line,)):
                yield Needed(text, f"the role of {owner}")
    if any(section.heading for section in credits.sections):
        yield Needed(CONTINUED, "a heading that goes on over a page")


def font_folders(environ: Mapping[str, str]) -> tuple[Path, ...]:
    """Return the folders to look for fonts in: those of ``CREDITS_FONTS``, then the system's."""
    own = [Path(part) for part in environ.get(FONTS_VARIABLE, "").split(os.pathsep) if part]
    home = Path(environ.get("HOME") or environ.get("USERPROFILE") or "/nonexistent")
    if sys.platform == "win32":
        local = Path(environ.get("LOCALAPPDATA") or home / "AppData/Local")
        system = [Path(environ.get("WINDIR") or "C:/Windows") / "Fonts"]
        system.append(local / "Microsoft/Windows/Fonts")
    elif sys.platform == "darwin":
        system = [Path("/System/Library/Fonts"), Path("/Library/Fonts"), home / "Library/Fonts"]
    else:
        data = Path(environ.get("XDG_DATA_HOME") or home / ".local/share")
        shared = (environ.get("XDG_DATA_DIRS") or "/usr/local/share:/usr/share").split(":")
        system = [*(Path(part) / "fonts" for part in shared if part), data / "fonts"]
        system.append(home / ".fonts")
    return tuple(dict.fromkeys(folder for folder in (*own, *system) if folder.is_dir()))


def clusters(text: str) -> Iterator[str]:
    """Part a text into its letters, each with its marks; invisible signs are left out."""
    held = ""
    for sign in text:
        kind = unicodedata.category(sign)
        if kind in ("Cf", "Cc", "Zl", "Zp") or "\ufe00" <= sign <= "\ufe0f" or sign.isspace():
            continue
        if not (kind.startswith("M") and held):
            yield from filter(None, [held])
            held = ""
        held += sign
    yield from filter(None, [held])


@lru_cache(maxsize=1024)
def _letters_of(path: str, index: int) -> frozenset[int]:
    try:
        with TTFont(path, fontNumber=index, lazy=True) as font:
            return frozenset(font.getBestCmap() or ())
    except (TTLibError, OSError, AssertionError, KeyError):
        return frozenset()


def _writes(font: FontInfo, cluster: str) -> bool:
    """Tell whether a font writes a letter with its marks: as spelled, joined or taken apart."""
    if font.path is not None:
        letters = _letters_of(font.path, font.index)
    else:
        letters = _BUILT_IN_LETTERS if font.family == BUILT_IN else frozenset()
    spellings = (cluster, *(unicodedata.normalize(form, cluster) for form in ("NFC", "NFD")))
    return any(letters.issuperset(map(ord, spelling)) for spelling in spellings)


@dataclass(frozen=True, slots=True)
class FontsAtHand:
    """Every font that was found, ready for the typesetter; the plainest of each family by name."""

    found: Fonts
    families: Mapping[str, FontInfo]

    @classmethod
    def look(cls, folders: Sequence[Path]) -> FontsAtHand:
        """Read the names of all fonts in the folders. The typesetter's own are always there."""
        found = Fonts(include_system_fonts=False, font_paths=[str(folder) for folder in folders])
        plainest: dict[str, FontInfo] = {}
        for font in sorted(found.fonts(), key=_plainness):
            plainest.setdefault(font.family, font)
        return cls(found, dict(sorted(plainest.items())))

    def _in_turn(self, first: str, cluster: str) -> Iterator[str]:
        """The families that may have a letter: the wanted one, those of its script, all others."""
        word = unicodedata.name(cluster[0], "").split(" ")[0].title()
        word = _FONT_WORD.get(word, word)
        yield from {first} & self.families.keys()
        if word:
            of_script = [name for name in self.families if word in name]
            usual = {name for name in of_script if not _FIRST_OF_SCRIPT.isdisjoint(name.split())}
            yield from sorted(
                of_script, key=lambda n: (not n.startswith(first), n not in usual, len(n), n)
            )
        yield from (name for name in self.families if name.startswith("Noto") or name == BUILT_IN)
        yield from self.families

    def families_for(self, texts: Iterable[Needed], first: str) -> tuple[str, ...]:
        """Choose families that can set all the texts, the one that is wanted first.

        Raises LettersMissingError.
        """
        chosen = [first if first in self.families else BUILT_IN]
        owners: dict[str, list[str]] = defaultdict(list)
        missing: dict[str, list[str]] = {}
        for needed in texts:
            for cluster in clusters(needed.text):
                owners[cluster].append(needed.owner)
        for cluster, own in owners.items():
            tried = chain(chosen, self._in_turn(first, cluster))
            name = next((name for name in tried if _writes(self.families[name], cluster)), None)
            if name is None:
                missing[cluster] = own
            elif name not in chosen:
                chosen.append(name)
        if missing:
            raise LettersMissingError(*_findings(missing))
        return tuple(chosen)


def _plainness(font: FontInfo) -> tuple[Any, ...]:
    return (font.style != "normal", abs(font.weight - 400), abs(font.stretch - 1), font.path or "")


def _findings(missing: Mapping[str, list[str]]) -> Iterator[Finding]:
    """One finding for all letters that the same people need."""
    by_owners: dict[tuple[str, ...], list[str]] = {}
    for cluster, needing in missing.items():
        by_owners.setdefault(tuple(dict.fromkeys(needing)), []).append(cluster)
    last = len(by_owners) - 1
    for at, (owners, letters) in enumerate(by_owners.items()):
        whose = ", ".join(owners[:_ENOUGH_PEOPLE])
        if len(owners) > _ENOUGH_PEOPLE:
            whose += f" and {len(owners) - _ENOUGH_PEOPLE} more"
        named = "; ".join(
            ", ".join(f"U+{ord(s):04X} {unicodedata.name(s, 'without a name')}" for s in cluster)
            for cluster in letters
        )
        what = f"no font at hand has {named}; needed by {whose}"
        yield Finding(what, INSTALL if at == last else "", value=" ".join(letters))
