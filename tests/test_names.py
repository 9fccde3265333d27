"""Names: order against published collation, headings, folding, likeness, direction, ISNI."""

import random
import unicodedata
from contextlib import suppress
from functools import cache
from itertools import groupby, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyuca.collator import Collator_10_0_0 as Collator

from credits.checks.names import alike
from credits.collation import LazyCollator
from credits.formats.tables.cells import Unreadable, isni
from credits.names import FOLDS, direction, fold, initial, romanised, script, sort_key
from tests.drawn import FULL

# --- Order

SORT_NAMES = [  # expected order agreed on by pyuca and PyICU, compared level by level
    "De la Cruz, Al",
    "de la Cruz, Ana",
    "Delacroix, Ana",
    "Muller, Al",
    "Müller, Al",
    "Muller, Zoe",
    "Müller, Zoë",
    "O'Brien, Dara",
    "O'Brien-Smith, D",
    "Smith, Jo",
    "Smith Jones, Al",
    "Smith-Jones, Al",
    "Smithers, Al",
]

WHOLE_STRINGS = [  # ICU root collation, punctuation not ignored; pyuca and PyICU agree
    "Abel < Åberg < Aegir < Ægir < Afzal",
    "Celik < Çelik",
    "Lukas < Łukasz < Lutz",
    "Mac Donald < Macdonald < MacDonald < McDonald",
    "Ostby < Østby",
    "Strasse < Straße",
    "Zola < Þór < Елкин < Ёлкин < Жук < 김 < 山田",
]


@pytest.mark.parametrize("seed", range(5))
def test_people_sort_by_entry_element_then_rest(seed: int) -> None:
    shuffled = random.Random(seed).sample(SORT_NAMES, len(SORT_NAMES))
    assert sorted(shuffled, key=sort_key) == SORT_NAMES


@pytest.mark.parametrize("line", WHOLE_STRINGS)
def test_whole_strings_sort_by_the_unicode_collation_algorithm(line: str) -> None:
    for lower, higher in pairwise(line.split(" < ")):
        assert sort_key(lower) < sort_key(higher)


@cache
def reference() -> Collator:
    """The whole table, which takes a while to read."""
    return Collator()


LETTERS = (
    "aAzZ'- ,.·éÉøØßæłðþŻςЁёйІабעאّاأمةกเแาຂເ影山かガ김가가한मीरा"
    "𑄧𑄮ꪵꪠᦵᦂ👩‍🎨🥸9½\u0301\u0323\u0345\u0f71\u0f72\u0f80\ud800"
)


def test_collation_keys_are_those_of_the_reference_for_listed_characters() -> None:
    for name in [*SORT_NAMES, "Ёлкин", "김민준", "山田 太郎", "עברית", "สมชาย", "😀 Grin"]:
        entry = name.partition(",")[0].strip()
        assert sort_key(name)[2] == reference().sort_key(entry)


@given(
    st.lists(
        st.one_of(st.text(st.sampled_from(LETTERS), max_size=12), st.text(max_size=8)), max_size=4
    )
)
def test_a_table_that_is_read_as_it_is_needed_gives_the_keys_of_the_whole(texts: list[str]) -> None:
    collator = LazyCollator()
    for text in texts:
        assert collator.sort_key(text) == reference().sort_key(text)


def test_a_table_that_is_read_as_it_is_needed_has_every_line() -> None:
    collator = LazyCollator()
    lines = [([], reference().table.root)]
    while lines:
        points, node = lines.pop()
        lines += (([*points, point], below) for point, below in (node.children or {}).items())
        if node.value:
            assert collator.table.find_prefix(points) == (points, node.value, [])
    assert collator.implicit_weights == reference().implicit_weights


def test_names_that_are_hard_to_sort_still_sort() -> None:
    names = ["", ",", " , ", "🥸", "\ud800", "\ufffd", "\u0378", "\U0010ffff", "x" * 5000, "=cmd()"]
    ordered = sorted(names, key=sort_key)
    assert ordered[0] == ""
    for seed in range(5):
        shuffled = random.Random(seed).sample(names, len(names))
        assert sorted(shuffled, key=sort_key) == ordered


def test_newer_emoji_stand_with_the_older_ones_before_figures_and_letters() -> None:
    # U+1F978 came with Unicode 13; the collation table is that of Unicode 10.
    assert sorted(["Ana", "7 Hands", "🥸 Vic", "😀 Vic"], key=sort_key) == [
        "😀 Vic",
        "🥸 Vic",
        "7 Hands",
        "Ana",
    ]


