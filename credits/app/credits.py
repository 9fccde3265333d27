"""The end credits as they stand: proofs, what changed since one, speeds, spellings of names."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Literal, NamedTuple

from credits.app.named import day_named, fact_named, text_meant
from credits.app.production import open_snapshot, plan_of, snapshot_of
from credits.billing import roll
from credits.billing.compare import AsIf, Comparison, compare, since
from credits.billing.credits import Credits, froze, is_same, new_proof
from credits.billing.roll import RollSetting, too_small
from credits.errors import CreditsError, Finding, ProblemsFound, WrongCall
from credits.figures.snapshot import Snapshot
from credits.files import write_whole
from credits.formats.deliver.fonts import font_folders
from credits.formats.deliver.plain import check_target
from credits.formats.deliver.png import measured_lines
from credits.formats.tables.confirmations import Asked, asked, confirmation_sheet
from credits.model.facts import Confirmation, NewConfirmation, Person, ProofMark
from credits.model.log import Batch, WrittenLog
from credits.model.replay import replay
from credits.store.log import Log, open_log
from credits.store.settings import read_settings
from credits.units.film_time import FrameRate

Against = Literal["last", "last other"]
"""A proof that is not named by its number; other: not of the credits as they stand."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CreditsNow:
    """The credits as they stand.

    proofs: the marks of all proofs, the first one first.
    same_as: the number of the last proof when it is exactly of these credits, plan and cut.
    comparison: how they differ from the proof that was asked for; None: none was, or there is none.
    """

    snapshot: Snapshot
    proofs: tuple[ProofMark, ...]
    same_as: int | None
    comparison: Comparison | None = None


def read_credits(folder: Path, against: int | Against | None = None) -> CreditsNow:
    """Compile the credits of a production and, where asked, compare them with a proof.

    Raises WrongCall for the number of a proof that was never made.
    """
    with open_log(folder) as log:
        return _credits_now(log, log.read(), against)


def save_proof(
    folder: Path, by: str | None = None, note: str | None = None, against: int | None = None
) -> tuple[CreditsNow, bool]:
    """Freeze the credits as they stand; the second value says whether a new proof was made.

    When the last proof is exactly of these credits, by the same plan and cut, it is that one.
    """
    with open_log(folder) as log:

        def proof(written: WrittenLog) -> tuple[Batch | None, CreditsNow]:
            now = _credits_now(log, written, against)
            if now.same_as is not None:
                return None, now
            new = new_proof(now.snapshot.credits, now.snapshot.plan_text, by, note)
            return Batch(proof=new), now

        now, receipt = log.write_if_unmoved(proof)
    if receipt.proof is None:
        return now, False
    return replace(now, same_as=receipt.proof), True


def _credits_now(log: Log, written: WrittenLog, against: int | Against | None) -> CreditsNow:
    snapshot = snapshot_of(written, log.folder)
    proofs = log.proofs()
    same_as, cut = None, snapshot.ledger.cut
    if proofs:
        last, version = log.proof(proofs[-1].number), cut.version if cut is not None else None
        if is_same(last, snapshot.credits, snapshot.plan_text, version):
            same_as = last.mark.number
    if isinstance(against, str):
        others = proofs[:-1] if against == "last other" and same_as is not None else proofs
        against = others[-1].number if others else None
    comparison = None
    if against is not None:
        proof = log.proof(against)
        as_if = () if froze(proof, snapshot.credits) else _as_if(log, written, snapshot, proof.mark)
        changes = log.changes_since(proof.mark)
        found = since(written, snapshot.ledger, proof.mark.log_lines, changes, tuple(as_if))
        comparison = compare(proof, snapshot.credits, snapshot.plan_text, snapshot.ledger, found)
    return CreditsNow(snapshot=snapshot, proofs=proofs, same_as=same_as, comparison=comparison)


def _as_if(log: Log, written: WrittenLog, snapshot: Snapshot, mark: ProofMark) -> Iterator[AsIf]:
    """Compile the credits as if the log, the plan or the cut were as they were at the proof."""
    ledger, plan = snapshot.ledger, snapshot.plan
    if len(written.lines) > mark.log_lines:
        then = replay(replace(written, lines=written.lines[: mark.log_lines]))
        yield AsIf("new entries", Snapshot(then, plan).credits, entries=True)
    if mark.plan != snapshot.plan_text:
        try:
            old = Snapshot(ledger, plan_of(mark.plan, ledger)).credits
        except ProblemsFound:
            old = None
        yield AsIf("the plan changed", old)
    version = ledger.cut.version if ledger.cut is not None else None
    if mark.cut != version:
        old_cut = log.cut(mark.cut) if mark.cut is not None else None
        was = f"from version {mark.cut} to" if mark.cut is not None else "from none to version"
        then = replace(ledger, cut=old_cut)
        yield AsIf(f"the cut changed {was} {version}", Snapshot(then, plan).credits)


