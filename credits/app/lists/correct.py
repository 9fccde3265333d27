"""Put a row of a list right, or void it, with a reason; the history keeps what it said."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

from credits.app.work.named import fact_named, name_of
from credits.app.work.writing import open_to_write
from credits.errors import Finding, ProblemsFound, WrongCall
from credits.formats.tables import cells as v
from credits.formats.tables.columns import TABLES, SheetColumn, SheetTable
from credits.formats.tables.lists import named_by_joining, plain_cell, wrong_in
from credits.model.facts import CreditWish
from credits.model.log import (
    REFERENCE_TABLES,
    Batch,
    Change,
    ListCorrection,
    LogLine,
    RowCorrection,
    Verb,
    WrittenLog,
)
from credits.model.words import counted, listed
from credits.names import fold
from credits.store.log import open_log
from credits.text import fold_code, fold_words, nearest, stripped
from credits.units.spoken import spoken_day

MOST_ROWS = 6
MOST_NAMED = 5


class CorrectedRow(NamedTuple):
    """What was done to a row of a list.

    row, now: its key before and after, as people read it; now is None where the row is void.
    changes: every column that changed, with what it said and says; empty: it said so already.
    """

    table: str
    row: str
    now: str | None
    changes: dict[str, tuple[str | None, str | None]]


def correct_list(
    folder: Path,
    list_name: str,
    words: Sequence[str],
    why: str,
    *,
    void: bool = False,
    by: str | None = None,
    write: bool = True,
) -> CorrectedRow:
    """Correct a row of a list, its key too, or void it.

    words: which row is meant (its code, or as much of its key as makes it one), and
    ``COLUMN=VALUE`` for what is to be changed. write: False: only say what would be done.
    Raises WrongCall, and ProblemsFound with everything that still names the row.
    """
    table = list_named(list_name)

    def correction(written: WrittenLog) -> tuple[Batch | None, CorrectedRow]:
        key_words, cells = _parted(table, words)
        if bool(cells) == void:
            hint = f"Write for example {_column_like(table)}=VALUE, or --void."
            what = "a void changes no columns" if void else "nothing to change"
            raise WrongCall(Finding(what, hint))
        old = _row_meant(table, key_words, written)
        new = None if void else _changed(table, old, cells, written)
        done = _done(table, old, new)
        if new == old:
            return None, done
        if new is None or _spelled_key(table, new) != _spelled_key(table, old):
            _refuse_where_named(table, old, void, written)
        row = RowCorrection(table=table.name, row=old, instead=new, why=why, corrected_by=by)
        return Batch(corrections=(row,)), done

    with open_to_write(folder) as log:
        return log.write_if_unmoved(correction)[0] if write else correction(log.read())[1]


class RowHistory(NamedTuple):
    """How the rows of a code changed, and the corrections among these, the first one first."""

    table: str
    changes: tuple[Change, ...]
    corrections: tuple[ListCorrection, ...]


def history_of_list(folder: Path, list_name: str, words: Sequence[str]) -> RowHistory:
    """Read how the rows of a code changed, those that are void too.

    words: the code, or where rows have none what stands in their first column. Raises WrongCall.
    """
    table = list_named(list_name)
    first = table.columns[0].name
    if len(words) != 1:
        raise WrongCall(Finding("the history is that of one code", f"Write one {first}."))
    with open_log(folder) as log:
        changes = log.history(table.name, words[0])
        own = {fold_code(change.key) for change in changes}
        corrections = tuple(
            each
            for each in log.list_corrections()
            if each.table == table.name and not own.isdisjoint(_firsts(each))
        )
    if not changes:
        hint = f"Write the {first} of a row that is or was in the list."
        raise WrongCall(Finding(f"{table.name} never had this {first}", hint, value=words[0]))
    return RowHistory(table.name, changes, corrections)


def _firsts(correction: ListCorrection) -> set[str]:
    """Return what stands first in the keys of a correction; codes hold no comma."""
    keys = filter(None, (correction.row, correction.instead))
    return {fold_code(key.partition(",")[0]) for key in keys}


def list_named(text: str) -> SheetTable:
    """Find the list of this name, or the one that has such rows. Raises WrongCall."""
    wanted = fold_words(text)
    for name in REFERENCE_TABLES:
        if wanted in (name, TABLES[name].one):
            return TABLES[name]
    if wanted in ("entries", "entry"):
        hint = "Entries are corrected with credits amend and credits void."
        raise WrongCall(Finding("is no list", hint, value=text))
    like = nearest(text, REFERENCE_TABLES, most=1)
    hint = f"Did you mean {like[0]}?" if like else f"The lists are {', '.join(REFERENCE_TABLES)}."
    raise WrongCall(Finding("no list has this name", hint, value=text))


def _column_like(table: SheetTable) -> str:
    return next(c.name for c in table.columns if not (c.key and (table.coded or c.refers)))


def _parted(table: SheetTable, words: Sequence[str]) -> tuple[list[str], dict[str, str]]:
    """Part the words into those that say which row, and the columns to be changed."""
    key_words: list[str] = []
    cells: dict[str, str] = {}
    for word in words:
        name, is_change, text = word.partition("=")
        column = fold_words(name).replace(" ", "_").replace("-", "_")
        if not is_change or not column:
            key_words.append(word)
        elif column not in table.column_names:
            like = nearest(column, table.column_names, most=1)
            hint = f"Did you mean {like[0]}? " if like else ""
            hint += f"The columns of {table.name} are {', '.join(table.column_names)}."
            raise WrongCall(Finding("is not a column of this list", hint, None, "column", name))
        elif column in cells:
            raise WrongCall(Finding("is given twice", "Give it once.", column=column))
        else:
            cells[column] = text
    return key_words, cells


# --- which row is meant


def _keys(table: SheetTable) -> list[SheetColumn]:
    return [column for column in table.columns if column.key]


def _spelled_key(table: SheetTable, fact: Any) -> tuple[object, ...]:
    return tuple(getattr(fact, column.field) for column in _keys(table))


def _key(table: SheetTable, fact: Any) -> tuple[object, ...]:
    """Return what makes a row unique: its folded code, or the values of its key."""
    spelled = _spelled_key(table, fact)
    return tuple(map(fold_code, map(str, spelled))) if table.coded else spelled


def row_text(table: SheetTable, fact: Any) -> str:
    """Return the key of a row as people read it: ``ana, Animation, Animator``."""
    return ", ".join(filter(None, map(plain_cell, _spelled_key(table, fact))))


def _row_typed(table: SheetTable, fact: Any) -> str:
    """Return the key of a row as it is typed: ``ana Animation 'Lead animator'``."""
    return " ".join(shlex.quote(plain_cell(value)) for value in _spelled_key(table, fact))


def _row_meant(table: SheetTable, words: Sequence[str], written: WrittenLog) -> Any:
    """Find the one row that all words are about. Raises WrongCall with those that may be meant."""
    every = getattr(written, table.name)
    said = listed([shlex.quote(word) for word in words]) or "no word"
    if not every:
        raise WrongCall(Finding(f"the list {table.name} has no rows", "Load it with credits load."))
    rows = [(fact, _calls(table, fact, written)) for fact in every]
    for is_called in (_as_spelled, _as_named):
        found = [row for row, calls in rows if all(is_called(word, calls) for word in words)]
        if found and words:
            break
    if len(found) == 1 and words:
        return found[0]
    if not found:
        likely = [row for row, calls in rows if any(_as_named(word, calls) for word in words)]
        calls_of = {at: calls for at, (_, calls) in enumerate(rows)}
        near = nearest(
            " ".join(words), calls_of, lambda at: (*calls_of[at], " ".join(calls_of[at]))
        )
        few = every if len(every) <= MOST_ROWS else ()
        found = likely or [every[at] for at in near] or list(few)
        what = f"no row of {table.name} is {said}"
    else:
        what = f"{counted(len(found), 'row')} of {table.name} {'is' if len(found) == 1 else 'are'}"
        what = f"{what} {said}" if words else f"which row of {table.name} is not said"
    hint = "; ".join(_row_typed(table, fact) for fact in found[:MOST_ROWS])
    more = f" and {len(found) - MOST_ROWS} more" if len(found) > MOST_ROWS else ""
    names = ", ".join(column.name for column in _keys(table))
    hint = f"Say which of these: {hint}{more}." if hint else f"A row is said by {names}."
    raise WrongCall(Finding(what, hint))


def _calls(table: SheetTable, fact: Any, written: WrittenLog) -> list[str]:
    """Return every word that a row may be called by: its key, and the names behind its codes."""
    calls = [plain_cell(value) for value in _spelled_key(table, fact)]
    if table.coded:
        return [*calls, name_of(fact) or ""] if table.name != "parts" else calls
    named = (c for c in _keys(table) if c.refers in ("people", "characters"))
    codes = {column.refers: getattr(fact, column.field) for column in named}
    others = (other for name in codes for other in getattr(written, str(name)))
    return [*calls, *(name_of(other) or "" for other in others if other.code in codes.values())]


def _as_spelled(word: str, calls: Sequence[str]) -> bool:
    return fold_words(word) in map(fold_words, calls)


def _as_named(word: str, calls: Sequence[str]) -> bool:
    wanted, day = fold(word), spoken_day(word, date.today())
    named = any(call == str(day) or (wanted and fold(call) == wanted) for call in calls)
    return bool(named) or _as_spelled(word, calls)


# --- the row as it will stand


def _changed(table: SheetTable, old: Any, cells: Mapping[str, str], written: WrittenLog) -> Any:
    """Make the row with these cells. Raises WrongCall with everything that is wrong in them."""
    found: list[Finding] = []
    values: dict[str, Any] = {}
    for column in table.columns:
        if column.name in cells:
            try:
                values[column.field] = _value(column, cells[column.name], written)
            except v.Unreadable as problem:
                value = cells[column.name] or None
                found.append(Finding(problem.what, problem.hint, None, column.name, value))
            except WrongCall as error:
                found.extend(replace(f, column=column.name) for f in error.findings)
    if found:
        raise WrongCall(*found)
    new = replace(old, **values)
    key = _key(table, new)
    if key != _key(table, old) and key in {_key(table, f) for f in getattr(written, table.name)}:
        hint = f"Void this one: credits correct {table.name} {_row_typed(table, old)} --void --why"
        what = f"{table.name} has this row already: {row_text(table, new)}"
        raise WrongCall(Finding(what, f"{hint} TEXT"))
    known = set(_contradictions(written))
    rows = tuple(new if fact == old else fact for fact in getattr(written, table.name))
    exchanged: dict[str, Any] = {table.name: rows}
    after = _contradictions(replace(written, **exchanged))
    found = [finding for finding in after if finding not in known]
    if found:
        raise WrongCall(*found)
    return new


def _value(column: SheetColumn, text: str, written: WrittenLog) -> object:
    """Read a value as a sheet's cell; codes by a unique name too, days as people say them."""
    text = stripped(text)
    if not text:
        if column.required:
            raise v.Unreadable("is empty", "Give it a value, or void the row with --void.")
        if column.name == "credit_wish":  # nobody is named by leaving something out
            raise v.Unreadable("is empty", f"Write {' or '.join(CreditWish)}.")
        return column.empty
    if column.refers:
        return fact_named(column.refers, text, getattr(written, column.refers)).code
    day = spoken_day(text, date.today()) if column.reads is v.day else None
    return day or column.reads(text)


