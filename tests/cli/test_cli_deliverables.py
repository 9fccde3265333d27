"""credits export of the end credits, and credits roll with a picture and a length."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from openpyxl import load_workbook
from PIL import Image
from pypdf import PdfReader

from tests.cli.conftest import Command

pytestmark = pytest.mark.usefixtures("film_with_cut")

CARD_PLAN = """
    [[section]]
    heading = "Voices"
    crafts = ["voice"]
    layout = "card"

    [[section]]
    heading = "Animators"
    crafts = ["animation"]
"""


@pytest.fixture
def hidden(film_with_cut: Path, tmp_path: Path, credits_: Command) -> Path:
    """Somebody with work who asked to be uncredited."""
    tables = tmp_path / "hidden"
    tables.mkdir()
    (tables / "people.csv").write_text("person,credit_name,credit_wish\nhid,Mo Hidden,uncredited\n")
    (tables / "entries.csv").write_text("craft,person,character\npaint,hid,wick\n")
    assert credits_("load", tables).status == 0
    return film_with_cut


@pytest.mark.parametrize("made", ["text", "csv", "json"])
def test_texts_go_to_standard_output_alone(credits_: Command, made: str) -> None:
    answer = credits_("export", made)
    assert answer.status == 0
    assert "Ana" in answer.out
    assert answer.err.startswith("A draft until the production's legal department clears it")


def test_the_csv_of_the_command_is_read_back(credits_: Command) -> None:
    answer = credits_("export", "csv", "--out", "credits.csv")
    assert answer.out == "credits.csv\n"
    with Path("credits.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["name"] for row in rows if row["heading"] == "Animation"] == ["Ana", "Ben", "Cai"]
    assert {row["confirmed"] for row in rows} == {"no"}


@pytest.mark.parametrize("made", ["pdf", "png", "xlsx"])
def test_files_are_named_after_the_production_when_no_name_is_given(
    credits_: Command, made: str
) -> None:
    answer = credits_("export", made)
    assert answer.status == 0
    (name,) = answer.out.split()
    assert name.endswith(f"-credits.{made}")
    first = Path(name).read_bytes()
    assert credits_("export", made).status == 0
    assert Path(name).read_bytes() == first
    assert [path.name for path in Path().glob(".*")] == []


def test_the_picture_has_the_height_that_the_roll_says(credits_: Command) -> None:
    roll = credits_("roll", "--raster", "640x360", "--pitch", "20", "--json").json["roll"]
    call = ("export", "png", "--raster", "640x360", "--pitch", "20", "--out", "r.png")
    assert credits_(*call).status == 0
    with Image.open("r.png") as picture:
        assert picture.size == (640, roll["lines"] * 20)


@pytest.mark.usefixtures("hidden")
def test_people_who_are_not_printed_are_in_the_office_workbook_alone(credits_: Command) -> None:
    assert credits_("export", "xlsx", "--out", "office.xlsx").status == 0
    assert load_workbook("office.xlsx").sheetnames == ["Credits", "Held", "Reasons"]
    for edition in ("crew", "public"):
        credits_("export", "xlsx", "--edition", edition, "--out", f"{edition}.xlsx")
        assert load_workbook(f"{edition}.xlsx").sheetnames == ["Credits"]
    for made in ("text", "csv", "json"):
        assert "Hidden" not in credits_("export", made).out
        assert "hid" not in credits_("export", made, "--edition", "public").out.split()
    assert '"hid"' in credits_("export", "json", "--edition", "office").out
    for made in ("text", "csv"):
        assert "Hidden" not in credits_("export", made, "--edition", "office").out
    assert credits_("export", "pdf", "--edition", "office", "--out", "o.pdf").status == 0
    assert "Hidden" not in "".join(page.extract_text() for page in PdfReader("o.pdf").pages)


@pytest.mark.usefixtures("hidden")
def test_the_workbook_for_the_office_says_that_it_is(credits_: Command) -> None:
    assert "names people who are not printed" in credits_("export", "xlsx").err
    assert "names people" not in credits_("export", "xlsx", "--edition", "crew").err


def test_cards_go_into_a_new_folder_with_the_time_to_hold_them(
    film_with_cut: Path, credits_: Command
) -> None:
    (film_with_cut / "credit-plan.toml").write_text(CARD_PLAN)
    answer = credits_("export", "png", "--cards", "cards")
    assert answer.status == 0
    # Voices, Ana: 2 words of 0.2 s and 2 s (BCAP guidance).
    assert answer.out == "card\tseconds to hold\ncards/01-voices.png\t2.4\n"
    with Image.open("cards/01-voices.png") as picture:
        assert picture.size == (1920, 1080)
    again = credits_("export", "png", "--cards", "cards")
    assert (again.status, again.out) == (2, "")
    assert "is there already" in again.err
    assert (
        "Card 'Voices': hold 2.4 s. It is card 1, before the roll."
        in credits_("roll", "--length", "1:00").err
    )


def test_a_card_says_behind_which_line_of_the_roll_it_stands(
    film_with_cut: Path, credits_: Command
) -> None:
    first, second = CARD_PLAN.split("\n\n")
    (film_with_cut / "credit-plan.toml").write_text(f"{second}\n\n{first}")
    found = credits_("roll", "--length", "1:00", "--json").json["roll"]
    (card,) = found["cards"]
    assert (card["number"], card["after_line"]) == (1, found["lines"])
    assert found["cards_seconds"] == pytest.approx(2.4, abs=0.05)
    assert f"behind line {found['lines']} of the roll" in credits_("roll", "--length", "1:00").err
    assert "[Card 1]" in credits_("export", "text").out
    assert credits_("export", "pdf", "--out", "proof.pdf").status == 0
    assert "Card 1, hold 2.4 s" in PdfReader("proof.pdf").pages[0].extract_text()


def test_fewer_columns_than_asked_are_said_of_proof_and_roll(
    film_with_cut: Path, tmp_path: Path, credits_: Command
) -> None:
    tables = tmp_path / "thanks"
    tables.mkdir()
    long = "Maria Theodora Wilhelmina Anastasia Featherstall-Plumtree von und zu Hohenzwitscher"
    people = [f"p{n},Person {n}" for n in range(20)]
    work = [f"paint,p{n},wick" for n in range(20)]
    (tables / "people.csv").write_text(
        "\n".join(["person,credit_name", f"long,{long} {long}", *people]) + "\n"
    )
    (tables / "entries.csv").write_text(
        "\n".join(["craft,person,character", "paint,long,wick", *work]) + "\n"
    )
    assert credits_("load", tables).status == 0
    plan = '[[section]]\nheading = "Paint"\ncrafts = ["paint"]\ncolumns = 3\n'
    (film_with_cut / "credit-plan.toml").write_text(plan)
    for call in (("export", "pdf"), ("export", "png"), ("roll", "--length", "1:00")):
        answer = credits_(*call)
        assert answer.status == 0
        assert "of 3 columns: its names are too wide for more" in answer.err


def test_a_logo_of_the_plan_is_set_and_one_that_is_missing_is_said(
    film_with_cut: Path, credits_: Command
) -> None:
    plan = (
        '[[section]]\nheading = "Paint"\ncrafts = ["paint"]\n\n[[section]]\nheading = "Made at"\n'
        '[[section.pictures]]\nfile = "mill.svg"\nshows = "Mill Studio"\nlines = 3\n'
    )
    (film_with_cut / "credit-plan.toml").write_text(plan)
    for made in ("pdf", "png"):
        answer = credits_("export", made)
        assert answer.status != 0
        assert "mill.svg" in answer.err
        assert not list(Path().glob(f"*.{made}"))
    pictures = film_with_cut / "pictures"
    pictures.mkdir(exist_ok=True)
    (pictures / "mill.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 10"><path d="M0 0h9v9z"/></svg>'
    )
    for made in ("pdf", "png"):
        assert credits_("export", made).status == 0
    assert "[Mill Studio]" in credits_("export", "text").out
    assert "[Mill Studio]" in credits_("export", "csv").out


def test_a_length_that_the_cards_alone_take_is_refused(
    film_with_cut: Path, credits_: Command
) -> None:
    (film_with_cut / "credit-plan.toml").write_text(CARD_PLAN)
    answer = credits_("roll", "--length", "2")
    assert answer.status == 2
    assert "is no longer than the cards alone, which stand 2.4 s" in answer.err


def test_a_proof_is_exported_as_it_was_frozen(tmp_path: Path, credits_: Command) -> None:
    assert credits_("roll", "--save").status == 0
    assert "Proof 1 of 20" in credits_("export", "text").out
    frozen = credits_("export", "csv").out
    tables = tmp_path / "more"
    tables.mkdir()
    (tables / "people.csv").write_text("person,credit_name\ncai,Cai Respelled\ndot,Dot\n")
    (tables / "entries.csv").write_text("craft,person,character\npaint,dot,wick\n")
    assert credits_("load", tables).status == 0
    now = credits_("export", "text").out
    assert "End credits. Draft." in now
    assert "Dot" in now
    assert credits_("export", "csv", "--proof", "1").out == frozen
    assert credits_("export", "csv", "--proof", "2").status == 2
    assert credits_("export", "pdf", "--proof", "1", "--out", "one.pdf").status == 0
    assert "Proof 1 of 20" in PdfReader("one.pdf").pages[0].extract_text()


def test_the_workbook_tells_what_changed_since_the_last_proof(
    tmp_path: Path, credits_: Command
) -> None:
    assert credits_("roll", "--save").status == 0
    credits_("export", "xlsx", "--out", "same.xlsx")
    assert "Changes" not in load_workbook("same.xlsx").sheetnames
    (tmp_path / "people.csv").write_text("person,credit_name\ndot,Dot\n")
    (tmp_path / "entries.csv").write_text("craft,person,character\npaint,dot,wick\n")
    loaded = credits_("load", tmp_path / "people.csv", tmp_path / "entries.csv")
    assert loaded.status == 0
    for args in ((), ("--against", "1")):
        assert credits_("export", "xlsx", "--out", "more.xlsx", *args).status == 0
        changes = load_workbook("more.xlsx")["Changes"]
        rows = list(changes.iter_rows(min_row=7, values_only=True))
        assert ("came", "Dot") in [row[:2] for row in rows]
    credits_("export", "xlsx", "--edition", "crew", "--out", "crew.xlsx")
    assert load_workbook("crew.xlsx").sheetnames == ["Credits"]
    assert credits_("export", "xlsx", "--against", "9").status == 2


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("pdf", "--out", "-"), "pdf is no text"),
        (("pdf", "--out", "."), "is a folder"),
        (("text", "--raster", "1920x1080"), "text is no picture"),
        (("prov", "--pitch", "60"), "prov is no picture"),
        (("prov", "--proof", "1"), "prov has no proofs"),
        (("pdf", "--against", "1"), "pdf tells no changes"),
        (("png", "--raster", "1920"), "--size '1920': is not a picture in pixels"),
        (("png", "--pitch", "2"), "--line-height '2': is not the height of a line"),
        (("png", "--cards", "a", "--out", "b.png"), "two places"),
        (("text", "--for", "wick"), "text is always the whole film"),
        (("text", "--format", "n"), "text has one form"),
        (("pdf", "--out", "production.toml"), "is there and is no PDF file"),
        (("text", "--out", "production.db"), "is there and is no TXT file"),
        (("png", "--out", "not.png"), "is there and is no PNG file"),
    ],
)
def test_a_wrong_call_is_said_and_nothing_is_written(
    credits_: Command, args: tuple[str, ...], said: str
) -> None:
    Path("not.png").write_text("a letter to the studio")
    before = {path: path.read_bytes() for path in Path().iterdir() if path.suffix == ".toml"}
    before[Path("not.png")] = b"a letter to the studio"
    answer = credits_("export", *args)
    assert answer.status == 2
    assert said in answer.err
    assert answer.out == ""
    assert {path: path.read_bytes() for path in before} == before
    assert not any(path.suffix in (".pdf", ".xlsx") for path in Path().iterdir())


def test_a_folder_that_is_not_there_is_named(credits_: Command) -> None:
    answer = credits_("export", "pdf", "--out", "no/such/credits.pdf")
    assert answer.status == 2
    assert "no/such" in answer.err


def test_letters_that_no_font_has_are_said_with_whose_they_are(
    tmp_path: Path, credits_: Command
) -> None:
    """A private-use character, which no font for texts has."""
    tables = tmp_path / "odd"
    tables.mkdir()
    (tables / "people.csv").write_text("person,credit_name\nben,Ben \U000ffffd\n")
    assert credits_("load", tables).status == 0
    for made in ("pdf", "png"):
        answer = credits_("export", made)
        assert answer.status == 1
        assert "U+FFFFD" in answer.err
        assert "(person ben)" in answer.err
        assert "fonts-noto-core" in answer.err
        assert not list(Path().glob(f"*.{made}"))
    roll = credits_("roll", "--length", "1:00")
    assert roll.status == 0
    assert "U+FFFFD" in roll.err


# -- credits roll -------------------------------------------------------------------------------


def test_speeds_are_proposed_around_the_wished_length(credits_: Command) -> None:
    found = credits_("roll", "--length", "0:45", "--json").json["roll"]
    assert (found["raster"], found["pitch"]) == ("1920x1080", 60)
    assert found["title_safe"] == [1728, 972]
    travel = found["lines"] * 60 + 1080
    speeds = found["speeds"]
    assert [one["frames"] for one in speeds] == [
        -(-travel // one["pixels_a_frame"]) for one in speeds
    ]
    exact = travel / (45 * 24)
    assert speeds[0]["pixels_a_frame"] <= max(exact, 1)
    assert speeds[-1]["pixels_a_frame"] > exact
    assert speeds[0]["line_frames"] == str(1140 // speeds[0]["pixels_a_frame"])


def test_heights_of_line_and_speeds_are_proposed_for_a_wished_running_time(
    credits_: Command,
) -> None:
    found = credits_("roll", "--length", "0:45", "--json").json["roll"]
    for one in found["proposals"]:
        travel = one["lines"] * one["pitch"] + 1080
        assert one["roll_frames"] == -(-travel // one["pixels_a_frame"])
        call = ("roll", "--line-height", str(one["pitch"]), "--length", "0:45", "--json")
        assert credits_(*call).json["roll"]["lines"] == one["lines"]
    away = [abs(one["frames"] - 45 * 24) for one in found["proposals"] if not one["too_fast"]]
    assert away == sorted(away)
    assert away[0] <= min(abs(one["frames"] - 45 * 24) for one in found["speeds"])
    rows = list(csv.reader(io.StringIO(credits_("roll", "--length", "0:45").out), delimiter="\t"))
    assert rows[0][:3] == ["line height", "px a frame", "length"]
    assert len(rows) == 1 + len(found["proposals"])


def test_the_speeds_are_a_table(credits_: Command) -> None:
    answer = credits_("roll", "--raster", "1920x1080", "--pitch", "60", "--length", "1:30")
    assert answer.status == 0
    rows = list(csv.reader(io.StringIO(answer.out), delimiter="\t"))
    assert rows[0] == ["px a frame", "length", "frames", "a line stays (s)", "remark"]
    assert len(rows) == 5
    assert "of 60 px in a picture of 1920x1080, at 24 frames a second." in answer.err


def test_letters_that_are_too_small_make_the_answer_no(credits_: Command) -> None:
    answer = credits_("roll", "--pitch", "30")
    assert answer.status == 1
    assert "Take --line-height 47 or more." in answer.err


@pytest.mark.parametrize("args", [("--size", "big"), ("--line-height", "0"), ("--length", "soon")])
def test_a_wrong_picture_pitch_or_length_is_said(credits_: Command, args: tuple[str, str]) -> None:
    answer = credits_("roll", *args)
    assert (answer.status, answer.out) == (2, "")
    assert f"{args[0]} '{args[1]}'" in answer.err


def test_nothing_rolls_in_an_empty_production(credits_: Command, tmp_path: Path) -> None:
    assert credits_("start", "Nothing Yet", tmp_path / "nothing").status == 0
    empty = ("--production", tmp_path / "nothing")
    roll = credits_("roll", "--length", "1:30", *empty)
    assert roll.status == 0
    assert "Nothing rolls." in roll.err
    assert "there is no line that rolls" in credits_("export", "png", *empty).err
    for made in ("text", "csv", "json", "pdf", "xlsx"):
        assert credits_("export", made, *empty).status == 0
