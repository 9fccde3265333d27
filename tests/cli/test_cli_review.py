"""``credits review``: the figures, the JSON, the words it refuses, and a pack of one person."""

from __future__ import annotations

import csv
import re
from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader

from credits.cautions import REVIEW_CAUTION
from credits.store.settings import read_settings, settings_text
from tests.cli.conftest import WORKED_EXAMPLE, Answer, Command
from tests.productions import written_tables

OTHERS = {
    "bensecret": "Zebulon Crabtree",
    "caisecret": "Ottoline Fenwick",
    "dovsecret": "Marmaduke Pellow",
    "evesecret": "Quintus Hathersage",
}
CROWD = {
    "people": "person,credit_name,sort_name,email,legal_name\n"
    'ana,Ana Quist,"Quist, Ana",ana@example.org,Anastasia Legal\n'
    + "\n".join(f"{code},{name},,{code}@example.org,{name} Legal" for code, name in OTHERS.items()),
    "engagements": "person,department,job_title\n"
    + "\n".join(f"{code},Animation,Animator" for code in ("ana", *OTHERS)),
    "characters": "character,name\nwick,Wick",
    "puppets": "puppet,character\nwick-1,wick",
    "sequences": "sequence\n010",
    "shots": "shot,sequence,frames\n010-010,010,120\n010-020,010,40000",
    "entries": """
        craft,person,character,puppet,shot,frames,finished_on,minutes,wait_minutes,note
        animation,ana,wick,wick-1,010-010,1-60,2026-03-02,481,,Nice
        animation,bensecret,wick,wick-1,010-020,1-7919,2026-03-03,6271,,Slow today
        animation,caisecret,wick,wick-1,010-020,8001-14007,2026-03-04,5273,,
        animation,dovsecret,wick,wick-1,010-020,15001-24973,2026-03-05,4271,,
        repair,evesecret,,wick-1,,,2026-03-02,37,25,The ankle that Zebulon broke
        repair,evesecret,,wick-1,,,2026-03-03,38,613,
    """,
}
OTHER_FIGURES = ("7919", "6007", "9973", "6271", "5273", "4271", "613")


@pytest.fixture
def crowd(empty: Path, tmp_path: Path, credits_: Command) -> Path:
    """A production in which three others animated in the same week."""
    assert credits_("load", written_tables(tmp_path / "crowd", CROWD)).status == 0
    return empty


def lines(answer: Answer) -> dict[str, list[str]]:
    return {line.split("\t")[0]: line.split("\t")[1:] for line in answer.out.splitlines()}


@pytest.mark.usefixtures("film_with_cut")
def test_the_worked_example_in_words(credits_: Command) -> None:
    answer = credits_("review", "ana")
    assert answer.status == 0
    said = lines(answer)
    assert said["frames shot"] == ["30 (1.25 s, 1+14 ft)"]
    assert said["frames kept"] == ["18 (0.75 s, 1+02 ft)"]
    assert said["frames in the cut"] == ["10 (0.42 s, 0+10 ft)"]
    assert said["pace, seconds a shoot day"] == ["0.75"]
    assert said["2026-W10"][:2] == ["1", "1"]
    assert said["2026-W10"][-1] == "010-020"
    assert "too few shoot days of this animator in the period (1 of at least 5)" in answer.out
    assert REVIEW_CAUTION in answer.err
    assert "fewer than three others" in answer.err


@pytest.mark.usefixtures("film_with_cut")
def test_the_worked_example_as_json(credits_: Command) -> None:
    found = credits_("review", "ANA", "--json").json
    assert (found["person"], found["name"], found["cut"]) == ("ana", "Ana", 1)
    assert found["shot_frames"] == {
        "shot": "30", "kept": "18", "accepted": "18", "cut": "10", "screen": "10",
    }  # fmt: skip
    assert found["character_frames"]["kept"] == "24"
    assert (found["pace"], found["pace_rounded"]) == ("3/4", 0.75)
    assert (found["reshot_share"], found["reshot_share_rounded"]) == ("2/5", 0.4)
    assert (found["characters_a_frame"], found["characters_a_frame_rounded"]) == ("4/3", 1.33)
    assert found["takes"] == [{"shot": "010-020", "take": 1}]
    (week,) = found["weeks"]
    assert (week["week"], week["shots"][0]["shot"]) == ("2026-W10", "010-020")
    assert found["others"] == 2
    assert found["ranges"] == {}
    expectation = found["expectation"]
    assert (expectation["model"], expectation["outcome"]) == (True, "too-few")
    assert expectation["lacks"][:2] == [
        {"of": "own_days", "has": 1, "needs": 5},
        {"of": "others", "has": 2, "needs": 3},
    ]
    assert found["caution"] == REVIEW_CAUTION


