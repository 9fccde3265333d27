"""The jump box folds what is typed exactly as the index was folded."""

from __future__ import annotations

import csv
import sys
import unicodedata
from collections.abc import Mapping
from pathlib import Path

import pytest

from credits import files
from credits.editions import Edition
from credits.names import fold
from tests.drawn import FULL
from tests.site.conftest import Visitor

pytestmark = pytest.mark.browser

NAMES = (
    "Zoë  Ødegård", "İlgın Çırpıcı", "IŞIK", "ΘΕΟΔΏΡΑΣ", "Straße", "STRASSE", "Ægir Þór", "Œuvre",
    "Ёлкин", "Łucja Świerszczewska", "Đỗ Thị Mây Trắng", "Olúfẹ́mi Àkànbíadé", "Keʻala", "O’Brien",
    "O'Brien", "Smith‐Jones", "Smith–Jones", "남궁보람", "葉桜 千鶴",
    "ガギグ", "ｶﾞｷﾞｸﾞ", "मृणाल कोकिळे", "ปลายฟ้า ธารสุวรรณ", "رشا المرجاني", "رَشا",
    "נַעֲמִי בן־יערה", "ﬁne ﬀ",
    "Ⅷ ½ ①", "😀", "👩‍🔧", "a\u200db", "\u200d", "\ufeffx", "tab\there",
    "nbsp\u00a0here", "\u3000wide\u3000", "line\u2028end", "=cmd()|' /C calc'!A0", "<script>",
    "Robert'); DROP TABLE", "x" * 200, "", " ",
)  # fmt: skip


def _rule_of_the_page() -> str:
    """The part of the script that folds, as it is in the file that the site carries."""
    script = (files.shipped("site_templates") / "site.js").read_text(encoding="utf-8")
    start, end = script.index("const folded ="), script.index("const places =")
    return script[start:end]


def _folded_by_the_page(visit: Visitor, site: Path, texts: list[str]) -> list[str]:
    page = visit(site).go("index.html")
    page.add_script_tag(url="jump.js")
    folded: list[str] = page.evaluate(
        f"(texts) => {{ {_rule_of_the_page()}; return texts.map(fold); }}", texts
    )
    return folded


def test_names_of_many_scripts(
    example_sites: Mapping[Edition, Path], example_tables: Path, visit: Visitor
) -> None:
    with (example_tables / "people.csv").open(encoding="utf-8", newline="") as file:
        own = [row["credit_name"] for row in csv.DictReader(file)]
    assert len(own) > 60
    texts = [*NAMES, *own, *(name.upper() for name in own)]
    texts += [unicodedata.normalize(form, text) for form in ("NFC", "NFD") for text in texts]
    folded = _folded_by_the_page(visit, example_sites[Edition.PUBLIC], texts)
    assert dict(zip(texts, folded, strict=True)) == {text: fold(text) for text in texts}


def _is_han(character: str) -> bool:
    """Whether it is one of the ideographs that stand for nothing but themselves."""
    return unicodedata.name(character, "").startswith("CJK UNIFIED IDEOGRAPH-")


def test_every_character_there_is(example_sites: Mapping[Edition, Path], visit: Visitor) -> None:
    # Those that this Python knows; a browser may know newer ones.
    characters = [
        character
        for character in map(chr, range(sys.maxunicode + 1))
        if unicodedata.category(character) not in ("Cn", "Co", "Cs")
    ]
    assert len(characters) > 130_000
    if not FULL:  # of those that are alike, tens of thousands, a few
        characters = [one for at, one in enumerate(characters) if at % 16 == 0 or not _is_han(one)]
    folded = _folded_by_the_page(visit, example_sites[Edition.PUBLIC], characters)
    differ = {
        f"U+{ord(character):04X}": (fold(character), by_page)
        for character, by_page in zip(characters, folded, strict=True)
        if fold(character) != by_page
    }
    assert differ == {}
