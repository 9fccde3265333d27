"""The credit plan on the command line: a first plan, the roll by it, and why."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from tests.cli.conftest import Command

LEADS = """\
name = "plan of leads"

[[section]]
heading = "Lead animators"
crafts = ["animation"]
at_least = "10 frames on screen"
below = "Additional animation"

[[section]]
heading = "Voices"
cast = ["voice"]

[[section]]
heading = "Thanks"
text = "To the *valley*."
"""


@pytest.fixture
def planned(film_with_cut: Path) -> Path:
    """The worked example with its cut and a plan: Ana has 10 frames on screen, Ben 8, Cai 14."""
    (film_with_cut / "credit-plan.toml").write_text(LEADS)
    return film_with_cut


def test_the_first_plan_is_written_beside_the_log_and_changes_nothing(
    film: Path, credits_: Command
) -> None:
    before = credits_("roll", "--json").json
    answer = credits_("plan")
    assert answer.status == 0
    assert "credit-plan.toml" in answer.out
    text = (film / "credit-plan.toml").read_text("utf-8")
    assert text.startswith("# The credit plan")
    assert tomllib.loads(text)["section"][0] == {"guaranteed": True, "order": "contract"}
    after = credits_("roll", "--json").json
    assert after["sections"] == before["sections"]
    assert (before["plan"], after["plan"]) == ("built-in plan", "first plan")


def test_a_plan_that_is_there_is_not_written_over_without_a_word(
    planned: Path, credits_: Command
) -> None:
    answer = credits_("plan")
    assert answer.status == 2
    assert "is there already" in answer.err
    assert (planned / "credit-plan.toml").read_text() == LEADS
    assert credits_("plan", "--out", "other.toml").status == 0
    assert credits_("plan", "--out", "-").out == (planned / "other.toml").read_text("utf-8")
    assert credits_("plan", "--force").status == 0
    assert (planned / "credit-plan.toml").read_text("utf-8") == (planned / "other.toml").read_text(
        "utf-8"
    )
    assert not list(planned.glob("*.unfinished"))


@pytest.mark.usefixtures("planned")
def test_the_roll_follows_the_plan(credits_: Command) -> None:
    answer = credits_("roll")
    assert [line.split("\t") for line in answer.out.splitlines()[1:]] == [
        ["Lead animators", "Ana", "", "spelling not confirmed"],
        ["Lead animators", "Cai", "", "spelling not confirmed"],
        ["Additional animation", "Ben", "", "spelling not confirmed"],
        ["Voices", "Ana", "Wick", "spelling not confirmed"],
        ["Thanks", "To the *valley*.", "", ""],
    ]


@pytest.mark.usefixtures("planned")
def test_why_answers_with_the_figures_and_the_entries(credits_: Command) -> None:
    answer = credits_("why", "BEN")
    assert answer.status == 0
    assert answer.out.splitlines() == [
        "Ben (spelling not confirmed), by the plan of leads",
        "Under 'Additional animation': Ben",
        "  The log has work of this craft (Animation).",
        "  'Lead animators' asks for at least 10 frames on screen: 8 reached.",
        "  Figures: 1 entry, first day 3 March 2026, last day 3 March 2026.",
        "  Entries: A-2.",
        "Not under 'Lead animators': below the threshold",
        "  This heading asks for at least 10 frames on screen: 8 reached. "
        "Goes on to 'Additional animation'.",
        "  The log has work of this craft (Animation).",
        "  Figures: 1 entry, first day 3 March 2026, last day 3 March 2026, frames on screen 8.",
        "  Entries: A-2.",
    ]
    assert "legal department" in answer.err


@pytest.mark.usefixtures("planned")
def test_why_in_json_has_the_exact_figures(credits_: Command) -> None:
    answer = credits_("why", "ana", "--json").json
    assert [line["heading"] for line in answer["lines"]] == ["Lead animators", "Voices"]
    asked = answer["considered"][0]["asked"]
    assert (asked["least"], asked["reached"], asked["enough"]) == ("10", "10", True)
    assert answer["considered"][0]["outcome"] == "printed"
    assert answer["held"] is None


@pytest.mark.usefixtures("planned")
def test_why_somebody_is_held(credits_: Command, tmp_path: Path) -> None:
    (tmp_path / "people.csv").write_text("person,credit_name,credit_wish\nben,Ben,uncredited\n")
    credits_("load", tmp_path / "people.csv")
    assert "Not printed: asked to be uncredited" in credits_("why", "ben").out
    held = credits_("why", "ben", "--json").json["held"]
    assert held["reason"] == "asked to be uncredited"


@pytest.mark.usefixtures("planned")
def test_why_of_somebody_nobody_knows_suggests(credits_: Command) -> None:
    answer = credits_("why", "benn")
    assert answer.status == 2
    assert "Did you mean ben (Ben)?" in answer.err


@pytest.mark.parametrize("command", [["roll"], ["check"], ["why", "ana"], ["site"]])
def test_a_plan_that_cannot_be_read_is_said_with_its_lines_and_nothing_is_done(
    planned: Path, credits_: Command, command: list[str]
) -> None:
    (planned / "credit-plan.toml").write_text(LEADS.replace('"animation"', '"animator"'))
    answer = credits_(*command)
    assert (answer.status, answer.out) == (1, "")
    assert answer.err.startswith("credit-plan.toml line 5: crafts 'animator': there is no such")
    assert not (planned / "site").exists()
