"""Names that run from right to left, in the sentences of why and check.

What stands between FIRST STRONG ISOLATE and POP DIRECTIONAL ISOLATE (UAX #9) does not turn the
figures, codes and signs around it.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from credits.cli.terminal import printing
from tests.cli.conftest import Command

FSI, PDI = "\u2068", "\u2069"
PEOPLE = """\
person,credit_name
ana,אבי כהן
ben,רשא المرجاني 3rd
cai,DJ שלום Moss
"""
PLAN = """\
name = "plan"

[[section]]
heading = "אנימציה"
crafts = ["animation"]

[[section]]
heading = "Voices"
cast = ["voice"]
"""


@pytest.fixture(autouse=True)
def renamed(film_with_cut: Path, credits_: Command) -> Path:
    (film_with_cut / "credit-plan.toml").write_text(PLAN, encoding="utf-8")
    (film_with_cut / "people.csv").write_text(PEOPLE, encoding="utf-8")
    assert credits_("load", film_with_cut / "people.csv").status == 0
    return film_with_cut


def unisolated(text: str) -> str:
    """What stands in no isolate."""
    return re.sub(f"{FSI}[^{FSI}{PDI}]*{PDI}", "", text)


def runs_to_left(text: str) -> bool:
    return bool(re.search("[\u0590-\u08ff]", text))


@pytest.mark.parametrize(
    "words", [["ana"], ["ben"], ["cai"], ["heading=אנימציה"], ["wick"], ["--not-printed"]]
)
def test_why_isolates_every_name(credits_: Command, words: list[str]) -> None:
    said = credits_("why", *words).out
    assert said.count(FSI) == said.count(PDI)
    assert not runs_to_left(unisolated(said))
    assert FSI in said or words == ["--not-printed"]


def test_a_name_whose_letters_run_both_ways_is_one_piece(credits_: Command) -> None:
    for code, name in (("cai", "DJ שלום Moss"), ("ben", "רשא المرجاني 3rd")):
        assert f"{FSI}{name}{PDI}" in credits_("why", code).out


def test_check_isolates_names_and_leaves_commands_to_be_copied(credits_: Command) -> None:
    said = credits_("check", "--names").out
    assert FSI in said
    assert not runs_to_left(unisolated("\n".join(
        line for line in said.splitlines() if "credits " not in line
    )))  # fmt: skip
    commands = re.findall(r"credits [a-z].*", said)
    assert commands
    assert not any(FSI in command for command in commands)


@pytest.mark.parametrize("words", [["why", "ana"], ["check"]])
def test_machines_read_names_alone(credits_: Command, words: list[str]) -> None:
    assert FSI not in credits_(*words, "--json").out


def test_other_commands_print_what_is_typed_again(credits_: Command) -> None:
    credits_("why", "ana")  # which isolates for itself alone
    assert FSI not in credits_("find", "אבי").out


@pytest.mark.parametrize(
    ("text", "isolated"),
    [
        ("Ana Lind: 3 shots", "Ana Lind: 3 shots"),
        ("כהן 12", "<כהן> 12"),
        ("'אבי כהן', 'דוד'", "'<אבי כהן>', '<דוד>'"),
        ("ג'ק בן־יערה (jack)", "<ג'ק בן־יערה> (jack)"),
        ("رشا المرجاني, 3", "<رشا المرجاني>, 3"),
        ("DJ שלום Moss 3", "<DJ שלום Moss> 3"),
        ("Answer it: credits answer x אבי", "Answer it: credits answer x אבי"),
        ("Type `credits why אבי` of אבי.", "Type `credits why אבי` of <אבי>."),
    ],
)
def test_what_is_isolated_in_a_sentence(
    capsys: pytest.CaptureFixture[str], text: str, isolated: str
) -> None:
    printing.manner.begin()
    printing.isolate(["DJ שלום Moss", "Ana Lind"])
    printing.say(text)
    printing.manner.begin()
    said = capsys.readouterr().out.strip()
    assert said.replace(FSI, "<").replace(PDI, ">") == isolated


def test_what_people_typed_of_these_signs_does_not_reach_the_screen(
    capsys: pytest.CaptureFixture[str],
) -> None:
    printing.manner.begin()
    printing.isolate([f"א{PDI}{FSI}ב"])
    printing.say(f"name א{PDI}{FSI}ב 1")
    printing.manner.begin()
    assert capsys.readouterr().out == f"name {FSI}אב{PDI} 1\n"
