"""The chain of seals: everything that only grows, sealed row by row, and the moments of the log.

The lines of each origin are a chain, as are the rows of every other table that only grows (the
history of the lists is one of them, so the lists are sealed by it). A row is sealed as one line of
JSON in UTF-8: its columns that hold something, by name, in their order, each as the log keeps it;
where a line stands in this file is left out. The seal of a row is the SHA-256 of the seal before it
and of the SHA-256 of this text; the seal before the first is the SHA-256 of the chain's name. So
nothing before a seal can be altered, taken out or put in without another seal at the end.

What one transaction has written is a moment. The seal of a moment is the SHA-256 of that of the
moment before, and of one line of JSON for each chain that has grown: its name, its last row, the
seal of that. The seal of the last moment is the seal of the log.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, NamedTuple

from credits.store.engines.driver import Cursor, Driver
from credits.store.schema.records import APPEND_ONLY, RECORDS
from credits.store.schema.statements import insert_rows

ENTRIES = "entries"
SEALS, MOMENTS = "seals", "moments"
SEALED = tuple(name for name in APPEND_ONLY if name not in (SEALS, MOMENTS))
"""The tables whose rows are sealed."""
SHORT = 16  # digits of the SHA-256 of each row that are kept, to name the row that was altered
_AT_ONCE = 1000  # rows that are read and written as text together
_COLUMNS = ("moment", "chain", "first_row", "last_row", "digests", "seal")

Ends = Mapping[str, int]
"""The last row of every chain, by its name; of lines the last number."""


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def _sha256(text: str) -> bytes:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).digest()


def chain_of_lines(origin: str) -> str:
    """Return the name of the chain of an origin's lines."""
    return f"{ENTRIES} {origin}"


def beginning(chain: str) -> bytes:
    """Return the seal before the first row of a chain."""
    return _sha256(chain)


def sealed_after(seal: bytes, digest: bytes) -> bytes:
    """Return the seal of the row that follows a seal. digest: the SHA-256 of what the row says."""
    return hashlib.sha256(seal + digest).digest()


def moment_after(seal: str, grown: Iterable[tuple[str, int, str]]) -> str:
    """Return the seal of the moment that follows another.

    grown: each chain that has grown by it, its last row and the seal of that.
    """
    text = "\n".join((seal, *(_json(each) for each in sorted(grown))))
    return _sha256(text).hex()


# --- reading rows


class _Rows(NamedTuple):
    """How the rows of a chain are read: their place, and the columns that are sealed."""

    text: str
    values: tuple[str, ...]
    columns: tuple[str, ...]


def _rows_of(chain: str) -> _Rows:
    table, _, origin = chain.partition(" ")
    record = RECORDS[table]
    columns = [name for name in record.columns if table != ENTRIES or name != record.key]
    place = "number" if table == ENTRIES else record.key
    where = "origin = ? AND " if origin else ""
    text = (
        f"SELECT {place}, {', '.join(columns)} FROM {table}"
        f" WHERE {where}{place} > ? ORDER BY {place}"
    )
    return _Rows(text, (origin,) if origin else (), tuple(columns))


def digests(driver: Driver, chain: str, after: int = 0) -> Iterator[tuple[int, bytes]]:
    """Yield the place of each row of a chain, and the SHA-256 of what it says."""
    text, values, columns = _rows_of(chain)
    found: Cursor = driver.execute(text, (*values, after))
    sha256 = hashlib.sha256
    while rows := found.fetchmany(_AT_ONCE):
        places, *held = zip(*rows, strict=True)
        # A column that is empty in all of them is not looked at row by row.
        given = {
            n: each for n, each in zip(columns, held, strict=True) if each.count(None) < len(each)
        }
        said = [
            {name: value for name, value in zip(given, row, strict=True) if value is not None}
            for row in zip(*given.values(), strict=True)
        ]
        for place, line in zip(places, _lines_of(said), strict=True):
            yield place, sha256(line.encode("utf-8", "surrogatepass")).digest()


