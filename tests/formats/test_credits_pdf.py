"""The printed proof, read back with a PDF library; and the fonts that it needs."""

from __future__ import annotations

import io
import os
import unicodedata
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader
from pypdf.generic import Destination

from credits.billing.credits import Section
from credits.billing.plan import Picture
from credits.billing.setting.roll import USUAL
from credits.editions import Edition
from credits.formats.deliver.fonts import (
    BUILT_IN,
    FontsAtHand,
    LettersMissingError,
    Needed,
    clusters,
    font_folders,
)
from credits.formats.deliver.logos import read_logos
from credits.formats.deliver.pdf import credits_pdf, proof_data, set_proof
from credits.formats.deliver.plain import Delivery
from credits.formats.deliver.png import measured_lines
from credits.formats.deliver.typesetting import FontRuler, Typesetter
from tests.formats.compiled import CAUTION, FONTS, card, delivery, line, names, roles, text

NOTHING: tuple[Path, ...] = ()


def read(delivery: Delivery, folders: tuple[Path, ...] = NOTHING) -> PdfReader:
    return PdfReader(io.BytesIO(credits_pdf(delivery, folders)))


def words_of(pdf: PdfReader) -> str:
    return " ".join("\n".join(page.extract_text() for page in pdf.pages).split())


def test_the_proof_says_everything_that_a_proof_says() -> None:
    made = delivery(
        card("Directed by", "Ana Lind"),
        roles("Voices", ("Wick", "Ben Okoro"), ("Wick", "Cai")),
        names("Thanks", "Dot", "Eli", "Fay", "Gus", "Hal", columns=2),
        text("", "For *everybody* who **waited**."),
        proof=3,
    )
    pdf = read(made)
    words = words_of(pdf)
    for said in (
        "The Small Film", "Proof 3", "Work up to 2026-03-03, log up to A-17, cut version 2.",
        CAUTION,
        "8 names, 8 people. Plan: a plan.", "Directed by Ana Lind", "Voices Wick Ben Okoro Cai",
        "For everybody who waited.", "1 / 1",
    ):  # fmt: skip
        assert said in words
    assert words.count("Wick") == 1
    assert all(words.count(name) == 1 for name in ("Dot", "Eli", "Fay", "Gus", "Hal"))


def test_the_pdf_is_tagged_and_has_title_and_language() -> None:
    pdf = read(delivery(names("Thanks", "Ana")))
    root = pdf.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"].value is True
    assert root["/Lang"] == "en"
    assert "/StructTreeRoot" in root
    assert pdf.metadata is not None
    assert pdf.metadata.title == "The Small Film: end credits, Draft"


def test_the_names_stand_at_the_gutter() -> None:
    pdf = read(delivery(roles("Voices", ("Wick", "Ben"), ("The oldest Brine", "Cai"))))
    lefts: dict[str, float] = {}

    def note(found: str, cm: list[float], tm: list[float], *_: object) -> None:
        lefts.setdefault(found.strip(), cm[4] + tm[4])

    pdf.pages[0].extract_text(visitor_text=note)
    assert lefts["Ben"] == pytest.approx(lefts["Cai"], abs=0.01)
    assert lefts["The oldest Brine"] < lefts["Wick"] < lefts["Ben"]


def test_the_caution_and_the_page_number_are_on_every_page() -> None:
    many = [f"Person {number}" for number in range(200)]
    pdf = read(delivery(names("Thanks", *many)))
    pages = [" ".join(page.extract_text().split()) for page in pdf.pages]
    assert len(pages) > 2
    for number, page in enumerate(pages, 1):
        assert CAUTION in page
        assert f"{number} / {len(pages)}" in page
    words = words_of(pdf).split(" ")
    assert [int(word) for before, word in pairwise(words) if before == "Person"] == [*range(200)]


def test_over_a_page_the_heading_and_the_role_stand_again() -> None:
    pdf = read(delivery(roles("Voices", *(("Wick", f"Person {n}") for n in range(60)))))
    first, second, *_ = [" ".join(page.extract_text().split()) for page in pdf.pages]
    assert "Voices Wick Person 0" in first
    assert second.startswith("Voices (continued) Wick Person ")
    title, under = pdf.outline
    assert isinstance(title, Destination)
    assert isinstance(under, list)
    assert (title.title, [each.title for each in under]) == ("The Small Film", ["Voices"])


