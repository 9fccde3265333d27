"""Faults in what people see: kept figures, the site, the commands behind the doors, desk, cli."""

from __future__ import annotations

from benchmarks.fault_list.fault import Fault

_KEPT = ("figures/test_single_entries.py", "figures/test_figures_file.py")
_CHANGED = ("figures/test_changed.py", "site/test_what_an_entry_changes.py")
_VARIED = ("laws/test_varied_laws.py",)
_CELLS = ("site/test_cells.py", "site/test_odd_names.py")
_DOORS = ("desk/test_desk_doors.py",)
_SESSION = ("cli/test_day_session.py", "cli/test_cli_day.py")
_CORRECT = ("cli/test_cli_correct.py",)

_FIGURES = (
    Fault(
        "figures/varied.py",
        "if line.number in gone or line.corrects in gone:",
        "if line.number in gone:",
        "a correction of an entry counts though the entry is left out",
        _VARIED,
        changes_nothing="a correction of what is not there is never come to from a record",
    ),
    Fault(
        "figures/varied.py",
        "(e.number, e.person, e.craft, e.character, e.take, e.share) for e in entries",
        "(e.number, e.person, e.craft, e.character, e.take) for e in entries",
        "two versions of an entry that differ in their share have the footage of one",
        _VARIED,
        changes_nothing="the share of an entry is said by the line whose number is looked at",
    ),
    Fault(
        "figures/varied.py",
        "others = {code for code in was if now.get(code, code) != was[code]}",
        "others = {code for code in was if code not in now}",
        "that two codes were made one person is not found to be the cause of a change",
        _VARIED,
    ),
    Fault(
        "figures/varied.py",
        "kept = [entry for entry in self._base.ledger.brief if entry.first not in turn.records]",
        "kept = [entry for entry in self._base.ledger.brief if entry.number not in turn.records]",
        "an amended entry counts twice where a cause is looked for",
        _VARIED,
        changes_nothing="of these entries the stage alone is looked up, by the number of the line"
        " that says it, and each line says one",
    ),
    Fault(
        "figures/renewal.py",
        'return stands and self._state.get("settings") == self._settings and self._has_stood',
        "return stands and self._has_stood",
        "another length of the working day does not reach what the checks ask",
        _KEPT,
    ),
    Fault(
        "figures/renewing.py",
        "self._changed |= people_changed(table, before, rows[table][1])",
        "self._changed = people_changed(table, before, rows[table][1])",
        "pages of shots that have changed are not made again",
        (*_KEPT, *_CHANGED),
    ),
    Fault(
        "figures/changed.py",
        "return {(what, person) for person, (old, new) in said.items() if old != new}",
        "return {(what, person) for person, (old, new) in said.items() if not old and new}",
        "the page of somebody whose footage was taken away is not made again",
        _CHANGED,
    ),
    Fault(
        "figures/changed.py",
        '"puppet": of["puppet"] | copies | fitted | self._in_shots("puppet"),',
        '"puppet": of["puppet"] | copies | self._in_shots("puppet"),',
        "the page of a puppet does not show new work on the part that it wears",
        _CHANGED,
    ),
)

_SITE = (
    Fault(
        "site/html.py",
        'return Markup("<bdi>{}</bdi>").format(text) if _stays_apart(text) else escape(text)',
        "return escape(text)",
        "a name from right to left turns the text around it",
        _CELLS,
    ),
    Fault(
        "site/html.py",
        'return f"{said} <small>{escape(cell.note)}</small>" if cell.note else said',
        'return f"{said} <small>{cell.note}</small>" if cell.note else said',
        "a note beside a cell is not escaped",
        _CELLS,
    ),
    Fault(
        "site/csv_file.py",
        'return guarded(", ".join(str(name) for name in names))',
        'return ", ".join(str(name) for name in names)',
        "a name in a table beside a page is run by a spreadsheet",
        ("site/test_cells.py", "site/test_odd_names.py"),
    ),
    Fault(
        "site/links.py",
        "if _PLAIN.fullmatch(folded) and folded not in _RESERVED and not _TAKEN.search(folded):",
        "if _PLAIN.fullmatch(folded) and folded not in _RESERVED:",
        "two codes may have one page",
        ("site/test_addresses.py",),
    ),
    Fault(
        "site/links.py",
        "folded = code.casefold()\n    if _PLAIN",
        "folded = code\n    if _PLAIN",
        "a code in capitals has a page of another name on each machine",
        ("site/test_addresses.py",),
    ),
    Fault(
        "site/jump.py",
        'files_under = person.sort_name or "" if source.crew else ""',
        'files_under = person.sort_name or ""',
        "the public can find somebody by an earlier name",
        ("site/test_jump_index.py", "site/test_canaries.py"),
    ),
    Fault(
        "site/publish.py",
        "if not there.issubset(KEPT) and MARK not in there:",
        "if not there and MARK not in there:",
        "building a site removes a folder of photographs",
        ("cli/test_cli_site.py", "site/test_folder_exchange.py"),
    ),
    Fault(
        "site/charts.py",
        "begun = at + 1\n",
        "begun = at\n",
        "the line of a new target lies over the week before it, too",
        ("site/test_charts.py",),
    ),
    Fault(
        "site/pages/people.py",
        "if source.office or not count:",
        "if not count:",
        "the office reads that somebody is uncredited whom it can read by name",
        ("pages/test_people.py", "site/test_uncredited.py"),
    ),
    Fault(
        "site/pages/people.py",
        "if not source.crew and key not in crafts:",
        "if source.crew and key not in crafts:",
        "the public reads the departments of the crew list",
        ("pages/test_people.py", "site/test_editions_of_a_site.py", "site/test_canaries.py"),
    ),
    Fault(
        "site/pages/character.py",
        "if part.character == self.code:",
        "if part.character in (None, self.code):",
        "parts of nobody stand on the page of every character",
        ("pages/test_character.py", "pages/test_puppet.py"),
    ),
)

