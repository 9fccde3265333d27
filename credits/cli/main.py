"""The entry point: the commands in the order of a production's life, and no traceback ever.

A command's module is imported when the command is called, and only then.
"""

from __future__ import annotations

import errno
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from functools import partial, wraps
from io import TextIOBase, TextIOWrapper
from typing import Annotated, Any

import typer
from typer._click.exceptions import ClickException
from typer._click.shell_completion import CompletionItem
from typer.core import TyperGroup, TyperOption

from credits import __version__, waiting, written
from credits.cli.options import ProductionOption
from credits.cli.terminal import printing, progress
from credits.errors import CreditsError, Finding
from credits.memory import import_for_good

STOPPED = 130  # 128 + SIGINT
UNEXPECTED = 70  # EX_SOFTWARE of sysexits.h

# Each command by its name: the module that holds it, and its help in one line.
COMMANDS = {
    "demo": ("start", "Make the example production, an invented film, with its pages."),
    "start": ("start", "Make an empty production: its log, its settings, blank tables."),
    "load": ("tables", "Load tables; if anything is wrong, nothing is written."),
    "cut": ("tables", "Import the editors' cut as a new version; earlier ones stay."),
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
    "review": ("review", "One animator's footage, days, pace and waits, with context."),
    "hands": ("figures", "Who worked on a shot, directly or through a puppet."),
    "reach": ("figures", "How much of the film each person worked on."),
    "plan": ("roll", "Write a first credit plan from the log, to be changed."),
    "roll": ("roll", "Compile the end credits by the plan; say who is not printed."),
    "why": ("why", "Why people are where they are in the credits, or are not."),
    "confirm": ("confirm", "Confirm how a name is spelled; --open: who did not answer."),
    "export": ("export", "Write files for others: the credits, or who made what."),
    "site": ("site", "Build the pages: a folder for each edition that opens from disk."),
    "backup": ("start", "Copy the log, whole, even while others write it."),
    "restore": ("start", "Put a backup in the place of the log, which is kept aside."),
    "merge": ("merge", "Take in what another unit has logged; the other log is only read."),
    "copy": ("start", "Carry a log between a folder and a server, every figure compared."),
    "verify": ("start", "Check that the whole log is sound, line by line."),
}
FORMER_NAMES = {"settle": "answer"}
"""What a command was called before: it is still called so, and not listed."""

DAY_IS_A_WORD = frozenset({"day"})

# Commands that may take longer than a second and ask nothing meanwhile: what they are at first.
AT_WORK = dict.fromkeys(
    ("sheet", "find", "check", "footage", "review", "hands", "reach", "plan", "roll", "why"),
    "Reading the log",
) | {
    "demo": "Making the example",
    "load": "Reading the tables",
    "cut": "Reading the cut",
    "export": "Reading the log",
    "site": "Reading the log",
    "backup": "Copying the log",
    "restore": "Comparing the copy",
    "merge": "Comparing the logs",
    "copy": "Copying and comparing",
    "verify": "Checking the log",
}
HELP = "help"


class StoppedError(Exception):
    """A person has stopped the command with Ctrl-C."""


