"""Lists put right: a row corrected, its key too, or voided with a reason."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from credits.cli.main import run
from credits.store.log import open_log
from tests.cli.conftest import Command
from tests.conftest import made_once

LISTS = {
    "people": "person,credit_name\nann,Ann Ode\ndora,Dora Ames\n",
    "engagements": (
        "person,department,job_title,starts_on\n"
        "ana,Animation,Animtor,2026-01-01\n"
        "ben,Puppets,Puppet maker,\n"
        "ben,Puppets,Puppet maker,2026-02-01\n"
    ),
    "parts": "part,kind,character\nkit,face kit,wick\nwig,wig,\n",
    "fittings": "part,puppet,from_on,to_on\nkit,wick-1,2026-03-01,2026-03-04\n",
    "replacements": "shot,take,character,part,frames\n010-020,1,wick,kit,1-48\n",
}


@pytest.fixture(scope="session")
def film_of_lists(shared_folder: Path, films: Path) -> Path:
    """The folder of the worked example, ``film``, with the lists that are put right."""

    def make(folder: Path) -> None:
        shutil.copytree(films / "film", folder / "film")
        for name, text in LISTS.items():
            (folder / f"{name}.csv").write_text(text)
        lists = [str(folder / f"{name}.csv") for name in LISTS]
        assert run(["load", *lists, "-p", str(folder / "film")]) == 0

    return made_once(shared_folder / "film-of-lists", make)


@pytest.fixture(autouse=True)
def _lists(film: Path, tmp_path: Path, film_of_lists: Path) -> Path:
    for name in LISTS:
        shutil.copy(film_of_lists / f"{name}.csv", tmp_path)
    shutil.copytree(film_of_lists / "film", film, dirs_exist_ok=True)
    return film


def _rows(film: Path, table: str) -> list[Any]:
    with open_log(film) as log:
        return list(getattr(log.read(), table))


def test_the_credits_print_a_corrected_job_title_once(credits_: Command) -> None:
    answer = credits_(
        "correct", "engagements", "ana", "Animtor", "job_title=Animator", "--why", "Misspelled."
    )
    assert answer.out == (
        "engagements: ana, Animation, Animtor, 2026-01-01"
        " -> ana, Animation, Animator, 2026-01-01\n"
        "  job_title: Animtor -> Animator\n"
    )
    sections = {
        each["heading"]: each["lines"] for each in credits_("roll", "--json").json["sections"]
    }
    lines = [(line["person"], line["role"]) for line in sections["Animation department"]]
    assert lines == [("ana", "Animator")]


def test_the_reason_and_who_gave_it_are_kept(credits_: Command, film: Path) -> None:
    credits_("correct", "people", "ann", "--void", "--why", "Typed twice.", "--by", "Mia")
    with open_log(film) as log:
        (said,) = log.list_corrections()
        assert [change.verb for change in log.history("people", "ann")] == ["insert", "delete"]
    assert (said.table, said.row, said.why, said.corrected_by) == (
        "people",
        "ann",
        "Typed twice.",
        "Mia",
    )
    assert credits_("verify").status == 0


def test_a_voided_person_is_gone(credits_: Command, film: Path) -> None:
    answer = credits_("correct", "people", "ann", "--void", "--why", "Typed twice.")
    assert answer.out == "people: ann is void. Why: Typed twice.\n"
    assert "ann" not in [person.code for person in _rows(film, "people")]
    assert credits_("find", "Ann Ode").status == 1


def test_a_fitting_gets_another_day(credits_: Command, film: Path) -> None:
    words = ("fittings", "kit", "wick-1", "from_on=2026-02-27", "to_on=", "--why", "Other day.")
    answer = credits_("correct", *words, "--json")
    assert answer.json == {
        "list": "fittings",
        "row": "kit, wick-1, 2026-03-01",
        "now": "kit, wick-1, 2026-02-27",
        "changes": {
            "from_on": ["2026-03-01", "2026-02-27"],
            "to_on": ["2026-03-04", None],
        },
        "written": True,
    }
    assert len(_rows(film, "fittings")) == 1


def test_a_column_that_is_no_key_is_changed_where_entries_name_the_row(
    credits_: Command, film: Path
) -> None:
    answer = credits_("correct", "people", "ana", "credit_name=Ana María", "--why", "She says so.")
    assert answer.out == "people: ana\n  credit_name: Ana -> Ana María\n"
    people = [(p.code, p.credit_name) for p in _rows(film, "people")]
    assert people[0] == ("ana", "Ana María")
    with open_log(film) as log:
        assert log.history("people", "ana")[-1].verb == "update"
        assert log.list_corrections()[0].instead == "ana"


def test_a_code_that_nothing_names_is_corrected_and_keeps_its_place(
    credits_: Command, film: Path
) -> None:
    before = [part.code for part in _rows(film, "parts")]
    assert credits_("correct", "parts", "wig", "part=wig-1", "--why", "Two wigs.").status == 0
    after = [part.code for part in _rows(film, "parts")]
    assert after == ["wig-1" if code == "wig" else code for code in before]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("people ana --void", "cannot be voided: named by 3 entries (A-1, A-6 and A-7)"),
        ("people ana person=anna", "keeps its code: named by 3 entries"),
        ("people ana person=Ana", "keeps its code: named by 3 entries"),
        ("parts kit --void", "2 rows of other lists (fittings: kit, wick-1, 2026-03-01; repl"),
        ("takes 010-020 1 --void", "1 row of other lists (replacements: 010-020, 1, wick, kit)"),
        ("characters brine --void", "1 row of other lists (puppets: brine-1)"),
    ],
)
def test_what_is_named_stays(credits_: Command, film: Path, words: str, said: str) -> None:
    before = {table: _rows(film, table) for table in ("people", "parts", "takes", "characters")}
    answer = credits_("correct", *words.split(), "--why", "x")
    assert answer.status == 1
    assert said in answer.err
    assert {table: _rows(film, table) for table in before} == before


def test_entries_that_were_voided_or_amended_still_name_a_person(credits_: Command) -> None:
    credits_("log", "voice", "dora", "brine")
    credits_("void", "A-8", "--why", "x")
    answer = credits_("correct", "people", "dora", "--void", "--why", "x")
    assert "named by 1 entry (A-8 (void))" in answer.err
    assert "credits same RIGHT dora" in answer.err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            "engagements ben --void",
            "2 rows of engagements are ben. Say which of these: ben Puppets 'Puppet maker' '';"
            " ben Puppets 'Puppet maker' 2026-02-01.",
        ),
        ("engagements zoe --void", "no row of engagements is zoe"),
        ("people doro --void", "no row of people is doro. Say which of these: dora."),
        ("poeple ana --void", "Did you mean people?"),
        ("entries A-1 --void", "credits amend and credits void"),
        ("people ana nmae=x", "column 'nmae': is not a column of this list"),
        ("people ana credit_name=", "credit_name: is empty"),
        ("people ana same_as=nobody", "same_as 'nobody'"),
        ("people ana same_as=ana", "names the person's own code"),
        ("people ana isni=3", "isni '3': is not an ISNI"),
        ("people ana person=ben", "people has this row already: ben"),
        ("people ana credit_name=A credit_name=B", "credit_name: is given twice"),
        ("people ana credit_name=A --void", "a void changes no columns"),
        ("people ana", "nothing to change"),
        ("parts kit character=brine", "puppet wick-1 is wick (fittings: kit, wick-1, 2026-03-01)"),
        ("shots 010-020 frames=40", "shot 010-020 has 40 frames"),
        ("fittings kit to_on=2026-02-01", "lies before from_on"),
    ],
)
def test_what_is_refused(credits_: Command, film: Path, words: str, said: str) -> None:
    before = {table: _rows(film, table) for table in LISTS}
    answer = credits_("correct", *words.split(), "--why", "x")
    assert answer.status == 2
    assert said in answer.err
    assert answer.out == ""
    assert {table: _rows(film, table) for table in before} == before


def test_a_correction_needs_a_reason(credits_: Command) -> None:
    answer = credits_("correct", "people", "ann", "--void")
    assert answer.status == 2
    assert answer.err.startswith("--why: a correction needs a reason.")


def test_the_empty_start_and_a_day_as_it_is_said_tell_two_engagements_apart(
    credits_: Command, film: Path
) -> None:
    for word in ("", "1 feb 2026"):
        assert credits_("correct", "engagements", "ben", word, "--void", "--why", "x").status == 0
    jobs = [job for job in _rows(film, "engagements") if job.person == "ben"]
    assert jobs == []


def test_a_name_says_which_row_without_accents_and_case(credits_: Command) -> None:
    answer = credits_("correct", "people", "dórA ames", "note=x", "--why", "x")
    assert answer.out.startswith("people: dora\n")


def test_a_dry_run_writes_nothing(credits_: Command, film: Path) -> None:
    before = _rows(film, "people")
    words = ("correct", "people", "ann", "--void", "--why", "x", "--dry-run")
    answer = credits_(*words)
    assert answer.out.startswith("people: ann is void.")
    assert "Nothing was written" in answer.err
    assert credits_(*words, "--json").json["written"] is False
    assert _rows(film, "people") == before


def test_a_row_that_says_so_already_is_left_alone(credits_: Command, film: Path) -> None:
    answer = credits_("correct", "people", "ann", "credit_name=Ann Ode", "--why", "x")
    assert "says this already: nothing was written" in answer.err
    with open_log(film) as log:
        assert log.list_corrections() == ()


@pytest.mark.parametrize(
    "name", ["נועם", "🦉", "L" * 200, "<script>x</script>", "=cmd()", "A'B\"C"]
)
def test_odd_values_are_kept_as_they_are(credits_: Command, film: Path, name: str) -> None:
    assert credits_("correct", "people", "ann", f"credit_name={name}", "--why", name).status == 0
    kept = {p.code: p.credit_name for p in _rows(film, "people")}
    assert kept["ann"] == name
    assert credits_("correct", "people", name, "--void", "--why", name).status == 0


def test_a_row_voided_and_added_again_gives_the_same_figures(
    credits_: Command, tmp_path: Path
) -> None:
    figures = [("roll", "--json"), ("footage", "--json"), ("hands", "010-020", "--json")]
    before = [credits_(*words).json for words in figures]
    for words in (
        "fittings kit",
        "engagements ben 2026-02-01",
        "replacements 010-020 kit",
        "people ann",
    ):
        assert credits_("correct", *words.split(), "--void", "--why", "x").status == 0, words
    assert [credits_(*words).json for words in figures] != before
    assert credits_("load", *(tmp_path / f"{name}.csv" for name in LISTS)).status == 0
    assert [credits_(*words).json for words in figures] == before


def test_an_empty_list_says_so(credits_: Command) -> None:
    assert "S1" in credits_("correct", "stages", "S9", "--void", "--why", "x").err
    for stage in ("S1", "S2"):
        assert credits_("correct", "stages", stage, "--void", "--why", "x").status == 0
    answer = credits_("correct", "stages", "S1", "--void", "--why", "x")
    assert answer.status == 2
    assert "the list stages has no rows" in answer.err


def test_a_proof_names_a_corrected_and_a_voided_engagement_as_the_cause(credits_: Command) -> None:
    credits_("roll", "--save")
    credits_("correct", "engagements", "ana", "job_title=Animator", "--why", "Misspelled.")
    for word in ("", "2026-02-01"):
        credits_("correct", "engagements", "ben", word, "--void", "--why", "Typed twice.")
    changes = credits_("roll", "--against", 1, "--json").json["changes"]
    why = {change["person"]: change["why"] for change in changes if change["person"]}
    assert "the job title was 'Animtor' and is 'Animator'" in why["ana"]
    assert "the engagement as Puppet maker was voided" in why["ben"]


def test_the_history_shows_what_was_voided_and_why(credits_: Command) -> None:
    credits_("correct", "engagements", "ana", "job_title=Animator", "--why", "Misspelled.")
    credits_("correct", "engagements", "ana", "--void", "--why", "Never came.", "--by", "Mia")
    shown = credits_("correct", "engagements", "ANA", "--history")
    added, changed, voided, *corrections = shown.out.splitlines()
    assert "UTC: added: person: nothing -> ana; department: nothing -> Animation;" in added
    assert changed.endswith("UTC: changed: job_title: Animtor -> Animator")
    assert "UTC: voided: person: ana -> nothing" in voided
    assert corrections == [
        "ana, Animation, Animtor, 2026-01-01 -> ana, Animation, Animator, 2026-01-01."
        " Why: Misspelled.",
        "ana, Animation, Animator, 2026-01-01 is void. Why: Never came. (Mia)",
    ]
    answer = credits_("correct", "engagements", "ana", "--history", "--json").json
    assert [each["verb"] for each in answer["changes"]] == ["insert", "update", "delete"]
    assert answer["corrections"][1]["now"] is None
    assert (
        credits_("correct", "engagements", "ben", "--history", "--json").json["corrections"] == []
    )


@pytest.mark.parametrize("words", ["people zoe", "people ana ben", "poeple ana"])
def test_a_history_of_nobody_is_refused(credits_: Command, words: str) -> None:
    assert credits_("correct", *words.split(), "--history").status == 2


# --- the sheet comes again


def roles(credits_: Command, heading: str) -> list[tuple[str, str]]:
    sections = credits_("roll", "--json").json["sections"]
    return [
        (line["person"], line["role"])
        for each in sections
        if each["heading"] == heading
        for line in each["lines"]
    ]


def load_list(credits_: Command, folder: Path, name: str, text: str) -> Any:
    (folder / f"{name}.csv").write_text(text)
    return credits_("load", folder / f"{name}.csv")


def test_a_job_title_corrected_in_the_sheet_prints_once(
    credits_: Command, film: Path, tmp_path: Path
) -> None:
    text = LISTS["engagements"].replace("Animtor", "Animator")
    answer = load_list(credits_, tmp_path, "engagements", text)
    assert "engagements.csv row 2: ana, Animation, Animtor, 2026-01-01: job_title" in answer.out
    assert roles(credits_, "Animation department") == [("ana", "Animator")]
    with open_log(film) as log:
        (said,) = log.list_corrections()
    assert (said.row, said.why) == (
        "ana, Animation, Animtor, 2026-01-01",
        "Corrected in engagements.csv.",
    )
    assert "Nothing new" in load_list(credits_, tmp_path, "engagements", text).err


def test_the_old_sheet_does_not_bring_back_a_corrected_job_title(
    credits_: Command, tmp_path: Path
) -> None:
    credits_("correct", "engagements", "ana", "job_title=Animator", "--why", "A slip.")
    answer = load_list(credits_, tmp_path, "engagements", LISTS["engagements"])
    assert "was corrected to 'ana, Animation, Animator, 2026-01-01' (A slip.)" in answer.err
    assert roles(credits_, "Animation department") == [("ana", "Animator")]


@pytest.mark.parametrize(
    "rows",
    [
        "ana,Animation,Animator,2026-03-01\n",
        "ana,Camera,Animator,2026-01-01\n",
        "ana,Animation,Animtor,2026-01-01\nana,Animation,Animator,2026-01-01\n",
    ],
    ids=["another day", "another department", "both in the sheet"],
)
def test_another_engagement_is_no_correction(
    credits_: Command, film: Path, tmp_path: Path, rows: str
) -> None:
    header = LISTS["engagements"].splitlines()[0]
    assert load_list(credits_, tmp_path, "engagements", f"{header}\n{rows}").status == 0
    assert len([row for row in _rows(film, "engagements") if row.person == "ana"]) == 2


def test_another_title_of_the_same_day_is_told(credits_: Command, tmp_path: Path) -> None:
    text = LISTS["engagements"].replace("Animtor", "Head of department")
    answer = load_list(credits_, tmp_path, "engagements", text)
    assert "stands beside 'Animtor' of the same day, which the sheet has not" in answer.err


def test_a_dry_run_tells_a_corrected_title_and_writes_nothing(
    credits_: Command, film: Path, tmp_path: Path
) -> None:
    (tmp_path / "engagements.csv").write_text(LISTS["engagements"].replace("Animtor", "Animator"))
    answer = credits_("load", tmp_path / "engagements.csv", "--dry-run", "--json").json
    assert answer["tables"]["engagements"] == {"new": 0, "changed": 1, "same": 2}
    assert "Animtor" in {row.job_title for row in _rows(film, "engagements")}


def test_somebody_entered_by_mistake_is_nowhere_and_does_not_come_back_unsaid(
    credits_: Command, tmp_path: Path
) -> None:
    load_list(credits_, tmp_path, "people", "person,credit_name\nzed,Zed Mistake\n")
    header = LISTS["engagements"].splitlines()[0]
    load_list(credits_, tmp_path, "engagements", f"{header}\nzed,Camera,Operator,\n")
    assert roles(credits_, "Camera") == [("zed", "Operator")]
    for words in (("engagements", "zed"), ("people", "zed")):
        assert credits_("correct", *words, "--void", "--why", "Not ours.").status == 0
    for words in (("roll",), ("check", "--names"), ("confirm", "--open"), ("why", "--not-printed")):
        answer = credits_(*words)
        assert "zed" not in (answer.out + answer.err).lower(), words
    assert credits_("find", "zed").status == 1
    assert credits_("why", "Zed Mistake").status == 2
    again = load_list(credits_, tmp_path, "people", "person,credit_name\nzed,Zed Mistake\n")
    assert "person 'zed': was voided on" in again.err
    assert "(Not ours.), and is loaded again" in again.err


def test_nobody_is_named_by_leaving_a_wish_out(credits_: Command, film: Path) -> None:
    why = ("--why", "Asked on Monday.")
    assert credits_("correct", "people", "ann", "credit_wish=uncredited", *why).status == 0
    answer = credits_("correct", "people", "ann", "credit_wish=", *why)
    assert answer.status == 2
    assert "credit_wish: is empty. Write credited or uncredited." in answer.err
    (ann,) = (person for person in _rows(film, "people") if person.code == "ann")
    assert ann.wish == "uncredited"
