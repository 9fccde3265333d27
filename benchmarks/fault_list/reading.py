"""Faults in what is read and written: tables, sheets, cuts, plans, standards, deliverables."""

from __future__ import annotations

from benchmarks.fault_list.fault import Fault

_AGAIN = ("formats/test_sheets_again.py",)
_FACES = ("formats/test_face_sheet.py",)
_VALUES = ("formats/test_values_in.py", "formats/test_entries_in.py")
_EDL = ("formats/test_cut_edl.py", "formats/test_cut_out.py")
_CUTS = ("formats/test_cut_shots.py", "formats/test_cut_csv.py", "formats/test_cut_otio.py")
_STANDARDS = ("formats/test_prov_out.py", "formats/test_account.py")

_SHEETS = (
    Fault(
        "formats/tables/again.py",
        "many = of_sheet > 1 and 4 * of_sheet > report.rows",
        "many = of_sheet > 1 and 4 * of_sheet >= report.rows",
        "a sheet of which exactly a quarter changed asks for a word",
        _AGAIN,
    ),
    Fault(
        "formats/tables/again.py",
        "elif earlier.work == row.work:\n                self._report.same += 1",
        "elif earlier.work == row.work:\n                self._rest.append(at)",
        "a row that stands twice in a sheet is logged twice",
        _AGAIN,
    ),
    Fault(
        "formats/tables/again.py",
        "if chain not in self._met and not _is_of_a_day_sheet(chain, self._sheet)",
        "if chain not in self._met",
        "a day sheet voids the rows of the day before",
        ("cli/test_day_sheets.py", *_AGAIN),
    ),
    Fault(
        "formats/tables/again.py",
        'chains = KnownEntries(lines, "").with_key(None, row.ref)',
        'chains = KnownEntries(lines, "").with_key("", row.ref)',
        "an entry that is typed twice with its ref is logged twice",
        ("cli/test_cli_log.py", *_AGAIN),
    ),
    Fault(
        "formats/tables/again.py",
        "ref=row.ref,\n            source=row.source,",
        "source=row.source,",
        "the rows of a sheet are written without their refs",
        _AGAIN,
    ),
    Fault(
        "formats/tables/entries.py",
        "line.ref is not None and _came_in(line, sheet) and entry_of_key(line.ref) is None",
        "line.ref is not None and entry_of_key(line.ref) is None",
        "the ref that an entry was given by hand counts as a key of the sheet",
        _AGAIN,
    ),
    Fault(
        "formats/tables/faces.py",
        "if fold_code(text) not in DITTO:",
        "if text not in DITTO:",
        "a ditto mark that is written Do. is no part",
        _FACES,
    ),
    Fault(
        "formats/tables/faces.py",
        "                above = self._parts_in(index, heading, text, character)\n",
        "                above = self._parts_in(index, heading, text, character) or above\n",
        "a ditto mark under an empty cell repeats what stands above that",
        _FACES,
    ),
    Fault(
        "formats/tables/faces.py",
        "if part.character and (digits := _LAST_DIGITS.search(part.code)):",
        "if digits := _LAST_DIGITS.search(part.code):",
        "a part that any character may wear has a number of nobody",
        _FACES,
        changes_nothing="numbers are looked for by character, and such a part is kept under none",
    ),
    Fault(
        "formats/tables/faces.py",
        "if not (rest := old.frames - named[old.character]):",
        "if not (rest := old.frames):",
        "a new face sheet leaves the old faces in its frames",
        _FACES,
    ),
    Fault(
        "formats/tables/cells.py",
        "found = Fraction(int(above), parts) + int(whole_part or 0) if parts else Fraction(0)",
        "found = Fraction(int(above), parts) * int(whole_part or 1) if parts else Fraction(0)",
        "a share of 1 1/2 is read as 1/2",
        _VALUES,
    ),
    Fault(
        "formats/tables/cells.py",
        "if not FIRST_YEAR <= found.year <= LAST_YEAR:",
        "if not FIRST_YEAR <= found.year < LAST_YEAR:",
        "days of the last year that can be are refused",
        _VALUES,
    ),
    Fault(
        "formats/tables/csv_files.py",
        "return max((sum(plain_header(cell) in known for cell in row), len(row)) for row in rows)",
        "return max((len(row), 0) for row in rows)",
        "a note with commas makes a table of semicolons one of commas",
        ("formats/test_csv_dialects.py",),
    ),
)

