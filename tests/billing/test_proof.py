"""Proofs as text: data with the number of their format; the first format is still read."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from credits.billing.compared.compare import Compiled, compare
from credits.billing.credits import Credits
from credits.billing.proofs import FORMAT, credits_from_json, credits_to_json, froze
from credits.billing.reasons import ReasonKind, in_words
from credits.errors import LogUnusable
from credits.formats.plan.read import read_plan_text
from credits.model.facts import Proof, ProofMark
from credits.model.ledger import Ledger
from tests.computed import credits_of, footage_of
from tests.small_log import small_ledger

# Ana and Ben animate and stand below different thresholds; Cai's heading is guaranteed; Dov asks to
# be uncredited, and no section takes Eve.
PRODUCTION = """
    [people]
    person, credit_wish
    ana,
    ben,
    cai,
    dov, uncredited
    eve,

    [engagements]
    person, department, job_title, guaranteed_heading, billing_number
    cai, Animation, Director of animation, Animation directed by, 2
    dov, Animation, Animator
    eve, Production, Runner

    [characters]
    character
    wick

    [sequences]
    sequence
    010

    [shots]
    shot, sequence, frames
    010-020, 010, 48

    [entries]
    craft, person, character, shot, frames, finished_on
    animation, ana, wick, 010-020, 1-30, 2026-03-02
    animation, ben, wick, 010-020, 31-48, 2026-03-03
    voice, ben, wick
    sculpt, ana, wick
"""
CUT = "shot, first, last\n010-020, 1, 48"
PLAN = """
    [[section]]
    heading = "Lead animators"
    crafts = ["animation"]
    at_least = "2 seconds on screen"
    below = "Animators"

    [[section]]
    heading = "Animators"
    at_least = "1 second on screen"

    [[section]]
    heading = "Voices"
    crafts = ["voice"]
"""
# The credits of that production by that plan, as a release froze them that gave no format.
FIRST_FORMAT = (Path(__file__).parent / "proof_of_the_first_format.json").read_text("utf-8")


def production() -> tuple[Ledger, Credits]:
    ledger = small_ledger(PRODUCTION, CUT)
    return ledger, credits_of(ledger, *footage_of(ledger), read_plan_text(PLAN, ledger))


def proof(content: str) -> Proof:
    at = datetime(2026, 3, 9, tzinfo=UTC)
    return Proof(
        ProofMark(
            number=1,
            saved_at=at,
            saved_by=None,
            note=None,
            plan=PLAN,
            cut=1,
            last_line=None,
            log_lines=4,
            changes=0,
            lines=0,
            people=0,
        ),
        content,
    )


def test_a_proof_is_read_as_it_was_frozen() -> None:
    _, credits = production()
    content = credits_to_json(credits)
    assert json.loads(content)["format"] == FORMAT
    assert credits_from_json(content) == replace(credits, considered=())
    assert froze(proof(content), credits)


def test_the_format_is_what_it_was() -> None:
    first, *_ = json.loads(credits_to_json(production()[1]))["held_lines"]
    assert first == {
        "person": "ben",
        "name": "Ben",
        "kind": "below threshold",
        "because": [
            {
                "kind": "craft",
                "names": ["Animation"],
                "engagements": 0,
                "entries": ["A-2"],
                "days": ["2026-03-03", "2026-03-03"],
            },
            {
                "kind": "asked",
                "headings": ["Animators"],
                "engagements": 0,
                "reached": {
                    "threshold": {
                        "least": "1",
                        "unit": "seconds",
                        "measure": "screen",
                        "by_character": False,
                    },
                    "figure": "3/4",
                    "without_cut": False,
                },
            },
        ],
        "heading": "Animators",
    }


def test_a_proof_of_the_first_format_has_the_same_sections_lines_and_held_people() -> None:
    _, credits = production()
    then = credits_from_json(FIRST_FORMAT)
    assert (then.plan, then.order_of_appearance) == (credits.plan, credits.order_of_appearance)
    for own, now in zip(then.sections, credits.sections, strict=True):
        assert replace(own, lines=()) == replace(now, lines=())
        for line, other in zip(own.lines, now.lines, strict=True):
            assert replace(line, because=()) == replace(other, because=())
            assert {reason.kind for reason in line.because} == {ReasonKind.EARLIER_TEXT}
            assert in_words(line.because) == in_words(other.because)
    both = ((then.held, credits.held), (then.held_lines, credits.held_lines))
    for before, after in both:
        assert before
        for held, other in zip(before, after, strict=True):
            assert replace(held, because=()) == replace(other, because=())
            assert in_words(held.because) == in_words(other.because)


def test_nothing_has_changed_since_a_proof_of_the_first_format_of_the_same_credits() -> None:
    _, credits = production()
    comparison = compare(proof(FIRST_FORMAT), Compiled(credits=credits, plan=PLAN, cut=1))
    assert (comparison.same, comparison.changes) == (True, ())


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"name":"Ana"', '"name":"Anna"'),
        ('["entries",1]', '["entries",2]'),
        ('"asked to be uncredited"', '"no section of the plan takes this person"'),
    ],
)
def test_what_is_data_in_the_first_format_is_compared(old: str, new: str) -> None:
    assert old in FIRST_FORMAT
    assert not froze(proof(FIRST_FORMAT.replace(old, new)), production()[1])


def test_reasons_worded_otherwise_are_no_change() -> None:
    words = "The log has work of this craft"
    assert words in FIRST_FORMAT
    assert froze(proof(FIRST_FORMAT.replace(words, "In the log is work of")), production()[1])


def test_the_words_of_an_earlier_release_are_read_by_the_office_alone() -> None:
    lines = [line for s in credits_from_json(FIRST_FORMAT).sections for line in s.lines]
    for line in lines:
        told = in_words(line.because, office=False)
        assert (told.rule, told.threshold) == ("The production office can say why.", "")
        assert told.figures == ()


def test_a_proof_of_a_later_format_is_refused_in_words() -> None:
    with pytest.raises(LogUnusable) as refused:
        credits_from_json('{"format":4}')
    assert str(refused.value) == (
        "the proof is of format 4, and this release reads up to format 3."
        " Use the release that made the proof, or a later one."
    )