class LazyGroup(TyperGroup):
    """The commands by name. Each is imported when it is asked for."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(**settings)
        self.commands = dict.fromkeys(COMMANDS, self)  # for the names: what is listed or mistyped

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """Import the command of this name; None where there is none.

        A half-typed command, in which a Tab completes a word, comes in outline.
        """
        name = FORMER_NAMES.get(cmd_name, cmd_name)
        if name not in COMMANDS:
            return None
        if ctx is not None and ctx.resilient_parsing:
            return import_for_good("credits.cli.terminal.outlines").outlined(
                name, partial(_command, name)
            )
        return _command(name)

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """Find the command that is called; ``help COMMAND`` is ``COMMAND --help``."""
        if args[0] == HELP:
            if not args[1:]:
                printing.say_text(ctx.get_help())
                raise typer.Exit
            args = [args[1], "--help"]
        return super().resolve_command(ctx, args)

    def invoke(self, ctx: Any) -> Any:
        """Run the command; Ctrl-C in it goes up as an error of our own."""
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt:
            raise StoppedError from None

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


QUIET = "Print only what is asked for, and what is wrong."


def _be_quiet(wanted: bool) -> None:
    if wanted:
        printing.manner.quiet = True


def _quiet_option() -> TyperOption:
    """Make the option that every command has."""
    return TyperOption(
        param_decls=["-q", "--quiet"],
        is_flag=True,
        default=False,
        expose_value=False,
        callback=lambda _ctx, _param, wanted: _be_quiet(wanted),
        help=QUIET,
    )


def _at_work(what: str, command: Callable[..., Any]) -> Callable[..., Any]:
    @wraps(command)
    def shown(*args: Any, **kwargs: Any) -> Any:
        with progress.at_work(what):
            return command(*args, **kwargs)

    return shown


def _command(name: str) -> Any:
    """Import a command and make it."""
    module = import_for_good(f"credits.cli.{COMMANDS[name][0]}")
    alone = typer.Typer(**_LOOK, add_completion=False)
    # "-1" is a day as people say it, not an option that is not known.
    settings = {"ignore_unknown_options": name in DAY_IS_A_WORD}
    own = getattr(module, "COMMAND_CLASSES", {}).get(name)
    alone.command(name, cls=own, context_settings=settings)(getattr(module, name))
    command = typer.main.get_command(alone)
    command.params.append(_quiet_option())
    if name in AT_WORK and command.callback is not None:
        command.callback = _at_work(AT_WORK[name], command.callback)
    return command


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
    quiet: Annotated[
        bool,
        typer.Option("--quiet", "-q", callback=_be_quiet, help=QUIET),
    ] = False,
    production: ProductionOption = None,
) -> None:
    """The log of who made each character's performance, and what comes out of it."""


class _ClosedStream(TextIOBase):
    """Standard output of a process that was started without one."""

    encoding = "utf-8"

    def write(self, _text: str) -> int:
        """Refuse every text."""
        raise OSError(errno.EBADF, "standard output is closed")


