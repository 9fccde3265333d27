"""Everything that is kept, renewed and compared: with what the checks find."""

from __future__ import annotations

from importlib import import_module

from credits.figures.renewing import KnownClaims, Renewal
from credits.store.beside.rows import Rows


class WholeRenewal(Renewal):
    """Renews all that is kept, what the checks find included."""

    def _rows_of_cases(self, codes: list[str], known: KnownClaims | None) -> Rows:
        # Only who asks what the checks find waits for them.
        cases = import_module("credits.figures.cases")
        found: Rows = cases.CasesOf(self._file, codes, known).rows()
        return found
