"""Names in the order of a country: against another implementation, and wherever names stand."""

from __future__ import annotations

import random
import re
import subprocess
import sys
from itertools import groupby
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from credits.alphabets import checked_alphabet
from credits.app.production import open_snapshot
from credits.app.site import build_sites
from credits.editions import Edition
from credits.errors import ProblemsFound
from credits.names import initial, sort_key
from credits.store.settings import read_settings, settings_text
from tests.productions import production_from, written_tables

needs_icu = pytest.mark.icu

NAMES = (
    "Adam", "Aasen", "Åberg", "Ägir", "Ærø", "Ödman", "Ørsted", "Öqvist", "Zorn", "Chvála",
    "Cibulka", "Čapek", "Czerny", "Hora", "Ibl", "Lorca", "Llull", "Łoś", "Lz", "Mueller",
    "Müller", "Mufti", "Muñoz", "Munz", "Nuñez", "Nuza", "Ñandú", "Šimek", "Szabo", "Žižka",
)  # fmt: skip

# Unicode::Collate::Locale of Perl: the tailorings of CLDR over a table of its own.
PERL = """
use utf8; use open qw(:std :encoding(UTF-8)); use Unicode::Collate::Locale;
my ($locale, @names) = map { utf8::decode(my $text = $_); $text } @ARGV;
print "$_\\n" for Unicode::Collate::Locale->new(locale => $locale)->sort(@names);
"""

LETTERS = st.sampled_from("aAzZåÅäÄöØæßcChHčČsSzŽñÑłŁ -',9бЖяσΩשجか김葉👩")
WRITTEN = st.text(LETTERS, max_size=8) | st.text(max_size=8)
ALPHABETS = st.sampled_from(["sv", "da", "cs", "es", "pl", "hu", "ru", "ja", "de-u-co-phonebk"])

FILM = """
    [people]
    person, credit_name, sort_name
    ake, Åke Åberg, "Åberg, Åke"
    zoe, Zoe Zorn, "Zorn, Zoe"
    ada, Ada Lind, "Lind, Ada"

    [characters]
    character, name
    wick, Wick

    [entries]
    craft, person, character
    sculpt, ake, wick
    sculpt, zoe, wick
    sculpt, ada, wick
"""


def film(folder: Path, alphabet: str = "") -> Path:
    """Make a small film whose people one alphabet puts in another order than all share."""
    tables: dict[str, str] = {}
    for name, text in re.findall(r"\[(\w+)\]\n(.*?)(?=\n\s*\[|\Z)", FILM, re.DOTALL):
        tables[name] = re.sub(r", +", ",", text)
    made = production_from(folder / "film", [written_tables(folder / "tables", tables)])
    if alphabet:
        set_alphabet(made, alphabet)
    return made


def set_alphabet(folder: Path, alphabet: str) -> None:
    settings = folder / "production.toml"
    text = settings.read_text("utf-8")
    line = f'alphabet = "{alphabet}"'
    settings.write_text(re.sub(r"(?m)^(# )?alphabet = .*$", line, text), encoding="utf-8")


def letters_on(site: Path) -> list[str]:
    """The headings of the list of people, as they stand on its page."""
    page = (site / "people/index.html").read_text("utf-8")
    return re.findall(r"<h2[^>]*>(?:<bdi>)?(\w)\b", page)


# --- Against another implementation


@needs_icu
@pytest.mark.parametrize("tag", ["sv", "da", "cs", "es", "pl", "hr", "tr", "de-u-co-phonebk"])
def test_names_stand_as_another_implementation_of_the_countrys_order_has_them(tag: str) -> None:
    names = random.Random(tag).sample(NAMES, len(NAMES))
    locale = {"de-u-co-phonebk": "de__phonebook"}.get(tag, tag)
    told = subprocess.run(
        ["perl", "-e", PERL, locale, *names], capture_output=True, check=True, encoding="utf-8"
    )
    assert sorted(names, key=lambda name: sort_key(name, tag)) == told.stdout.splitlines()


