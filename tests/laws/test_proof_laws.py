"""Laws of proofs: a proof never changes, nothing that differs is left untold, every printed name
is confirmed or asked about."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from credits.app.end_credits.credits import save_proof
from credits.billing.compared.changes import CreditChange
from credits.billing.compared.compare import Comparison, Compiled, compare
from credits.billing.compared.edits import moved_among
from credits.billing.credits import Credits
from credits.billing.proofs import credits_from_json, credits_to_json
from credits.checks.names import NameUnconfirmed
from credits.checks.rule import Known
from credits.model.facts import Confirmation, NewConfirmation, Person, Proof, ProofMark, Work
from credits.model.ledger import Ledger
from credits.model.log import Batch, NewLine, Verb, WrittenLog
from credits.model.replay import replay
from credits.store.log import open_log
from credits.store.production import create_production
from tests.computed import credits_of, footage_of
from tests.drawn import drawn
from tests.laws.strategies import productions

BIG = settings(max_examples=drawn(60), deadline=None)
AT = datetime(2026, 3, 9, tzinfo=UTC)


def compiled(ledger: Ledger) -> Credits:
    return credits_of(ledger, *footage_of(ledger))


def proof_of(credits: Credits, log: WrittenLog) -> Proof:
    cut = log.cut.version if log.cut else None
    mark = ProofMark(
        number=1,
        saved_at=AT,
        saved_by=None,
        note=None,
        plan="a plan",
        cut=cut,
        last_line=None,
        log_lines=len(log.lines),
        changes=0,
        lines=0,
        people=0,
    )
    return Proof(mark, credits_to_json(credits))


@BIG
@given(log=productions())
def test_what_was_frozen_is_read_as_it_was(log: WrittenLog) -> None:
    credits = compiled(replay(log))
    assert credits_from_json(credits_to_json(credits)) == replace(credits, considered=())
    assert credits_to_json(credits_from_json(credits_to_json(credits))) == credits_to_json(credits)


def against(proof: Proof, credits: Credits, ledger: Ledger) -> Comparison:
    cut = ledger.cut.version if ledger.cut is not None else None
    now = Compiled(credits=credits, plan="a plan", cut=cut)
    return compare(proof, now, ledger.one_person)


@BIG
@given(log=productions())
def test_nothing_is_told_against_a_proof_of_the_same_credits(log: WrittenLog) -> None:
    ledger = replay(log)
    credits = compiled(ledger)
    comparison = against(proof_of(credits, log), credits, ledger)
    assert (comparison.same, comparison.changes) == (True, ())


def standing(
    credits: Credits, person: str, renamed: Mapping[str, str] | None = None
) -> tuple[object, ...]:
    """Everything that is read of a person: names, headings (as they are ``renamed``) and roles, or
    the reason."""
    now = renamed or {}
    own = credits.of(person).lines
    lines = [(line.name, now.get(s.heading, s.heading), line.role) for s, line in own]
    return sorted(lines, key=repr), [h.reason for h in credits.held if h.person == person]


def headings_renamed(changes: Iterable[CreditChange]) -> dict[str, str]:
    """The headings that are told as renamed: one change, not one of everybody under them."""
    edits = [edit for change in changes if not change.person for edit in change.edits]
    return {edit.old: edit.new for edit in edits if edit.field == "heading"}


@BIG
@given(log=productions(), other=productions(), data=st.data())
def test_whatever_is_read_otherwise_of_anybody_is_told(
    log: WrittenLog, other: WrittenLog, data: st.DataObject
) -> None:
    kept = data.draw(st.integers(0, len(log.lines)))
    before, now = replace(log, lines=log.lines[:kept]), log
    if data.draw(st.booleans()):
        now = replace(now, people=other.people, engagements=other.engagements, lines=())
    then, ledger = compiled(replay(before)), replay(now)
    credits = compiled(ledger)
    changes = against(proof_of(then, before), credits, ledger).changes
    told = {change.person for change in changes}
    same = {p.code for p in before.people if ledger.one_person.get(p.code, p.code) == p.code}
    apart = {p.code for p in before.people} == same and before.people == now.people
    for person in {line.person for c in (then, credits) for s in c.sections for line in s.lines}:
        if apart and standing(then, person) != standing(credits, person):
            renamed = headings_renamed(changes)
            assert person in told or standing(then, person, renamed) == standing(credits, person)
        elif apart:
            kinds = {str(change.kind) for change in changes if change.person == person}
            assert kinds <= {"order"}
    assert all(change.what.endswith(".") for change in changes)


@given(before=st.permutations(range(7)), after=st.permutations(range(9)))
def test_what_did_not_move_is_in_its_order_and_as_much_as_can_be(
    before: list[int], after: list[int]
) -> None:
    moved = moved_among(before, after)
    both = [item for item in after if item in before]
    stays = [item for item in both if item not in moved]
    assert stays == [item for item in before if item in stays]
    assert moved == [item for item in both if item in moved]
    # By trial: no larger set of them stands in the same order in both.
    longest = 0
    for chosen in range(1 << len(both)):
        some = [item for place, item in enumerate(both) if chosen >> place & 1]
        if len(some) > longest and some == [item for item in before if item in some]:
            longest = len(some)
    assert len(stays) == longest


@BIG
@given(log=productions(), data=st.data())
def test_every_printed_name_is_confirmed_as_it_is_spelled_or_asked_about(
    log: WrittenLog, data: st.DataObject
) -> None:
    words = st.builds(
        Confirmation,
        person=st.sampled_from([person.code for person in log.people]),
        name=st.sampled_from([person.credit_name for person in log.people]),
        confirmed_on=st.dates(date(2026, 3, 1), date(2026, 3, 3)),
        is_right=st.booleans(),
        confirmed_by=st.none(),
        written_at=st.just(AT),
    )
    given_words = data.draw(st.lists(words, max_size=6)) if log.people else []
    ledger = replay(replace(log, confirmations=tuple(given_words)))
    credits = compiled(ledger)
    known = Known(ledger=ledger, runs={}, use=None, credits=credits)
    asked = {check.subjects[0][1] for check in NameUnconfirmed.find(known)}
    for section in credits.sections:
        for line in section.lines:
            own = [w for w in given_words if ledger.one_person.get(w.person) == line.person]
            last = max(own, key=lambda w: w.confirmed_on, default=None)
            if last is not None:
                last = [w for w in own if w.confirmed_on == last.confirmed_on][-1]
            dated = any(p.name_confirmed_on for p in log.people)
            if not dated:
                assert line.confirmed == bool(last and last.is_right and last.name == line.name)
            assert line.confirmed != (line.person in asked)


PLANS = ('[[section]]\nheading = "All"\ncrafts = ["voice"]\n', None)
names = st.sampled_from(["Ana", "Ana Quist", "=Ana()", "עדן", "朝霧"])
steps = st.one_of(
    st.builds(
        lambda name: Batch(people=(Person(code="ana", credit_name=name),), confirmations=()), names
    ),
    st.builds(lambda name: Batch(confirmations=(NewConfirmation(person="ana", name=name),)), names),
    st.sampled_from(["voice", "sculpt"]).map(
        lambda craft: Batch(
            lines=(NewLine(verb=Verb.RECORD, work=Work(craft=craft, person="ana")),)
        )
    ),
    st.sampled_from(PLANS),
)


@settings(max_examples=drawn(12), deadline=None)
@given(made=st.lists(steps, min_size=1, max_size=6))
def test_a_proof_never_changes_whatever_is_written_later(made: list[Batch | str | None]) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = create_production(Path(name), "Film")
        with open_log(folder) as log, log.writing() as pen:
            pen.write(
                Batch(
                    people=(Person(code="ana", credit_name="Ana"),),
                    lines=(NewLine(verb=Verb.RECORD, work=Work(craft="voice", person="ana")),),
                )
            )
        saved: dict[int, tuple[Proof, Credits]] = {}
        for step in (None, *made):
            if isinstance(step, Batch):
                with open_log(folder) as log, log.writing() as pen:
                    pen.write(step)
            elif step is not None:
                (folder / "credit-plan.toml").write_text(step)
            now, is_new = save_proof(folder)
            credits, number = now.snapshot.credits, now.same_as
            with open_log(folder) as log:
                if is_new:
                    assert number == len(saved) + 1
                    saved[number] = (log.proof(number), credits)
                assert log.proof(number).content == credits_to_json(credits)
                for earlier, (proof, then) in saved.items():
                    assert log.proof(earlier) == proof
                    assert credits_from_json(proof.content) == replace(then, considered=())
