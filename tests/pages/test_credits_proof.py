"""The last proof on the page of the end credits, and confirmed spellings on people's pages."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

from credits.billing.compared.compare import Compiled, compare
from credits.billing.proofs import credits_to_json
from credits.editions import Edition, cut_to
from credits.figures.snapshot import Snapshot
from credits.model.facts import Confirmation, Proof, ProofMark
from credits.model.replay import replay
from credits.site.pages.credits import CreditsPage, credits_pages, spelling
from credits.site.render import render
from credits.site.source import PageSource
from tests.small_log import WORKED_EXAMPLE, small_log
from tests.table_texts import rows_of

AT = datetime(2026, 3, 9, 12, tzinfo=UTC)


def source_of(edition: Edition, lines_then: int) -> PageSource:
    """The worked example against a proof that was made after its first lines."""
    log = small_log(WORKED_EXAMPLE)
    results = Snapshot(replay(log))
    then = Snapshot(replay(replace(log, lines=log.lines[:lines_then])))
    mark = ProofMark(
        number=3,
        saved_at=AT,
        saved_by="Bo",
        note="For the crew.",
        plan="built-in plan",
        cut=1,
        last_line=None,
        log_lines=lines_then,
        changes=0,
        lines=0,
        people=0,
        seal="3f2a" * 16,
    )
    proof = Proof(mark, credits_to_json(then.credits))
    now = Compiled(credits=results.credits, plan="built-in plan", cut=1)
    comparison = compare(proof, now, results.ledger.one_person)
    return PageSource(results, edition, None, comparison)


def page_of(edition: Edition, lines_then: int = 6) -> CreditsPage:
    page, _ = credits_pages(source_of(edition, lines_then))
    model = cut_to(page.model, edition)
    assert isinstance(model, CreditsPage)
    return model


def html_of(edition: Edition, lines_then: int = 6) -> str:
    source = source_of(edition, lines_then)
    page, _ = credits_pages(source)
    return render(page, source)


def test_the_office_reads_what_changed_since_the_proof_and_why() -> None:
    proof = page_of(Edition.OFFICE).last_proof
    assert proof is not None
    assert (proof.number, proof.day, proof.by, proof.note) == (
        "Proof 3", "9 March 2026", "Bo", "For the crew.",
    )  # fmt: skip
    assert rows_of(proof.changes, "kind", "about", "what")[0] == (
        "came", "Ana", "Ana is now also printed under 'Puppet repair'.",
    )  # fmt: skip
    html = html_of(Edition.OFFICE)
    assert '<h2 id="changes">Changed since Proof 3</h2>' in html
    assert f"Seal of Proof 3: {' '.join(['3f2a'] * 16)}" in html
    assert "Proof 3 of 9 March 2026 is the last that was frozen." in html
    assert "No proof has been frozen yet" not in html


def test_the_seal_is_read_by_the_office_alone() -> None:
    assert "3f2a" not in html_of(Edition.CREW) + html_of(Edition.PUBLIC)


def test_the_crew_reads_the_number_and_the_day_but_not_what_changed() -> None:
    proof = page_of(Edition.CREW).last_proof
    assert proof is not None
    assert (proof.number, proof.day, proof.changes, proof.note) == (
        "Proof 3", "9 March 2026", None, "",
    )  # fmt: skip
    assert "with 2 changes since then" in html_of(Edition.CREW)
    assert "Puppet repair&#39;" not in html_of(Edition.CREW)


def test_the_public_reads_the_number_alone() -> None:
    proof = page_of(Edition.PUBLIC).last_proof
    assert proof is not None
    assert (proof.number, proof.day, proof.standing, proof.changes) == ("Proof 3", "", "", None)
    html = html_of(Edition.PUBLIC)
    assert "Proof 3 is the last that was frozen." in html
    assert "9 March" not in html


def test_lines_that_are_those_of_the_proof_are_said_to_be_so() -> None:
    html = html_of(Edition.OFFICE, lines_then=7)
    assert "The lines below are still those of the proof." in html
    assert 'id="changes"' not in html


def test_a_persons_page_says_whether_the_spelling_is_confirmed_as_it_stands() -> None:
    log = small_log("[people]\n person, credit_name\n ana, Ana Quist\n ben, Ben\n cai, Cai")
    words = (
        Confirmation(
            person="ana",
            name="Ana Quist",
            confirmed_on=date(2026, 3, 2),
            is_right=True,
            confirmed_by=None,
            written_at=AT,
        ),
        Confirmation(
            person="ben",
            name="Benjamin",
            confirmed_on=date(2026, 3, 2),
            is_right=True,
            confirmed_by=None,
            written_at=AT,
        ),
    )
    ledger = replay(replace(log, confirmations=words))
    assert spelling(ledger, "ana") == "The spelling was confirmed on 2 March 2026."
    assert spelling(ledger, "ben").startswith("Another spelling was confirmed, on 2 March 2026")
    assert spelling(ledger, "cai").startswith("The spelling is not yet confirmed")
