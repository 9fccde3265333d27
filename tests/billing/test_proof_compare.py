"""A proof against the credits as they stand: what is told, in which words, and why."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from fractions import Fraction

import pytest

from credits.billing.compare import (
    AsIf,
    ChangeKind,
    CreditChange,
    Since,
    compare,
    moved_among,
    since,
)
from credits.billing.credits import Credits, Held, Line, Section
from credits.billing.plan import Layout
from credits.billing.proofs import credits_from_json, credits_to_json, is_same
from credits.billing.reasons import Reason, ReasonKind
from credits.billing.thresholds import Reached, Threshold, ThresholdUnit
from credits.model.facts import Confirmation, EntryNumber, Proof, ProofMark
from credits.model.ledger import Ledger
from credits.model.log import Change
from credits.model.replay import replay
from tests.computed import credits_of, footage_of
from tests.small_log import small_ledger, small_log

AT = datetime(2026, 3, 9, 12, tzinfo=UTC)
RULE = (Reason(kind=ReasonKind.NAMED_BY_PLAN),)
BELOW, BY_WISH = ReasonKind.BELOW_THRESHOLD, ReasonKind.UNCREDITED
NOTHING_SINCE = Since()
PEOPLE = small_ledger("""
    [people]
    person, same_as
    ana
    ben
    cai
    anna, ana
