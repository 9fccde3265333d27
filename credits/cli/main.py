"""The entry point: the commands in the order of a production's life, and no traceback ever.

A command's module is imported when the command is called, and only then.
"""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from io import TextIOWrapper
from typing import Annotated, Any

import typer
from typer._click.shell_completion import CompletionItem
from typer.core import TyperGroup

from credits import __version__
from credits.cli import printing
from credits.cli.options import ProductionOption
from credits.errors import CreditsError
from credits.memory import import_for_good

STOPPED = 130  # 128 + SIGINT
UNEXPECTED = 70  # EX_SOFTWARE of sysexits.h

# Each command by its name: the module that holds it, and its help in one line.
COMMANDS = {
    "demo": ("start", "Make the example production, an invented film, with its pages."),
    "start": ("start", "Make an empty production: its log, its settings, blank tables."),
    "load": ("tables", "Bring in tables; if anything is wrong, nothing is written."),
    "cut": ("tables", "Bring in the editors' cut as a new version; earlier ones stay."),
    "log": ("entries", "Log one entry: this person did this craft on this."),
    "desk": ("desk", "Log the day on a local page in the browser."),
    "amend": ("entries", "Correct an entry."),
    "void": ("entries", "Void an entry: it was never done."),
    "correct": ("lists", "Correct a row of a list, or void it, with a reason."),
    "sheet": ("sheet", "Make the day sheet of a stage or workshop; load takes it back."),
    "day": ("day", "The day: what is logged; on a terminal a session for quick lines."),
    "same": ("check", "Say that two codes are one person; --undo takes it back."),
    "find": ("check", "Find people, things and entries by a text, day, stage or craft."),
    "check": ("check", "List what cannot be right, and what somebody must answer."),
    "answer": ("check", "Answer what the checks ask: one question, several, or all like it."),
    "footage": ("figures", "Footage by person, shot, character, week or stage."),
    "review": ("figures", "One animator's footage, days, pace and waits, with context."),
    "hands": ("figures", "Whose hands are in a shot, directly or by way of a puppet."),
    "reach": ("figures", "How much of the film a person's hands are in."),
    "plan": ("roll", "Write a first credit plan from the log, to be changed."),
    "roll": ("roll", "Compile the end credits by the plan; say who is held."),
    "why": ("roll", "Why a person stands where they stand in the credits."),
    "confirm": ("roll", "Confirm how a name is spelled; --open: who did not answer."),
    "export": ("export", "Write files for others: the credits, or who made what."),
    "site": ("start", "Build the pages: a folder for each edition that opens from disk."),
    "backup": ("start", "Copy the log, whole, even while others write it."),
    "verify": ("start", "Check that the whole log is sound, line by line."),
}
FORMER_NAMES = {"settle": "answer"}
"""What a command was called before: it is still called so, and not listed."""

DAY_IS_A_WORD = frozenset({"day"})


class LazyGroup(TyperGroup):
    """The commands by name. Each is imported when it is asked for."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(**settings)
        self.commands = dict.fromkeys(COMMANDS, self)  # for the names: what is listed or mistyped

    def get_command(self, ctx: Any, cmd_name: str) -> Any:  # noqa: ARG002
        """Import the command of this name; None where there is none."""
        name = FORMER_NAMES.get(cmd_name, cmd_name)
        if name not in COMMANDS:
            return None
        module = import_for_good(f"credits.cli.{COMMANDS[name][0]}")
        alone = typer.Typer(**_LOOK, add_completion=False)
        # "-1" is a day as people say it, not an option that is not known.
        settings = {"ignore_unknown_options": name in DAY_IS_A_WORD}
        own = getattr(module, "COMMAND_CLASSES", {}).get(name)
        alone.command(name, cls=own, context_settings=settings)(getattr(module, name))
        return typer.main.get_command(alone)

    def format_commands(self, ctx: Any, formatter: Any) -> None:  # noqa: ARG002
        """Write the list of commands into the help."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, summary) for name, (_, summary) in COMMANDS.items()])

    def shell_complete(self, ctx: Any, incomplete: str) -> Any:
        """Complete the name of a command without importing any."""
        names = [
            CompletionItem(name, help=summary)
            for name, (_, summary) in COMMANDS.items()
            if name.startswith(incomplete)
        ]
        return [*names, *super(TyperGroup, self).shell_complete(ctx, incomplete)]


_LOOK: dict[str, Any] = {
    "rich_markup_mode": None,
    "pretty_exceptions_enable": False,
    "context_settings": {"help_option_names": ["-h", "--help"]},
}
app = typer.Typer(name="credits", cls=LazyGroup, no_args_is_help=True, **_LOOK)


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
    production: ProductionOption = None,
) -> None:
    """The log of who made each character's performance, and what comes out of it."""


def _safe_streams() -> None:
    """Write characters that a stream cannot write as escapes instead of failing."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _nobody_reads() -> int:
    """Let nothing more be written, so that the interpreter does not complain at its end."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return printing.READER_LEFT


def _report_of(error: Exception) -> str:
    return (
        f"credits {__version__} has failed with {type(error).__name__}"
        f" ({printing.clean(error) or 'no message'}). Nothing that was not confirmed has been"
        " written. Please report this line with the command that you gave; CREDITS_TRACEBACK=1"
        " shows where it happened."
    )


def run(args: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status: 0 done, 1 no or problems, 2 wrong call."""
    _safe_streams()
    try:
        try:
            app(args=list(args) if args is not None else None, prog_name="credits")
            return 0
        except SystemExit as ended:
            return ended.code if isinstance(ended.code, int) else int(ended.code is not None)
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
            where = f"{error.filename}: " if error.filename is not None else ""
            what = error.strerror or type(error).__name__
            printing.remark(f"{where}{what}. Nothing was half written.")
            return 2 if error.errno == errno.ENAMETOOLONG else 1
        except Exception as error:
            if os.environ.get("CREDITS_TRACEBACK") == "1":
                raise
            printing.remark(_report_of(error))
            return UNEXPECTED
    except (printing.ReaderGone, BrokenPipeError):
        return _nobody_reads()
