"""Answer questions that the checks ask, one, several or all like them; take answers back."""

from __future__ import annotations

import shlex
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import NamedTuple

from credits.app.production import kept_snapshot, snapshot_of
from credits.app.spellings.due import is_late
from credits.app.work.named import Coded, codes_named, day_named, fact_named, of_code, persons_named
from credits.app.work.writing import open_to_write
from credits.checks.answers import (
    CRAFT,
    ENTRY,
    STANDING,
    CheckNames,
    Settled,
    StandingAnswers,
    WorksOf,
    fingerprint,
    open_and_settled,
)
from credits.checks.checks import CHECKS
from credits.checks.chosen import CheckFilter
from credits.checks.names import NameUnconfirmed
from credits.checks.rule import Check, Severity
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.figures.keep import open_figures
from credits.figures.renewal import Depth
from credits.figures.snapshot import Snapshot
from credits.memory import all_kept
from credits.model.facts import NewSettlement, ProofMark, Settlement, Subjects
from credits.model.log import Batch, WrittenLog
from credits.model.words import counted, typed
from credits.text import fold_code, nearest
from credits.units.film_time import WHOLE_TIME, Period

MOST_LISTED = 20

TABLE_OF = {"person": "people"} | {
    kind: f"{kind}s" for kind in ("character", "puppet", "part", "shot", "stage", CRAFT)
}
"""The table that has the codes of a kind of subject."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """What is said with an answer: why, by whom; ``undo``: it takes the answer back."""

    why: str = ""
    by: str = ""
    undo: bool = False

    def about(self, check: str, subjects: Subjects, facts: str) -> NewSettlement:
        """Return the line that says it about a question."""
        return NewSettlement(
            check=check,
            subjects=subjects,
            facts=facts,
            why=self.why or None,
            settled_by=self.by or None,
            taken_back=self.undo,
        )


class Answered(NamedTuple):
    """The check that was meant, the answer as the log holds it, and the one before it."""

    check: Check
    answer: Settlement
    before: Settlement | None


class Stands(NamedTuple):
    """A standing answer as the log holds it, the one before it, and the cases it changes now:
    those that it answers and that were open, or that are open again."""

    answer: Settlement
    before: Settlement | None
    cases: tuple[Check, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChecksFound:
    """What the checks find, as far as it was asked for.

    standing: the standing answers that hold. of: how many things are wrong, open and answered
    altogether. is_part: whether anything was left out by what was asked for. has_proof: whether
    credits were sent round already; before, questions of spelling keep apart. answer_by: the day by
    which everybody was to say how their name is spelled, once it has gone. called: the names of all
    people and characters.
    """

    open: tuple[Check, ...]
    answered: tuple[Settled, ...]
    standing: tuple[Settlement, ...]
    of: Mapping[str, int]
    is_part: bool
    has_proof: bool
    names: CheckNames
    answer_by: date | None = None
    called: tuple[str, ...] = ()

    @property
    def late(self) -> tuple[str, ...]:
        """Return who has not confirmed the name though the day to answer by has gone."""
        kind = NameUnconfirmed.kind
        unconfirmed = (each for each in self.open if each.kind == kind and self.answer_by)
        return tuple(each.subjects[0][1] for each in unconfirmed)

    @property
    def wrong(self) -> int:
        """Count what cannot be right."""
        return sum(each.severity is Severity.WRONG for each in self.open)

    @property
    def apart(self) -> tuple[Check, ...]:
        """Return the open questions that keep apart until there is a proof."""
        return tuple(each for each in self.open if self._keeps_apart(each))

    @property
    def not_apart(self) -> tuple[Check, ...]:
        """Return everything that is open but those questions."""
        return tuple(each for each in self.open if not self._keeps_apart(each))

    def _keeps_apart(self, each: Check) -> bool:
        return each.of_spelling and not self.has_proof


@all_kept()
def look_at_checks(
    folder: Path,
    *,
    kinds: Sequence[str] | None = None,
    period: Period = WHOLE_TIME,
    stages: Sequence[str] | None = None,
    people: Sequence[str] | None = None,
    since: str | None = None,
) -> ChecksFound:
    """Look at the checks of some kinds, days, stages and people. Raises WrongCall.

    since: only at what was not asked before this day, or before the last ``proof``: not about the
    same by the entries that were in the log then.
    """
    rules = frozenset(map(_rule_named, kinds)) if kinds else None
    file = open_figures(folder, Depth.CHECKS)
    snapshot, proofs = kept_snapshot(file, Depth.CHECKS), file.proofs()
    ledger = snapshot.ledger
    wanted = CheckFilter(
        kinds=rules,
        period=period,
        stages=codes_named("stages", stages, ledger.stages),
        people=persons_named(people, ledger),
    )
    found = snapshot.open_checks
    if since is not None:
        until = _moment(since, proofs)
        written = file.read()
        lines = tuple(line for line in written.lines if line.logged_at < until)
        before = snapshot_of(replace(written, lines=lines), folder).checks
        asked = {(each.kind, each.subjects) for each in before}
        found = tuple(each for each in found if (each.kind, each.subjects) not in asked)
    answers = {each.check: each for each in snapshot.settled}
    wrong = sum(each.severity is Severity.WRONG for each in snapshot.open_checks)
    looked_at = ChecksFound(
        open=wanted.of(found, ledger),
        answered=tuple(answers[check] for check in wanted.of(answers, ledger)),
        standing=tuple(
            each for each in StandingAnswers(ledger).holding if not rules or each.check in rules
        ),
        of={
            "wrong": wrong,
            "questions": len(snapshot.open_checks) - wrong,
            "answered": len(answers),
        },
        is_part=wanted.is_given or since is not None,
        has_proof=bool(proofs),
        names=CheckNames(snapshot.checks),
        answer_by=by if is_late(by := ledger.production.names_by) else None,
        called=(
            *(person.credit_name for person in ledger.people.values()),
            *(character.name for character in ledger.characters.values()),
        ),
    )
    snapshot.keep_checks()
    return looked_at


def _moment(since: str, proofs: Sequence[ProofMark]) -> datetime:
    """Read since when: a day, or ``proof`` for the last one. Raises WrongCall."""
    if since.strip().casefold() != "proof":
        return datetime.combine(day_named(since, "--since"), time(), UTC)
    if not proofs:
        hint = "Give a day, or make a proof: credits roll --save."
        raise WrongCall(Finding("there is no proof yet", hint, column="--since", value=since))
    return proofs[-1].saved_at


def rules_and_subjects(words: Sequence[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Part typed words into the checks, which stand first, and what they are about.

    Raises WrongCall where the first word is no check.
    """
    known = {rule.kind for rule in CHECKS}
    first = _rule_named(words[0])
    more = 1
    while more < len(words) and words[more].strip().casefold() in known:
        more += 1
    kinds = (first, *(word.strip().casefold() for word in words[1:more]))
    return tuple(dict.fromkeys(kinds)), tuple(words[more:])