def test_a_long_title_and_a_long_heading_stand_in_the_outline_whole() -> None:
    heading, film = "The people of the valley " * 5 + "and Ben", "The Small Film " * 8 + "II"
    pdf = read(delivery(names(heading, "Ana"), title=film))
    title, under = pdf.outline
    assert isinstance(title, Destination)
    assert isinstance(under, list)
    assert (title.title, [each.title for each in under]) == (film, [heading])
    words = words_of(pdf)
    assert heading in words
    assert film in words


def test_cards_are_numbered_and_stand_where_they_interrupt_the_roll() -> None:
    made = delivery(names("Edited by", "Ana"), card("Directed by", "Ben"), names("Thanks", "Cai"))
    assert "Edited by Ana Card 1, hold 2.6 s Directed by Ben Thanks Cai" in words_of(read(made))


def test_what_is_copied_has_no_signs_of_direction_and_no_breaks_put_in() -> None:
    pdf = read(delivery(roles("", ("Wick", "שרה לוי"), ("Wick", "Ana " * 30))), FONTS)
    said = "".join(page.extract_text() for page in pdf.pages)
    signs = "\u200b\u200e\u200f\u202a\u202b\u202c\u2066\u2067\u2068\u2069"
    assert not any(sign in said for sign in signs)


def test_the_rows_of_the_proof_are_those_of_the_roll() -> None:
    long = "Maria Theodora Wilhelmina Anastasia Featherstall-Plumtree von und zu Hohenzwitscher"
    made = delivery(
        roles("Voices", ("Wick", long)),
        names("Thanks", *(f"Person {n} of the valley" for n in range(20)), columns=3),
        text("", "mouse " * 60),
    )
    rolls = measured_lines(made.credits, USUAL, NOTHING)
    shown = set_proof(made, FontRuler(rolls.typesetter))
    assert shown.roll == rolls.rows


def test_logos_are_set_with_their_words_for_those_who_do_not_see_them(tmp_path: Path) -> None:
    (tmp_path / "pictures").mkdir()
    drawing = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 10"><path d="M0 0h9v9z"/></svg>'
    )
    (tmp_path / "pictures/mill.svg").write_text(drawing)
    logos = (Picture(file="mill.svg", shows="Mill Studio", lines=3),)
    made = delivery(Section(heading="Made at", pictures=logos))
    read_back = credits_pdf(made, NOTHING, read_logos(tmp_path, made.credits))
    assert "Mill Studio".encode("utf-16-be").hex().upper() in alternates(read_back)


def alternates(pdf: bytes) -> set[str]:
    """The words for pictures in the structure of a PDF, in UTF-16 as hexadecimal digits."""
    found: set[str] = set()

    def look(node: Any) -> None:
        node = node.get_object() if hasattr(node, "get_object") else node
        if isinstance(node, list):
            for each in node:
                look(each)
        elif isinstance(node, dict):
            if "/Alt" in node:
                found.add(str(node["/Alt"]).encode("utf-16-be").hex().upper())
            look(node.get("/K", []))

    look(PdfReader(io.BytesIO(pdf)).trailer["/Root"]["/StructTreeRoot"])
    return found


def test_spellings_that_are_not_confirmed_are_marked() -> None:
    section = replace(names("Thanks"), lines=(line("Ana", confirmed=False), line("Ben")))
    words = words_of(read(delivery(section)))
    assert "Ana°" in words.replace("Ana °", "Ana°")
    assert "° The spelling is not confirmed yet." in words
    assert "°" not in words_of(read(delivery(section, edition=Edition.PUBLIC)))


def test_the_same_delivery_gives_the_same_bytes() -> None:
    made = delivery(names("Thanks", "Ana"))
    assert credits_pdf(made, NOTHING) == credits_pdf(made, NOTHING)


def test_an_empty_production_has_a_proof_too() -> None:
    assert "Nobody yet: nothing prints." in words_of(read(delivery(day=None, last_line=None)))


@pytest.mark.parametrize(
    "name",
    ['#panic("a")', "$x$", "*a* _b_", '"\\', "]#[", "<script>", "@ref", "= Heading", "//", "a~b"],
)
def test_nothing_in_a_name_is_a_command(name: str) -> None:
    words = words_of(read(delivery(names(name, name), title=name)))
    assert words.count(name) >= 2


def test_a_word_of_two_hundred_letters_stays_on_the_page() -> None:
    pdf = read(delivery(roles("", ("Wick", "x" * 200))))
    rights: list[float] = []

    def note(found: str, cm: list[float], tm: list[float], *_: object) -> None:
        if "x" in found:
            rights.append(cm[4] + tm[4])

    pdf.pages[0].extract_text(visitor_text=note)
    shown = pdf.pages[0].extract_text().replace("\u200b", "").replace("\n", "")
    assert shown.count("x") == 200
    assert len(set(rights)) <= 2


