"""A proof against the credits as they stand: what is told, in which words, and why."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import UTC, date, datetime
from fractions import Fraction

import pytest

from credits.billing.compared.changes import CreditChange, changes_told
from credits.billing.compared.compare import Comparison, Compiled, compare
from credits.billing.compared.edits import (
    HOLDING,
    NEVER_PRINT,
    compared_fields,
    edits_between,
    moved_among,
)
from credits.billing.credits import Credits, Held, Line, Section
from credits.billing.plan import Layout, NamedKind, Picture, Size
from credits.billing.proofs import credits_from_json, credits_to_json, is_same
from credits.billing.reasons import Reason, ReasonKind
from credits.billing.thresholds import Reached, Threshold, ThresholdUnit
from credits.model.facts import EntryNumber, Proof, ProofMark

AT = datetime(2026, 3, 9, 12, tzinfo=UTC)
RULE = (Reason(kind=ReasonKind.NAMED_BY_PLAN),)
BELOW, BY_WISH = ReasonKind.BELOW_THRESHOLD, ReasonKind.UNCREDITED
ONE_PERSON = {"ana": "ana", "anna": "ana", "ben": "ben", "cai": "cai"}


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


def proof_of(credits: Credits, plan: str = "a plan") -> Proof:
    mark = ProofMark(
        number=3,
        saved_at=AT,
        saved_by=None,
        note=None,
        plan=plan,
        cut=None,
        last_line=None,
        log_lines=0,
        changes=0,
        lines=0,
        people=0,
    )
    return Proof(mark, credits_to_json(credits))


def changes(before: Credits, now: Credits) -> tuple[CreditChange, ...]:
    return changes_told(edits_between(before, now, ONE_PERSON), before, now, ONE_PERSON)


def told(before: Credits, now: Credits) -> list[tuple[str, str]]:
    return [(str(change.kind), change.what) for change in changes(before, now)]


def against(proof: Proof, credits: Credits) -> Comparison:
    """A proof against credits of the plan "a plan", without a cut."""
    return compare(proof, Compiled(credits=credits, plan="a plan", cut=None), ONE_PERSON)


# --- who came, went, moved, was respelled


def test_nothing_is_told_of_the_same_credits() -> None:
    same = credits_of_sections(section("Animators", line("ana", "Wick"), line("ben")))
    comparison = against(proof_of(same), same)
    assert (comparison.same, comparison.changes, comparison.rows) == (True, (), ())
    assert not against(proof_of(same, "another plan"), same).same


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
            ("respelled", "Under 'Animators': 'Ana' is now 'Ana Quist'."),
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
            (
                "section",
                "In the text of the section 'Thanks' 'To the mice.' is now 'To the cats.'.",
            ),
        ),
        (
            credits_of_sections(section("animators", line("ana"))),
            credits_of_sections(section("Animators", line("ana"), layout=Layout.CARD)),
            ("section", "The heading 'animators' is now 'Animators'."),
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
    assert told(before, now) == [
        ("respelled", "Under 'A': 'Anna' is now 'Ana'."),
        ("code", "Under 'A': Ana is now listed by the code 'ana' (before: 'anna')."),
    ]


def test_a_merge_that_changes_three_printed_names_is_told_under_each_heading() -> None:
    """Anna and Ana become one person: a name changes under three headings, and one line is gone."""
    before = credits_of_sections(
        section("A", line("anna"), line("ana")),
        section("B", line("anna")),
        section("C", line("anna")),
    )
    now = credits_of_sections(
        section("A", line("ana")), section("B", line("ana")), section("C", line("ana"))
    )
    assert told(before, now) == [
        ("went", "Ana is no longer printed under 'A' (as 'Anna'), but elsewhere."),
        ("respelled", "Under 'B' and 'C': 'Anna' is now 'Ana'."),
        ("code", "Under 'B' and 'C': Ana is now listed by the code 'ana' (before: 'anna')."),
    ]


def test_a_renamed_heading_is_one_change() -> None:
    people = (line("ana", "Wick"), line("ben"), line("cai"))
    before = credits_of_sections(section("Animators", *people), section("Voices", line("ana")))
    now = credits_of_sections(section("Animation", *people), section("Voices", line("ana")))
    assert told(before, now) == [
        ("section", "The heading 'Animators' is now 'Animation'."),
    ]


def test_headings_that_are_given_to_others_are_no_moves_of_everybody() -> None:
    leads, others = (line("ana"), line("ben")), (line("cai"), line("dov"), line("eve"))
    before = credits_of_sections(section("Leads", *leads), section("Animators", *others))
    now = credits_of_sections(section("Animators", *leads), section("Assistants", *others))
    assert told(before, now) == [
        ("section", "The heading 'Leads' is now 'Animators'."),
        ("section", "The heading 'Animators' is now 'Assistants'."),
    ]


def test_a_person_who_moves_is_told_once() -> None:
    before = credits_of_sections(
        section("A", line("ana"), line("ben")), section("B", line("cai"), line("dov"))
    )
    now = credits_of_sections(
        section("A", line("ben")), section("B", line("ana", "Wick"), line("cai"), line("dov"))
    )
    assert told(before, now) == [
        ("moved", "Ana moved from 'A' to 'B'."),
        ("role", "Ana has another role under 'B': 'Wick' (before: none)."),
    ]


def test_lines_that_are_of_nobody_in_the_log_are_told_by_their_names() -> None:
    def song(name: str) -> Line:
        return replace(line("", name=name), named=NamedKind.SONG)

    before = credits_of_sections(section("Songs", song("The Snail"), song("Rain all day")))
    now = credits_of_sections(section("Songs", song("Rain, all day"), song("Old socks")))
    assert told(before, now) == [
        ("came", "'Old socks' is new, printed under 'Songs' (kind song)."),
        ("went", "'The Snail' is no longer printed under 'Songs'."),
        ("respelled", "Under 'Songs': 'Rain all day' is now 'Rain, all day'."),
    ]


@pytest.mark.parametrize(
    ("field", "old", "new", "what"),
    [
        ("name", "Ana", "Ana\nQuist", "Under 'A': 'Ana' is now 'Ana (new line) Quist'."),
        (
            "name",
            "Ana Quist",
            "Ana\u00a0Quist",
            "Under 'A': 'Ana Quist' is now 'Ana (no-break space) Quist'.",
        ),
        (
            "name",
            "Zo\u00eb",
            "Zoe\u0308",
            "Under 'A': 'Zo\u00eb' is now 'Zoe\u0308' (it looks the same: its signs differ).",
        ),
        ("confirmed", True, False, "Under 'A': the spelling 'Ana' is not confirmed any more."),
        ("confirmed", False, True, "Under 'A': the spelling 'Ana' is now confirmed."),
        (
            "note",
            "",
            "as himself",
            "Under 'A': the note beside Ana is 'as himself' (before: none).",
        ),
        (
            "role_also",
            "Stimme",
            "Rolle",
            "Under 'A': the role of Ana in the second language is 'Rolle' (before: 'Stimme').",
        ),
        (
            "joined",
            "",
            "&",
            "Under 'A': the word that joins Ana to the line before is '&' (before: none).",
        ),
        (
            "named",
            NamedKind.PERSON,
            NamedKind.ANIMAL,
            "Under 'A': the kind of Ana is animal (before: person).",
        ),
    ],
)
def test_each_field_of_a_line_is_told_old_and_new(
    field: str, old: object, new: object, what: str
) -> None:
    one, other = (replace(line("ana"), **{field: value}) for value in (old, new))
    before, now = credits_of_sections(section("A", one)), credits_of_sections(section("A", other))
    assert [said for _, said in told(before, now)] == [what]


@pytest.mark.parametrize(
    ("how", "what"),
    [
        ({"columns": 3}, "The section 'A' is now set with columns 3 (before: 1)."),
        ({"level": 2}, "The section 'A' is now set with level 2 (before: 1)."),
        ({"space": 4}, "The section 'A' is now set with space before it 4 (before: 1)."),
        ({"size": Size.LARGE}, "The section 'A' is now set with size large (before: normal)."),
        (
            {"heading_also": "Alle"},
            "The section 'A' is now set with heading in the second language 'Alle' (before: none).",
        ),
        (
            {"pictures": (Picture(file="a.png", shows="The mark", lines=2),)},
            "The section 'A' is now set with pictures 'a.png' (The mark, 2 lines high)"
            " (before: none).",
        ),
        (
            {"layout": Layout.CARD, "columns": 2},
            "The section 'A' is now set with layout card (before: names) and columns 2"
            " (before: 1).",
        ),
    ],
)
def test_how_a_section_is_set_is_told_once(how: dict[str, object], what: str) -> None:
    before = credits_of_sections(section("A", line("ana")))
    now = credits_of_sections(section("A", line("ana"), **how))
    assert told(before, now) == [("section", what)]


def test_every_field_that_prints_is_compared() -> None:
    """A field that is added later is compared by itself, unless it is listed as never printed."""
    assert {kind: set(compared_fields(kind)) for kind in (Credits, Section, Line, Held)} == {
        kind: {field.name for field in fields(kind)} - NEVER_PRINT - HOLDING
        for kind in (Credits, Section, Line, Held)
    }
    assert {"characters", "because", "considered"} == NEVER_PRINT
    other: dict[type, object] = {str: "zq", int: 7, bool: False}
    given: dict[str, object] = {
        "layout": Layout.CARD,
        "size": Size.LARGE,
        "named": NamedKind.SONG,
        "pictures": (Picture(file="a.png", shows="The mark", lines=2),),
    }
    one, whole = line("ana"), section("A", line("ana"))
    for field in fields(Line):
        if field.name not in NEVER_PRINT:
            value = given.get(field.name, other.get(type(getattr(one, field.name)), "zq"))
            changed = replace(one, **{field.name: value})
            assert told(credits_of_sections(whole), credits_of_sections(section("A", changed)))
    for field in fields(Section):
        if field.name != "lines":
            value = given.get(field.name, other.get(type(getattr(whole, field.name)), "zq"))
            changed_section = replace(whole, **{field.name: value})
            assert told(credits_of_sections(whole), credits_of_sections(changed_section))


def test_of_a_text_the_lines_that_differ_are_told_whole() -> None:
    long = "x" * 300
    before = credits_of_sections(section("", text=f"To the mice.\n{long}\nThe end."))
    now = credits_of_sections(section("", text=f"To the cats.\n{long}y\nThe end.\nOr not."))
    (what,) = (said for _, said in told(before, now))
    assert what == (
        "In the text of the section without a heading"
        f" 'To the mice. (new line) {long}' is now 'To the cats. (new line) {long}y';"
        " 'Or not.' is new."
    )


def test_of_sections_that_are_called_alike_it_is_said_which() -> None:
    before = credits_of_sections(
        section("Thanks", text="To the mice."), section("Thanks", text="Us")
    )
    now = credits_of_sections(section("Thanks", text="To the mice."), section("Thanks", text="All"))
    assert told(before, now) == [
        ("section", "In the text of the section 'Thanks' (2 of 2) 'Us' is now 'All'.")
    ]


def test_sections_come_go_and_move() -> None:
    a, b, text = section("A", line("ana")), section("B", line("ben")), section("T", text="To all")
    assert told(credits_of_sections(a, b, text), credits_of_sections(b, a)) == [
        ("section", "The section 'B' now stands first."),
        ("section", "The section 'T' is gone: 'To all'."),
    ]
    assert told(credits_of_sections(a), credits_of_sections(a, text)) == [
        ("section", "The section 'T' is new: text 'To all'.")
    ]


def test_title_plan_and_order_of_appearance_are_told() -> None:
    before = Credits(plan="built-in plan", title="The Snail", order_of_appearance=("wick", "brine"))
    now = Credits(
        plan="credit plan", title="The Slug", order_of_appearance=("brine", "wick", "tansy")
    )
    edits = edits_between(before, now)
    assert [c.what for c in changes_told(edits, before, now, {}, {"tansy": "Tansy"})] == [
        "The title is 'The Slug' (before: 'The Snail').",
        "In the order of appearance Tansy is new; brine now stands first.",
        "The plan is 'credit plan' (before: 'built-in plan').",
    ]


def test_a_title_that_was_not_frozen_is_not_compared() -> None:
    now = Credits(plan="a plan", title="The Slug")
    assert told(Credits(plan="a plan"), now) == []
    assert against(proof_of(Credits(plan="a plan")), now).same


def test_who_is_held_and_comes_is_told_once() -> None:
    before = credits_of_sections(section("A", line("ana")), held=(held("ben", BELOW),))
    now = credits_of_sections(section("A", line("ana"), line("ben", "Wick")))
    (change,) = changes(before, now)
    assert (change.kind, len(change.edits)) == ("came", 2)
    assert change.what.endswith("is now printed under 'A' as 'Wick'.")


def test_two_proofs_are_compared_as_a_proof_and_the_credits_are() -> None:
    before = credits_of_sections(section("A", line("ana")))
    now = credits_of_sections(section("A", line("ana"), line("ben")))
    found = compare(proof_of(before), Compiled.frozen(proof_of(now)))
    assert found.later is not None
    assert [change.what for change in found.changes] == ["Ben is new, printed under 'A'."]
    back = compare(proof_of(now), Compiled.frozen(proof_of(before)))
    assert [change.kind for change in back.changes] == ["went"]


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