""")


def line(person: str, role: str | None = None, name: str = "") -> Line:
    return Line(
        person=person,
        name=name or person.capitalize(),
        role=role,
        characters=(),
        confirmed=True,
        because=RULE,
    )


def section(heading: str, *lines: Line, **how: object) -> Section:
    return replace(Section(heading=heading, lines=lines), **how)


def held(person: str, kind: ReasonKind, asked: str = "", heading: str = "") -> Held:
    """Somebody held; ``asked``: for so many seconds on screen, of which 1/2 is reached."""
    because = RULE
    if asked:
        least = Threshold(least=Fraction(asked), unit=ThresholdUnit.SECONDS, measure="screen")
        reached = Reached(threshold=least, figure=Fraction(1, 2))
        because = (Reason(kind=ReasonKind.ASKED, headings=("B",), reached=reached),)
    name = person.capitalize()
    return Held(person=person, name=name, kind=kind, because=because, heading=heading)


def credits_of_sections(*sections: Section, held: tuple[Held, ...] = ()) -> Credits:
    return Credits(plan="a plan", sections=sections, held=held, order_of_appearance=())


def proof_of(credits: Credits, plan: str = "a plan", lines: int = 0) -> Proof:
    mark = ProofMark(
        number=3,
        saved_at=AT,
        saved_by=None,
        note=None,
        plan=plan,
        cut=None,
        last_line=None,
        log_lines=lines,
        changes=0,
        lines=0,
        people=0,
    )
    return Proof(mark, credits_to_json(credits))


def changes(
    before: Credits, now: Credits, found: Since = NOTHING_SINCE, ledger: Ledger = PEOPLE
) -> tuple[CreditChange, ...]:
    return compare(proof_of(before), now, "a plan", ledger, found).changes


def told(before: Credits, now: Credits) -> list[tuple[str, str]]:
    return [(str(change.kind), change.what) for change in changes(before, now)]


# --- who came, went, moved, was respelled


def test_nothing_is_told_of_the_same_credits() -> None:
    same = credits_of_sections(section("Animators", line("ana", "Wick"), line("ben")))
    comparison = compare(proof_of(same), same, "a plan", PEOPLE, NOTHING_SINCE)
    assert (comparison.same, comparison.changes, comparison.rows) == (True, (), ())
    assert not compare(proof_of(same, "another plan"), same, "a plan", PEOPLE, NOTHING_SINCE).same


@pytest.mark.parametrize(
    ("before", "now", "what"),
    [
        (
            credits_of_sections(section("Animators", line("ana"))),
            credits_of_sections(section("Animators", line("ana"), line("ben"))),
            ("came", "Ben is new, printed under 'Animators'."),
        ),
        (
            credits_of_sections(section("Animators", line("ana")), held=(held("ben", BELOW),)),
            credits_of_sections(section("Animators", line("ana"), line("ben"))),
            (
                "came",
                "Ben was held (below the threshold, held for a decision) and is now printed under"
                " 'Animators'.",
            ),
        ),
        (
            credits_of_sections(section("A", line("ana")), section("B", line("ben"))),
            credits_of_sections(section("A", line("ana")), section("B", line("ben"), line("ana"))),
            ("came", "Ana is now also printed under 'B'."),
        ),
        (
            credits_of_sections(section("Animators", line("ana"), line("ben"))),
            credits_of_sections(section("Animators", line("ana"))),
            (
                "went",
                "Ben is no longer printed (was under 'Animators'): the log has no work and the"
                " crew list no engagement of this person any more.",
            ),
        ),
        (
            credits_of_sections(section("Animators", line("ana"), line("ben"))),
            credits_of_sections(
                section("Animators", line("ana")), held=(held("ben", BELOW, "20"),)
            ),
            (
                "went",
                "Ben is no longer printed (was under 'Animators'): held: below the threshold,"
                " held for a decision. 'B' asks for at least 20 seconds on screen: 0.50 reached.",
            ),
        ),
        (
            credits_of_sections(section("A", line("ana"), line("ben")), section("B", line("cai"))),
            credits_of_sections(section("A", line("ana")), section("B", line("cai"), line("ben"))),
            ("moved", "Ben moved from 'A' to 'B'."),
        ),
        (
            credits_of_sections(section("Voice", line("ana", "Wick"))),
            credits_of_sections(section("Voice", line("ana", "Wick, Brine"))),
            ("role", "Ana has another role under 'Voice': 'Wick, Brine' (before: 'Wick')."),
        ),
        (
            credits_of_sections(section("Animators", line("ana"))),
            credits_of_sections(section("Animators", line("ana", name="Ana Quist"))),
            ("respelled", "'Ana' is now spelled 'Ana Quist'."),
        ),
        (
            credits_of_sections(section("A", line("ana"), line("ben"), line("cai"))),
            credits_of_sections(section("A", line("cai"), line("ana"), line("ben"))),
            ("order", "Cai now stands first under 'A'."),
        ),
        (
            credits_of_sections(held=(held("ben", BY_WISH),)),
            credits_of_sections(held=(held("ben", BELOW),)),
            (
                "held",
                "Ben is held for another reason: below the threshold, held for a decision"
                " (before: asked to be uncredited).",
            ),
        ),
        (
            credits_of_sections(),
            credits_of_sections(held=(held("ben", BELOW),)),
            ("held", "Ben is new, and held: below the threshold, held for a decision."),
        ),
        (
            credits_of_sections(section("Thanks", text="To the mice.")),
            credits_of_sections(section("Thanks", text="To the cats.")),
            ("section", "The section 'Thanks' has another text."),
        ),
        (
            credits_of_sections(section("animators", line("ana"))),
            credits_of_sections(section("Animators", line("ana"), layout=Layout.CARD)),
            ("section", "The section 'Animators' was written 'animators'."),
        ),
    ],
)
def test_what_happened_is_told_in_words(
    before: Credits, now: Credits, what: tuple[str, str]
) -> None:
    assert what in told(before, now)
    people = [kind for kind, _ in told(before, now) if kind != "section"]
    assert people == [what[0]] * (what[0] != "section")


def test_changes_stand_in_the_order_of_their_kinds() -> None:
    before = credits_of_sections(section("A", line("ana"), line("ben")))
    now = credits_of_sections(section("A", line("ana", name="Ana Quist"), line("cai")))
    assert [kind for kind, _ in told(before, now)] == ["came", "went", "respelled"]


def test_two_codes_that_became_one_person_are_no_newcomer() -> None:
    before = credits_of_sections(section("A", line("anna"), line("ben")))
    now = credits_of_sections(section("A", line("ana"), line("ben")))
    assert told(before, now) == [("respelled", "'Anna' is now spelled 'Ana'.")]


def test_a_line_that_is_held_of_somebody_who_prints_elsewhere_says_what_is_missing() -> None:
    before = credits_of_sections(section("A", line("ana")), section("B", line("ana")))
    now = replace(
        credits_of_sections(section("A", line("ana"))),
        held_lines=(held("ana", BELOW, "20", "B"),),
    )
    (what,) = [what for kind, what in told(before, now) if kind == "went"]
    assert what == (
        "Ana is no longer printed under 'B', but elsewhere."
        " 'B' asks for at least 20 seconds on screen: 0.50 reached."
    )


@pytest.mark.parametrize(
    ("before", "after", "moved"),
    [
        ("abcd", "abcd", ""),
        ("abcd", "dabc", "d"),
        ("abcd", "bcda", "a"),
        ("abcd", "xaybzcd", ""),
        ("abc", "cba", "cb"),
        ("", "abc", ""),
    ],
)
def test_the_fewest_that_moved(before: str, after: str, moved: str) -> None:
    found = moved_among(list(before), after)
    assert len(found) == len(moved)
    stays = [sign for sign in after if sign in before and sign not in found]
    assert stays == [sign for sign in before if sign in stays]
    assert "".join(found) == moved or before == "abc"


# --- why

FILM = """
    [people]
    person, name_confirmed_on
    ana
    ben
    [characters]
    character
    wick
    [entries]
    craft, person, character
    voice, ana, wick
    {more}