def test_newer_han_characters_stand_with_the_older_ones() -> None:
    # U+30000 came with Unicode 13, Hanifi Rohingya U+10D00 with Unicode 11.
    assert sorted(["\U00010d00", "\U00030000", "山"], key=sort_key) == [
        "山",
        "\U00030000",
        "\U00010d00",
    ]


# --- Headings of an A-Z list


@pytest.mark.parametrize(
    ("sort_name", "heading"),
    [
        ("Gogh, Vincent van", "G"),
        ("de la Cruz, Ana", "D"),
        ("Østby, Al", "O"),
        ("Łukasz", "L"),
        ("Ægir", "A"),
        ("ßen", "S"),
        ("éclair", "E"),
        ("Þór", "Þ"),
        ("Елкин", "Е"),
        ("Ёлкин", "Е"),
        ("йог", "Й"),
        ("Άννα", "Α"),
        ("אבי", "א"),
        ("ნინო", "ნ"),
        ("김민준", "ㄱ"),
        ("까치", "ㄲ"),
        ("山田", "漢字"),
        ("\U00030000", "漢字"),
        ("ごとう", "か"),
        ("サトウ", "さ"),
        ("ｈａｌｆ", "H"),
        ("เก", "ก"),
        ("9 Volt", "#"),
        ("٣", "#"),
        ("😀", "#"),
        ("🥸", "#"),
        ("'t Hooft, Jo", "#"),
        ("", "#"),
        (", Jo", "#"),
        ("\ud800", "#"),
    ],
)
def test_the_heading_a_name_files_under(sort_name: str, heading: str) -> None:
    assert initial(sort_name) == heading


def test_hebrew_names_stand_under_letters_as_they_begin_a_word() -> None:
    # The Unicode Standard, chapter 9.1: 22 letters, of which five have a form for the end of words.
    letters = "אבגדהוזחטיךכלםמןנסעףפץצקרשת"
    assert len(letters) == 27
    as_they_begin = str.maketrans("ךםןףץ", "כמנפצ")
    for letter in letters:
        for name in (letter, f"{letter}בא", f"{letter}\u05b8בא, אב"):
            assert initial(name) == letter.translate(as_they_begin)


def test_no_heading_is_a_form_that_ends_words() -> None:
    pairs = []
    for point in range(0x370, 0x20000):
        with suppress(KeyError):  # the letter has no other form, or is called otherwise
            name = unicodedata.name(chr(point), "")
            pairs.append((unicodedata.lookup(name.replace(" FINAL ", " ")), chr(point)))
    forms = [(letter, final) for letter, final in pairs if letter != final]
    alike = [final for letter, final in forms if sort_key(letter)[0] == sort_key(final)[0]]
    assert len(alike) > 10
    assert [f for f in alike if " FINAL " in unicodedata.name(initial(f))] == []


def test_in_a_sorted_list_every_heading_comes_once() -> None:
    # Every letter, mark and symbol of the first planes but the Hangul syllables and plain Han.
    points = [*range(0x3400), *range(0x9F00, 0xAC00), *range(0xD7A4, 0x20010), 0x30000, 0x3FFFF]
    step = 1 if FULL else 3
    characters = sorted((chr(point) for point in points[::step]), key=sort_key)
    headings = [heading for heading, _ in groupby(characters, key=initial)]
    assert len(headings) > 1000
    assert len(headings) == len(set(headings))


# --- Folding


@pytest.mark.parametrize(
    ("name", "folded"),
    [
        ("Zoë  Ødegård", "zoe odegard"),
        ("ŁUKASZ", "lukasz"),
        ("Đặng", "dang"),
        ("STRAẞE", "strasse"),
        ("Ægir Œuf", "aegir oeuf"),
        ("Þóra Guðrún", "thora gudrun"),
        ("İpek Işık", "ipek isik"),
        ("Ёлкин Йог", "елкин иог"),
        ("Άννα Σοφός", "αννα σοφοσ"),
        ("O’Brien–Smith", "o'brien-smith"),
        ("ｗｉｄｅ　ﬁlm", "wide film"),
        ("\u200fאבי\u200e", "אבי"),
        ("मीरा", "मीरा"),  # vowel signs are part of the name
        ("สมชาย นุ้ย", "สมชาย นุ้ย".replace("ำ", "ํา")),
        ("가", "\u1100\u1161"),  # in its letters, so that it is found while it is typed
        ("  ", ""),
        ("", ""),
    ],
)
def test_a_name_as_search_sees_it(name: str, folded: str) -> None:
    assert fold(name) == folded


def test_indic_thai_and_japanese_signs_tell_names_apart() -> None:
    assert fold("मीरा") != fold("मरा")
    assert fold("นุ้ย") != fold("นย")
    assert fold("かき") != fold("がき")


