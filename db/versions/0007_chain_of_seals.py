"""Everything that only grows is sealed in chains; what a transaction writes is a moment.

What is there is sealed as it is found: one moment. Where a list is not as its history says (an
older version filled a column), the history gets what stands there now. The rule of the seals is
written out here: it is that of this version.

Revision ID: 0007
Revises: 0006
"""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from alembic import op

revision: str = "0007"
down_revision: str | None = "0006"
branch_labels: str | None = None
depends_on: str | None = None

LISTS = (
    "log", "crafts", "people", "engagements", "characters", "puppets", "parts", "fittings",
    "sequences", "shots", "stages", "takes", "replacements",
)  # fmt: skip
SEALED = {
    "confirmations": "position", "proofs": "number", "entries": "number",
    "cut_versions": "version", "cut_clips": "position", "cut_uses": "position",
    "settlements": "position", "list_corrections": "position", "history": "position",
}  # fmt: skip
SHORT = 16


def upgrade() -> None:
    op.create_table(
        "moments",
        sa.Column("moment", sa.Integer(), nullable=False),
        sa.Column("sealed_at", sa.Text(), nullable=False),
        sa.Column("seal", sa.Text(), nullable=False),
        sa.CheckConstraint("moment >= 1", name=op.f("ck_moments_the_moment_counts_from_1")),
        sa.CheckConstraint("length(seal) = 64", name=op.f("ck_moments_the_seal_is_64_digits")),
        sa.PrimaryKeyConstraint("moment", name=op.f("pk_moments")),
        sqlite_strict=True,
    )
    op.create_table(
        "seals",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("moment", sa.Integer(), nullable=False),
        sa.Column("chain", sa.Text(), nullable=False),
        sa.Column("first_row", sa.Integer(), nullable=False),
        sa.Column("last_row", sa.Integer(), nullable=False),
        sa.Column("digests", sa.Text(), nullable=False),
        sa.Column("seal", sa.Text(), nullable=False),
        sa.CheckConstraint("length(seal) = 64", name=op.f("ck_seals_the_seal_is_64_digits")),
        sa.CheckConstraint("last_row >= first_row", name=op.f("ck_seals_the_rows_run_forward")),
        sa.ForeignKeyConstraint(
            ["moment"], ["moments.moment"], name=op.f("fk_seals_moment_moments")
        ),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_seals")),
        sa.UniqueConstraint("chain", "first_row", name=op.f("uq_seals_chain_first_row")),
        sqlite_strict=True,
    )
    _complete_the_history()
    _seal_what_is_there()


def downgrade() -> None:
    op.drop_table("seals")
    op.drop_table("moments")


def _rows(text: str, **values: object) -> list[Any]:
    return list(op.get_bind().execute(sa.text(text), values).all())


def _run(text: str, **values: object) -> None:
    op.get_bind().execute(sa.text(text), values)


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="microseconds")


def _columns(table: str) -> dict[str, str]:
    """The columns of a table, and what each holds where nothing is said."""
    info = op.get_bind().exec_driver_sql(f"PRAGMA table_info({table})").all()
    return {row[1]: str(row[4] or "").strip("'") for row in info}


def _complete_the_history() -> None:
    for table in LISTS:
        usual = _columns(table)
        own = [n for n in usual if n not in ("position", "one") and not n.endswith("_key")]
        rows = _rows(f"SELECT {_list(own)} FROM {table}")
        now = [dict(zip(own, row, strict=True)) for row in rows]
        then: Counter[str] = Counter()
        text = "SELECT old_row, new_row FROM history WHERE table_name = :name ORDER BY position"
        for old, new in _rows(text, name=table):
            if old is not None:
                then[_said(json.loads(old), usual)] -= 1
            if new is not None:
                then[_said(json.loads(new), usual)] += 1
        others = []
        for row in now:
            if then[said := _said(row, usual)] > 0:
                then[said] -= 1
            else:
                others.append(row)
        gone = {str(row[own[0]]): row for row in map(json.loads, then.elements())}
        for row in others:
            code = str(row[own[0]])
            old = gone.pop(code, None)
            _write_history(table, code, "insert" if old is None else "update", old, row)
        for code, row in gone.items():
            _write_history(table, code, "delete", row, None)


def _list(names: list[str]) -> str:
    return ", ".join(f'"{name}"' for name in names)


def _said(row: Mapping[str, Any], usual: Mapping[str, str]) -> str:
    said = {n: v for n, v in row.items() if v is not None and str(v) != usual.get(n, "")}
    return json.dumps(said, ensure_ascii=False, sort_keys=True)


def _write_history(
    table: str, code: str, verb: str, old: Mapping[str, Any] | None, new: Mapping[str, Any] | None
) -> None:
    _run(
        "INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at)"
        " VALUES (:name, :code, :verb, :old, :new, :at)",
        name=table,
        code=code,
        verb=verb,
        old=None if old is None else json.dumps(old, ensure_ascii=False),
        new=None if new is None else json.dumps(new, ensure_ascii=False),
        at=_now(),
    )


def _sha256(text: str) -> bytes:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).digest()


def _digests(table: str, place: str, origin: str | None) -> Iterator[tuple[int, bytes]]:
    names = [name for name in _columns(table) if table != "entries" or name != "line"]
    where, values = ("", {}) if origin is None else (" WHERE origin = :origin", {"origin": origin})
    text = f"SELECT {place}, {_list(names)} FROM {table}{where} ORDER BY {place}"
    for at, *row in op.get_bind().execute(sa.text(text), values):
        said = {n: value for n, value in zip(names, row, strict=True) if value is not None}
        yield at, _sha256(json.dumps(said, ensure_ascii=False, separators=(",", ":")))


def _seal_what_is_there() -> None:
    origins = {row[0] for row in _rows("SELECT DISTINCT origin FROM entries")}
    origins |= {row[0] for row in _rows("SELECT origin FROM log")}
    chains: list[tuple[str, str, str | None]] = []
    for table in SEALED:
        if table == "entries":
            chains += [(f"entries {origin}", table, origin) for origin in origins]
        else:
            chains.append((table, table, None))
    sealed = []
    for chain, table, origin in chains:
        rows = list(_digests(table, SEALED[table], origin))
        if rows:
            seal = _sha256(chain)
            for _, digest in rows:
                seal = hashlib.sha256(seal + digest).digest()
            short = "".join(digest.hex()[:SHORT] for _, digest in rows)
            sealed.append((chain, rows[0][0], rows[-1][0], short, seal.hex()))
    if not sealed:
        return
    grown = sorted((chain, last, seal) for chain, _, last, _, seal in sealed)
    lines = (json.dumps(each, ensure_ascii=False, separators=(",", ":")) for each in grown)
    moment = _sha256("\n".join(("", *lines))).hex()
    text = "INSERT INTO moments (moment, sealed_at, seal) VALUES (1, :at, :seal)"
    _run(text, at=_now(), seal=moment)
    for chain, first, last, short, seal in sealed:
        _run(
            "INSERT INTO seals (moment, chain, first_row, last_row, digests, seal)"
            " VALUES (1, :chain, :first, :last, :short, :seal)",
            chain=chain,
            first=first,
            last=last,
            short=short,
            seal=seal,
        )