def _lines_of(said: Sequence[Mapping[str, object]]) -> list[str]:
    """Write each row as its line of JSON; all at once, which takes half the time of one by one.

    Between values stands a sign that JSON never holds but as an escape, so that what parts two
    rows, or two values, is never part of one.
    """
    between, after = "\0", "\1"
    encode = json.JSONEncoder(ensure_ascii=False, separators=(between, ":"), check_circular=False)
    text = encode.encode(said)[2:-2].replace(f"}}{between}{{", after).replace(between, ",")
    return [f"{{{line}}}" for line in text.split(after)]


def chains_of(driver: Driver) -> list[str]:
    """List every chain that has rows or seals, by name."""
    lines = driver.execute("SELECT DISTINCT origin FROM entries")
    sealed = driver.execute(f"SELECT DISTINCT chain FROM {SEALS}")
    others = (name for name in SEALED if name != ENTRIES)
    return sorted(
        {*(chain_of_lines(row[0]) for row in lines), *(row[0] for row in sealed), *others}
    )


# --- writing seals


def nothing_yet(origin: str) -> Ends:
    """Return the ends of the chains of a new log."""
    return dict.fromkeys((*(n for n in SEALED if n != ENTRIES), chain_of_lines(origin)), 0)


_TABLES = tuple(name for name in SEALED if name != ENTRIES)
_ENDS = "SELECT " + ", ".join(
    f"(SELECT coalesce(max({RECORDS[name].key}), 0) FROM {name})" for name in _TABLES
)  # asked at once, since a server may be far away


def ends(driver: Driver, origin: str) -> Ends:
    """Return where each chain ends that a writer of this origin may make longer."""
    text = f"{_ENDS}, (SELECT coalesce(max(number), 0) FROM {ENTRIES} WHERE origin = ?)"
    found = driver.execute(text, (origin,)).fetchone()
    return dict(zip((*_TABLES, chain_of_lines(origin)), found, strict=True))


def seal_new(driver: Driver, since: Ends, now: datetime) -> None:
    """Seal the rows that stand behind these ends: one moment; none where there are none.

    What stands before them without a seal stays without one: another program wrote it.
    """
    rows: list[tuple[Any, ...]] = []
    last = driver.execute(f"SELECT moment, seal FROM {MOMENTS} ORDER BY moment DESC LIMIT 1")
    number, before = last.fetchone() or (0, "")
    now_ends = dict(zip(_TABLES, driver.execute(_ENDS).fetchone(), strict=True))
    for chain, end in since.items():
        if now_ends.get(chain) == end:
            continue
        new = list(digests(driver, chain, end))
        if not new:
            continue
        seal = _last_seal(driver, chain)
        for _, digest in new:
            seal = sealed_after(seal, digest)
        short = "".join([digest.hex()[:SHORT] for _, digest in new])
        rows.append((number + 1, chain, new[0][0], new[-1][0], short, seal.hex()))
    if rows:
        grown = [(row[1], row[3], row[5]) for row in rows]
        moment = (number + 1, now, moment_after(before, grown))
        insert_rows(driver, MOMENTS, ("moment", "sealed_at", "seal"), [moment])
        insert_rows(driver, SEALS, _COLUMNS, rows)


def _last_seal(driver: Driver, chain: str) -> bytes:
    text = f"SELECT seal FROM {SEALS} WHERE chain = ? ORDER BY first_row DESC LIMIT 1"
    row = driver.execute(text, (chain,)).fetchone()
    return beginning(chain) if row is None else bytes.fromhex(row[0])