def test_folds_replace_single_characters_by_folded_text() -> None:
    for single, plain in FOLDS.items():
        assert len(single) == 1
        assert unicodedata.normalize("NFKD", single) == single
        assert fold(single) == fold(plain) == plain


# --- Direction


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Ana", "ltr"),
        ("אבי", "rtl"),
        ("أحمد", "rtl"),
        ("42 אבי", "rtl"),
        ("(Ana) אבי", "ltr"),
        ("山田", "ltr"),
        ("😀 42", "ltr"),
        ("", "ltr"),
    ],
)
def test_direction_is_that_of_the_first_strong_character(text: str, expected: str) -> None:
    assert direction(text) == expected


# --- Likeness


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Jon Smith", "John Smith"),
        ("Zoë Ødegård", "ZOE ODEGARD"),
        ("Lind Ana", "Ana Lind"),
        ("Ana Lind", "Anna Lindh"),
        ("Ana Lind", "Ana Lind Moreau"),
        ("김민준", "김민중"),
        ("Ana", "Ana"),
    ],
)
def test_names_somebody_should_be_asked_about(one: str, other: str) -> None:
    ((lower, higher, likeness),) = alike([("b", one), ("a", other)])
    assert (lower, higher) == ("a", "b")
    assert 88 <= likeness <= 100


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Ana", "Ana Lind"),
        ("Ana", "Mariana Lind"),
        ("Al", "Alan"),
        ("Ann Lee", "Joann Leeson"),
        ("Al Smith", "Jo Smith"),
        ("Ana", "Ben"),
        ("", ""),
        ("Ana", ""),
    ],
)
def test_names_that_are_simply_two_names(one: str, other: str) -> None:
    assert alike([("a", one), ("b", other)]) == []


def test_each_pair_comes_once_in_the_order_of_the_codes() -> None:
    names = [("c", "Ana Lind"), ("a", "Ana Lindh"), ("b", "Ben Okoro"), ("d", "Anna Lind")]
    pairs = [(one, other) for one, other, _ in alike(names)]
    assert pairs == [("a", "c"), ("a", "d"), ("c", "d")]
    assert alike(names) == alike(names[::-1])
    assert alike([("a", "Ana Lind"), ("a", "Ana Lind"), ("a", "Ana Lindh")]) == []
    assert alike([]) == []


# --- ISNI


def test_a_valid_isni_becomes_compact() -> None:
    # ISO 27729 with ISO 7064 MOD 11-2: 0000 0001 2281 955X is valid, ...9550 is not.
    assert isni("0000 0001 2281 955X") == "000000012281955X"
    assert isni(" 0000-0001-2281-955x ") == "000000012281955X"


def test_a_wrong_check_character_names_the_right_one() -> None:
    with pytest.raises(Unreadable) as caught:
        isni("0000 0001 2281 9550")
    assert str(caught.value) == (
        "the check character is 0, but 000000012281955 asks for X. "
        "Compare every figure; with these it would be 0000 0001 2281 955X."
    )


@pytest.mark.parametrize(
    "text", ["", "X", "0000 0001 2281", "0000 0001 2281 955X 1", "000000012281955Y", "٠" * 16]
)
def test_what_is_no_isni_is_refused(text: str) -> None:
    with pytest.raises(Unreadable, match="is not an ISNI"):
        isni(text)


@pytest.mark.parametrize(
    ("name", "latin"),
    [
        ("Ксения Полуденко", "ksiniya poludinko"),
        ("Λεωνίδας", "leonidas"),
        ("남궁보람", "namgungboram"),
        ("かおる", "kaoru"),
        ("ნათელა", "natela"),
        ("Åse Øby", ""),  # which folding makes plain
        ("梅聽雨", ""),  # characters that have no names
        ("=cmd()", ""),
        ("😀", ""),
        ("", ""),
    ],
)
def test_a_name_in_another_script_is_found_by_how_it_sounds(name: str, latin: str) -> None:
    assert romanised(name) == romanised(unicodedata.normalize("NFD", name)) == latin


@pytest.mark.parametrize(
    ("name", "of"),
    [
        ("Øby, Åse", "Latin"),
        ("Þór", "Latin"),
        ("Полуденко", "Cyrillic"),
        ("Χρυσοπέταλος", "Greek"),
        ("בן־יערה", "Hebrew"),
        ("梅, 聽雨", "Chinese characters"),
        ("かおる", "Japanese"),
        ("ガギグ", "Japanese"),
        ("남궁", "Korean"),
        ("ครู", "Thai"),
        ("7th", ""),
        ("", ""),
    ],
)
def test_a_heading_knows_its_script(name: str, of: str) -> None:
    assert script(initial(name)) == of
