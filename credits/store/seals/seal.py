"""The seal of a proof: the SHA-256 of everything that its row in the log says.

What is sealed is one line of JSON in UTF-8: the columns of ``SEALED`` by name, in that order, each
as the log keeps it, without blanks between. The text of the credits has the number of its format
and the title of the film in it. A column that a later release adds to the proofs is not sealed,
so that older seals stay what they were.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence

from credits.model.facts import Proof
from credits.store import reading
from credits.store.engines.driver import Driver
from credits.store.schema.statements import as_kept

SEALED = (
    "number", "saved_at", "saved_by", "note", "plan_text", "cut", "last_line", "log_lines",
    "changes", "lines", "people", "content", "episode",
)  # fmt: skip


def seal_of(kept: Mapping[str, str | int | None]) -> str:
    """Return the seal of a proof's row.

    kept: its columns, as they are kept.
    """
    said = {column: kept[column] for column in SEALED}
    text = json.dumps(said, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def seal_of_values(values: Mapping[str, object]) -> str:
    """Return the seal of a row that is about to be written, or was read.

    values: by column.
    """
    return seal_of({column: _kept(column, [values[column]]) for column in SEALED})


def _kept(column: str, values: Sequence[object]) -> str | int | None:
    kept: str | int | None = next(iter(as_kept(reading.PROOFS.name, column, values)))
    return kept


def fits_its_seal(proof: Proof) -> bool:
    """Tell whether a proof is as it was when it was made."""
    values = {**reading.PROOFS.values(proof.mark), "content": proof.content}
    return proof.mark.seal == seal_of_values(values)


def broken_seals(driver: Driver) -> list[int]:
    """List the proofs that do not fit their seals, by their numbers."""
    columns = ", ".join((*SEALED, "seal"))
    rows = driver.execute(f"SELECT {columns} FROM {reading.PROOFS.name} ORDER BY number")
    return [row[0] for row in rows if seal_of(dict(zip(SEALED, row, strict=False))) != row[-1]]