def _contradictions(written: WrittenLog) -> Iterator[Finding]:
    """Find what cannot be in the lists as they stand, by row."""
    checked = {
        name: {fact.code: fact for fact in getattr(written, name)}
        for name in ("parts", "puppets", "shots")
    }
    for name in REFERENCE_TABLES:
        for fact in getattr(written, name):
            for column, value, what, hint in wrong_in(fact, checked):
                row = row_text(TABLES[name], fact)
                yield Finding(f"{what} ({name}: {row})", hint, None, column, str(value))
    for _, (column, value, what, hint) in named_by_joining(written.people):
        yield Finding(what, hint, None, column, str(value))


# --- what still names a row


def _named_in_lists(table: SheetTable, old: Any, written: WrittenLog) -> Iterator[tuple[str, Any]]:
    """Find the rows of lists that name a row: list and row."""
    for name in REFERENCE_TABLES:
        for column in TABLES[name].columns:
            if table.coded and column.refers == table.name:
                named = (f for f in getattr(written, name) if getattr(f, column.field) == old.code)
                yield from ((name, fact) for fact in named)
    if table.name == "takes":
        for shown in written.replacements:
            if (shown.shot, shown.take) == (old.shot, old.number):
                yield "replacements", shown


def _names_row(table: SheetTable, old: Any) -> Callable[[Any], bool]:
    """Return whether work, or a clip of the cut, names a row."""
    if table.name == "takes":
        return lambda said: (said.shot, said.take) == (old.shot, old.number)
    if table.coded:
        return lambda said: getattr(said, table.one, None) == old.code
    return lambda _: False


