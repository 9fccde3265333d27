"""Faults in what is kept: the store, and the rooms of the ground floor."""

from __future__ import annotations

from benchmarks.fault_list.fault import Fault

_ROUND_TRIP = ("store/test_store_round_trip.py",)
_MERGE = ("store/test_store_merge.py", "cli/test_cli_merge.py")
_CHAIN = ("store/test_store_chain.py",)
_LISTS = ("store/test_store_list_corrections.py", "cli/test_cli_correct.py")
_BACKUP = ("store/test_store_backup.py", "cli/test_cli_restore.py")

_WRITTEN = (
    Fault(
        "store/reading.py",
        '"SELECT max(number) FROM entries WHERE origin = ?", (origin,)',
        '"SELECT max(number) FROM entries WHERE origin = origin OR origin = ?", (origin,)',
        "after a merge the numbers of an origin have holes",
        (*_ROUND_TRIP, *_MERGE),
    ),
    Fault(
        "store/writer.py",
        "for number in range(last + 1, last + 1 + len(lines))",
        "for number in range(last + 2, last + 2 + len(lines))",
        "each load leaves out a number",
        _ROUND_TRIP,
    ),
    Fault(
        "store/writer.py",
        "new = {**row, table.names[0]: old[table.names[0]]}",
        "new = row",
        "a list that comes again in capitals spells every code anew",
        (*_ROUND_TRIP, "store/test_store_codes.py"),
    ),
    Fault(
        "store/writer.py",
        'if key not in wanted and (old.get("shot"), old.get("take")) in cleared',
        'if key not in wanted and old.get("shot") in {shot for shot, _ in cleared}',
        "a face sheet of one take clears those of the others",
        (*_ROUND_TRIP, "formats/test_face_sheet.py"),
    ),
    Fault(
        "store/writer.py",
        "if batch.people or batch.corrections:\n            self._check_same_as()",
        "if batch.people:\n            self._check_same_as()",
        "the row that another code is the same as can be corrected away",
        (*_LISTS, "store/test_store_refused.py"),
    ),
    Fault(
        "store/writer.py",
        "version = 1 + (last or 0)",
        "version = last or 1",
        "the second cut takes the number of the first",
        ("store/test_store_cuts.py",),
    ),
    Fault(
        "store/writer.py",
        "for at, row in enumerate([*part, *left], done)",
        "for at, row in enumerate([*part, *left])",
        "behind 5,000 rows a message names the wrong one",
        ("store/test_store_refused.py",),
    ),
    Fault(
        "store/engines/sqlite_triggers.py",
        'other = "NEW.name_confirmed_on IS NOT OLD.name_confirmed_on"',
        'other = "NEW.name_confirmed_on <> OLD.name_confirmed_on"',
        "the first day on which a name is confirmed is not noted",
        ("store/test_store_history.py", "cli/test_cli_confirm.py", "model/test_confirmed.py"),
    ),
    Fault(
        "store/settings.py",
        "if type(value) is int and 1 <= value <= MOST_A_WEEK:",
        "if type(value) is int and 1 < value <= MOST_A_WEEK:",
        "a target of one frame is refused",
        ("store/test_store_production.py",),
    ),
)

_SEALED = (
    Fault(
        "store/seals/chain.py",
        "            seal = bytes.fromhex(kept)\n",
        "            pass\n",
        "one altered line makes all that follow look altered",
        _CHAIN,
    ),
    Fault(
        "store/seals/chain.py",
        "before.append(row[0]) if row[0] < first else own.append(row)",
        "own.append(row)",
        "a line that another program wrote is called altered",
        _CHAIN,
    ),
    Fault(
        "store/seals/chain.py",
        "if moment.number != expected:",
        "if moment.number < expected:",
        "a missing moment is not found",
        _CHAIN,
    ),
    Fault(
        "store/seals/chain.py",
        '" WHERE s.chain = ? AND ? BETWEEN s.first_row AND s.last_row"',
        '" WHERE s.chain = ? AND ? > s.first_row AND ? <= s.last_row"',
        "the seal of the log on a proof cannot be found",
        _CHAIN,
    ),
)

