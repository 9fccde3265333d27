"""The entry point: the commands in the order of a production's life, and no traceback ever."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from typing import Annotated

import typer

from credits import __version__
from credits.cli import printing
from credits.cli.amend import amend
from credits.cli.check import check
from credits.cli.confirm import confirm
from credits.cli.cut import cut
from credits.cli.demo import demo
from credits.cli.export import export
from credits.cli.find import find
from credits.cli.footage import footage
from credits.cli.hands import hands
from credits.cli.keep import backup, verify
from credits.cli.load import load
from credits.cli.log import log
from credits.cli.plan import plan
from credits.cli.reach import reach
from credits.cli.review import review
from credits.cli.roll import roll
from credits.cli.same import same
from credits.cli.settle import settle
from credits.cli.site import site
from credits.cli.start import start
from credits.cli.void import void
from credits.cli.why import why
from credits.errors import CreditsError

STOPPED = 130  # 128 + SIGINT
UNEXPECTED = 70  # EX_SOFTWARE of sysexits.h

COMMANDS = (
    demo, start, load, cut, log, amend, void, same, find, check, settle, footage, review, hands,
    reach, plan, roll, why, confirm, export, site, backup, verify,
)  # fmt: skip

app = typer.Typer(
    name="credits",
    help="The log of who made each character's performance, and what comes out of it.",
    rich_markup_mode=None,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)
for _command in COMMANDS:
    app.command(_command.__name__)(_command)


def _show_version(wanted: bool) -> None:
    if wanted:
        printing.say(f"credits {__version__}")
        raise typer.Exit


@app.callback()
def _credits(
    version: Annotated[
        bool,
        typer.Option("--version", is_eager=True, callback=_show_version, help="Show the version."),
    ] = False,
) -> None:
    """The log of who made each character's performance, and what comes out of it."""


def _safe_streams() -> None:
    """Characters that a stream cannot write are written as escapes instead of failing."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="backslashreplace")


def _nobody_reads() -> int:
    """Let nothing more be written, so that the interpreter does not complain at its end."""
    try:
        sink = os.open(os.devnull, os.O_WRONLY)
        os.dup2(sink, sys.stdout.fileno())
    except (OSError, ValueError):
        pass
    return printing.READER_LEFT


def _words_of(error: OSError) -> str:
    """What the disk or the system refuses, in one line: which file, and why."""
    where = f"{error.filename}: " if error.filename is not None else ""
    return f"{where}{error.strerror or type(error).__name__}. Nothing was half written."


def _report_of(error: Exception) -> str:
    return (
        f"credits {__version__} has failed with {type(error).__name__}"
        f" ({printing.clean(error) or 'no message'}). Nothing that was not confirmed has been"
        " written. Please report this line with the command that you gave; CREDITS_TRACEBACK=1"
        " shows where it happened."
    )


def _answer(args: Sequence[str] | None) -> int:
    try:
        app(args=list(args) if args is not None else None, prog_name="credits")
    except SystemExit as ended:
        return ended.code if isinstance(ended.code, int) else 0 if ended.code is None else 1
    return 0


def run(args: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status: 0 done, 1 no or problems, 2 wrong call."""
    _safe_streams()
    try:
        try:
            return _answer(args)
        except CreditsError as error:
            printing.problems(error.findings)
            return error.exit_status
        except KeyboardInterrupt:
            return STOPPED
        except UnicodeEncodeError as error:
            printing.remark(f"{error.object!r} is no text that can be written or read here.")
            return 2
        except (printing.ReaderGone, BrokenPipeError):
            raise
        except OSError as error:
            printing.remark(_words_of(error))
            return 1
        except Exception as error:
            if os.environ.get("CREDITS_TRACEBACK") == "1":
                raise
            printing.remark(_report_of(error))
            return UNEXPECTED
    except (printing.ReaderGone, BrokenPipeError):
        return _nobody_reads()
