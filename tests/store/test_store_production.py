"""Finding a production, making a new one, and its settings."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from credits.errors import NoProduction, ProblemsFound, WrongCall
from credits.model.facts import BUILT_IN_CRAFTS, WeeklyTarget
from credits.store.file import find_production
from credits.store.log import open_log
from credits.store.production import create_production
from credits.store.settings import read_settings, settings_text

pytestmark = pytest.mark.sqlite

HARD_TITLES = [
    "Wick",
    "Свеча и море",
    "الشمعة",
    "🕯️",
    'The "Lamp" \\ lighter\'s day',
    "<script>alert(1)</script>",
    "=cmd()",
    "W" * 200,
    "title = 1 # not a comment",
]


def settings(folder: Path, text: str) -> Path:
    (folder / "production.toml").write_text(text, encoding="utf-8")
    return folder


# --- finding


def test_the_named_folder_comes_before_the_variable_and_the_working_folder(tmp_path: Path) -> None:
    named, by_variable, here = (
        create_production(tmp_path / name, "Film") for name in ("named", "variable", "here")
    )
    environ = {"CREDITS_PRODUCTION": str(by_variable)}
    assert find_production(named, environ, here) == named
    assert find_production(None, environ, here) == by_variable
    assert find_production(None, {}, here) == here
    assert find_production(Path("named"), {}, tmp_path) == named


def test_the_nearest_parent_that_holds_a_log_is_found(tmp_path: Path) -> None:
    outer = create_production(tmp_path / "outer", "Outer")
    inner = create_production(outer / "units" / "inner", "Inner")
    (inner / "pictures" / "old").mkdir(parents=True)
    assert find_production(None, {}, inner / "pictures" / "old") == inner
    assert find_production(None, {}, outer / "units") == outer


def test_where_there_is_no_production_the_words_say_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(NoProduction, match="credits start"):
        find_production(None, {}, tmp_path)
    with pytest.raises(NoProduction, match=r"--production .*holds no production.db"):
        find_production(tmp_path, {}, tmp_path)
    with pytest.raises(NoProduction, match=r"CREDITS_PRODUCTION .*is not a folder"):
        find_production(None, {"CREDITS_PRODUCTION": "nowhere"}, tmp_path)


# --- making


def test_a_new_production_holds_the_built_in_crafts_and_nothing_else(tmp_path: Path) -> None:
    folder = create_production(tmp_path / "new" / "film", "Film")
    with open_log(folder) as log:
        written = log.read()
        assert log.origin == "A"
    assert written.crafts == BUILT_IN_CRAFTS
    assert (written.people, written.lines, written.cut) == ((), (), None)
    assert sorted(p.name for p in folder.iterdir()) == ["production.db", "production.toml"]


@pytest.mark.parametrize("title", HARD_TITLES)
def test_any_title_is_kept_as_it_is(tmp_path: Path, title: str) -> None:
    assert read_settings(create_production(tmp_path / "film", title)).title == title


@pytest.mark.parametrize(
    ("title", "code"),
    [
        ("The Lamplighter's Day!", "the-lamplighter-s-day"),
        ("Café Zoë", "cafe-zoe"),
        ("🕯️", "film"),
        ("Свеча", "film"),
        ("a" * 50, "a" * 40),
    ],
)
def test_the_code_is_plain_letters_of_the_title(tmp_path: Path, title: str, code: str) -> None:
    assert read_settings(create_production(tmp_path / "film", title)).code == code


def test_every_problem_of_a_new_production_is_said_at_once(tmp_path: Path) -> None:
    with pytest.raises(ProblemsFound) as caught:
        create_production(tmp_path / "film", "two\nlines", "a/b", "29.97", "70mm", 0)
    columns = [finding.column for finding in caught.value.findings]
    assert columns == ["title", "code", "frame_rate", "gauge", "day_minutes"]
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("end", ["\n", "\r", "\x85", "\u2028", "\x0b", "\x00", "\ud800"])
def test_a_title_is_one_line_of_text(tmp_path: Path, end: str) -> None:
    with pytest.raises(ProblemsFound, match="one line"):
        create_production(tmp_path / "film", f"Film{end}")


@pytest.mark.parametrize("name", ["production.db", "production.toml"])
def test_a_production_is_never_written_over(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text("mine")
    with pytest.raises(WrongCall, match=f"holds a {name} already"):
        create_production(tmp_path, "Film")
    assert [p.name for p in tmp_path.iterdir()] == [name]
    assert (tmp_path / name).read_text() == "mine"


def test_a_file_in_the_place_of_the_folder_is_said_in_words(tmp_path: Path) -> None:
    (tmp_path / "film").write_text("a file")
    for folder in (tmp_path / "film", tmp_path / "film" / "inside"):
        with pytest.raises(WrongCall, match="film': is a file, not a folder"):
            create_production(folder, "Film")


# --- settings


def test_settings_that_are_absent_have_their_usual_values(tmp_path: Path) -> None:
    production = read_settings(settings(tmp_path, 'title = "Film"'))
    assert production.code == "film"
    assert production.rate.per_second == 24
    assert production.gauge.name == "35mm-4perf"
    assert production.day_minutes == 600


def test_settings_are_read_with_a_byte_order_mark_and_whole_numbers(tmp_path: Path) -> None:
    text = '\ufefftitle = "Film"\nframe_rate = 25\ngauge = "16mm"\nday_minutes = 480'
    production = read_settings(settings(tmp_path, text))
    assert production.rate.per_second == Fraction(25)
    assert (production.gauge.name, production.day_minutes) == ("16mm", 480)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "title: a production needs a title"),
        ("title = 5", "title '5': a production needs a title"),
        ('title = "F"\nfps = 24', "fps '24': is not a setting. The settings are title, code,"),
        ('title = "F"\nday_minutes = 1441', "day_minutes '1441'"),
        ('title = "F"\nday_minutes = true', "day_minutes 'True'"),
        ('title = "F"\nframe_rate = 23.976', "frame_rate '23.976'"),
        ('title = "F"\nframe_rate = ["24"]', "frame_rate"),
        ('title = "F"\ncode = ""', "code ''"),
        ('title = "F"\nsentence = 3', "sentence '3': is not one line of at most 300 characters"),
        ('title = "F"\nsentence = """a\nb"""', r"sentence .* is not one line"),
        ('title "F"', "is not TOML .*line 1"),
    ],
)
def test_settings_that_cannot_be_used_are_said(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(ProblemsFound, match=f"production.toml: {said}"):
        read_settings(settings(tmp_path, text))


def test_settings_in_another_encoding_are_said(tmp_path: Path) -> None:
    (tmp_path / "production.toml").write_bytes('title = "Käse"'.encode("cp1252"))
    with pytest.raises(ProblemsFound, match="UTF-8"):
        read_settings(tmp_path)


def test_a_folder_without_settings_is_said(tmp_path: Path) -> None:
    with pytest.raises(NoProduction, match=r"holds no production\.toml"):
        read_settings(tmp_path)


@given(title=st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Zl", "Zp"])))
def test_what_is_written_to_the_settings_is_read_from_them(title: str) -> None:
    import tomllib

    from credits.text import quoted_toml

    assert tomllib.loads(f"title = {quoted_toml(title)}") == {"title": title}


def test_the_day_it_was_made_is_kept(tmp_path: Path) -> None:
    folder = create_production(tmp_path / "film", "Film", made_on=date(2026, 3, 2), origin="B")
    with open_log(folder) as log:
        assert log.origin == "B"
        (change,) = log.history("log", "B")
    assert change.columns["made_on"] == (None, "2026-03-02")


def test_what_departments_call_things_is_read_in_its_order(tmp_path: Path) -> None:
    text = 'title = "Film"\n[sheets]\n"Crew*" = "people"\ndate = ["finished_on", "from_on"]\n'
    assert read_settings(settings(tmp_path, text)).sheet_words == (
        ("Crew*", "people"),
        ("date", "finished_on"),
        ("date", "from_on"),
    )


@pytest.mark.parametrize(
    ("said", "targets"),
    [
        ("", ()),
        ("[targets]\nframes_a_week = 300", (WeeklyTarget(300),)),
        ("[targets]\nframes_a_week = 1", (WeeklyTarget(1),)),
        (
            "[targets.frames_a_week]\n2026-05-04 = 320\n2026-03-02 = 250",
            (WeeklyTarget(250, date(2026, 3, 2)), WeeklyTarget(320, date(2026, 5, 4))),
        ),
    ],
)
def test_weekly_targets_are_read_and_written(
    tmp_path: Path, said: str, targets: tuple[WeeklyTarget, ...]
) -> None:
    production = read_settings(settings(tmp_path, f'title = "Film"\n{said}\n'))
    assert production.targets == targets
    assert read_settings(settings(tmp_path, settings_text(production))) == production


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("targets = 300", r"targets '300': is a table of its own"),
        ("[targets]\nframes_a_day = 3", r"\[targets\] frames_a_day '3': is not a target"),
        ("[targets]\nframes_a_week = 0", r"frames_a_week '0': is no number of frames"),
        ("[targets]\nframes_a_week = true", r"frames_a_week 'True': is no number of frames"),
        ('[targets]\nframes_a_week = "300"', r"whole frames from 1 to 1000000, without quotes"),
        ("[targets]\nframes_a_week = 2.5", r"frames_a_week '2.5': is no number of frames"),
        ("[targets.frames_a_week]\nsoon = 3", r"soon 'soon': is not a day\. .* 2026-03-02 = 300"),
        ("[targets.frames_a_week]\n20260302 = 3", r"20260302 '20260302': is not a day"),
        ("[targets.frames_a_week]\n2026-03-02 = -1", r"2026-03-02 '-1': is no number of frames"),
    ],
)
def test_targets_that_cannot_be_used_are_said(tmp_path: Path, said: str, told: str) -> None:
    with pytest.raises(ProblemsFound, match=told):
        read_settings(settings(tmp_path, f'title = "Film"\n{said}\n'))


@pytest.mark.parametrize("said", ["sheets = 3", "[sheets]\ndate = 3", "[sheets]\ndate = [3]"])
def test_words_of_departments_that_are_no_text_are_refused(tmp_path: Path, said: str) -> None:
    with pytest.raises(ProblemsFound, match=r"sheets.*Write date = \"finished_on\""):
        read_settings(settings(tmp_path, f'title = "Film"\n{said}\n'))
