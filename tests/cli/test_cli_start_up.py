"""The command line as a whole: quick to start, helpful, and never a traceback."""

from __future__ import annotations

import csv
import errno
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from credits import __version__
from credits.cli import main
from credits.store.log import Log
from credits.store.writer import LogWriter
from tests.cli.conftest import ROOT, Command
from tests.conftest import made_once

IN_ORDER = [
    "demo", "start", "load", "cut", "log", "desk", "amend", "void", "correct", "sheet", "day",
    "same", "find", "check", "answer", "footage", "review", "hands", "reach", "plan", "roll",
    "why", "confirm", "export", "site", "backup", "restore", "merge", "copy",
    "verify",
]  # fmt: skip
FILE_FORMATS = {
    "jinja2", "markdown", "nh3", "PIL", "opentimelineio", "typst", "fontTools", "xlsxwriter",
    "prov",
}  # fmt: skip
SLOW = [
    "sqlmodel", "sqlalchemy", "alembic", "jinja2", "pyuca", "opentimelineio", "python_calamine",
    "rapidfuzz", "markdown", "nh3", "rich.console", "typst",
]  # fmt: skip


def _imported_by(*words: str, cwd: Path | None = None) -> set[str]:
    """The modules that a process has imported when the command has ended."""
    code = (
        "import json, sys\n"
        "from credits.cli.main import run\n"
        f"run({list(words)!r})\n"
        "print('\\nMODULES', json.dumps(sorted(sys.modules)))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        cwd=cwd,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        timeout=60,
        check=True,
    )
    return set(json.loads(done.stdout.decode().split("\nMODULES ")[1]))


def test_help_imports_nothing_slow() -> None:
    imported = _imported_by("--help")
    assert "typer" in imported
    assert imported.isdisjoint(SLOW)
    assert "credits.store" not in imported
    assert "credits.model" not in imported


def test_logging_an_entry_imports_no_page_and_no_file_format(film: Path) -> None:
    imported = _imported_by("log", "paint", "cai", "wick-1", "--on", "2026-01-10", cwd=film)
    assert "credits.store" in imported
    assert imported.isdisjoint(FILE_FORMATS)
    own = {name for name in imported if name.startswith("credits.")}
    assert own.isdisjoint({"credits.site.render", "credits.site.source", "credits.formats.deliver"})


def test_logging_an_entry_waits_for_no_billing_no_workbook_no_likeness(film: Path) -> None:
    words = ("log", "animation", "ana", "wick-1", "010-020", "1-30", "--on", "2026-03-02")
    imported = _imported_by(*words, cwd=film)
    assert "credits.checks.around" in imported
    assert imported.isdisjoint({"python_calamine", "rapidfuzz", "pyuca", "credits.names"})
    assert not [name for name in imported if name.startswith("credits.billing")]


def test_questions_wait_for_no_page_and_no_file_format() -> None:
    asking = [f"credits.cli.{module}" for module in ("figures", "roll", "check", "day", "review")]
    code = f"import json, sys, {', '.join(asking)}; print(json.dumps(list(sys.modules)))"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, check=True, timeout=60, cwd=ROOT
    )
    imported = set(json.loads(done.stdout))
    assert imported >= set(asking)
    assert imported.isdisjoint(FILE_FORMATS - {"markdown"})  # fixed texts of the roll are Markdown
    assert imported.isdisjoint({"python_calamine", "alembic", "credits.site.render"})


