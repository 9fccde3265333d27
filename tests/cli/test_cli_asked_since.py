"""An old proof that names somebody who has since asked not to be named."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import Command


@pytest.fixture
def proofed(film: Path, credits_: Command) -> Path:
    """A production whose proof 1 names Ana, who asked afterwards not to be named."""
    assert credits_("roll", "--save", "-p", film).status == 0
    said = credits_(
        "correct", "people", "ana", "credit_wish=uncredited", "--why", "asked", "-p", film
    )
    assert said.status == 0, said.err
    return film


@pytest.mark.parametrize("form", ["text", "csv", "json", "xlsx", "pdf", "png"])
def test_the_public_does_not_get_the_proof(
    form: str, proofed: Path, tmp_path: Path, credits_: Command
) -> None:
    target = tmp_path / f"credits.{'txt' if form == 'text' else form}"
    words = ("export", form, "--proof", 1, "--edition", "public", "--out", target)
    answer = credits_(*words, "-p", proofed)
    assert (answer.status, answer.out, target.exists()) == (1, "", False)
    assert "'Ana (ana)': stands in proof 1 under " in answer.err
    assert "and has since asked not to be named" in answer.err


@pytest.mark.parametrize("edition", ["crew", "office"])
def test_others_are_told_before_it_is_written(
    edition: str, proofed: Path, tmp_path: Path, credits_: Command
) -> None:
    target = tmp_path / "credits.txt"
    words = ("export", "text", "--proof", 1, "--edition", edition, "--out", target)
    answer = credits_(*words, "-p", proofed)
    assert (answer.status, target.exists()) == (0, True), answer.err
    assert "'Ana (ana)': stands in proof 1 under " in answer.err.splitlines()[0]


def test_a_proof_without_them_is_written_for_the_public(proofed: Path, credits_: Command) -> None:
    assert credits_("roll", "--save", "-p", proofed).status == 0
    words = ("export", "text", "--proof", 2, "--edition", "public", "-p", proofed)
    answer = credits_(*words)
    assert answer.status == 0, answer.err
    assert "Ana" not in answer.out
    assert "since asked" not in answer.err
