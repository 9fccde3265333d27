"""What a half-typed word may become: codes and numbers, read without the table classes.

A person waits for the Tab key. The few columns that it needs are named here; a test holds that they
are those of the table classes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import closing
from datetime import datetime
from heapq import merge
from operator import attrgetter
from pathlib import Path

from credits.model.facts import EntryNumber, Work
from credits.model.log import LogLine, Verb
from credits.model.replay import current_lines
from credits.store.engines.driver import begin
from credits.store.place import log_of, opened_log

# Of each table the columns that hold a thing's code and what people call it.
CODE_AND_NAME = {
    "crafts": ("craft", "name"),
    "people": ("person", "credit_name"),
    "characters": ("character", "name"),
    "puppets": ("puppet", "NULL"),
    "parts": ("part", "kind"),
    "sequences": ("sequence", "name"),
    "shots": ("shot", "NULL"),
    "stages": ("stage", "NULL"),
}

_CORRECTED = "SELECT corrects_origin, corrects_number FROM entries WHERE corrects_number > 0"
_LINES = (
    "SELECT origin, number, verb, logged_at, corrects_origin, corrects_number, craft, person"
    " FROM entries WHERE "
)
_IN_CHAINS = f"{_LINES} verb <> 'record' OR (origin, number) IN ({_CORRECTED}) ORDER BY line"
_ALONE = (
    f"{_LINES} verb = 'record' AND (origin, number) NOT IN ({_CORRECTED})"
    " ORDER BY origin DESC, number DESC"
)


def codes_of(folder: Path, tables: Iterable[str]) -> list[tuple[str, str | None]]:
    """Read the codes of some tables and the names beside them, in the order of first writing.

    Raises what the driver raises.
    """
    with closing(opened_log(log_of(folder))) as connection:
        return [
            row
            for table in tables
            for row in connection.execute(
                f"SELECT {', '.join(CODE_AND_NAME[table])} FROM {table} ORDER BY position"
            )
        ]


def _line(row: tuple[str, int, str, str, str | None, int | None, str, str]) -> LogLine:
    origin, number, verb, logged_at, corrects_origin, corrects_number, craft, person = row
    corrects = None
    if corrects_origin is not None and corrects_number is not None:
        corrects = EntryNumber(corrects_origin, corrects_number)
    return LogLine(
        number=EntryNumber(origin, number),
        verb=Verb(verb),
        logged_at=datetime.fromisoformat(logged_at),
        work=Work(craft=craft, person=person) if craft is not None else None,
        corrects=corrects,
    )


def last_lines(folder: Path) -> Iterator[LogLine]:
    """Yield the lines that count, the last one first; of the work its craft and person alone.

    An entry that nobody has corrected says itself: only of the others the corrections are followed.
    Raises what the driver raises.
    """
    with closing(opened_log(log_of(folder))) as connection:
        begin(connection)
        in_chains = current_lines(map(_line, connection.execute(_IN_CHAINS)))[0]
        corrected = sorted((line for _, line in in_chains), key=attrgetter("number"), reverse=True)
        alone = map(_line, connection.execute(_ALONE))
        yield from merge(corrected, alone, key=attrgetter("number"), reverse=True)
