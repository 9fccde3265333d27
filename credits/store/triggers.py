"""The triggers: what makes the log append-only in the database itself, and keeps the history.

They are made from the table classes, so that a column added later is in the history too. A
migration drops them all before it begins and makes them anew at its end, in one transaction:
rebuilding a table loses its triggers silently, and filling a new column is itself an UPDATE.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from sqlalchemy import Table, UniqueConstraint

from credits.store.tables import METADATA, REFERENCE_TABLES

APPEND_ONLY = (
    "entries", "cut_versions", "cut_clips", "cut_uses", "settlements", "confirmations", "proofs",
    "history",
)  # fmt: skip
WITH_HISTORY = ("log", *REFERENCE_TABLES)

_NOW = "strftime('%Y-%m-%dT%H:%M:%fZ', 'now')"


def _keys(table: Table) -> Iterator[str]:
    """A condition for each unique key of the table: an existing row has the key of the new row."""
    for column in table.primary_key.columns:
        yield f"{column.name} = NEW.{column.name}"
    for constraint in sorted(
        (c for c in table.constraints if isinstance(c, UniqueConstraint)),
        key=lambda c: [column.name for column in c.columns],
    ):
        yield " AND ".join(f"{c.name} = NEW.{c.name}" for c in constraint.columns)
    for index in sorted((i for i in table.indexes if i.unique), key=lambda i: str(i.name)):
        expressions = [str(e) for e in index.expressions]
        yield " AND ".join(_same_expression(table, expression) for expression in expressions)


def _same_expression(table: Table, expression: str) -> str:
    bare = expression.removeprefix(f"{table.name}.")
    if not bare.startswith("coalesce("):
        return f"{bare} = NEW.{bare}"
    return f"{bare} = {bare.replace('coalesce(', 'coalesce(NEW.')}"


def _refuse(table: str, name: str, event: str, message: str, when: str = "") -> tuple[str, str]:
    condition = f"WHEN {when} " if when else ""
    body = f"SELECT RAISE(ABORT, '{message}');"
    trigger = f"{table}_{name}"
    return (
        trigger,
        f"CREATE TRIGGER {trigger} BEFORE {event} ON {table} {condition}BEGIN {body} END",
    )


def _never_replaced(table: Table, message: str) -> tuple[str, str]:
    """INSERT OR REPLACE fires neither UPDATE nor DELETE triggers: an existing key is refused here.

    The conditions are asked one by one, since SQLite looks each of them up in its own index.
    """
    taken = " OR ".join(
        f"EXISTS (SELECT 1 FROM {table.name} WHERE {condition})" for condition in _keys(table)
    )
    return _refuse(table.name, "replaced", "INSERT", message, taken)


def _append_only(table: Table) -> Iterator[tuple[str, str]]:
    message = f"the log is append-only: a row of {table.name} is never"
    yield _refuse(table.name, "changed", "UPDATE", f"{message} changed")
    yield _refuse(table.name, "removed", "DELETE", f"{message} removed")
    yield _never_replaced(table, f"{message} replaced")


def _row(table: Table, side: str) -> str:
    columns = [c.name for c in table.columns if not c.primary_key and not c.name.endswith("_key")]
    pairs = ", ".join(f"'{name}', {side}.{name}" for name in columns)
    return f"json_object({pairs})"


def _with_history(table: Table) -> Iterator[tuple[str, str]]:
    first = next(c.name for c in table.columns if not c.primary_key)
    for verb, key, old, new in (
        ("insert", "NEW", "NULL", _row(table, "NEW")),
        ("update", "NEW", _row(table, "OLD"), _row(table, "NEW")),
        ("delete", "OLD", _row(table, "OLD"), "NULL"),
    ):
        values = f"'{table.name}', {key}.{first}, '{verb}', {old}, {new}, {_NOW}"
        columns = "table_name, code, verb, old_row, new_row, changed_at"
        name = f"{table.name}_history_{verb}"
        yield (
            name,
            f"CREATE TRIGGER {name} AFTER {verb.upper()} ON {table.name} "
            f"BEGIN INSERT INTO history ({columns}) VALUES ({values}); END",
        )
    yield _never_replaced(table, f"the history is kept: a row of {table.name} is never replaced")


def _voids_stand() -> tuple[str, str]:
    """What corrects a void would count nowhere, and nobody would see it."""
    void = (
        "EXISTS (SELECT 1 FROM entries WHERE origin = NEW.corrects_origin"
        " AND number = NEW.corrects_number AND verb = 'void')"
    )
    message = "a void is not corrected: write a new entry"
    return _refuse("entries", "corrects_void", "INSERT", message, void)


def _names_confirmed() -> Iterator[tuple[str, str]]:
    """A date that comes into the people table is a word on the name as it stands in that row; one
    that is taken out takes the word back. A name that changes alone says nothing."""
    word = "INSERT INTO confirmations (person, name, confirmed_on, is_right, written_at) VALUES"
    new = f"{word} (NEW.person, NEW.credit_name, NEW.name_confirmed_on, 1, {_NOW});"
    old = f"{word} (NEW.person, OLD.credit_name, OLD.name_confirmed_on, 0, {_NOW});"
    given = "NEW.name_confirmed_on IS NOT NULL"
    other = "NEW.name_confirmed_on IS NOT OLD.name_confirmed_on"
    for name, event, when, body in (
        ("people_confirmed_new", "INSERT", given, new),
        ("people_confirmed", "UPDATE", f"{given} AND {other}", new),
        ("people_taken_back", "UPDATE", f"NOT ({given}) AND {other}", old),
    ):
        yield name, f"CREATE TRIGGER {name} AFTER {event} ON people WHEN {when} BEGIN {body} END"


def triggers() -> dict[str, str]:
    """The name and the text of every trigger, in the order in which they are made."""
    pairs: list[tuple[str, str]] = []
    for name in APPEND_ONLY:
        pairs += _append_only(METADATA.tables[name])
    pairs.append(_voids_stand())
    for name in WITH_HISTORY:
        pairs += _with_history(METADATA.tables[name])
    pairs += _names_confirmed()
    return dict(pairs)


def drop_statements(names: Iterable[str]) -> Iterator[str]:
    """What drops the triggers of these names."""
    for name in names:
        yield f'DROP TRIGGER "{name}"'
