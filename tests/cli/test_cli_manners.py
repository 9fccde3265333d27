"""Good manners: a quiet command, help in two forms, errors in JSON, answers nobody can read."""

from __future__ import annotations

import io
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from credits.cli import main
from credits.cli.terminal import printing
from tests.cli.conftest import ROOT, Answer, Command

FULL = Path("/dev/full")
WRITING = [
    ("log paint cai wick-1 --again", "A-8"),
    ("amend A-1 --frames 1-24", "A-8"),
    ("void A-1 --why twice", "A-8"),
    ("confirm ana", "the change in the log"),
    ("same ana ben", "1 row of people"),
    ("roll --save", "proof 1"),
    ("cut cut.csv", "cut version 1"),
    ("cut new.otio --save", "new.otio"),
    ("load new", "1 row of people"),
    ("export csv --out credits.csv", "credits.csv"),
    ("export prov --out made.json", "made.json"),
    ("export confirmations", "confirmations"),
    ("site --edition public", "site/public"),
    ("backup copy.db", "copy.db"),
    ("plan", "credit-plan.toml"),
    ("start Another another", "another"),
    ("answer no-engagement ana --why guest", "the change in the log"),
    ("sheet --stage S1 --date 2026-03-05", ".xlsx"),
    ("review ana --out pack", "pack"),
    ("correct people cai credit_name=Kai --why typed", "the change in the log"),
    ("restore earlier.db --force", "production.db"),
]


def _into(stream: Path, cwd: Path, *words: str) -> subprocess.CompletedProcess[bytes]:
    with stream.open("wb") as full:
        return subprocess.run(
            [sys.executable, "-m", "credits", *words],
            stdout=full,
            stderr=subprocess.PIPE,
            cwd=cwd,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            timeout=120,
            check=False,
        )


@pytest.mark.parametrize(("line", "written"), WRITING)
def test_what_was_written_is_said_though_the_answer_cannot_be_printed(
    film: Path,
    credits_: Command,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    line: str,
    written: str,
) -> None:
    (film / "cut.csv").write_text("shot,first,last\n010-020,9,40\n")
    (film / "new").mkdir()
    (film / "new" / "people.csv").write_text("person,credit_name\ndov,Dov\n")
    if line.startswith("restore"):
        assert credits_("backup", "earlier.db").status == 0
        assert credits_("log", "paint", "cai", "wick-1", "--again").status == 0
    if "--save" in line and "otio" in line:
        assert credits_("cut", "cut.csv").status == 0
        line = "cut --save new.otio"
    with FULL.open("w", encoding="utf-8") as full, monkeypatch.context() as its:
        its.setattr(sys, "stdout", full)
        assert main.run(line.split()) == 1
    said = capsys.readouterr().err
    assert "Only the answer could not be printed (No space left on device)." in said
    assert written in said.split("Written: ")[1]
    assert "Traceback" not in said


def test_a_process_whose_answer_cannot_be_printed_says_so_once(film: Path) -> None:
    done = _into(FULL, film, "log", "paint", "cai", "wick-1", "--again")
    said = b"Written: A-8. Only the answer could not be printed (No space left on device).\n"
    assert (done.returncode, done.stderr) == (1, said)


def test_a_command_that_writes_nothing_says_only_that_its_answer_is_lost(film: Path) -> None:
    done = _into(FULL, film, "footage", "--json")
    said = b"The answer could not be printed (No space left on device).\n"
    assert (done.returncode, done.stderr) == (1, said)


def test_standard_output_may_be_closed_from_the_start(film: Path, credits_: Command) -> None:
    line = f"{sys.executable} -m credits log paint cai wick-1 --again >&-"
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(["sh", "-c", line], stderr=-1, cwd=film, env=env, check=False)
    assert done.returncode == 1
    assert done.stderr.startswith(b"Written: A-8. Only the answer could not be printed")
    assert credits_("find", "A-8").status == 0


