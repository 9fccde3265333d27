"""Write the sheets that ask how names are spelled: one for all, or one for each person."""

from __future__ import annotations

import codecs
import os
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import NamedTuple

from credits.app.production import open_snapshot
from credits.app.work.named import day_named
from credits.errors import Finding, WrongCall
from credits.figures.renewal import Depth
from credits.files import Over, require_folder, write_whole
from credits.formats.deliver.fonts import font_folders
from credits.formats.deliver.name_form import PersonalForm
from credits.formats.deliver.plain import check_target
from credits.formats.deliver.xlsx import refuse_other_workbook
from credits.formats.tables.confirmations import asked, confirmation_sheet
from credits.site.links import file_name
from credits.site.publish import MARK, publish
from credits.store.settings import SETTINGS_NAME, read_settings, with_names_by

FORMS = (".xlsx", ".pdf")


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetWish:
    """Which sheets are asked for.

    out: the workbook; None: a file named after the production in the working folder. each: a
    folder for a workbook and a PDF of each person instead. answer_by: the day by which to answer;
    None: that of the production's settings. legal: with the legal names.
    """

    out: str | None = None
    each: str | None = None
    answer_by: str | None = None
    legal: bool = False


class SheetsWritten(NamedTuple):
    """The workbook or the folder, how many people it asks, and by when they are to answer.

    is_new_day: whether the day was written into the production's settings.
    """

    target: Path
    people: int
    answer_by: date | None
    is_new_day: bool


def write_sheets(folder: Path, wish: SheetWish) -> SheetsWritten:
    """Write the sheets that ask for spellings, and that ``credits load`` takes back.

    A day to answer by is kept in the production's settings, so that the checks know who is late.
    Raises WrongCall, CreditsError; then nothing is written.
    """
    target = _target(folder, wish)
    day = day_named(wish.answer_by, "--answer-by") if wish.answer_by is not None else None
    path = folder / SETTINGS_NAME
    settings = None if day is None else _settings(path, day)
    snapshot = open_snapshot(folder, Depth.FOOTAGE)
    ledger = snapshot.ledger
    answer_by = day or ledger.production.names_by
    people = tuple(asked(snapshot.credits, ledger))
    if wish.each is None:
        content = confirmation_sheet(people, answer_by, legal=wish.legal)
        refuse_other_workbook(target, content)
        write_whole(target, content)
    else:
        form = PersonalForm(
            film=ledger.production.title, answer_by=answer_by, legal=wish.legal, people=people
        )
        publish(target, _personal_files(form))
    if settings is not None:
        write_whole(path, settings, Over.SETTINGS)
    return SheetsWritten(target, len(people), answer_by, settings is not None)


def _settings(path: Path, day: date) -> bytes | None:
    """Return the settings with a day to answer by; None: they have it already."""
    read_settings(path.parent)  # what is wrong in them is told first
    old = path.read_bytes()
    mark = codecs.BOM_UTF8 if old.startswith(codecs.BOM_UTF8) else b""
    new = mark + with_names_by(old.decode("utf-8-sig"), day).encode("utf-8")
    return None if new == old else new


def _target(folder: Path, wish: SheetWish) -> Path:
    """Return the workbook or the folder to write. Raises WrongCall where it must not be."""
    if wish.each is not None:
        if wish.out is not None:
            what = "is one sheet for all, and --each writes one for each"
            raise WrongCall(Finding(what, "Leave one of both out.", None, "--out", wish.out))
        return _folder_of_forms(Path(wish.each).resolve())
    if wish.out == "-":
        hint = "Name a file, such as confirmations.xlsx."
        raise WrongCall(Finding("a workbook is no text", hint, None, "--out", wish.out))
    target = Path(wish.out or f"{read_settings(folder).code}-confirmations.xlsx")
    if target.suffix.lower() != ".xlsx" and not target.is_dir():
        hint = f"Write a name that ends in .xlsx, such as {target.with_suffix('.xlsx').name}."
        what = "the sheet that asks for spellings is a workbook"
        raise WrongCall(Finding(what, hint, None, "--out", wish.out))
    check_target(target, ".xlsx")
    return target


def _folder_of_forms(target: Path) -> Path:
    """Return a folder that is empty, new, or holds such forms alone. Raises WrongCall."""
    require_folder(target, "--each")
    there = list(target.iterdir()) if target.is_dir() else []
    if not all(path.name == MARK or path.suffix in FORMS for path in there):
        what = "holds other files than such sheets; writing would remove them"
        raise WrongCall(Finding(what, "Name an empty or new folder.", None, "--each", str(target)))
    return target


def _personal_files(form: PersonalForm) -> Iterator[tuple[str, bytes]]:
    """Yield a workbook and a PDF for each person, called after the code."""
    pdf = form.typesetter(font_folders(os.environ)) if form.people else None
    for one in form.people:
        name = file_name(one.person)
        yield f"{name}.xlsx", confirmation_sheet([one], form.answer_by, legal=form.legal)
        if pdf is not None:
            yield f"{name}.pdf", pdf(one)
