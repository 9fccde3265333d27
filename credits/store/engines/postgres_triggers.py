"""PostgreSQL: the triggers that keep the log append-only and its history, made from its records.

They refuse what SQLite's refuse, with the same messages, and write the same history. What INSERT OR
REPLACE would do elsewhere, no statement of this engine does. Rows are numbered by trigger, without
holes, as SQLite numbers them: a sequence would leave a hole wherever something was not written.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain

from credits.store.engines.postgres import CHANNEL, trigger_text
from credits.store.schema.records import APPEND_ONLY, RECORDS, WITH_HISTORY, LogRecord

_NOW = "to_char(clock_timestamp() AT TIME ZONE 'UTC', 'YYYY-MM-DD\"T\"HH24:MI:SS.MS\"Z\"')"

# What rules ask that is no word of the engine: each is a function of the schema.
FUNCTIONS = {
    "is_date": "to_char(asked::date, 'YYYY-MM-DD') = asked",
    "is_list": "json_typeof(asked::json) = 'array'",
    "is_object": "json_typeof(asked::json) = 'object'",
}


def function_text(name: str) -> str:
    """Return the statement that makes one of FUNCTIONS: whatever cannot be read is not so."""
    return (
        f"CREATE OR REPLACE FUNCTION {name}(asked text) RETURNS boolean LANGUAGE plpgsql IMMUTABLE"
        f" STRICT SET datestyle TO 'ISO' AS $body$BEGIN RETURN {FUNCTIONS[name]};"
        " EXCEPTION WHEN others THEN RETURN false; END$body$"
    )


def triggers() -> dict[str, str]:
    """Give the name and the text of every trigger, in the order in which they are made."""
    numbered = map(_numbered, RECORDS.values())
    append_only = chain.from_iterable(_append_only(RECORDS[name]) for name in APPEND_ONLY)
    history = chain.from_iterable(_with_history(RECORDS[name]) for name in WITH_HISTORY)
    return dict((*numbered, *append_only, _voids_stand(), *history, *_names_confirmed(), _told()))


def _trigger(
    name: str, event: str, table: str, body: str, *, each: str = "ROW", as_owner: bool = False
) -> tuple[str, str]:
    definition = (
        f"CREATE TRIGGER {name} {event} ON {table} FOR EACH {each} EXECUTE FUNCTION {name}()"
    )
    return name, trigger_text(definition, f"BEGIN {body} END", as_owner=as_owner)


def _refuse(table: str, name: str, event: str, why: str, each: str = "ROW") -> tuple[str, str]:
    body = f"RAISE EXCEPTION '{why}';"
    return _trigger(f"{table}_{name}", f"BEFORE {event}", table, body, each=each)


def _numbered(table: LogRecord) -> tuple[str, str]:
    last = f"SELECT coalesce(max({table.key}), 0) + 1 INTO NEW.{table.key} FROM {table.name};"
    body = f"IF NEW.{table.key} IS NULL THEN {last} END IF; RETURN NEW;"
    return _trigger(f"{table.name}_numbered", "BEFORE INSERT", table.name, body)


def _append_only(table: LogRecord) -> Iterator[tuple[str, str]]:
    message = f"the log is append-only: a row of {table.name} is never"
    yield _refuse(table.name, "changed", "UPDATE", f"{message} changed")
    yield _refuse(table.name, "removed", "DELETE", f"{message} removed")
    yield _refuse(table.name, "emptied", "TRUNCATE", f"{message} removed", "STATEMENT")


def _with_history(table: LogRecord) -> Iterator[tuple[str, str]]:
    first, *_ = said = table.said_columns
    pairs = " || ',' || ".join(
        f"'\"{column}\":' || coalesce(to_json(NEW.{column})::text, 'null')" for column in said
    )
    new = f"'{{' || {pairs} || '}}'"
    old = new.replace("NEW.", "OLD.")
    for verb, key, before, after in (
        ("insert", "NEW", "NULL", new),
        ("update", "NEW", old, new),
        ("delete", "OLD", old, "NULL"),
    ):
        values = f"'{table.name}', {key}.{first}, '{verb}', {before}, {after}, {_NOW}"
        columns = "table_name, code, verb, old_row, new_row, changed_at"
        body = f"INSERT INTO history ({columns}) VALUES ({values}); RETURN NULL;"
        name = f"{table.name}_history_{verb}"
        yield _trigger(name, f"AFTER {verb.upper()}", table.name, body, as_owner=True)
    message = f"the history is kept: rows of {table.name} are taken out one by one"
    yield _refuse(table.name, "emptied", "TRUNCATE", message, "STATEMENT")


def _voids_stand() -> tuple[str, str]:
    void = (
        "EXISTS (SELECT 1 FROM entries WHERE origin = NEW.corrects_origin"
        " AND number = NEW.corrects_number AND verb = 'void')"
    )
    message = "a void is not corrected: write a new entry"
    body = (
        f"IF NEW.corrects_number IS NOT NULL AND {void} THEN RAISE EXCEPTION '{message}'; END IF;"
        " RETURN NEW;"
    )
    return _trigger("entries_corrects_void", "BEFORE INSERT", "entries", body)


def _names_confirmed() -> Iterator[tuple[str, str]]:
    """Write a confirmation for a date that comes into the people table, as SQLite's triggers do."""
    word = "INSERT INTO confirmations (person, name, confirmed_on, is_right, written_at) VALUES"
    new = f"{word} (NEW.person, NEW.credit_name, NEW.name_confirmed_on, 1, {_NOW});"
    old = f"{word} (NEW.person, OLD.credit_name, OLD.name_confirmed_on, 0, {_NOW});"
    given = "NEW.name_confirmed_on IS NOT NULL"
    other = "NEW.name_confirmed_on IS DISTINCT FROM OLD.name_confirmed_on"
    for name, event, when, then in (
        ("people_confirmed_new", "AFTER INSERT", given, new),
        ("people_confirmed", "AFTER UPDATE", f"{given} AND {other}", new),
        ("people_taken_back", "AFTER UPDATE", f"NOT ({given}) AND {other}", old),
    ):
        yield _trigger(name, event, "people", f"IF {when} THEN {then} END IF; RETURN NULL;")


def _told() -> tuple[str, str]:
    """Tell whoever waits that a moment was written; they hear it when it stands."""
    told = f"PERFORM pg_notify('{CHANNEL}', current_schema() || ' ' || NEW.moment);"
    return _trigger("moments_told", "AFTER INSERT", "moments", f"{told} RETURN NULL;")