class Speeds(NamedTuple):
    """The roll of compiled credits in a picture: its speeds, its cards, what does not fit.

    ``unmeasured``: why the widths could not be measured, where they could not.
    """

    setting: RollSetting
    rate: FrameRate
    lines: int
    rolls: tuple[roll.Roll, ...]
    cards: tuple[roll.Card, ...]
    problems: tuple[Finding, ...]
    unmeasured: tuple[Finding, ...]


def speeds_of(
    credits: Credits, rate: FrameRate, raster: str | None, pitch: int | None, length: str | None
) -> Speeds:
    """Work out the speeds. Raises WrongCall for a picture, pitch or length that is none."""
    setting = RollSetting.parse(raster, pitch)
    lines = len(roll.roll_lines(credits))
    wished = setting.wished_length(lines) if length is None else roll.parse_length(length)
    rolls = setting.proposals(lines, rate, wished) if lines else ()
    small = too_small(setting)
    problems: tuple[Finding, ...] = () if small is None else (small,)
    unmeasured: tuple[Finding, ...] = ()
    try:
        problems += measured_lines(credits, setting, font_folders(os.environ)).problems
    except CreditsError as error:
        unmeasured = error.findings
    return Speeds(setting, rate, lines, rolls, roll.cards(credits), problems, unmeasured)


def unanswered(folder: Path) -> list[tuple[Asked, Confirmation | None]]:
    """List the printed people who have not confirmed their spelling, with their last answer."""
    snapshot = open_snapshot(folder)
    every = asked(snapshot.credits, snapshot.ledger)
    return [
        (one, snapshot.ledger.confirmation(one.person)) for one in every if one.confirmed_on is None
    ]


def write_sheet(folder: Path, out: str | None) -> Path:
    """Write the workbook that ``credits load`` takes back; where it is.

    out: None: a file named after the production in the working folder. Raises WrongCall.
    """
    if out == "-":
        hint = "Name a file, such as confirmations.xlsx."
        raise WrongCall(Finding("a workbook is no text", hint, None, "--out", out))
    target = Path(out or f"{read_settings(folder).code}-confirmations.xlsx")
    check_target(target, ".xlsx")
    snapshot = open_snapshot(folder)
    write_whole(target, confirmation_sheet(snapshot.credits, snapshot.ledger))
    return target


class Confirmed(NamedTuple):
    """A person before and after a word on their name; ``is_new``: whether anything was written."""

    before: Person
    after: Person
    is_new: bool


def confirm_name(
    folder: Path,
    person: str,
    name: str | None = None,
    on: str | None = None,
    by: str | None = None,
    undo: bool = False,
) -> Confirmed:
    """Write down that a name is spelled right.

    name: how it is spelled; None: as it stands. on: the day of the answer; None: today.
    undo: it is not right, or was never confirmed. Raises WrongCall.
    """
    day = day_named(on, "--on") if on is not None else None
    who = text_meant(by, "--by") if by is not None else None
    spelled = text_meant(name, "--as") if name is not None else None
    if spelled == "":
        raise WrongCall(Finding("is empty", "Write the name.", None, "--as", name))

    def word(written: WrittenLog) -> tuple[Batch | None, Confirmed]:
        ledger = replay(written)
        before = ledger.person(fact_named("people", person, ledger.people.values()).code)
        after = replace(before, credit_name=spelled) if spelled else before
        last = ledger.confirmation(before.code)
        there = last is not None and (last.name, last.is_right) == (after.credit_name, not undo)
        if undo:
            there = there or last is None
        elif there and last is not None:
            there = day in (None, last.confirmed_on)
        if there and before == after:
            return None, Confirmed(before, after, False)
        people = (after,) if after != before else ()
        new = NewConfirmation(
            person=before.code,
            name=after.credit_name,
            confirmed_on=_day(day, last),
            is_right=not undo,
            confirmed_by=who,
        )
        return Batch(people=people, confirmations=(new,)), Confirmed(before, after, True)

    with open_log(folder) as log:
        return log.write_if_unmoved(word)[0]


def _day(day: date | None, last: Confirmation | None) -> date | None:
    """Return the day of an answer: not before the last one, which would go on to count."""
    if last is None or last.confirmed_on <= (day or date.today()):
        return day
    if day is None:
        return last.confirmed_on
    what = f"is before the last answer about this name, of {last.confirmed_on}"
    raise WrongCall(Finding(what, "Write that day or a later one.", None, "--on", str(day)))
