"""A file that comes on standard input, where ``-`` is written for its name."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from credits.cli.terminal import printing
from credits.errors import Finding, WrongCall
from credits.formats.tables.limits import LARGEST_FILE
from credits.temporary import own_folder

STANDARD_INPUT = Path("-")
_WORKBOOK = b"PK\x03\x04"


@contextmanager
def file_on_input(name: str) -> Iterator[Path]:
    """Keep what comes on standard input as a file of this name while the block runs.

    It can be read twice there, and findings name it as they name files. Raises WrongCall where
    nothing comes, or more than a file may hold.
    """
    if sys.stdin is None:
        raise _nothing_comes()
    if printing.is_terminal(sys.stdin):
        printing.remark("Reading what is typed; Ctrl-D ends it.")
    content = sys.stdin.buffer.read(LARGEST_FILE + 1)
    if not content:
        raise _nothing_comes()
    if len(content) > LARGEST_FILE:  # perhaps it never ends
        what = f"has more than {LARGEST_FILE // 1_000_000} MB"
        raise WrongCall(Finding(what, "Load it in several files.", None, "-"))
    with own_folder() as folder:
        file = folder / name
        file.write_bytes(content)
        if content.startswith(_WORKBOOK) and file.suffix == ".csv":
            file = file.rename(file.with_suffix(".xlsx"))
        yield file


def _nothing_comes() -> WrongCall:
    return WrongCall(
        Finding("nothing comes on standard input", "Send a file: ... < FILE.", None, "-")
    )


@contextmanager
def tables_meant(paths: Sequence[Path], sheet: str | None) -> Iterator[list[Path]]:
    """Yield the files to load, with the one on standard input for ``-``; ``sheet`` is its name."""
    if STANDARD_INPUT not in paths:
        yield list(paths)
        return
    if not sheet:
        hint = "Write the table: --sheet entries."
        raise WrongCall(Finding("a table on standard input has no name", hint, None, "--sheet"))
    if Path(sheet).name != sheet or len(sheet) > 200:
        raise WrongCall(Finding("is no name of a sheet", "Write entries.", None, "--sheet", sheet))
    if list(paths).count(STANDARD_INPUT) > 1:
        raise WrongCall(Finding("there is one standard input", "Write - once.", None, "-"))
    with file_on_input(f"{sheet}.csv") as file:
        yield [file if path == STANDARD_INPUT else path for path in paths]


CUT_FORMS = ("edl", "otio", "csv")


@contextmanager
def cut_meant(file: Path, form: str | None) -> Iterator[Path]:
    """Yield the file of the cut, or the one on standard input for ``-``; ``form``: what it is."""
    words = ", ".join(CUT_FORMS)
    if form is not None and form.lower() not in CUT_FORMS:
        raise WrongCall(
            Finding("is no form of a cut", f"Write one of {words}.", None, "--as", form)
        )
    if file != STANDARD_INPUT:
        if form is not None:
            hint = "Leave it out: the name of a file says what it is."
            raise WrongCall(Finding("says what comes on standard input", hint, None, "--as", form))
        yield file
        return
    if form is None:
        hint = f"Write --as with one of {words}."
        raise WrongCall(Finding("what comes on standard input is not said", hint, None, "--as"))
    name = "cut.csv" if form.lower() == "csv" else f"standard-input.{form.lower()}"
    with file_on_input(name) as on_input:
        yield on_input