def test_questions_wait_for_nothing_that_they_do_not_need(
    film_with_cut: Path, tmp_path: Path
) -> None:
    """Asked in one process, each in a folder without figures; who needs least comes first."""
    questions = [
        "footage",
        "reach",
        "hands 010-020",
        "roll",
        "why ana",
        "check",
        "find ana",
        "review ana",
        "day 2026-03-02",
    ]
    for words in questions:
        shutil.copytree(film_with_cut, tmp_path / words)
    code = (
        "import json, os, sys\n"
        "from credits.cli.main import run\n"
        f"for words in {questions!r}:\n"
        "    os.chdir(words)\n"
        "    answered = run(words.split()) in (0, 1)\n"
        "    os.chdir('..')\n"
        "    print('\\nMODULES', json.dumps([words, answered, *sys.modules]))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        timeout=60,
        check=True,
    )
    parts = done.stdout.decode().split("\nMODULES ")[1:]
    said = [json.loads(part.partition("\n")[0]) for part in parts]
    assert [words for words, *_ in said] == questions
    for words, answered, *modules in said:
        imported = set(modules)
        assert answered, words
        assert "credits.store.beside.kept" in imported
        # Neither for the table classes nor for what they need; nor for certificates.
        for_who_writes = {"sqlmodel", "sqlalchemy", "pydantic", "alembic", "ssl"}
        assert imported.isdisjoint(for_who_writes), words
        assert "credits.store.schema.tables" not in imported, words
        if words in ("footage", "reach"):
            others = {"credits.checks.checks", "credits.figures.cases", "credits.billing.compile"}
            assert imported.isdisjoint({*others, "rapidfuzz"}), words


@pytest.fixture(scope="session")
def with_a_proof(shared_folder: Path, films: Path) -> Path:
    """The worked example with its cut, a proof that is saved, and an entry more since."""

    def make(folder: Path) -> None:
        shutil.copytree(films / "cut", folder)
        assert main.run(["roll", "--save", "-p", str(folder)]) == 0
        entry = ("log", "paint", "ben", "wick-1", "--on", "2026-01-10")
        assert main.run([*entry, "-p", str(folder)]) == 0

    return made_once(shared_folder / "with-a-proof", make)


@pytest.mark.parametrize(
    "words",
    [
        "log paint cai wick-1 --on 2026-01-10",
        "amend A-1 --frames 1-24",
        "void A-1 --why x",
        "correct people ana credit_name=Anna --why x",
        "sheet --stage S1 --date 2026-03-05",
        "day 2026-03-02",
        "same ana ben",
        "find ana",
        "find --person ana",
        "check",
        "check --on 2026-03-02",
        "footage",
        "hands 010-020",
        "reach",
        "review ana",
        "roll",
        "roll --against 1",
        "roll --save",
        "roll --length 1:00",
        "why ana",
        "confirm ana",
        "confirm --open",
        "answer no-engagement ana --why x",
        "answer no-engagement --standing --person ana --why x",
        "plan --out -",
        "export text",
        "export xlsx --against 1 --out credits.xlsx",
        "export confirmations",
        "export prov",
        "site --edition public",
    ],
)
def test_a_command_reads_the_log_once_at_most(
    credits_: Command,
    monkeypatch: pytest.MonkeyPatch,
    with_a_proof: Path,
    tmp_path: Path,
    words: str,
) -> None:
    """Once, or not at all: where the figures that are kept answer it."""
    monkeypatch.chdir(shutil.copytree(with_a_proof, tmp_path / "film"))
    reads = []

    def counted(read: Callable[..., object]) -> Callable[..., object]:
        def one_more(*given: object, **options: object) -> object:
            reads.append(read)
            return read(*given, **options)

        return one_more

    for kind in (Log, LogWriter):
        monkeypatch.setattr(kind, "read", counted(kind.read))
    assert credits_(*words.split()).status in (0, 1)
    assert len(reads) <= 1


def test_commands_stand_in_the_order_of_a_production(credits_: Command) -> None:
    answer = credits_("--help")
    assert answer.status == 0
    listed = answer.out.split("Commands:")[1].splitlines()
    assert [line.split()[0] for line in listed if line.strip()] == IN_ORDER
    assert "..." not in answer.out.split("Commands:")[1]  # every one is said in full


@pytest.mark.parametrize("command", IN_ORDER)
def test_every_command_has_help(credits_: Command, command: str) -> None:
    answer = credits_(command, "--help")
    assert answer.status == 0
    assert answer.out.startswith(f"Usage: credits {command}")
    assert ("--production" in answer.out) == (command not in ("demo", "start", "copy"))