@pytest.mark.usefixtures("film")
@pytest.mark.parametrize(
    ("line", "status", "what"),
    [
        ("log paint nobody wick", 2, "no person has this code"),
        ("amend A-99 --frames 1", 2, "no such entry"),
        ("hands no-such-shot", 2, "no shot has this code"),
        ("footage --by colour", 2, "is nothing that footage is summed by"),
        ("footage --nonsense", 2, "No such option"),
        ("hands", 2, "Missing argument"),
        ("nonsense", 2, "No such command"),
        ("cut missing.csv", 1, "missing.csv"),
        ("footage -p nowhere", 2, "is not a folder"),
    ],
)
def test_errors_are_json_where_json_is_asked_for(
    credits_: Command, line: str, status: int, what: str
) -> None:
    answer = credits_(*line.split(), "--json")
    assert answer.status == status
    (problem,) = answer.json["problems"]
    assert what in problem["message"]
    assert problem.keys() >= {"file", "row", "column", "value", "what", "hint", "mend"}
    assert answer.err.strip()
    assert credits_(*line.split()).out == ""


def test_problems_of_a_load_are_told_once(film: Path, credits_: Command) -> None:
    (film / "people.csv").write_text("person,credit_name\nana,\n")
    answer = credits_("load", "people.csv", "--json")
    assert answer.status == 1
    assert len(json.loads(answer.out)["problems"]) == 1


@pytest.mark.usefixtures("film")
def test_a_failure_of_the_program_is_json_too(
    credits_: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("the lamp fell")

    monkeypatch.setattr("credits.cli.figures.footage_rows", broken)
    answer = credits_("footage", "--json")
    assert answer.status == main.UNEXPECTED
    assert "RuntimeError" in answer.json["problems"][0]["what"]


@pytest.mark.usefixtures("film")
@pytest.mark.parametrize("words", [("-q", "footage"), ("footage", "-q"), ("footage", "--quiet")])
def test_a_quiet_command_prints_its_answer_alone(credits_: Command, words: tuple[str, ...]) -> None:
    loud, quiet = credits_("footage"), credits_(*words)
    assert "No cut yet" in loud.err
    assert (quiet.status, quiet.out, quiet.err) == (0, loud.out, "")
    assert credits_("footage").err == loud.err  # the next one is not quiet


def test_a_quiet_command_says_what_is_wrong(film: Path, credits_: Command) -> None:
    (film / "people.csv").write_text("person,credit_name\nana,\n")
    assert "Nothing was written." in credits_("load", "people.csv", "-q").err
    assert "no person has this code" in credits_("-q", "why", "nobody").err
    assert credits_("review", "ana", "-q").err.strip()  # a caution is no remark


def test_help_has_two_forms(credits_: Command) -> None:
    for command in main.COMMANDS:
        assert credits_("help", command) == credits_(command, "--help")
    assert credits_("help") == credits_("--help")
    assert credits_("help", "nonsense").status == 2


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("a line that fits", ["a line that fits"]),
        (
            "one two three four five six seven",
            ["one two three four", "  five six seven"],
        ),
        ("  set in it stays set in", ["  set in it stays", "    set in"]),
        (
            "Next: credits load my tables --dry-run. Then look.",
            ["Next:", "  credits load my tables --dry-run.", "  Then look."],
        ),
        (
            "It is said by `credits roll --length 1:00`, later.",
            ["It is said by", "  `credits roll --length 1:00`,", "  later."],
        ),
        ("x" * 30, ["x" * 30]),
        ("", [""]),
    ],
)
def test_lines_break_at_words_and_never_inside_a_command(text: str, lines: list[str]) -> None:
    assert printing.wrapped(text, 20) == lines


def test_a_process_reads_what_is_sent_to_it(film: Path, credits_: Command) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "credits", "load", "-", "--sheet", "people"],
        input=b"person,credit_name\ndov,Dov\n",
        capture_output=True,
        cwd=film,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        timeout=120,
        check=False,
    )
    assert (done.returncode, done.stdout) == (0, b"table\tnew\tchanged\tsame\npeople\t1\t0\t0\n")
    assert credits_("find", "dov").status == 0