def _entries_text(lines: Sequence[LogLine], written: WrittenLog) -> str:
    voided = {line.corrects for line in written.lines if line.verb is Verb.VOID}
    said = [f"{n}{' (void)' if n in voided else ''}" for n in (line.number for line in lines)]
    return f"{counted(len(said), 'entry', 'entries')} ({listed(said, MOST_NAMED, 'more', 'more')})"


def _refuse_where_named(table: SheetTable, old: Any, void: bool, written: WrittenLog) -> None:
    """Raise ProblemsFound when something names a row: voided, or under another code, it is lost."""
    names_it = _names_row(table, old)
    lines = [line for line in written.lines if line.work is not None and names_it(line.work)]
    rows = list(_named_in_lists(table, old, written))
    is_person = table.name == "people"
    confirmed = is_person and any(word.person == old.code for word in written.confirmations)
    shown = written.cut is not None and any(map(names_it, written.cut.clips))
    by = [_entries_text(lines, written)] if lines else []
    if rows:
        texts = [f"{name}: {row_text(TABLES[name], fact)}" for name, fact in rows]
        said = "; ".join(texts[:MOST_NAMED])
        more = f"; and {len(texts) - MOST_NAMED} more" if len(texts) > MOST_NAMED else ""
        by.append(f"{counted(len(rows), 'row')} of other lists ({said}{more})")
    by += ["the answers about how the name is spelled"] * confirmed
    by += ["the cut in use"] * shown
    if not by:
        return
    stays = "cannot be voided" if void else "keeps its code" if table.coded else "keeps its key"
    what = f"{table.one} {row_text(table, old)} {stays}: named by {listed(by)}"
    raise ProblemsFound(Finding(what, _instead(table, old, lines or confirmed, rows)))