@pytest.mark.parametrize("command", [c for c in IN_ORDER if c not in ("demo", "start")])
def test_every_command_says_what_to_do_without_a_production(
    credits_: Command, command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    words = {
        "load": ["people.csv"],
        "cut": ["--list"],
        "log": ["paint", "ana", "wick"],
        "amend": ["A-1", "--frames", "1"],
        "void": ["A-1", "--why", "x"],
        "correct": ["people", "ana", "--void", "--why", "x"],
        "sheet": ["--all"],
        "same": ["a", "b"],
        "find": ["x"],
        "hands": ["010-020"],
        "answer": ["no-engagement", "ana", "--why", "x"],
        "export": ["prov"],
        "why": ["ana"],
        "review": ["ana"],
        "restore": ["copy.db"],
        "copy": ["nowhere", "new"],
        "merge": ["copy.db"],
    }.get(command, [])
    answer = credits_(command, *words)
    assert (answer.status, answer.out) == (2, "")
    assert "credits start" in answer.err


@pytest.mark.parametrize(
    "words",
    [
        [],
        ["nonsense"],
        ["--nonsense"],
        ["log", "--nonsense"],
        ["load"],
        ["find"],
        ["hands"],
        ["hands", "010-020", "--frame", "zero"],
        ["hands", "010-020", "--frame", "0"],
        ["hands", "010-020", "--frame", "49"],
        ["hands", "010-020", "--character", "nobody"],
        ["hands", "no-such-shot"],
        ["reach", "--person", "nobody"],
        ["footage", "--by", "colour"],
        ["footage", "--by", "person,person"],
        ["footage", "--by", ""],
        ["footage", "--from", "2026-13-01"],
        ["footage", "--from", "2026-03-02", "--to", "2026-03-01"],
        ["footage", "--person", "nobody"],
        ["footage", "--sequence", "999"],
        ["site", "--edition", "secret"],
        ["start"],
        ["same", "ana"],
        ["void"],
        ["footage", "--production", "no-such-folder"],
        ["demo", "."],
    ],
)
@pytest.mark.usefixtures("film")
def test_wrong_calls_exit_2(credits_: Command, words: list[str]) -> None:
    answer = credits_(*words)
    assert answer.status == 2
    assert answer.err.strip() or answer.out.strip()


def test_version(credits_: Command) -> None:
    answer = credits_("--version")
    assert (answer.status, answer.out) == (0, f"credits {__version__}\n")


def test_the_production_is_found_from_a_folder_inside_and_by_name(
    film: Path, credits_: Command, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    inside = film / "pictures" / "new"
    inside.mkdir(parents=True)
    monkeypatch.chdir(inside)
    assert credits_("find", "ana").status == 0
    monkeypatch.chdir(tmp_path)
    assert credits_("find", "ana", "--production", film).status == 0
    assert credits_("find", "ana", "-p", film / "production.db").status == 0
    monkeypatch.setenv("CREDITS_PRODUCTION", str(film))
    assert credits_("find", "ana").status == 0


def test_the_production_is_named_before_or_behind_the_command_and_behind_wins(
    film: Path, credits_: Command, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    assert credits_("start", "Another Film", "another").status == 0
    for words in (
        ("-p", film, "find", "ana"),
        ("--production", film, "find", "ana"),
        ("find", "ana", "-p", film),
        ("-p", "another", "find", "ana", "-p", film),
    ):
        assert credits_(*words).status == 0
    assert credits_("-p", film, "find", "ana", "-p", "another").status == 1
    assert credits_("-p", "no-such-folder", "find", "ana").status == 2


def test_an_empty_production_answers_everything(empty: Path, credits_: Command) -> None:
    assert credits_("footage", "--json").json["rows"] == []
    assert credits_("reach", "--json").json == {"rows": []}
    assert credits_("check", "--json").json == {
        "checks": [],
        "settled": [],
        "standing": [],
        "of": {"wrong": 0, "questions": 0, "answered": 0},
        "late": {"answer_by": None, "people": []},
    }
    assert credits_("day", "--json").json["places"] == []
    assert credits_("find", "--on", "today").status == 1
    assert credits_("roll", "--json").json["sections"] == []
    assert credits_("cut", "--list", "--json").json == {"cuts": []}
    for command in ("footage", "reach", "check", "roll", "verify"):
        assert credits_(command).status == 0
    assert credits_("site", "--out", empty / "pages").status == 0


def _broken(*_: object) -> None:
    raise RuntimeError("the lamp\x1b[31m fell")


@pytest.mark.usefixtures("film")
def test_a_failure_of_the_program_is_one_sentence(
    credits_: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("credits.cli.figures.footage_rows", _broken)
    answer = credits_("footage")
    assert answer.status == main.UNEXPECTED
    assert len(answer.err.splitlines()) == 1
    assert "RuntimeError" in answer.err
    assert "\x1b" not in answer.err
    monkeypatch.setenv("CREDITS_TRACEBACK", "1")
    with pytest.raises(RuntimeError):
        main.run(["footage"])


@pytest.mark.usefixtures("film")
def test_ctrl_c_exits_130(credits_: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("credits.cli.figures.footage_rows", stopped)
    answer = credits_("footage")
    assert (answer.status, answer.out) == (130, "")


def test_a_file_where_the_folder_of_copies_would_be_is_said(film: Path, credits_: Command) -> None:
    (film / "backups").write_text("mine")
    answer = credits_("backup")
    assert answer.status == 2
    assert "backups': is a file, not a folder" in answer.err


def test_what_the_disk_refuses_is_said_in_words(
    film: Path, credits_: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    assert credits_("export", "prov", "--out", film / "wick.json").status == 0
    before = (film / "wick.json").read_text()
    monkeypatch.setattr(os, "fsync", full)
    answer = credits_("export", "prov", "--out", film / "wick.json")
    assert (answer.status, answer.out) == (1, "")
    assert "could not be written (No space left on device)" in answer.err
    assert (film / "wick.json").read_text() == before
    assert list(film.glob(".credits*")) == []


@pytest.mark.parametrize("line", ["footage --json", "--help", "hands 010-020"])
def test_a_reader_that_has_gone_is_no_failure(film: Path, line: str) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    with os.fdopen(writing, "wb") as gone:
        done = subprocess.run(
            [sys.executable, "-m", "credits", *line.split()],
            stdout=gone,
            stderr=subprocess.PIPE,
            cwd=film,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            timeout=60,
            check=False,
        )
    assert done.stderr == b""
    assert done.returncode in (1, 141)


def test_a_terminal_without_unicode_gets_escapes(
    film: Path, credits_: Command, shell: Command, tmp_path: Path
) -> None:
    (tmp_path / "people.csv").write_text("person,credit_name\nzo,Zoë 影\n", encoding="utf-8")
    credits_("load", tmp_path / "people.csv")
    plain = {"PYTHONUTF8": "0", "PYTHONIOENCODING": "ascii", "LC_ALL": "C"}
    text = shell("find", "zoe", cwd=film, **plain)
    assert (text.status, text.out.splitlines()[1]) == (0, "person\tzo\tZo\\xeb \\u5f71")
    found = shell("find", "zoe", "--json", cwd=film, **plain).json["found"]
    assert found[0]["says"] == "Zoë 影"


def test_words_that_are_no_text_are_refused(film: Path) -> None:
    done = subprocess.run(
        [sys.executable.encode(), b"-m", b"credits", b"log", b"paint", b"ana", b"wick", b"--note",
         b"caf\xe9"],
        capture_output=True,
        cwd=film,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUTF8": "1"},
        timeout=60,
        check=False,
    )  # fmt: skip
    assert done.returncode == 2
    assert b"Traceback" not in done.stderr
    assert done.stderr.strip()


HARD_NAMES = [
    "Prince",
    "影山 光",
    "أمينة حداد",
    "👩‍🎨 Ida",
    "x" * 200,
    'O\'Neill "Bob"',
    "<script>alert(1)</script>",
    "=cmd()",
    "[red]Ana[/red]",
    "[/]",
]


@pytest.mark.usefixtures("film")
def test_any_name_comes_out_as_it_is(credits_: Command, tmp_path: Path) -> None:
    people, entries = [["person", "credit_name"]], [["craft", "person", "puppet", "shot", "frames"]]
    for at, name in enumerate(HARD_NAMES):
        people.append([f"p{at}", name])
        entries.append(["animation", f"p{at}", "wick-1", "010-020", f"{at + 1}"])
    for table, rows in (("people", people), ("entries", entries)):
        with (tmp_path / f"{table}.csv").open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows(rows)
        assert credits_("load", tmp_path / f"{table}.csv").status == 0
    footage = credits_("footage").out
    sections = credits_("roll", "--json").json["sections"]
    printed = {line["name"] for section in sections for line in section["lines"]}
    for at, name in enumerate(HARD_NAMES):
        assert name in footage
        assert name in credits_("log", "paint", f"p{at}", "wick-1").out
        assert name in printed


def tab_after(line: str) -> dict[str, str]:
    """What the shell puts into the environment of the program where a Tab is hit."""
    at = str(line.count(" "))
    return {"_CREDITS_COMPLETE": "complete_bash", "COMP_WORDS": line, "COMP_CWORD": at}


def _completed(shell: Command, line: str, cwd: Path) -> list[str]:
    answer = shell(cwd=cwd, **tab_after(line))
    assert answer.err == ""
    return answer.out.split()


@pytest.mark.parametrize(
    ("line", "completions"),
    [
        ("credits fo", ["footage"]),
        ("credits log anim", ["animation", "animation-assist"]),
        ("credits log animation b", ["ben"]),
        ("credits log animation ben w", ["wick", "wick-1", "wick-2"]),
        ("credits log animation ben W", ["Wick", "Wick-1", "Wick-2"]),
        ("credits log animation ben wick 010", ["010", "010-020"]),
        ("credits log animation ben wick --stage ", ["S1", "S2"]),
        ("credits footage --person c", ["cai"]),
        ("credits hands 0", ["010-020"]),
        ("credits amend A-", [f"A-{n}" for n in range(7, 0, -1)]),
        ("credits log animation nobody-here-", []),
    ],
)
@pytest.mark.usefixtures("film")
def test_tab_completes_codes_from_the_log(
    credits_: Command, monkeypatch: pytest.MonkeyPatch, line: str, completions: list[str]
) -> None:
    for name, value in tab_after(line).items():
        monkeypatch.setenv(name, value)
    answer = credits_()
    assert (answer.out.split(), answer.err) == (completions, "")


def test_tab_finds_the_production_that_is_named(film: Path, shell: Command, tmp_path: Path) -> None:
    assert _completed(shell, f"credits hands -p {film} 0", tmp_path) == ["010-020"]


def test_tab_finds_the_production_before_the_command_and_one_behind_it_wins(
    film: Path, credits_: Command, shell: Command, tmp_path: Path
) -> None:
    credits_("start", "Another Film", tmp_path / "another")
    another = tmp_path / "another"
    assert _completed(shell, f"credits -p {film} hands 0", tmp_path) == ["010-020"]
    assert _completed(shell, f"credits -p {another} hands -p {film} 0", tmp_path) == ["010-020"]
    assert _completed(shell, f"credits -p {film} hands -p {another} 0", tmp_path) == []


def test_tab_without_a_production_completes_nothing(shell: Command, tmp_path: Path) -> None:
    assert _completed(shell, "credits log animation b", tmp_path) == []


def test_tab_in_zsh_and_fish_shows_names_and_no_markup(
    film: Path, credits_: Command, shell: Command, tmp_path: Path
) -> None:
    (tmp_path / "people.csv").write_text("person,credit_name\nana,[/b] Ana\n")
    credits_("load", tmp_path / "people.csv")
    asked = {"_TYPER_COMPLETE_ARGS": "credits log paint an"}
    zsh = shell(cwd=film, _CREDITS_COMPLETE="complete_zsh", **asked)
    assert '"ana":"(/b) Ana"' in zsh.out
    fish = shell(
        cwd=film, _CREDITS_COMPLETE="complete_fish", _TYPER_COMPLETE_FISH_ACTION="get-args", **asked
    )
    assert fish.out == "ana\t(/b) Ana\n"
