"""The shell around the pure parts: read, replay, compute, build, render, write."""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from credits.billing.compare import AsIf, Comparison, compare, since
from credits.billing.credits import Credits
from credits.billing.plan import BUILT_IN, CreditPlan, built_in_plan
from credits.billing.proof import froze, is_same, new_proof
from credits.editions import Edition
from credits.errors import ProblemsFound
from credits.figures.results import Results, compute, credits_of, footage_of
from credits.formats.plan.read import read_plan_file, read_plan_text
from credits.formats.plan.words import FILE_NAME
from credits.model.facts import Proof, ProofMark
from credits.model.ledger import Ledger
from credits.model.log import Batch, WrittenLog
from credits.model.replay import replay
from credits.site.pictures import pictures_of
from credits.site.render import build
from credits.site.source import page_source
from credits.store import Log, open_log


@dataclass(frozen=True, slots=True)
class SiteReport:
    """What building one edition did."""

    edition: Edition
    folder: Path
    pages: int
    written: int
    unchanged: int
    removed: int
    open_this: Path


@contextmanager
def all_kept() -> Iterator[None]:
    """No search for garbage while millions of facts are made that are all kept: a third faster."""
    searching = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if searching:
            gc.enable()


def read_ledger(folder: Path) -> Ledger:
    """The ledger of the production in a folder."""
    with all_kept(), open_log(folder) as log:
        return replay(log.read())


def read_plan(folder: Path, ledger: Ledger) -> CreditPlan:
    """The credit plan of the production: its ``credit-plan.toml``, else the built-in plan.

    Raises ProblemsFound with everything that is wrong with the file.
    """

    path = folder / FILE_NAME
    return read_plan_file(path, ledger) if path.exists() else built_in_plan(ledger)


def read_credits(folder: Path) -> tuple[Ledger, Credits]:
    """The ledger of the production in a folder, and its end credits by its plan."""
    ledger = read_ledger(folder)
    return ledger, credits_of(ledger, *footage_of(ledger), read_plan(folder, ledger))


def plan_text(folder: Path) -> str:
    """The text of ``credit-plan.toml``; without one, the name of the built-in plan."""

    path = folder / FILE_NAME
    return path.read_text(encoding="utf-8-sig") if path.exists() else BUILT_IN


def save_proof(folder: Path, by: str | None = None, note: str | None = None) -> tuple[int, bool]:
    """Freeze the credits as they stand; the number of the proof, and whether it is a new one.

    When the last proof is exactly of these credits, by the same plan and cut, it is that one.
    """
    with open_log(folder) as log, log.writing() as pen:
        ledger = replay(pen.read())
        plan = plan_text(folder)
        credits = credits_of(ledger, *footage_of(ledger), read_plan(folder, ledger))
        proofs = pen.proofs()
        cut = ledger.cut.version if ledger.cut is not None else None
        if proofs and is_same(pen.proof(proofs[-1].number), credits, plan, cut):
            return proofs[-1].number, False
        receipt = pen.write(Batch(proof=new_proof(credits, plan, by, note)))
    assert receipt.proof is not None
    return receipt.proof, True


def proof_number(folder: Path, ledger: Ledger, credits: Credits) -> int | None:
    """The number of the last proof when it is exactly of these credits, by the same plan and cut;
    else None."""
    with open_log(folder) as log:
        proofs = log.proofs()
        if not proofs:
            return None
        proof = log.proof(proofs[-1].number)
    cut = ledger.cut.version if ledger.cut is not None else None
    return proof.mark.number if is_same(proof, credits, plan_text(folder), cut) else None


def changes_since(
    folder: Path, ledger: Ledger, credits: Credits, number: int | None = None
) -> Comparison | None:
    """How the credits of the ledger differ from a proof: from the last one, or from ``number``.

    None where no proof was made. Raises WrongCall when there is none of this number.
    """
    with open_log(folder) as log:
        if number is None:
            proofs = log.proofs()
            if not proofs:
                return None
            number = proofs[-1].number
        return _compared(folder, log, ledger, credits, log.proof(number))


def _compared(folder: Path, log: Log, ledger: Ledger, credits: Credits, proof: Proof) -> Comparison:
    written = log.read()
    mark, plan = proof.mark, plan_text(folder)
    as_if: tuple[AsIf, ...] = ()
    if not froze(proof, credits):
        as_if = tuple(_as_if(log, written, ledger, mark, plan, read_plan(folder, ledger)))
    found = since(written, ledger, mark.log_lines, log.changes_since(mark), as_if)
    return compare(proof, credits, plan, ledger, found)


def _as_if(
    log: Log, written: WrittenLog, ledger: Ledger, mark: ProofMark, text: str, plan: CreditPlan
) -> Iterator[AsIf]:
    """The credits as they would be if the log, the plan or the cut were as they were then."""
    if len(written.lines) > mark.log_lines:
        then = replay(replace(written, lines=written.lines[: mark.log_lines]))
        yield AsIf("new entries", credits_of(then, *footage_of(then), plan), entries=True)
    if mark.plan != text:
        old = _plan_of(mark.plan, ledger)
        by_it = None if old is None else credits_of(ledger, *footage_of(ledger), old)
        yield AsIf("the plan changed", by_it)
    version = ledger.cut.version if ledger.cut is not None else None
    if mark.cut != version:
        old_cut = log.cut(mark.cut) if mark.cut is not None else None
        then = replace(ledger, cut=old_cut)
        was = f"from version {mark.cut} to" if mark.cut is not None else "from none to version"
        cause = f"the cut changed {was} {version}"
        yield AsIf(cause, credits_of(then, *footage_of(then), plan))


def _plan_of(text: str, ledger: Ledger) -> CreditPlan | None:
    """The plan that a proof was made by; None when the production no longer has what it names."""

    try:
        return built_in_plan(ledger) if text == BUILT_IN else read_plan_text(text, ledger)
    except ProblemsFound:
        return None


def results_of(folder: Path) -> Results:
    """Everything that is computed from the production in a folder."""
    ledger = read_ledger(folder)
    with all_kept():
        return compute(ledger, read_plan(folder, ledger))


def build_sites(
    folder: Path,
    editions: Sequence[Edition],
    out: Path | None = None,
    progress: Callable[[str], None] | None = None,
) -> tuple[SiteReport, ...]:
    """Build the sites of a production, a folder per edition under ``out`` (None: ``site/``)."""

    results = results_of(folder)
    comparison = changes_since(folder, results.ledger, results.credits)
    reports = []
    for edition in editions:
        target = (out or folder / "site") / edition.value
        names, contents = pictures_of(folder / "pictures", results.ledger, edition)
        source = page_source(results, edition, names, comparison)
        with all_kept():
            done = build(target, source, contents, progress)
        reports.append(
            SiteReport(
                edition,
                target,
                done.pages,
                done.written,
                done.unchanged,
                done.removed,
                target / "index.html",
            )
        )
    return tuple(reports)