# Scripts that the names of an international crew are written in; all names are invented.
SCRIPTS = (
    "Łucja Świerszczewska", "Đỗ Thị Mây", "Олеся Цвіркун", "Λεωνίδας Χρυσοπέταλος",
    "Անուշ Ծիրանյան",
    "ნათელა წყაროშვილი", "נעמי בן־יערה", "رشا المرجاني", "मृणाल कोकिळे", "ปลายฟ้า ธารสุวรรณ",
    "ሰላማዊት ገብረየስ", "葉桜 千鶴", "闻鹤汀", "남궁보람", "Olúfẹ́mi Àkànbíadé",
)  # fmt: skip


def outcome(name: str) -> str:
    """What stands on the page, or what is said of the letters that no font here has."""
    try:
        return words_of(read(delivery(names("", name)), FONTS))
    except LettersMissingError as error:
        return str(error)


def in_order(wanted: str, got: str) -> bool:
    """Whether the letters stand there in this order, whatever stands between."""
    rest = iter(got)
    return all(letter in rest for letter in wanted)


@pytest.mark.parametrize("name", SCRIPTS)
def test_a_name_of_any_script_is_printed_or_the_message_says_what_to_install(name: str) -> None:
    """Which of the two depends on the fonts of the machine; a box is never printed: PDF/UA refuses
    it. The library gives every sign of a letter with marks the whole letter, and words that run to
    the left as they stand on the page."""
    said = outcome(name)
    if "fonts-noto-core" in said:
        assert f"{name} (person {name.lower()})" in said
        return
    got = unicodedata.normalize("NFC", said)
    for word in unicodedata.normalize("NFC", name).split():
        to_the_left = unicodedata.bidirectional(word[0]) in ("R", "AL")
        assert in_order(word, got) or (to_the_left and in_order(word[::-1], got))


# -- fonts --------------------------------------------------------------------------------------


def test_without_any_font_latin_is_set_and_other_letters_are_named_with_their_people() -> None:
    made = delivery(names("Thanks", "Ana Ødegård", "山田", "林山"))
    with pytest.raises(LettersMissingError) as error:
        credits_pdf(made, NOTHING)
    message = str(error.value)
    assert (
        "U+5C71 CJK UNIFIED IDEOGRAPH-5C71; needed by 山田 (person 山田), 林山 (person 林山)"
        in message
    )
    assert "U+7530" in message
    assert "Ana" not in message
    assert "fonts-noto-cjk" in message
    assert "CREDITS_FONTS" in message
    assert "Ana Ødegård" in words_of(read(delivery(names("Thanks", "Ana Ødegård"))))


def test_the_built_in_font_has_the_letters_that_it_is_said_to_have() -> None:
    fonts = FontsAtHand.look(NOTHING)
    letters = "".join(
        map(chr, [*range(0x21, 0x7F), *range(0xA1, 0x180), *range(0x391, 0x3A2)])
    ) + "".join(map(chr, [*range(0x3A3, 0x3CF), *range(0x400, 0x460), *range(0x5D0, 0x5EB)]))
    assert fonts.families_for([Needed(letters, "all")], "Noto Serif") == (BUILT_IN,)
    # PDF/UA-1 allows no letter without a shape, and each of these families stands alone.
    words = [letters[at : at + 30] for at in range(0, len(letters), 30)]
    assert credits_pdf(delivery(names("", *words)), NOTHING)


def test_the_typesetter_refuses_what_the_fonts_do_not_have() -> None:
    """The last look: should a font not be able to do what it says, nothing is printed."""
    blind = Typesetter(FontsAtHand.look(NOTHING), (BUILT_IN,))
    with pytest.raises(LettersMissingError, match="山"):
        blind.pdf("proof.typ", proof_data(delivery(names("", "山")), FontRuler(blind)))


def test_fonts_are_looked_for_in_the_named_folder_first(tmp_path: Path) -> None:
    own = tmp_path / "own"
    (tmp_path / "home/.fonts").mkdir(parents=True)
    own.mkdir()
    environ = {
        "CREDITS_FONTS": f"{own}{os.pathsep}{tmp_path / 'none'}",
        "HOME": str(tmp_path / "home"),
    }
    folders = font_folders(environ)
    assert folders[0] == own
    assert all(folder.is_dir() for folder in folders)
    assert len(set(folders)) == len(folders)


def test_a_letter_is_taken_with_its_marks_and_invisible_signs_need_no_font() -> None:
    assert list(clusters("Ọ́la \u202e\u200dкй\n")) == ["Ọ́", "l", "a", "к", "й"]
