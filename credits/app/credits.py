"""The end credits as they stand: proofs, and what changed since one."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Literal

from credits.app.plan import plan_of
from credits.app.production import kept_snapshot, snapshot_of
from credits.app.writing import open_to_write
from credits.billing.compare import AsIf, Comparison, compare, since
from credits.billing.credits import froze, is_same, new_proof
from credits.errors import ProblemsFound
from credits.figures.keep import open_figures
from credits.figures.renewal import Depth
from credits.figures.snapshot import Snapshot
from credits.model.facts import ProofMark
from credits.model.log import Batch, WrittenLog
from credits.model.replay import replay
from credits.store.kept import FiguresFile
from credits.store.reading import LogReader

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
    return credits_of(open_figures(folder, Depth.FOOTAGE), Depth.FOOTAGE, against)


def credits_of(
    file: FiguresFile, depth: Depth, against: int | Against | None = None, *, whole: bool = False
) -> CreditsNow:
    """Do what ``read_credits`` does, of figures that were opened.

    whole: everything is read at once, for whoever looks at most of it.
    """
    snapshot = kept_snapshot(file, depth, whole=whole)
    return _credits_now(file, snapshot, cache(file.read), against)


def save_proof(
    folder: Path, by: str | None = None, note: str | None = None, against: int | None = None
) -> tuple[CreditsNow, bool]:
    """Freeze the credits as they stand; the second value says whether a new proof was made.

    When the last proof is exactly of these credits, by the same plan and cut, it is that one.
    """
    with open_to_write(folder) as log:

        def proof(written: WrittenLog) -> tuple[Batch | None, CreditsNow]:
            now = _credits_now(log, snapshot_of(written, folder), lambda: written, against)
            if now.same_as is not None:
                return None, now
            new = new_proof(now.snapshot.credits, now.snapshot.plan_text, by, note)
            return Batch(proof=new), now

        now, receipt = log.write_if_unmoved(proof)
    if receipt.proof is None:
        return now, False
    return replace(now, same_as=receipt.proof), True


def _credits_now(
    log: LogReader,
    snapshot: Snapshot,
    written: Callable[[], WrittenLog],
    against: int | Against | None,
) -> CreditsNow:
    """Compare the credits with proofs.

    written: reads the whole log, which is done only where lines were written since a proof.
    """
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
        mark = proof.mark
        lines = written().lines if log.line_count() > mark.log_lines else ()
        as_if: Iterable[AsIf] = ()
        if not froze(proof, snapshot.credits):
            as_if = _as_if(log, written, snapshot, mark, is_longer=bool(lines))
        changes = log.changes_since(mark)
        found = since(lines, snapshot.ledger, mark.log_lines, changes, tuple(as_if))
        comparison = compare(proof, snapshot.credits, snapshot.plan_text, snapshot.ledger, found)
    return CreditsNow(snapshot=snapshot, proofs=proofs, same_as=same_as, comparison=comparison)


def _as_if(
    log: LogReader,
    written: Callable[[], WrittenLog],
    snapshot: Snapshot,
    mark: ProofMark,
    *,
    is_longer: bool,
) -> Iterator[AsIf]:
    """Compile the credits as if the log, the plan or the cut were as they were at the proof.

    is_longer: whether lines were written since.
    """
    ledger, plan = snapshot.ledger, snapshot.plan
    if is_longer:
        now = written()
        then = replay(replace(now, lines=now.lines[: mark.log_lines]))
        yield AsIf("new entries", Snapshot(then, plan).credits, entries=True)
    if mark.plan != snapshot.plan_text:
        try:
            old = snapshot.credits_by(plan_of(mark.plan, ledger))
        except ProblemsFound:
            old = None
        yield AsIf("the plan changed", old)
    version = ledger.cut.version if ledger.cut is not None else None
    if mark.cut != version:
        old_cut = log.cut(mark.cut) if mark.cut is not None else None
        was = f"from version {mark.cut} to" if mark.cut is not None else "from none to version"
        then = replace(ledger, cut=old_cut)
        yield AsIf(f"the cut changed {was} {version}", Snapshot(then, plan).credits)
