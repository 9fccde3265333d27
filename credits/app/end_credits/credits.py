"""The end credits as they stand: proofs, and what changed since one."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from credits.app.end_credits.causes import Since, with_causes
from credits.app.production import bare_snapshot, kept_snapshot, snapshot_of
from credits.app.work.writing import open_to_write
from credits.billing.compared.compare import Comparison, Compiled, compare
from credits.billing.credits import Credits
from credits.billing.proofs import is_same, new_proof
from credits.errors import Finding, LogUnusable, Place
from credits.figures.keep import open_figures
from credits.figures.renewal import Depth
from credits.figures.snapshot import Snapshot
from credits.model.facts import Proof, ProofMark
from credits.model.log import Batch, WrittenLog
from credits.store.beside.kept import FiguresFile
from credits.store.file import LOG_NAME
from credits.store.reading import LogReader
from credits.store.seals.seal import fits_its_seal

Against = Literal["last", "last other"]
"""A proof that is not named by its number; other: not of the credits as they stand."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CreditsNow:
    """The credits as they stand.

    proofs: the marks of all proofs, the first one first.
    same_as: the number of the last proof when it is exactly of these credits, plan and cut.
    log_seal: the seal that the log had when that proof was made; empty: there is none.
    comparison: how they differ from the proof that was asked for; None: none was, or there is none.
    """

    snapshot: Snapshot
    proofs: tuple[ProofMark, ...]
    same_as: int | None
    log_seal: str = ""
    comparison: Comparison | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofShown:
    """The credits of a proof, and how they differ from those of another, where one was named."""

    mark: ProofMark
    credits: Credits
    comparison: Comparison | None = None


def read_proof(folder: Path, number: int, against: int | None = None) -> ProofShown:
    """Read the credits of a proof and, where asked, what changed to them from another proof.

    Raises WrongCall for the number of a proof that was never made, LogUnusable for one that was
    altered.
    """
    file = open_figures(folder, Depth.FOOTAGE if against is not None else Depth.FIGURES)
    proof = sealed_proof(file, number)
    then, comparison = Compiled.frozen(proof), None
    if against is not None:
        base = bare_snapshot(file, Depth.FOOTAGE)
        comparison = _compared(file, base, sealed_proof(file, against), then)
    return ProofShown(mark=proof.mark, credits=then.credits, comparison=comparison)


def read_credits(
    folder: Path, against: int | Against | None = None, episode: str | None = None
) -> CreditsNow:
    """Compile the credits of a production and, where asked, compare them with a proof.

    episode: of this one alone. Raises WrongCall for the number of a proof that was never made and
    for an episode that has no shot, LogUnusable for a proof that was altered.
    """
    if episode is not None:
        file = open_figures(folder)
        written = file.read()
        return credits_now(file, snapshot_of(written, folder, episode), against)
    file = open_figures(folder, Depth.FOOTAGE)
    return credits_now(file, kept_snapshot(file, Depth.FOOTAGE), against)


def save_proof(
    folder: Path,
    by: str | None = None,
    note: str | None = None,
    against: int | None = None,
    episode: str | None = None,
) -> tuple[CreditsNow, bool]:
    """Freeze the credits as they stand; the second value says whether a new proof was made.

    When the last proof is exactly of these credits, by the same plan and cut, it is that one.
    episode: of this one alone; it has proofs of its own.
    """
    with open_to_write(folder) as log:
        if against is not None:
            sealed_proof(log, against)

        def proof(written: WrittenLog) -> tuple[Batch | None, CreditsNow]:
            now = _credits_as(log, snapshot_of(written, folder, episode))
            if now.same_as is not None:
                return None, now
            new = new_proof(now.snapshot.credits, now.snapshot.plan_text, by, note)
            return Batch(proof=new), now

        now, receipt = log.write_if_unmoved(proof)
    if receipt.proof is not None:
        now = replace(now, same_as=receipt.proof)
    if against is not None and now.same_as is not None:
        shown = read_proof(folder, now.same_as, against)
        now = replace(now, comparison=shown.comparison)
    return now, receipt.proof is not None


def sealed_proof(log: LogReader, number: int) -> Proof:
    """Read a proof that is as it was made.

    Raises WrongCall for the number of a proof that was never made, LogUnusable for one that was
    altered.
    """
    proof = log.proof(number)
    if not fits_its_seal(proof):
        what = f"proof {number} does not fit its seal: it was altered after it was made"
        hint = "See `credits verify`, and put back a copy made with `credits backup`."
        raise LogUnusable(Finding(what, hint, Place(LOG_NAME)))
    return proof


def _credits_as(log: LogReader, snapshot: Snapshot) -> CreditsNow:
    """Say of the credits whether they are those of the last proof."""
    proofs = log.proofs()
    own = [mark for mark in proofs if (mark.episode or "") == snapshot.episode]
    same_as = None
    if own:
        last, now = log.proof(own[-1].number), _as_they_stand(snapshot)
        if is_same(last, now.credits, now.plan, now.cut) and fits_its_seal(last):
            same_as = last.mark.number
    seal = log.log_seal(same_as) if same_as is not None else ""
    return CreditsNow(snapshot=snapshot, proofs=proofs, same_as=same_as, log_seal=seal)


def _as_they_stand(snapshot: Snapshot) -> Compiled:
    cut = snapshot.ledger.cut
    version = cut.version if cut is not None else None
    return Compiled(credits=snapshot.credits, plan=snapshot.plan_text, cut=version)


def credits_now(
    file: FiguresFile, snapshot: Snapshot, against: int | Against | None = None
) -> CreditsNow:
    """Do what ``read_credits`` does, of figures that were opened."""
    now = _credits_as(file, snapshot)
    if isinstance(against, str):
        own = [mark for mark in now.proofs if (mark.episode or "") == snapshot.episode]
        is_last = against == "last other" and now.same_as is not None
        others = own[:-1] if is_last else own
        against = others[-1].number if others else None
    if against is None:
        return now
    proof = sealed_proof(file, against)
    comparison = _compared(file, snapshot, proof, _as_they_stand(snapshot))
    return replace(now, comparison=comparison)


def round_before(file: FiguresFile, now: CreditsNow) -> Comparison | None:
    """Return what the last proof changed, where the credits are still its; None: they are not, or
    it was the first."""
    own = [mark.number for mark in now.proofs if (mark.episode or "") == now.snapshot.episode]
    if now.same_as is None or len(own) < 2:
        return None
    before, last = (sealed_proof(file, number) for number in own[-2:])
    return _compared(file, now.snapshot, before, Compiled.frozen(last))


def _compared(file: FiguresFile, base: Snapshot, proof: Proof, now: Compiled) -> Comparison:
    """Compare a proof with later credits, and look for the causes.

    base: the figures of the log as it stands.
    """
    ledger = base.ledger
    characters = {code: each.name for code, each in ledger.characters.items()}
    found = compare(proof, now, ledger.one_person, characters)
    if not found.changes:
        return found
    # Causes are looked for from an earlier moment to a later one, in the figures of the whole film.
    is_back = now.mark is not None and now.mark.number < proof.mark.number
    if is_back or base.episode or now.credits.episode or proof.mark.episode is not None:
        changes = tuple(replace(change, sought=False) for change in found.changes)
        return replace(found, changes=changes)
    return with_causes(found, Since(file, base, proof, now))
