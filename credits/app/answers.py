"""Answer a question that the checks ask, and take an answer back."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from credits.app.production import snapshot_of
from credits.checks.answers import CheckNames, fingerprint, works_of
from credits.checks.checks import CHECKS
from credits.checks.rule import Check, Severity
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.figures.snapshot import Snapshot
from credits.model.facts import NewSettlement, Settlement
from credits.model.log import Batch, WrittenLog
from credits.store.log import open_log
from credits.text import nearest

MOST_LISTED = 20


class Answered(NamedTuple):
    """The check that was meant, the answer as the log holds it, and the one before it."""

    check: Check
    answer: Settlement
    before: Settlement | None


def answer_check(
    folder: Path, name: str, subjects: Sequence[str], why: str, by: str, undo: bool = False
) -> Answered:
    """Answer the question that a check asks about some subjects.

    undo: take the answer back. Raises WrongCall, ProblemsFound with what there is instead.
    """
    rule = _rule_named(name)

    def answer(written: WrittenLog) -> tuple[Batch | None, Answered]:
        snapshot = snapshot_of(written, folder)
        meant, before = _meant(rule, subjects, snapshot, undo)
        facts = fingerprint(meant, works_of(snapshot.ledger))
        new = NewSettlement(
            check=meant.kind,
            subjects=meant.subjects,
            facts=facts,
            why=why or None,
            settled_by=by or None,
            taken_back=undo,
        )
        now = new.written(datetime.now(UTC))
        return Batch(settlements=(new,)), Answered(meant, now, before)

    with open_log(folder) as log:
        return log.write_if_unmoved(answer)[0]


def _meant(
    rule: str, words: Sequence[str], snapshot: Snapshot, undo: bool
) -> tuple[Check, Settlement | None]:
    """Find the one check that is meant, and the answer that it has."""
    names = CheckNames(snapshot.checks)
    meant = list(names.meant(rule, words))
    if not meant:
        own = [each for each in snapshot.open_checks if each.kind == rule]
        if not own:
            raise WrongCall(Finding("asks nothing", "See `credits check`.", value=rule))
        what = f"{rule} asks nothing about {' '.join(words)}, but this"
        raise WrongCall(Finding(what), *_listed(rule, own, names))
    answers = {each.check: each.answer for each in snapshot.settled}
    # Where words mean several, those that could be answered (or taken back) are meant.
    fitting = [each for each in meant if (each in answers) == undo] or meant
    if len(fitting) > 1:
        what = f"{len(fitting)} cases of {rule} are about {' '.join(words)}"
        raise WrongCall(Finding(what, "Say which."), *_listed(rule, fitting, names))
    (only,) = fitting
    if only.severity is Severity.WRONG:
        what = f"{only.kind} cannot be true, and is corrected, not settled: {only.message}"
        raise ProblemsFound(Finding(what, only.hint))
    if undo and only not in answers:
        raise ProblemsFound(Finding(f"{rule} is not settled here: {only.message}"))
    return only, answers.get(only)


def _rule_named(name: str) -> str:
    """Find the check of this name, without regard to case. Raises WrongCall with the nearest."""
    wanted = name.strip().casefold()
    known = [rule.kind for rule in CHECKS]
    if wanted in known:
        return wanted
    like = nearest(wanted, known)
    hint = f"Did you mean {' or '.join(like)}?" if like else f"The checks are {', '.join(known)}."
    raise WrongCall(Finding("no check has this name", hint, value=name))


def _listed(rule: str, every: Sequence[Check], names: CheckNames) -> list[Finding]:
    lines = [
        Finding(each.message, f"Settle it: {settle_command(each, names)}")
        for each in every[:MOST_LISTED]
    ]
    if len(every) > MOST_LISTED:
        more = f"… and {len(every) - MOST_LISTED} more; credits check lists all of {rule}"
        lines.append(Finding(more))
    return lines


def settle_command(check: Check, names: CheckNames) -> str:
    """Say how a question is answered: ``credits settle CHECK SUBJECT --why "..."``."""
    words = " ".join(shlex.quote(word) for word in names.words_for(check))
    return f'credits settle {check.kind} {words} --why "..."'
