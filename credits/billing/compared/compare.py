"""What changed between two compilations of the credits, one of them a proof."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from credits.billing.compared.changes import CreditChange, changes_told
from credits.billing.compared.edits import edits_between
from credits.billing.credits import Credits
from credits.billing.proofs import credits_from_json, is_same
from credits.model.facts import Proof, ProofMark


@dataclass(frozen=True, slots=True)
class Comparison:
    """A proof against later credits. ``same``: exactly those, reasons, plan and cut too.

    ``later``: the mark of the other proof; None: the credits as they stand.
    """

    mark: ProofMark
    same: bool
    changes: tuple[CreditChange, ...]
    later: ProofMark | None = None

    @property
    def rows(self) -> tuple[tuple[str, str, str], ...]:
        """The changes as a table: kind, name, what happened and why."""
        return tuple((str(c.kind), c.name or c.heading, c.words) for c in self.changes)


@dataclass(frozen=True, slots=True, kw_only=True)
class Compiled:
    """Credits that a proof is compared with: by which plan (its text, or the built-in plan's name)
    and cut, and the mark of the proof that they are of, if they are of one."""

    credits: Credits
    plan: str
    cut: int | None
    mark: ProofMark | None = None

    @classmethod
    def frozen(cls, proof: Proof) -> Compiled:
        """Return the credits of a proof."""
        credits = credits_from_json(proof.content)
        return cls(credits=credits, plan=proof.mark.plan, cut=proof.mark.cut, mark=proof.mark)


def compare(
    proof: Proof,
    now: Compiled,
    one_person: Mapping[str, str] | None = None,
    characters: Mapping[str, str] | None = None,
) -> Comparison:
    """Find what is not as in the proof, without a cause; by ``ChangeKind``, then as in the credits.

    one_person: for codes that are one human being the code of that being. characters: names by
    code.
    """
    before = credits_from_json(proof.content)
    edits = edits_between(before, now.credits, one_person)
    told = changes_told(edits, before, now.credits, one_person, characters)
    same = is_same(proof, now.credits, now.plan, now.cut)
    return Comparison(proof.mark, same, told, now.mark)