def answer_checks(
    folder: Path, rules: Sequence[str], subjects: Sequence[str], said: Words, every: bool = False
) -> tuple[Answered, ...]:
    """Answer what some checks ask about some subjects: all of it or nothing.

    The words together mean one case of each check; or else each of them means one of its own.
    every: all open cases that the words mean; without words all of the checks.
    Raises WrongCall, ProblemsFound with what there is instead.
    """

    def answer(written: WrittenLog) -> tuple[Batch | None, tuple[Answered, ...]]:
        snapshot = snapshot_of(written, folder)
        asked = _Asked(snapshot, CheckNames(snapshot.checks), said.undo, every)
        meant = dict.fromkeys(each for rule in rules for each in asked.meant(rule, subjects))
        works = WorksOf(snapshot.ledger)
        now = datetime.now(UTC)
        lines = [said.about(c.kind, c.subjects, fingerprint(c, works)) for c in meant]
        done = [
            Answered(check, line.written(now), asked.answers.get(check))
            for check, line in zip(meant, lines, strict=True)
        ]
        return Batch(settlements=tuple(lines)), tuple(done)

    with open_to_write(folder) as log:
        return log.write_if_unmoved(answer)[0]


class _Asked:
    """The cases that words mean, to be answered or (``undo``) to be opened again."""

    def __init__(self, snapshot: Snapshot, names: CheckNames, undo: bool, every: bool) -> None:
        self.names, self.undo, self.every = names, undo, every
        self.answers = {each.check: each.answer for each in snapshot.settled}
        self._standing = {each.check: each for each in snapshot.settled if each.is_standing}
        self._open = snapshot.open_checks

    def meant(self, rule: str, words: Sequence[str]) -> tuple[Check, ...]:
        """Find the cases of a check that words mean."""
        if not words and not self.every:
            own = [each for each in self._open if each.kind == rule]
            if own and not self.undo:
                what = f"does not say which of {counted(len(own), 'case')}"
                hint = "Say what it is about, or answer --all of them."
                finding = Finding(what, hint, value=rule)
                raise WrongCall(finding, *_listed(own, self.names))
            hint = "Say what it is about." if self.undo else "See `credits check`."
            raise WrongCall(Finding("asks nothing", hint, value=rule))
        parts: list[Sequence[str]] = [words]
        if not self.names.meant(rule, words) and self._alike(rule, words):
            parts = [(word,) for word in words]
        return tuple(case for part in parts for case in self._of(rule, part))

    def _alike(self, rule: str, words: Sequence[str]) -> bool:
        """Tell whether every word names a thing of one kind: two people, two entries."""
        ways = [
            {kind for case in self.names.meant(rule, [word]) for kind in _ways(case, word)}
            for word in words
        ]
        return len(ways) > 1 and bool(set.intersection(*ways))

    def _of(self, rule: str, words: Sequence[str]) -> tuple[Check, ...]:
        meant = self.names.meant(rule, words)
        about = f" about {' '.join(words)}" if words else ""
        if not meant:
            own = [each for each in self._open if each.kind == rule]
            if not own:
                raise WrongCall(Finding("asks nothing", "See `credits check`.", value=rule))
            raise WrongCall(
                Finding(f"{rule} asks nothing{about}, but this"), *_listed(own, self.names)
            )
        # Where words mean several, those that could be answered (or taken back) are meant.
        own_answer = self.answers.keys() - self._standing.keys()
        fitting = [each for each in meant if (each in own_answer) == self.undo]
        if self.every:
            wanted = fitting if self.undo else [each for each in meant if each in self._open]
            questions = [each for each in wanted if each.severity is Severity.QUESTION]
            if questions:
                return tuple(questions)
        elif not self.undo:
            fitting = [each for each in fitting if each not in self.answers] or fitting
        fitting = fitting or list(meant)
        if len(fitting) > 1 and not self.every:
            what = f"{len(fitting)} cases of {rule} are{about}"
            hint = "Say which, or answer --all of them."
            raise WrongCall(Finding(what, hint), *_listed(fitting, self.names))
        return (self._answerable(fitting[0]),)

    def _answerable(self, check: Check) -> Check:
        if check.severity is Severity.WRONG:
            what = f"{check.kind} cannot be true, and is corrected, not answered: {check.message}"
            raise ProblemsFound(Finding(what, check.hint))
        if self.undo and check in self._standing:
            answer = self._standing[check].answer
            what = f"{check.kind} has a standing answer: {answer.why}"
            hint = f"Take that back: {standing_command(answer)} --undo"
            raise ProblemsFound(Finding(what, hint))
        if self.undo and check not in self.answers:
            raise ProblemsFound(Finding(f"{check.kind} is not answered here: {check.message}"))
        if self.every and check in self.answers and not self.undo:
            what = f"every case of {check.kind} is answered already"
            raise ProblemsFound(Finding(what, "See `credits check --answered`."))
        return check