"""


def test_new_entries_of_the_person_are_the_cause() -> None:
    before = credits_of(then := small_ledger(FILM.format(more="")), *footage_of(then))
    log = small_log(FILM.format(more="sculpt, ben, wick\n paint, ben, wick"))
    ledger = replay(log)
    now = credits_of(ledger, *footage_of(ledger))
    found = since(log.lines, ledger, 1, (), (AsIf("new entries", before, entries=True),))
    (change,) = [c for c in changes(before, now, found, ledger) if c.kind is ChangeKind.CAME]
    assert change.why == ("new entries A-2 and A-3",)
    assert change.entries == (EntryNumber("A", 2), EntryNumber("A", 3))
    assert change.words.endswith("Why: new entries A-2 and A-3.")


def test_a_void_is_told_of_whose_entry_it_was() -> None:
    whole = FILM.format(more="") + "[lines]\n verb, corrects\n void, A-1"
    before = credits_of(then := small_ledger(FILM.format(more="")), *footage_of(then))
    log = small_log(whole)
    ledger = replay(log)
    now = credits_of(ledger, *footage_of(ledger))
    found = since(log.lines, ledger, 1, (), (AsIf("new entries", before, entries=True),))
    went = changes(before, now, found, ledger)[0]
    assert (went.kind, went.person, went.why) == (ChangeKind.WENT, "ana", ("A-1 voided by A-2",))


def test_only_what_makes_a_difference_is_a_cause() -> None:
    before = credits_of_sections(section("A", line("ana")), section("B", line("ben")))
    now = credits_of_sections(section("B", line("ben"), line("ana")))
    found = replace(
        NOTHING_SINCE, as_if=(AsIf("the cut changed", now), AsIf("the plan changed", before))
    )
    assert {c.why for c in changes(before, now, found)} == {("the plan changed",)}


def test_a_plan_that_can_no_longer_be_read_is_named_wherever_it_may_be_the_cause() -> None:
    before = credits_of_sections(section("A", line("ana")))
    now = credits_of_sections(section("B", line("ana")))
    found = replace(NOTHING_SINCE, as_if=(AsIf("the plan changed", None),))
    assert {c.why for c in changes(before, now, found)} == {("the plan changed",)}


def test_an_engagement_a_wish_and_a_spelling_are_causes_where_they_can_be() -> None:
    rows = (
        Change(
            table="engagements",
            key="ana",
            verb="insert",
            columns={"job_title": (None, "Lead")},
            changed_at=AT,
        ),
        Change(
            table="people",
            key="ana",
            verb="update",
            columns={"credit_name": ("Ana", "Ana Quist")},
            changed_at=AT,
        ),
        Change(
            table="people",
            key="ben",
            verb="update",
            columns={"credit_wish": ("credited", "uncredited")},
            changed_at=AT,
        ),
    )
    log = replace(
        small_log("[people]\n person, credit_name\n ana, Ana Quist\n ben, Ben"),
        confirmations=(
            Confirmation(
                person="ana",
                name="Ana Quist",
                confirmed_on=date(2026, 3, 9),
                is_right=True,
                confirmed_by=None,
                written_at=AT,
            ),
        ),
    )
    ledger = replay(log)
    before = credits_of_sections(section("A", line("ana"), line("ben")))
    now = credits_of_sections(
        section("A", line("ana", name="Ana Quist")),
        section("Leads", line("ana", name="Ana Quist")),
        held=(held("ben", BY_WISH),),
    )
    found = since(log.lines, ledger, 0, rows)
    whys = {change.kind: change.why for change in changes(before, now, found, ledger)}
    assert whys[ChangeKind.CAME] == ("a new engagement as Lead",)
    assert whys[ChangeKind.WENT] == ("the credit wish is now uncredited",)
    assert whys[ChangeKind.RESPELLED] == (
        "the credit name was 'Ana' and is 'Ana Quist'",
        "confirmed on 2026-03-09",
    )


def test_where_nothing_alone_is_the_cause_what_changed_is_named() -> None:
    before = credits_of_sections(section("A", line("ana")))
    now = credits_of_sections(section("A", line("ana", "Wick")))
    (change,) = changes(before, now, replace(NOTHING_SINCE, other_tables=("characters", "crafts")))
    assert change.why == ("the characters and crafts changed",)
    (change,) = changes(before, now)
    assert change.why == ("credits are compiled in another way than when the proof was made",)


# --- the frozen text


def test_the_frozen_text_keeps_everything_that_is_printed_and_held() -> None:
    because = (
        Reason(kind=ReasonKind.CONTRACT, headings=("With",), engagements=1, billing_number=0),
        Reason(
            kind=ReasonKind.CRAFT,
            names=("Voice",),
            entries=(EntryNumber("A", 7),),
            days=(date(2026, 3, 2), date(2026, 3, 4)),
        ),
    )
    odd = Line(
        person="ana",
        name='=cmd() "עדן" <b>',
        role="Wick\n",
        characters=("wick",),
        confirmed=False,
        because=because,
    )
    credits = Credits(
        plan="credit plan",
        sections=(
            Section(heading="Voice", lines=(odd,), layout=Layout.ROLE_AND_NAME, columns=1),
            Section(heading="", lines=(), text="To *all*"),
        ),
        held=(held("ben", BY_WISH),),
        order_of_appearance=("wick",),
        held_lines=(held("ana", BELOW, "20", "B"),),
    )
    assert credits_from_json(credits_to_json(credits)) == credits
    assert is_same(proof_of(credits), credits, "a plan", None)
    assert not is_same(proof_of(credits), credits, "a plan", 2)