_JOINED = (
    Fault(
        "store/logs/merge.py",
        "if like is not None and like.origin != number.origin:",
        "if like is not None:",
        "a line of the other log is said to be there already when it is not",
        _MERGE,
    ),
    Fault(
        "store/logs/merge.py",
        "for table in reversed(FACT_TABLES):",
        "for table in FACT_TABLES:",
        "rows that were voided together cannot be taken out",
        _MERGE,
    ),
    Fault(
        "store/logs/merge.py",
        "used_at = {theirs.cuts[version].shows: at for version, at in theirs.uses()}",
        "used_at = {cut.shows: None for cut in theirs.cuts.values()}",
        "a cut that comes in is said to have been used now",
        _MERGE,
    ),
    Fault(
        "model/merging.py",
        "if at not in merged or merged[at].becomes is not None:",
        "if at in merged:",
        "a row that was voided here is lost though the other log names it",
        _MERGE,
    ),
    Fault(
        "store/file.py",
        'copy.execute("PRAGMA journal_mode=DELETE")',
        'copy.execute("PRAGMA journal_mode")',
        "a backup cannot be read from a disk that nobody may write",
        _BACKUP,
    ),
    Fault(
        "store/file.py",
        'yield from (target.with_name(f"{stem}-{number}{end}") for number in count(2))',
        'yield from (target.with_name(f"{stem}-{number}{end}") for number in count(1))',
        "the second copy of a day is called the first",
        _BACKUP,
    ),
    Fault(
        "store/file.py",
        "            shutil.copymode(path, new)\n",
        "            pass\n",
        "whoever may not read the log may read its backup",
        ("store/test_store_permissions.py", *_BACKUP),
    ),
    Fault(
        "store/logs/restore.py",
        'earlier = log.parent.glob(f"{LOG_NAME}.before-restore-*")',
        "earlier = ()",
        "each try of a restore keeps the same log once more",
        _BACKUP,
    ),
)

_GROUND = (
    Fault(
        "text.py",
        'if text.lstrip(" ")[:1] in FORMULA_SIGNS and text.strip(" ") else text',
        "if text[:1] in FORMULA_SIGNS else text",
        "a formula behind a space is run by a spreadsheet",
        ("test_text.py", "formats/test_credits_out.py", "site/test_odd_names.py"),
    ),
    Fault(
        "text.py",
        "if score >= LEAST_LIKENESS:",
        "if score > LEAST_LIKENESS:",
        "a word of exactly the least likeness is not proposed",
        ("test_text.py", "formats/test_reference_in.py", "cli/test_typed_rows.py"),
    ),
    Fault(
        "errors.py",
        "if runs and row == runs[-1][1] + 1:",
        "if runs and row <= runs[-1][1] + 2:",
        "a message names rows that are right",
        ("test_text.py", "formats/test_reading.py", "cli/test_cli_load.py"),
    ),
    Fault(
        "errors.py",
        "if len(text) > SHOWN_VALUE_LENGTH:",
        "if len(text) > 10 * SHOWN_VALUE_LENGTH:",
        "a message shows all of a cell of a thousand signs",
        ("test_text.py", "formats/test_reading.py", "formats/test_values_in.py"),
    ),
    Fault(
        "editions.py",
        "return _RANKS[self] >= _RANKS[least]",
        "return _RANKS[self] > _RANKS[least] or least is Edition.PUBLIC",
        "the crew does not see what is meant for the crew",
        ("test_editions.py",),
    ),
    Fault(
        "editions.py",
        "if get_origin(hint) is not Annotated or len(marks) != 1:",
        "if get_origin(hint) is Annotated and len(marks) != 1:",
        "a field that nobody marked is shown to everybody",
        ("test_editions.py",),
    ),
    Fault(
        "editions.py",
        "if least is not Edition.PUBLIC and field.default is MISSING:",
        "if least is Edition.OFFICE and field.default is MISSING:",
        "a field for the crew without a default fails when a public page is made",
        ("test_editions.py",),
    ),
    Fault(
        "editions.py",
        "return value if all(map(is_, value, cut)) else cut",
        "return value if any(map(is_, value, cut)) else cut",
        "what is hidden stays where something beside it is shown",
        ("test_editions.py",),
    ),
    Fault(
        "files.py",
        "begins != content[:_BEGINNING] and not _is_plan(path)",
        "begins != content[:_BEGINNING]",
        "a plan that begins with a comment cannot be written over by a plan",
        ("cli/test_cli_own_files.py", "cli/test_cli_plan.py"),
    ),
    Fault(
        "files.py",
        "                new.chmod(path.stat().st_mode)\n",
        "                pass\n",
        "a file that only its owner could read is open to all once it is written again",
        ("test_unfinished.py", "cli/test_cli_own_files.py"),
    ),
)

FAULTS = (*_WRITTEN, *_SEALED, *_JOINED, *_GROUND)
