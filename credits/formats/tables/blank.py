"""Blank tables to fill in, each column explained in one line."""

from __future__ import annotations

import io
from datetime import datetime

import xlsxwriter

from credits.formats.tables.columns import TABLES, SheetColumn, SheetTable
from credits.formats.tables.headings import EXPLAINS

BLANK = {name: table for name, table in TABLES.items() if name != "confirmations"}
"""The tables that are filled in; the sheet that asks for names is written when it is needed."""

# The same film, the same bytes: a workbook must say when it was made (ECMA-376 part 2, 11).
_MADE = datetime(2000, 1, 1)
_ROWS_WITH_HINTS = 500

# One line a column; where a column means something else in one table, under table.column.
_EXPLAINED = {
    "person": "The person's code: short, never changed.",
    "people.person": "A short code that never changes, such as ana.",
    "credit_name": "The name as it is to appear, every letter and sign.",
    "sort_name": "How the name files: Holm, Ana.",
    "legal_name": "The legal name; it is never published.",
    "email": "Where the person is asked about the name: ana@mail.example.",
    "isni": "The person's ISNI, sixteen figures.",
    "credit_wish": "credited, or uncredited.",
    "name_confirmed_on": "The day on which the person confirmed the name.",
    "same_as": "The code of the same person, if there are two.",
    "department": "The department: Voices, Art, Puppets, Animation ...",
    "job_title": "The job as it is to be printed: Lead Animator.",
    "starts_on": "The first day, such as 2026-03-02.",
    "ends_on": "The last day.",
    "guaranteed_heading": "The heading that the contract guarantees.",
    "billing_number": "The place in the heading that the contract guarantees.",
    "craft": "The kind of work; credits load --help lists the built-in ones.",
    "crafts.craft": "A short code of a kind of work, such as wig-making.",
    "name": "The name as it is to be read.",
    "kind": "What it is: face, head, costume, armature, hands ...",
    "crafts.kind": "performance (it happens in shots) or build (it happens on things).",
    "footage": "yes, if the work shoots frames; else no.",
    "heading": "The heading in the end credits.",
    "repair": "yes, if the work makes whole what was made before.",
    "character": "The character's code.",
    "characters.character": "A short code of the role, such as wick.",
    "silent": "yes, if the character has no voice.",
    "puppet": "The puppet's code.",
    "puppets.puppet": "A short code of one physical copy, such as wick-3.",
    "copy": "The number of the copy.",
    "scale": "The scale: 1:1, 1:4 ...",
    "ready_on": "The day on which it could be shot.",
    "retired_on": "The day on which it went out of use.",
    "part": "The part's code.",
    "parts.part": "A short code of something fitted to puppets, such as wick-face-012.",
    "from_on": "The first day on the puppet.",
    "to_on": "The last day on the puppet.",
    "frames": "Frames: 1-20, 25-48.",
    "shots.frames": "The length of the shot in frames.",
    "sequence": "The sequence's code.",
    "sequences.sequence": "A short code of the sequence, such as 010.",
    "shot": "The shot's code.",
    "shots.shot": "A short code of the shot, such as 010-020.",
    "status": "planned, shooting, done or omitted.",
    "description": "What happens in it.",
    "episode": "The episode that the shot belongs to, where there are several.",
    "stage": "The stage's code.",
    "stages.stage": "A short code of the stage, such as A.",
    "unit": "The crew that shoots there.",
    "take": "The number of the take.",
    "purpose": "block, rehearsal or shoot.",
    "decision": "open, accepted or retake.",
    "decided_on": "The day of the decision.",
    "ref": "The row's own number in this sheet, if it has one.",
    "poses_on": "How many frames each pose is held: 1, 2, 3.",
    "share": "The share of several people in the same frames: 1/2.",
    "started_on": "The first day of the work.",
    "finished_on": "The day of the work, or its last day.",
    "minutes": "How long it took: 90, 1:30, 1.5 h, 1/2 day.",
    "wait_minutes": "How much of it was waiting.",
    "note": "Anything else.",
    "private": "yes, if the note is for the office alone.",
    "logged_by": "Who wrote the row.",
}


def explained(table: SheetTable, column: SheetColumn) -> str:
    """Say in one line what stands in a column, and whether every row needs it."""
    line = _EXPLAINED.get(f"{table.name}.{column.name}") or _EXPLAINED[column.name]
    return f"Required. {line}" if column.required else line


def blank_csv(table: SheetTable) -> bytes:
    """Return the table as a CSV file with its header alone."""
    return (",".join(table.column_names) + "\r\n").encode()


def explanations() -> str:
    """Return the text that stands beside blank CSV files: every table, its columns in one line."""
    lines = ["The tables, and what stands in their columns. Leave out what you do not need.", ""]
    for table in BLANK.values():
        lines.append(f"{table.name}.csv")
        lines += [f"    {column.name}: {explained(table, column)}" for column in table.columns]
        lines.append("")
    return "\n".join(lines)


def blank_workbook() -> bytes:
    """Return all tables as one workbook: below each header a row that explains, and is not loaded.

    The cells below say the same when they are chosen; columns stand as text, so that codes such
    as 010 and ranges such as 1-12 stay what is typed.
    """
    target = io.BytesIO()
    with xlsxwriter.Workbook(target, {"in_memory": True}) as book:
        book.set_properties({"title": "Tables", "created": _MADE})
        bold = book.add_format({"bold": True, "bottom": 1})
        faint = book.add_format({"italic": True, "text_wrap": True, "valign": "top"})
        text = book.add_format({"num_format": "@"})
        for table in BLANK.values():
            sheet = book.add_worksheet(table.name)
            sheet.freeze_panes(2, 1)
            sheet.set_row(1, 62)
            for at, column in enumerate(table.columns):
                line = explained(table, column)
                sheet.set_column(at, at, max(14, len(column.name) + 2), text)
                sheet.write_string(0, at, column.name, bold)
                sheet.write_string(1, at, line if at else EXPLAINS + line, faint)
                hint = {"validate": "any", "input_title": column.name, "input_message": line}
                sheet.data_validation(2, at, _ROWS_WITH_HINTS, at, hint)
    return target.getvalue()