def _instead(
    table: SheetTable, old: Any, is_in_log: object, rows: Sequence[tuple[str, Any]]
) -> str:
    """Say what is to be done instead: entries stay in the log, rows can be corrected first."""
    if is_in_log and table.name == "people":
        code = shlex.quote(old.code)
        return (
            "The log keeps every line. If two codes are one person: credits same RIGHT "
            f"{code}; a name is corrected with credit_name=NAME."
        )
    if is_in_log:
        option = "take" if table.name == "takes" else table.one
        return (
            "The log keeps every line, so the row stays. If another one was meant, add that and "
            f"amend the entries: credits amend ENTRY --{option} CODE."
        )
    if not rows:
        return "Correct the cut first, and import it again."
    name, fact = rows[0]
    typed = _row_typed(TABLES[name], fact)
    return f"Correct these first: credits correct {name} {typed} --void --why TEXT."


def _done(table: SheetTable, old: Any, new: Any) -> CorrectedRow:
    before = {c.name: plain_cell(getattr(old, c.field)) for c in table.columns}
    after = dict.fromkeys(before, "")
    if new is not None:
        after = {c.name: plain_cell(getattr(new, c.field)) for c in table.columns}
    changed = ((c, said, after[c]) for c, said in before.items() if said != after[c])
    changes = {c: (said or None, says or None) for c, said, says in changed}
    now = None if new is None else row_text(table, new)
    return CorrectedRow(table.name, row_text(table, old), now, changes)
