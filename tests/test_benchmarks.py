"""The benchmark: its productions hold everything, its table is the README's."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import duckdb
import pytest

from benchmarks import report
from benchmarks.footage_sql import AS_PRINTED, footage_by_person
from benchmarks.measures import MEASURES, OF_FEATURE, limits_of
from benchmarks.processes import Figure, Took
from benchmarks.production import Maker, Size
from benchmarks.sql_tables import fill
from credits.cli.main import run
from credits.model.facts import Decision, Purpose
from credits.model.log import Verb, WrittenLog
from credits.store.log import open_log

ROOT = Path(__file__).resolve().parent.parent
SMALL = Size(entries=1_600, shots=160, people=40, characters=12, puppets=30, stages=4)


# --- The productions


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> WrittenLog:
    """A small production that went the way of the measured ones."""
    folder = tmp_path_factory.mktemp("made")
    Maker(SMALL).write(folder)
    production = folder / "production"
    assert run(["start", "The Measured Film", str(production), "--quiet"]) == 0
    here = ["--production", str(production), "--quiet"]
    assert run(["load", str(folder / "tables"), *here]) == 0
    corrected = ["--amend", "--void-missing", "--why", "struck out by the unit"]
    assert run(["load", str(folder / "again"), *corrected, *here]) == 0
    assert run(["cut", str(folder / "cut.csv"), *here]) == 0
    with open_log(production) as opened:
        return opened.read()


def test_a_production_has_as_many_lines_as_its_size_says(log: WrittenLog) -> None:
    assert len(log.lines) == SMALL.entries
    assert len(log.shots) == SMALL.shots
    assert {line.verb for line in log.lines} == set(Verb)


def test_a_production_holds_everything_that_a_log_may_hold(log: WrittenLog) -> None:
    works = [line.work for line in log.lines if line.work is not None]
    assert {work.share for work in works} >= {None, Fraction(1, 2), Fraction(3)}
    assert any(work.wait_minutes for work in works if work.craft == "repair")
    assert {take.purpose for take in log.takes} == {Purpose.BLOCK, Purpose.SHOOT}
    assert {take.decision for take in log.takes} == {Decision.ACCEPTED, Decision.RETAKE}
    assert any(fitting.to_on for fitting in log.fittings)
    assert any(person.same_as for person in log.people)
    assert log.replacements
    assert log.cut is not None
    assert {clip.speed for clip in log.cut.clips} == {1, 2, Fraction(1, 2), -1}
    shots = [clip.shot for clip in log.cut.clips]
    assert len(set(shots)) < len(shots)


def test_the_same_size_gives_the_same_bytes(tmp_path: Path) -> None:
    for folder in ("one", "other"):
        Maker(SMALL).write(tmp_path / folder)
    files = sorted(each.relative_to(tmp_path / "one") for each in (tmp_path / "one").rglob("*.csv"))
    assert files
    for file in files:
        assert (tmp_path / "one" / file).read_bytes() == (tmp_path / "other" / file).read_bytes()


def test_the_query_that_is_measured_gives_the_exact_figures_as_decimals(log: WrittenLog) -> None:
    with duckdb.connect() as database:
        fill(database, log)
        exact = footage_by_person(database)
        printed = {code: values for code, *values in database.execute(AS_PRINTED).fetchall()}
    assert exact
    assert printed.keys() == exact.keys()
    for code, values in exact.items():
        assert printed[code] == pytest.approx([float(value) for value in values])


# --- The table


def test_the_readme_has_the_rows_that_are_measured() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    table = text.partition(report.BEGIN)[2].partition(report.END)[0]
    rows = [
        tuple(cell.strip() for cell in line.strip("|").split("|"))
        for line in table.splitlines()
        if line.startswith("|")
    ]
    made = [(row[0], row[3]) for row in report.table_rows({})]
    assert rows[0] == report.COLUMNS
    assert [(row[0], row[3]) for row in rows[2:]] == made


def test_only_what_is_between_the_marks_is_written() -> None:
    table = report.document_table({}, "Said.")
    document = f"before\n{report.BEGIN}\nold\n{report.END}\nafter\n"
    assert report.written_into(document, table) == f"before\n{table}\nafter\n"
    with pytest.raises(ValueError, match="lacks"):
        report.written_into("no marks", table)


def test_a_limit_by_another_figure_follows_it() -> None:
    results = {"feature": {"footage": Figure(0.5), "duckdb": Figure(1.0)}}
    assert report.is_met(results, "feature", "footage") is True
    results = {"feature": {"footage": Figure(0.5), "duckdb": Figure(0.9)}}
    assert report.is_met(results, "feature", "footage") is False
    assert report.is_met({"feature": {"footage": Figure(0.5)}}, "feature", "footage") is None


def test_the_table_says_how_many_times_another_figure_one_is() -> None:
    results = {
        "feature": {"footage": Figure(0.5), "duckdb": Figure(2.0)},
        "ten": {"footage": Figure(3.0)},
    }
    row = next(row for row in report.table_rows(results) if row[0] == "footage by person")
    assert row == (
        "footage by person",
        *("–", "0.50 s (0.25 × DuckDB)", "0.6 s and 0.5 × DuckDB", "yes"),
        *("3.00 s (6.00 × the feature's)", "yes"),
    )


def test_the_terminal_shows_ratios_by_the_clock_and_at_work() -> None:
    feature = {
        "duckdb": Figure(2.0, Took(seconds=2.0, cpu=1.0, memory=280.0), 5),
        "footage": Figure(1.5, Took(seconds=1.5, cpu=0.5, memory=90.0), 5),
    }
    _, _, line, _ = report.terminal_lines({"feature": feature}, ["feature"])
    assert line.split("  0.6 s: ") == [
        f"{'footage by person':<46}{'1.50 s':>14}{'0.50 s':>10}{'90 MB':>10}{5:>6}",
        "NOT MET; 0.5 × DuckDB (0.75 times, 0.50 at work): NOT MET",
    ]


def test_a_rate_is_to_be_reached() -> None:
    assert report.is_met({"feature": {"load-rows": Figure(12_000)}}, "feature", "load-rows") is True
    low = {"feature": {"load-rows": Figure(11_999)}}
    assert report.is_met(low, "feature", "load-rows") is False


def test_ten_times_a_feature_is_held_to_the_feature() -> None:
    def results(ten: float) -> dict[str, dict[str, Figure]]:
        return {"feature": {"entry": Figure(1.0)}, "ten": {"entry": Figure(ten)}}

    assert report.is_met(results(1.5), "ten", "entry") is True
    assert report.is_met(results(1.6), "ten", "entry") is False


def test_a_limit_names_what_is_measured() -> None:
    for size in ("feature", "ten"):
        for key in MEASURES:
            for limit in limits_of(key, size):
                assert not limit.of or limit.of.removeprefix(OF_FEATURE) in MEASURES