def _ways(check: Check, word: str) -> Iterator[str]:
    """Return the kinds of things of a check that a word names."""
    wanted = fold_code(word.strip())
    named = (*check.subjects, *((ENTRY, str(number)) for number in check.entries))
    for kind, code in named:
        if wanted in (fold_code(code), fold_code(f"{kind}={code}")):
            yield kind


def answer_standing(
    folder: Path,
    rule: str,
    subjects: Sequence[str],
    said: Words,
    *,
    stages: Sequence[str] | None = None,
    people: Sequence[str] | None = None,
    crafts: Sequence[str] | None = None,
) -> Stands:
    """Answer every case of a check that has all of some subjects, those of later days too.

    subjects: ``kind=code``, or codes of what its cases are about. crafts: only cases whose entries
    are of these crafts, of all of them, and of no other. Nothing at all: every case of the check.
    Raises WrongCall, ProblemsFound.
    """

    def stand(written: WrittenLog) -> tuple[Batch | None, Stands]:
        snapshot = snapshot_of(written, folder)
        ledger = snapshot.ledger
        named = [
            *(("stage", code) for code in codes_named("stages", stages, ledger.stages) or ()),
            *(("person", code) for code in persons_named(people, ledger) or ()),
            *(_subject(rule, word, snapshot) for word in subjects),
        ]
        own = _kinds_of(rule)
        for kind, code in named:
            if kind not in own:
                what = f"{rule} asks about {' and '.join(own)}, not about a {kind}"
                raise WrongCall(Finding(what, "Leave it out, or answer case by case.", value=code))
        named += ((CRAFT, code) for code in codes_named("crafts", crafts, ledger.crafts) or ())
        known = ((k, ledger.one_person.get(c, c) if k == "person" else c) for k, c in named)
        condition = tuple(sorted(set(known)))
        held = StandingAnswers(ledger).holding
        before = next((a for a in held if (a.check, a.subjects) == (rule, condition)), None)
        if said.undo and before is None:
            there = [a for a in held if a.check == rule]
            listed = [Finding(a.why or "", f"{standing_command(a)} --undo") for a in there]
            raise ProblemsFound(Finding(f"{rule} has no such standing answer"), *listed)
        line = said.about(rule, condition, STANDING)
        answer = line.written(datetime.now(UTC))
        return Batch(settlements=(line,)), Stands(answer, before, _moved(snapshot, answer))

    with open_to_write(folder) as log:
        return log.write_if_unmoved(stand)[0]