@needs_icu
def test_letters_of_a_country_have_headings_of_their_own() -> None:
    assert [initial(name, "sv") for name in ("Adam", "Åberg", "Ödman")] == ["A", "Å", "Ö"]
    assert [initial(name, "cs") for name in ("Cibulka", "Čapek", "Chvála")] == ["C", "Č", "CH"]
    assert [initial(name, "es") for name in ("Nuza", "Ñandú")] == ["N", "Ñ"]
    # Other scripts, figures and nothing file as they do in the order that all share.
    for name in ("Жук", "Ελένη", "葉", "김", "", "3rd", "👩"):
        assert initial(name, "sv") == initial(name)


# --- Invariants


@needs_icu
@given(st.lists(WRITTEN, max_size=12), ALPHABETS)
def test_names_of_one_heading_stand_together_in_every_alphabet(
    names: list[str], alphabet: str
) -> None:
    ordered = sorted(names, key=lambda name: sort_key(name, alphabet))
    headings = [heading for heading, _ in groupby(ordered, key=lambda n: initial(n, alphabet))]
    assert len(headings) == len(set(headings))


@needs_icu
@given(WRITTEN, WRITTEN, ALPHABETS)
def test_only_the_same_name_has_the_same_place(one: str, other: str, alphabet: str) -> None:
    assert (sort_key(one, alphabet) == sort_key(other, alphabet)) == (one == other)


# --- Settings


@needs_icu
@pytest.mark.parametrize(
    "tag", ["", "xx", "de-foo!", "x", "sv_SE.UTF-8", "a" * 70, "en-u-co-zzz", "<script>", "=cmd()"]
)
def test_a_tag_that_names_no_order_is_refused(tmp_path: Path, tag: str) -> None:
    (tmp_path / "production.toml").write_text(f'title = "Wick"\nalphabet = "{tag}"\n', "utf-8")
    with pytest.raises(ProblemsFound) as refused:
        read_settings(tmp_path)
    (finding,) = refused.value.findings
    assert (finding.column, finding.value) == ("alphabet", tag)
    assert "is no language whose order of names is known" in finding.what
    assert 'alphabet = "sv"' in finding.hint


@needs_icu
@pytest.mark.parametrize("tag", ["sv", "SV", "sv-SE", "nb", "sr-Latn", "zh-Hant"])
def test_a_language_tag_is_taken_as_it_is_written(tag: str) -> None:
    assert checked_alphabet(tag) == tag


def test_without_icu_an_alphabet_is_refused_and_not_passed_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Two machines of one production would print two orders, and nobody would know why.
    monkeypatch.setitem(sys.modules, "icu", None)
    (tmp_path / "production.toml").write_text('title = "Wick"\nalphabet = "sv"\n', "utf-8")
    with pytest.raises(ProblemsFound) as refused:
        read_settings(tmp_path)
    (finding,) = refused.value.findings
    assert "ICU is not installed" in finding.what
    assert "or take the line out" in finding.hint


@needs_icu
def test_settings_are_written_with_the_alphabet_they_have(tmp_path: Path) -> None:
    settings = read_settings(film(tmp_path, "sv"))
    (tmp_path / "production.toml").write_text(settings_text(settings), "utf-8")
    assert read_settings(tmp_path) == settings
    assert settings.alphabet == "sv"


# --- Where names stand


@needs_icu
@pytest.mark.parametrize(("alphabet", "order"), [("", "ake ada zoe"), ("sv", "ada zoe ake")])
def test_credits_stand_in_the_alphabet_of_the_production(
    tmp_path: Path, alphabet: str, order: str
) -> None:
    made = film(tmp_path, alphabet)
    compiled = open_snapshot(made).credits
    (section,) = compiled.sections
    assert [line.person for line in section.lines] == order.split()


@needs_icu
def test_another_alphabet_makes_the_pages_of_people_anew(tmp_path: Path) -> None:
    made = film(tmp_path)
    build_sites(made, [Edition.CREW])
    assert letters_on(made / "site/crew") == ["A", "L", "Z"]
    set_alphabet(made, "sv")
    build_sites(made, [Edition.CREW])
    assert letters_on(made / "site/crew") == ["L", "Z", "Å"]
    page = (made / "site/crew/people/index.html").read_text("utf-8")
    assert 'data-alphabet="sv"' in page