# --- asking


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment of the log: what one transaction has written, and the seal of all until then.

    lines: how many lines of all origins the log had.
    """

    number: int
    sealed_at: datetime
    seal: str
    lines: int


@dataclass(frozen=True, slots=True)
class Broken:
    """Rows that do not fit: of a chain, from a place to a place, and how.

    how: ``altered``, ``missing``, ``unsealed`` (another program wrote them), ``seal altered``.
    """

    chain: str
    first: int
    last: int
    how: str


def moments(driver: Driver) -> list[Moment]:
    """Read the moments of the log."""
    lines: dict[str, int] = {}
    grown = f"SELECT moment, chain, last_row FROM {SEALS} WHERE chain LIKE '{ENTRIES} %'"
    of_lines: dict[int, list[tuple[str, int]]] = {}
    for number, chain, last in driver.execute(grown):
        of_lines.setdefault(number, []).append((chain, last))
    found = []
    for number, at, seal in driver.execute(
        f"SELECT moment, sealed_at, seal FROM {MOMENTS} ORDER BY moment"
    ):
        lines.update(of_lines.get(number, ()))
        sealed_at = datetime.fromisoformat(at).astimezone(UTC)
        found.append(Moment(number, sealed_at, seal, sum(lines.values())))
    return found


def seal_with(driver: Driver, chain: str, row: int) -> str:
    """Return the seal of the log with the moment that wrote a row of a chain; empty: none did."""
    found = driver.execute(
        f"SELECT m.seal FROM {SEALS} AS s JOIN {MOMENTS} AS m ON m.moment = s.moment"
        " WHERE s.chain = ? AND ? BETWEEN s.first_row AND s.last_row",
        (chain, row),
    ).fetchone()
    return "" if found is None else str(found[0])


def broken(driver: Driver) -> Iterator[Broken]:
    """Yield what does not fit its seals, chain by chain, the first of each chain first."""
    for chain in chains_of(driver):
        yield from _broken_in(driver, chain)
    yield from _broken_moments(driver)


def _broken_in(driver: Driver, chain: str) -> Iterator[Broken]:
    text = f"SELECT first_row, last_row, digests, seal FROM {SEALS} WHERE chain = ?"
    rows = digests(driver, chain)
    row = next(rows, None)
    seal = beginning(chain)
    for first, last, short, kept in driver.execute(f"{text} ORDER BY first_row", (chain,)):
        before: list[int] = []
        own: list[tuple[int, bytes]] = []
        while row is not None and row[0] <= last:
            before.append(row[0]) if row[0] < first else own.append(row)
            row = next(rows, None)
        if before:
            yield Broken(chain, before[0], before[-1], "unsealed")
        for _, digest in own:
            seal = sealed_after(seal, digest)
        if seal.hex() != kept:
            yield _first_broken(chain, first, last, short, own)
            seal = bytes.fromhex(kept)
    if row is not None:
        yield Broken(chain, row[0], max([row[0], *(place for place, _ in rows)]), "unsealed")


def _first_broken(
    chain: str, first: int, last: int, short: str, own: list[tuple[int, bytes]]
) -> Broken:
    """Name the first row of a stretch that is not as it was sealed."""
    found = dict(own)
    for at, place in enumerate(range(first, last + 1)):
        kept = short[at * SHORT : (at + 1) * SHORT]
        if place not in found:
            return Broken(chain, place, place, "missing")
        if found[place].hex()[:SHORT] != kept:
            return Broken(chain, place, place, "altered")
    return Broken(chain, first, last, "seal altered")


def _broken_moments(driver: Driver) -> Iterator[Broken]:
    """Yield the first moment that is not made of the seals of its chains, if any."""
    grown: dict[int, list[tuple[str, int, str]]] = {}
    for number, chain, last, seal in driver.execute(
        f"SELECT moment, chain, last_row, seal FROM {SEALS}"
    ):
        grown.setdefault(number, []).append((chain, last, seal))
    before = ""
    every = moments(driver)
    for expected, moment in enumerate(every, 1):
        if moment.number != expected:
            yield Broken(MOMENTS, expected, expected, "missing")
            return
        if moment.seal != moment_after(before, grown.get(expected, ())):
            yield Broken(MOMENTS, expected, expected, "seal altered")
            return
        before = moment.seal
    if lost := sorted(number for number in grown if number > len(every)):
        yield Broken(MOMENTS, lost[0], lost[-1], "missing")