_APP = (
    Fault(
        "app/lists/correct.py",
        "if bool(cells) == void:",
        "if bool(cells) and void:",
        "a correction without a word is taken for a void",
        _CORRECT,
    ),
    Fault(
        "app/lists/correct.py",
        'if column.name == "credit_wish":',
        'if column.name == "wish":',
        "an emptied cell names somebody who asked not to be named",
        _CORRECT,
    ),
    Fault(
        "app/work/entries.py",
        "if row.line.work == holds.work and ref in (None, holds.ref):",
        "if row.line.work == holds.work:",
        "an entry cannot be given a ref afterwards",
        ("cli/test_cli_log.py",),
    ),
    Fault(
        "app/work/entries.py",
        "        if line is None and holds is None:\n",
        "        if line is None and holds is None and again:\n",
        "an entry that was voided is said to be logged again, and is not",
        ("cli/test_cli_log.py", "cli/test_cli_quick_lines.py"),
    ),
    Fault(
        "app/work/entries.py",
        "if row.said_by is not None and not again:",
        "if row.said_by is not None:",
        "what was done twice on a day cannot be logged twice",
        ("cli/test_cli_log.py", "cli/test_cli_quick_lines.py"),
    ),
    Fault(
        "app/work/session.py",
        'if self.stage is not None and "stage" not in said:',
        "if self.stage is not None:",
        "a line that says another stage is logged on the one of the session",
        _SESSION,
    ),
    Fault(
        "app/work/session.py",
        "while count < len(words) and own.fullmatch(words[count].text):",
        "while count < len(words) and own.match(words[count].text):",
        "the reason of a void is read as an entry",
        _SESSION,
    ),
    Fault(
        "app/work/filled.py",
        "if fold_code(mark.production) != fold_code(production.code):",
        "if not mark.production:",
        "a day sheet of another film is loaded",
        ("cli/test_day_sheets.py",),
    ),
    Fault(
        "app/find.py",
        "return bool(words) and all(word in folded for word in words)",
        "return bool(words) and any(word in folded for word in words)",
        "looking for two words finds whatever has one",
        ("cli/test_cli_find.py",),
    ),
)

_DOORS_IN = (
    Fault(
        "desk/guard.py",
        "self.done = [*self.done[-MOST_UNDONE + 1 :], numbers]",
        "self.done = [*self.done[-MOST_UNDONE:], numbers]",
        "one line more than the most can be undone",
        _DOORS,
    ),
    Fault(
        "desk/guard.py",
        "self._wrong = 0 if is_right else self._wrong + 1",
        "self._wrong = 0 if is_right else 1",
        "a password can be guessed as quickly as before",
        _DOORS,
    ),
    Fault(
        "desk/server.py",
        "if not isinstance(rows, list) or not 0 < len(rows) <= MOST_ROWS:",
        "if not isinstance(rows, list) or not 0 < len(rows) < MOST_ROWS:",
        "as many rows as may be posted are refused",
        _DOORS,
    ),
)

_COMMANDS = (
    Fault(
        "cli/figures.py",
        "if frame is not None and frame > the_shot.length:",
        "if frame is not None and frame >= the_shot.length:",
        "nobody can ask who is in the last frame of a shot",
        ("cli/test_cli_worked_example.py", "cli/test_cli_guards.py"),
    ),
    Fault(
        "cli/figures.py",
        '"last": run.stop - 1,',
        '"last": run.stop,',
        "hands as JSON reach a frame too far",
        ("cli/test_cli_worked_example.py", "cli/test_cli_lines.py"),
    ),
    Fault(
        "cli/tables.py",
        'more = counted(after - before, "more open question")',
        'more = counted(after, "more open question")',
        "a load is said to raise all questions of the log",
        ("cli/test_cli_load.py", "cli/test_cli_load_again.py"),
    ),
    Fault(
        "cli/entries.py",
        "logged = log_entries(folder, said, again, write=not dry_run)",
        "logged = log_entries(folder, said, again)",
        "a dry run logs the entry",
        ("cli/test_cli_dry_run.py",),
    ),
    Fault(
        "cli/terminal/outlines.py",
        'return dict(kept["outline"]) if kept["stamp"] == stamp else None',
        'return dict(kept["outline"])',
        "a Tab offers the options of an older release",
        ("cli/test_cli_outlines.py",),
    ),
    Fault(
        "cli/terminal/stdin.py",
        "if len(content) > LARGEST_FILE:",
        "if len(content) >= LARGEST_FILE:",
        "a file of the largest size is refused on standard input",
        ("cli/test_cli_load.py", "cli/test_cli_guards.py"),
    ),
)

FAULTS = (*_FIGURES, *_SITE, *_APP, *_DOORS_IN, *_COMMANDS)