@pytest.fixture
def sent(credits_: Command, monkeypatch: pytest.MonkeyPatch) -> Command:
    """Calls a command to which something is sent, the first argument."""

    def call(content: bytes, *words: str) -> Answer:
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(content)))
        return credits_(*words)

    return call


@pytest.mark.usefixtures("film")
def test_a_table_may_come_on_standard_input(sent: Command, credits_: Command) -> None:
    people = b"person,credit_name\ndov,Dov\neli,\n"
    answer = sent(people, "load", "-", "--sheet", "people")
    assert answer.status == 1
    assert "people.csv row 3: credit_name" in answer.err
    answer = sent(people[:-6], "load", "-", "--sheet", "people")
    assert (answer.status, answer.out) == (0, "table\tnew\tchanged\tsame\npeople\t1\t0\t0\n")
    assert credits_("find", "dov").status == 0
    unnamed = sent(people, "load", "-")
    assert (unnamed.status, "--sheet entries" in unnamed.err) == (2, True)
    nothing = sent(b"", "load", "-", "--sheet", "people")
    assert (nothing.status, "nothing comes" in nothing.err) == (2, True)
    elsewhere = sent(people, "load", "-", "--sheet", "../people")
    assert (elsewhere.status, "is no name" in elsewhere.err) == (2, True)


@pytest.mark.usefixtures("film")
def test_standard_input_without_an_end_is_refused(
    sent: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("credits.cli.terminal.stdin.LARGEST_FILE", 1_000)
    for words in (("load", "-", "--sheet", "people"), ("cut", "-", "--as", "edl")):
        answer = sent(b"x" * 1_001, *words)
        assert (answer.status, "has more than 0 MB" in answer.err) == (2, True)


@pytest.mark.usefixtures("film")
def test_a_cut_may_come_on_standard_input(sent: Command) -> None:
    clips = b"shot,first,last\n010-020,9,40\n"
    answer = sent(clips, "cut", "-", "--as", "csv")
    assert answer.status == 0
    assert answer.out.startswith("Cut version 1: 1 clip of 1 shot")
    for words in (("cut", "-"), ("cut", "-", "--as", "film"), ("cut", "a.edl", "--as", "edl")):
        assert sent(clips, *words).status == 2


def test_a_shot_that_is_finished_is_read_as_done(film: Path, credits_: Command) -> None:
    (film / "shots.csv").write_text("shot,sequence,frames,status\n010-020,010,48,Finished\n")
    answer = credits_("load", "shots.csv")
    assert (answer.status, answer.out.splitlines()[1]) == (0, "shots\t0\t1\t0")
    (film / "shots.csv").write_text("shot,sequence,frames,status\n010-020,010,48,done\n")
    assert credits_("load", "shots.csv").out.splitlines()[1] == "shots\t0\t0\t1"


@pytest.mark.usefixtures("film")
def test_the_measure_beside_a_column_of_shots_says_what_it_counts(credits_: Command) -> None:
    assert credits_("footage", "--by", "shot").out.startswith("shot\tframes shot\tkept\t")
    assert credits_("footage").out.startswith("person\tname\tshot\tkept\t")


@pytest.mark.usefixtures("film_with_cut")
@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("roll --size 640x360 --line-height 20", "roll --raster 640x360 --pitch 20"),
        (
            "export png --out a.png --size 640x360 --line-height 20",
            "export png --out a.png --raster 640x360 --pitch 20",
        ),
    ],
)
def test_options_have_plain_names_beside_the_former_ones(
    credits_: Command, one: str, other: str
) -> None:
    answer = credits_(*one.split())
    assert answer == credits_(*other.split())
    assert answer.status in (0, 1)


NOT_PLAIN = re.compile(
    r"whose hands|by way of|bring in|brought in|(?<!pose is )\bheld\b|settle|mended|hands are in"
    r"|in all\b|no one\b|CMX|sort name",
    re.IGNORECASE,
)


def test_no_help_says_what_a_crew_would_not_say(credits_: Command) -> None:
    for command in main.COMMANDS:
        found = NOT_PLAIN.findall(credits_(command, "--help").out)
        assert (command, found) == (command, [])
