"""The list of checks, what holds for all of them, and what they cost."""

from __future__ import annotations

import gc
import random
import time
from dataclasses import fields
from datetime import date, timedelta

import pytest

from credits.billing.credits import Credits
from credits.checks.checks import CHECKS
from credits.checks.rule import Check, Known, Severity, find_checks
from credits.figures.snapshot import Snapshot
from credits.footage.claims import claim_runs
from credits.footage.cut import kept_frames, order_of_appearance, use_of_cut
from credits.model.facts import EntryNumber, Person, Puppet, Replacement, Shot, Stage, Work
from credits.model.log import LogLine, Verb
from credits.units.frames import Frames
from tests.small_log import FIRST_LOGGED_AT, WORKED_EXAMPLE, small_ledger

# --- the list


def usual_severity(rule: type[Check]) -> Severity:
    return next(field.default for field in fields(rule) if field.name == "severity")


def test_the_list_is_the_table_of_the_rules() -> None:
    wrong = {
        *("part-on-two-puppets", "puppet-after-retirement", "cut-shot-unknown", "left-out"),
        "guarantee-missing",
    }
    assert [rule.kind for rule in CHECKS] == [
        "puppet-in-two-places",
        "person-in-two-places",
        "part-on-two-puppets",
        "part-in-two-places",
        "puppet-after-retirement",
        "frames-beyond-shot",
        "frames-unclaimed",
        "shot-unfinished",
        "cut-shot-unknown",
        "cut-take-not-accepted",
        "puppet-unknown",
        "nobody-voices",
        "outside-engagement",
        "no-engagement",
        "guarantee-missing",
        "guarantee-in-other-words",
        "guarantee-against-wish",
        "guaranteed-twice",
        "billing-number-twice",
        "headings-alike",
        "names-alike",
        "name-unconfirmed",
        "answer-in-the-future",
        "sort-name-missing",
        "name-spaced",
        "line-unconfirmed",
        "line-spaced",
        "line-alike",
        "day-too-long",
        "longer-than-a-day",
        "day-in-the-future",
        "footage-without-shot",
        "take-unknown",
        "take-missing",
        "replacement-gap",
        "two-faces",
        "omitted-shot-worked",
        "amended-twice",
        "left-out",
    ]
    assert {rule.kind for rule in CHECKS if usual_severity(rule) is Severity.WRONG} == wrong
    assert len({rule.description for rule in CHECKS}) == len(CHECKS)


def test_checks_come_in_the_order_of_the_list_then_of_their_subjects() -> None:
    checks = Snapshot(small_ledger(WORKED_EXAMPLE)).checks
    assert [(check.kind, check.subjects[0][1]) for check in checks] == [
        ("nobody-voices", "brine"),
        ("no-engagement", "ana"),
        ("no-engagement", "ben"),
        ("no-engagement", "cai"),
        ("name-unconfirmed", "ana"),
        ("name-unconfirmed", "ben"),
        ("name-unconfirmed", "cai"),
    ]


def test_an_empty_production_has_no_checks() -> None:
    assert Snapshot(small_ledger("")).checks == ()


@pytest.mark.parametrize(
    "name",
    [
        "נועם",
        "山田",
        "🦉",
        "L" * 200,
        'O\'Brien "Bo" Ode',
        "<script>x</script>",
        "=cmd()",
        "A\nB {0}",
    ],
)
def test_any_name_makes_one_line_with_the_code_behind_it(name: str) -> None:
    ledger = small_ledger(
        "[people]\nperson\nana\n[entries]\ncraft, person, minutes, finished_on\n"
        "paint, odd one, 961, 2026-03-02",
        people=(Person(code="odd one", credit_name=name),),
    )
    checks = [check for check in Snapshot(ledger).checks if check.kind != "sort-name-missing"]
    assert [check.kind for check in checks] == [
        "no-engagement",
        "name-unconfirmed",
        "day-too-long",
    ]
    for check in checks:
        assert "(odd one) " in check.message
        assert len(check.message.splitlines()) == 1
        assert len(check.message) < 300


def test_a_code_that_needs_quotes_on_the_command_line_has_them() -> None:
    ledger = small_ledger(
        "[people]\nperson, credit_name\nana lind, Ana Lind\nana, Ana Lindt\n"
        "[engagements]\nperson\nana lind\nana"
    )
    (check,) = (check for check in Snapshot(ledger).checks if check.kind == "names-alike")
    assert check.hint.endswith("credits same ana 'ana lind'")


# --- cost


def _large(entries: int, shots: int, people: int) -> dict[str, tuple[object, ...]]:
    chance = random.Random(11)
    letters = "abcdefghijklmnopqrstuvwxyz"
    names = ["".join(chance.choices(letters, k=9)).capitalize() for _ in range(people)]
    lines = []
    for place in range(entries):
        first = chance.randint(1, 200)
        work = Work(
            craft="animation",
            person=f"p{chance.randrange(people)}",
            character=f"c{chance.randrange(20)}",
            shot=f"s{chance.randrange(shots)}",
            frames=Frames.span(first, first + 20),
            finished_on=date(2026, 1, 1) + timedelta(chance.randrange(700)),
            minutes=300,
            stage=f"{chance.randrange(20)}",
        )
        number = EntryNumber("A", place + 1)
        lines.append(LogLine(number=number, verb=Verb.RECORD, logged_at=FIRST_LOGGED_AT, work=work))
    return {
        "people": tuple(
            Person(code=f"p{at}", credit_name=f"{name} Ode") for at, name in enumerate(names)
        ),
        "puppets": tuple(
            Puppet(code=f"c{at}-{copy}", character=f"c{at}") for at in range(20) for copy in (1, 2)
        ),
        "shots": tuple(Shot(code=f"s{at}", sequence="010", length=200) for at in range(shots)),
        "stages": tuple(Stage(str(at)) for at in range(20)),
        "replacements": tuple(
            Replacement(
                shot=f"s{at}",
                take=None,
                character="c1",
                part="smile",
                frames=Frames.of((1, 9), (12, 80), (90, 120)),
            )
            for at in range(shots)
        ),
        "lines": tuple(lines),
    }


def _seconds(entries: int, shots: int, people: int) -> float:
    cut = "shot, first, last\n" + "\n".join(f"s{at}, 1, 200" for at in range(shots))
    characters = "\n".join(f"c{at}" for at in range(20))
    text = (
        f"[sequences]\nsequence\n010\n[parts]\npart\nsmile\n[characters]\ncharacter\n{characters}"
    )
    ledger = small_ledger(text, cut, **_large(entries, shots, people))
    runs = claim_runs(ledger)
    use = use_of_cut(ledger, runs)
    appearance = tuple(character for character, _ in order_of_appearance(use, kept_frames(runs)))
    credits = Credits(plan="a plan", order_of_appearance=appearance)
    known = Known(ledger=ledger, runs=runs, use=use, credits=credits)
    gc.collect()
    gc.disable()  # what a collection costs depends on everything that was made before
    try:
        began = time.process_time()
        checks = find_checks(known, CHECKS)
        seconds = time.process_time() - began
    finally:
        gc.enable()
    assert len({check.kind for check in checks}) > 8
    return seconds


def test_cost_follows_the_entries_and_not_their_pairs() -> None:
    small = min(_seconds(1_000, 50, 20) for _ in range(3))
    large = _seconds(16_000, 800, 320)
    # Sixteen times the log; pairs would be 256 times the work.
    assert large < 64 * small