def _safe_streams() -> None:
    """Write characters that a stream cannot write as escapes instead of failing."""
    if sys.stdout is None:
        sys.stdout = _ClosedStream()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _nobody_reads() -> None:
    """Let nothing more be written, so that the interpreter does not complain at its end."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _report_of(error: Exception, receipts: Sequence[object]) -> str:
    done = _words_of().failed_text(receipts) or "Nothing was written."
    return (
        f"credits {__version__} has failed with {type(error).__name__}"
        f" ({printing.clean(error) or 'no message'}). {done}"
        " Please report this line with the command that you gave; CREDITS_TRACEBACK=1"
        " shows where it happened."
    )


def _words_of() -> Any:
    """Import what says in words what was written; it is seldom needed."""
    return import_for_good("credits.cli.terminal.receipts")


def _refuse(text: str, as_json: bool) -> None:
    """Say that a command has failed, in JSON too where it is asked for."""
    if as_json:
        printing.say_problems_json([Finding(text)])
    printing.warn(text)


@contextmanager
def _stopping(stoppable: bool) -> Iterator[None]:
    """Let Ctrl-C stop what is at work; while the command ends, it does nothing any more."""
    if not stoppable or threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, lambda *_: written.stop())
    hook, sys.unraisablehook = sys.unraisablehook, _try_again_to_stop
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
        sys.unraisablehook = hook


def _try_again_to_stop(lost: Any) -> None:
    """Stop again a moment later: the interpreter swallows what stops a callback of its own."""
    if lost.exc_type is not KeyboardInterrupt:
        sys.__unraisablehook__(lost)
        return
    written.stop_was_lost()
    again = threading.Timer(0.05, _stop_from_outside)
    again.daemon = True
    again.start()


def _stop_from_outside() -> None:
    if sys.unraisablehook is _try_again_to_stop:  # the command has not ended meanwhile
        signal.raise_signal(signal.SIGINT)


def run(args: Sequence[str] | None = None, *, stoppable: bool = True) -> int:
    """Run one command and return its exit status: 0 done, 1 no or problems, 2 wrong call.

    stoppable: whether Ctrl-C stops it.
    """
    _safe_streams()
    printing.manner.begin()
    words = list(sys.argv[1:] if args is None else args)
    with written.collecting() as receipts:
        try:
            with _stopping(stoppable), waiting.told_to(_say_waiting):
                return _status_of(words, receipts)
        except (StoppedError, KeyboardInterrupt):
            printing.warn(_words_of().stopped_text(receipts))
            return STOPPED
        except (printing.ReaderGone, BrokenPipeError):
            _nobody_reads()
            if not receipts:
                return printing.READER_LEFT
            printing.warn(_words_of().unprinted_text(receipts, "its reader has gone"))
            return 1
        except printing.UnprintedError as error:
            _nobody_reads()
            printing.warn(_words_of().unprinted_text(receipts, str(error)))
            return 1


def _say_waiting() -> None:
    printing.remark("Another program is writing; waiting.")


def _figures_removed() -> bool:
    """Remove the figures that were read, where these are what is damaged."""
    return bool(import_for_good("credits.store.beside.kept").forget_damaged())


def _damage_of_log() -> Sequence[Finding]:
    """Find what is wrong with the log that was asked, where anything is.

    Altered bytes can fail whoever reads them in any way; to look for them before would cost every
    answer its time.
    """
    asked = sys.modules.get("credits.cli.production")
    if asked is None or not asked.MEANT:
        return ()
    try:
        found: Sequence[Finding] = import_for_good("credits.store.seals.verify").verify(
            asked.MEANT[0]
        )
    except CreditsError as error:
        return error.findings
    except Exception:
        return ()
    return found


def _called(words: list[str]) -> int:
    try:
        status = app(args=words, prog_name="credits", standalone_mode=False)
    except Exception as error:
        if written.was_stopped():  # a library has made another error of what stopped it
            raise StoppedError from error
        raise
    return status if isinstance(status, int) else 0


def _status_of(words: list[str], receipts: Sequence[object]) -> int:
    as_json = "--json" in words
    try:
        return _called(words)
    except SystemExit as ended:  # as completion ends
        return ended.code if isinstance(ended.code, int) else int(ended.code is not None)
    except ClickException as error:
        if as_json:
            printing.say_problems_json([Finding(error.format_message())])
        error.show()
        return error.exit_code
    except typer.Abort:
        raise StoppedError from None
    except CreditsError as error:
        if as_json:
            printing.say_problems_json(error.findings)
        printing.problems(error.findings)
        return error.exit_status
    except UnicodeEncodeError as error:
        _refuse(f"{error.object!r} is no text that can be written or read here.", as_json)
        return 2
    except BrokenPipeError:
        raise
    except OSError as error:
        where = f"{error.filename}: " if error.filename is not None else ""
        what = error.strerror or type(error).__name__
        done = _words_of().failed_text(receipts) or "Nothing was half written."
        _refuse(f"{where}{what}. {done}", as_json)
        return 2 if error.errno == errno.ENAMETOOLONG else 1
    except (StoppedError, printing.ReaderGone, printing.UnprintedError):
        raise
    except Exception as error:
        if type(error).__module__ == "sqlite3" and _figures_removed():
            done = _words_of().failed_text(receipts) or "Nothing was written."
            what = "figures.db was damaged and was removed: it is made anew. The log is as it was."
            _refuse(f"{what} Ask again. {done}", as_json)
            return 1
        if os.environ.get("CREDITS_TRACEBACK") == "1":
            raise
        if found := _damage_of_log():
            done = _words_of().failed_text(receipts) or "Nothing was written."
            printing.warn(f"The log is damaged, so this cannot be answered. {done}")
            if as_json:
                printing.say_problems_json(found)
            printing.problems(found)
            return 1
        _refuse(_report_of(error, receipts), as_json)
        return UNEXPECTED