_CUT_FILES = (
    Fault(
        "formats/cut/edl.py",
        "if len(given) == len(own):\n        return of_normal(given[own.index(at)], rate)",
        "if len(given) == len(own):\n        return of_normal(given[0], rate)",
        "of several speeds in an event all clips have the first",
        _EDL,
    ),
    Fault(
        "formats/cut/edl.py",
        "return of_normal(given[-1], rate) if at == own[-1] else None",
        "return of_normal(given[-1], rate)",
        "the speed of what a dissolve goes to is that of what it comes from, too",
        _EDL,
    ),
    Fault(
        "formats/cut/edl.py",
        "given = [speed for name, speed in event.speeds if name == reel]\n",
        "given = [speed for _, speed in event.speeds]\n",
        "the speed of another reel of the event is taken",
        _EDL,
    ),
    Fault(
        "formats/cut/edl.py",
        "if line.track is not None and line.reel == reel]",
        "if line.reel == reel]",
        "the sound of a clip takes its speed away",
        _EDL,
    ),
    Fault(
        "formats/cut/clips.py",
        "found = self._found(names, names[:1]) or self._found(files, files)",
        "found = self._found((*names, *files), (*names, *files))",
        "the name of the media says another shot than the name of the clip",
        _CUTS,
    ),
    Fault(
        "formats/cut/clips.py",
        "media_last = clip.media_first + clip.media_length - 1",
        "media_last = clip.media_first + clip.media_length",
        "a clip may show a frame behind the end of its media",
        _CUTS,
    ),
    Fault(
        "formats/cut/read.py",
        "elif shown not in (None, on_screen := ceil(n / abs(rate))):",
        "elif shown is not None and shown > (on_screen := ceil(n / abs(rate))):",
        "a clip that is said to be on screen for too few frames is taken as it is",
        _CUTS,
    ),
    Fault(
        "formats/cut/edl_out.py",
        "places = (first, first + length, record, record + clip.shown)",
        "places = (first, first + clip.shown, record, record + clip.shown)",
        "an edit list gives fast clips the wrong source",
        ("formats/test_cut_out.py",),
    ),
    Fault(
        "formats/plan/read.py",
        "if not fits or len(group) < 2:",
        "if not fits:",
        "one name alone may stand together with nobody",
        ("formats/test_plan_in.py", "formats/test_plan_own.py"),
    ),
)

_OUT = (
    Fault(
        "formats/standards/prov.py",
        '"endDate": days[-1].isoformat()}',
        '"endDate": days[0].isoformat()}',
        "work of a month ends on the day on which it began",
        _STANDARDS,
    ),
    Fault(
        "formats/standards/prov.py",
        "for day in (w.started_on, w.finished_on) if day is not None)",
        "for day in (w.finished_on,) if day is not None)",
        "work is said to begin on the day on which its first part ended",
        _STANDARDS,
    ),
    Fault(
        "formats/standards/prov.py",
        "for thing in work.used:",
        "for thing in work.used[:1]:",
        "of two things that work used one is in no account",
        _STANDARDS,
    ),
    Fault(
        "formats/standards/prov.py",
        "if code is not None and not code.near:\n            roles",
        "if code is not None:\n            roles",
        "a role that is only near is given the code of a list",
        _STANDARDS,
    ),
    Fault(
        "formats/standards/account.py",
        "entries.sort(key=lambda entry: entry.day or date.max)",
        "entries.sort(key=lambda entry: entry.day or date.min)",
        "a thing began with work of which no day is known",
        _STANDARDS,
    ),
    Fault(
        "formats/tables/answered.py",
        "if word.confirmed_on is None or word.confirmed_on >= last:",
        "if word.confirmed_on is None or word.confirmed_on > last:",
        "a second answer of one day does not correct the name",
        ("formats/test_confirmations.py", "cli/test_cli_confirm.py"),
    ),
    Fault(
        "formats/deliver/name_form.py",
        '{"asks": LEGAL, "name": typeset(one.legal_name or "")} if self.legal else None,',
        '{"asks": LEGAL, "name": typeset(one.legal_name or "")},',
        "a legal name stands on a form that was not to ask for it",
        ("cli/test_cli_confirm.py", "formats/test_confirmations.py"),
    ),
)

FAULTS = (*_SHEETS, *_CUT_FILES, *_OUT)