@pytest.mark.usefixtures("film")
def test_a_period_and_what_was_before_it(credits_: Command) -> None:
    found = credits_("review", "ana", "--from", "2026-03-03", "--json").json
    assert (found["from"], found["to"]) == ("2026-03-03", None)
    assert found["shot_frames"]["kept"] == "0"
    assert [(row["from"], row["shot_frames"]["kept"]) for row in found["earlier"]] == [
        ("2026-03-02", "18")
    ]


@pytest.mark.usefixtures("film")
@pytest.mark.parametrize(
    ("words", "status", "said"),
    [
        (["anna"], 2, "Did you mean ana (Ana)"),
        (["nobody-at-all"], 2, "no person has this code"),
        (["ana", "--from", "soon"], 2, "--from 'soon'"),
        (["ana", "--from", "2026-03-03", "--to", "2026-03-02"], 2, "lies before --from"),
        ([], 2, "PERSON"),
    ],
)
def test_words_that_it_cannot_use(
    credits_: Command, words: list[str], status: int, said: str
) -> None:
    answer = credits_("review", *words)
    assert answer.status == status
    assert said in answer.err
    assert answer.out == ""


@pytest.mark.usefixtures("film")
def test_somebody_without_footage_work(tmp_path: Path, credits_: Command) -> None:
    tables = written_tables(
        tmp_path / "more",
        {
            "people": "person,credit_name\nfox,Fox",
            "entries": "craft,person,character\npaint,fox,wick",
        },
    )
    assert credits_("load", tables).status == 0
    answer = credits_("review", "fox")
    assert answer.status == 1
    assert "'fox': has no entries of animation" in answer.err


@pytest.mark.usefixtures("crowd")
def test_the_range_of_three_others(credits_: Command) -> None:
    found = credits_("review", "ana", "--json").json
    assert found["ranges"]["kept"] == {"low": 6000.0, "high": 10000.0, "others": 3}
    assert found["wait_minutes"] == 25
    (wait,) = found["waits"]
    assert (wait["shot"], wait["puppet"], wait["minutes"]) == ("010-010", "wick-1", 25)
    (month,), (sequence,), (character,) = found["months"], found["sequences"], found["characters"]
    assert (month["month"], month["weeks"]) == ("2026-03", ["2026-W10"])
    assert (sequence["sequence"], character["character"]) == ("010", "wick")
    assert month["ranges"] == sequence["ranges"] == found["ranges"]
    assert character["shot_frames"]["kept"] == "60"
    assert found["retakes"] == []


# --- the pack


@pytest.fixture
def pack(crowd: Path, tmp_path: Path, credits_: Command) -> Path:
    """Ana's pack."""
    answer = credits_("review", "ana", "--production", crowd, "--out", tmp_path / "pack")
    assert answer.status == 0, answer.err
    assert "Wrote review-ana.html, review-ana.pdf, review-ana.csv, style.css" in answer.out
    return tmp_path / "pack"


def texts_of(folder: Path) -> dict[str, str]:
    """Everything that a folder holds, as bytes read as text, and the PDF as its readers read it."""
    texts = {
        path.name: path.read_bytes().decode("utf-8", "replace")
        for path in folder.rglob("*")
        if path.is_file()
    }
    for path in folder.glob("*.pdf"):
        reader = PdfReader(path)
        texts[f"{path.name} read"] = "\n".join(page.extract_text() for page in reader.pages)
        texts[f"{path.name} about"] = str(reader.metadata)
    return texts


def test_a_pack_holds_its_person_and_nobody_else(pack: Path) -> None:
    texts = texts_of(pack)
    assert {"review-ana.html", "review-ana.pdf", "review-ana.csv", "review-ana.pdf read"} <= set(
        texts
    )
    assert all("Ana Quist" in texts[name] for name in ("review-ana.html", "review-ana.pdf read"))
    others = [*OTHERS, *OTHERS.values(), *(part for n in OTHERS.values() for part in n.split())]
    for name, text in texts.items():
        plain = re.sub(r"[,\u202f\u00a0]", "", text)
        for canary in (*others, "Legal", "example.org", "Slow today", "ankle"):
            assert canary.lower() not in text.lower(), (name, canary)
        if not name.endswith((".pdf", ".css")):
            for figure in OTHER_FIGURES:
                assert not re.search(rf"(?<!\d){figure}(?!\d)", plain), (name, figure)


def test_every_file_of_a_pack_has_the_figures_and_the_caution(pack: Path) -> None:
    texts = texts_of(pack)
    for name in ("review-ana.html", "review-ana.pdf read", "review-ana.csv"):
        flat = " ".join(texts[name].split())
        assert "481" in flat
        assert "2026-W10" in flat
        assert "010-010" in flat
        assert REVIEW_CAUTION in flat, name
    assert "6,000 to 10,000" in texts["review-ana.html"]