def _moved(snapshot: Snapshot, answer: Settlement) -> tuple[Check, ...]:
    """Find the cases that are open before a line and answered behind it, or the other way."""
    ledger = snapshot.ledger
    after = replace(ledger, settlements=(*ledger.settlements, answer))
    were, are = set(snapshot.open_checks), set(open_and_settled(snapshot.checks, after)[0])
    return tuple(check for check in snapshot.checks if (check in were) != (check in are))


def _kinds_of(rule: str) -> tuple[str, ...]:
    about = next(each.about for each in CHECKS if each.kind == rule)
    return tuple(dict.fromkeys(each.partition("=")[0] for each in about.split()))


def _subject(rule: str, word: str, snapshot: Snapshot) -> tuple[str, str]:
    """Read a word as a subject of a check: kind and code, as the tables write it."""
    kinds, ledger = _kinds_of(rule), snapshot.ledger
    facts: dict[str, tuple[Coded, ...]] = {
        kind: tuple(getattr(ledger, TABLE_OF[kind]).values()) for kind in kinds if kind in TABLE_OF
    }
    kind, equals, code = word.partition("=")
    if equals and kind in facts:
        return kind, fact_named(TABLE_OF[kind], code, facts[kind]).code
    if equals:
        return kind, day_named(code, kind).isoformat() if kind == "date" else code.strip()
    every = ((kind, of_code(word, own)) for kind, own in facts.items())
    found = {(kind, fact.code) for kind, fact in every if fact is not None}
    if len(found) == 1:
        return found.pop()
    if found:
        which = " or ".join(sorted(f"{kind}={code}" for kind, code in found))
        raise WrongCall(Finding("is the code of several things", f"Write {which}.", value=word))
    hint = f"Write one of {', '.join(f'{kind}=CODE' for kind in kinds)}."
    raise WrongCall(Finding(f"is nothing that {rule} asks about", hint, value=word))


def _rule_named(name: str) -> str:
    """Find the check of this name, without regard to case. Raises WrongCall with the nearest."""
    wanted = name.strip().casefold()
    known = [rule.kind for rule in CHECKS]
    if wanted in known:
        return wanted
    like = nearest(wanted, known)
    hint = f"Did you mean {' or '.join(like)}?" if like else f"The checks are {', '.join(known)}."
    raise WrongCall(Finding("no check has this name", hint, value=name))


def _listed(every: Sequence[Check], names: CheckNames) -> list[Finding]:
    lines = [
        Finding(each.message, f"Answer it: {answer_command(each, names)}")
        for each in every[:MOST_LISTED]
    ]
    if len(every) > MOST_LISTED:
        more = f"… and {len(every) - MOST_LISTED} more; credits check --kind {every[0].kind}"
        lines.append(Finding(f"{more} lists them all"))
    return lines


def answer_command(check: Check, names: CheckNames) -> str:
    """Say how a question is answered: ``credits answer CHECK SUBJECT --why "..."``."""
    words = " ".join(shlex.quote(word) for word in names.words_for(check))
    return f'credits answer {check.kind} {words} --why "..."'


def standing_command(answer: Settlement) -> str:
    """Say which standing answer it is, as it is typed: ``credits answer CHECK --standing ...``."""
    words = [
        f"--{kind} {typed(code)}" if kind in ("stage", "person", CRAFT) else typed(f"{kind}={code}")
        for kind, code in answer.subjects
    ]
    return " ".join(("credits answer", answer.check, "--standing", *words))
