"""Addresses of codes: different for different codes on every common file system, and safe there."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from credits.site import links
from credits.text import fold_code

KEPT = ("con", "prn", "aux", "nul", "com1", "com9", "lpt1", "lpt9", "com0", "lpt0", "CON", "Com1")
PAGES = (
    links.person_page, links.character_page, links.replacements_page, links.puppet_page,
    links.shot_page, links.craft_page, links.review_page, links.review_parts_page,
)  # fmt: skip
CODES = st.one_of(
    st.text(min_size=1, max_size=12),
    st.text("aA-_.0189", min_size=1, max_size=8),
    st.sampled_from(
        [*KEPT, "wick", "wick-parts", "wick-replacements", "index", "..", ".", "a.", "a "]
    ),
)


@pytest.mark.parametrize(
    "code", [*KEPT, "index", "..", ".", "a.", "a ", "a/b", "a\\b", "a:b", "a\n"]
)
def test_an_address_is_safe_on_every_file_system(code: str) -> None:
    name = links.file_name(code)
    assert name.isascii()
    assert name == name.lower()
    assert not set(name) & set('<>:"/\\|?*. \n')
    assert name not in {*map(str.lower, KEPT), "index", ""}
    assert len(name) <= 60


@given(st.lists(CODES, min_size=2, max_size=12, unique_by=fold_code))
def test_different_codes_have_different_addresses(codes: list[str]) -> None:
    names = [unicodedata.normalize("NFC", links.file_name(code)).casefold() for code in codes]
    assert len(set(names)) == len(codes)
    pages = {page(code) for page in PAGES for code in codes}
    pages |= {links.PEOPLE, links.CHARACTERS, links.SHOTS, links.CRAFTS}
    assert len(pages) == len(PAGES) * len(codes) + 4


@given(CODES)
def test_a_code_has_one_address_however_it_is_written(code: str) -> None:
    if fold_code(code.upper()) == fold_code(code):
        assert links.file_name(fold_code(code.upper())) == links.file_name(fold_code(code))


def test_a_code_has_one_page_however_it_is_spelled() -> None:
    assert links.file_name("WICK-1") == links.file_name("wick-1") == "wick-1"
    assert links.file_name("ÉTÉ 1") == links.file_name("été 1")
    assert links.file_name("ÉTÉ 1") != links.file_name("ete 1")