def test_the_pdf_draws_the_weeks_and_leaves_no_line_alone_on_a_page(pack: Path) -> None:
    reader = PdfReader(pack / "review-ana.pdf")
    pages = [page.extract_text() for page in reader.pages]
    assert "Week by week" in pages[0]
    assert "re-shot" in " ".join(pages[0].split())
    captions = ("Figures by month", "Figures by sequence", "Frames by character")
    assert all(caption in "".join(pages) for caption in captions)
    # The footer has four lines; beside it there is more than a heading and a row or two.
    assert all(len(page.splitlines()) > 14 for page in pages)


def test_a_pack_opens_from_disk_without_anything_else(pack: Path) -> None:
    html = (pack / "review-ana.html").read_text("utf-8")
    assert re.findall(r'(?:href|src)="([^"#][^"]*)"', html) == ["style.css"]
    assert "<script" not in html


def test_the_rows_of_the_csv_add_up(pack: Path) -> None:
    with (pack / "review-ana.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    total = rows[0]
    assert total["row"] == "total"
    for column in ("shot_frames", "kept_frames", "poses", "minutes", "wait_minutes"):
        for kind in ("week", "week and shot", "shot", "month", "sequence"):
            found = sum(float(row[column]) for row in rows if row["row"] == kind)
            assert found == float(total[column]), (column, kind)
    assert total["kept_frames"] == "60"


def test_the_same_review_makes_the_same_bytes(
    pack: Path, tmp_path: Path, credits_: Command
) -> None:
    assert credits_("review", "ana", "--out", tmp_path / "again").status == 0
    for path in pack.iterdir():
        assert (tmp_path / "again" / path.name).read_bytes() == path.read_bytes(), path.name


def test_a_pack_replaces_its_own_and_nothing_else(
    pack: Path, tmp_path: Path, credits_: Command
) -> None:
    assert credits_("review", "ana", "--from", "2026-03-01", "--out", pack).status == 0
    refused = credits_("review", "bensecret", "--out", pack)
    assert refused.status == 2
    assert "something else than a pack of this person" in refused.err
    assert (pack / "review-ana.html").is_file()
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "letter.txt").write_text("keep me")
    assert credits_("review", "ana", "--out", tmp_path / "own").status == 2
    assert (tmp_path / "own" / "letter.txt").read_text() == "keep me"


@pytest.mark.usefixtures("empty")
def test_odd_names_go_into_a_pack(tmp_path: Path, credits_: Command) -> None:
    tables = {
        **WORKED_EXAMPLE,
        "people": "person,credit_name\nana,<script>alert(1)</script>\nben,رشا المرجاني\ncai,=cmd()",
    }
    assert credits_("load", written_tables(tmp_path / "odd", tables)).status == 0
    for person in ("ana", "ben", "cai"):
        answer = credits_("review", person, "--out", tmp_path / f"pack-{person}")
        assert answer.status == 0, answer.err
    html = (tmp_path / "pack-ana" / "review-ana.html").read_text("utf-8")
    assert "<script" not in html
    assert "&lt;script&gt;alert(1)" in html
    arabic = (tmp_path / "pack-ben" / "review-ben.html").read_text("utf-8")
    assert '<bdi dir="rtl">رشا المرجاني</bdi>' in arabic


def test_the_model_may_be_switched_off(film: Path, credits_: Command) -> None:
    with (film / "production.toml").open("a") as settings:
        settings.write('\n[review]\nexpectation = "off"\n')
    answer = credits_("review", "ana")
    assert answer.status == 0
    assert "A model" not in answer.out
    assert credits_("review", "ana", "--json").json["expectation"] is None


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            '[review]\nexpectation = "perhaps"',
            "[review] expectation 'perhaps': is neither on nor off",
        ),
        ("[review]\nrank = true", "[review] rank 'True': is not a setting of reviews"),
        ('review = "off"', "review 'off': is a table of its own"),
    ],
)
def test_settings_of_reviews_that_cannot_be_used(
    film: Path, credits_: Command, text: str, said: str
) -> None:
    with (film / "production.toml").open("a") as settings:
        settings.write(f"\n{text}\n")
    answer = credits_("review", "ana")
    assert answer.status == 1
    assert said in answer.err


def test_what_settings_say_of_reviews_is_written_and_read(film: Path) -> None:
    known = read_settings(film)
    for expectation in (True, False):
        wanted = replace(known, expectation=expectation)
        (film / "production.toml").write_text(settings_text(wanted), encoding="utf-8")
        assert read_settings(film) == wanted
