"""Questions at a terminal: asked again until the answer can be used."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TypeVar

import typer

from credits.cli.terminal import printing
from credits.errors import Finding, WrongCall

T = TypeVar("T")
STOPPED = 130


def may_ask(as_json: bool) -> bool:
    """Tell whether a person sits at a terminal and waits for no JSON."""
    terminals = printing.is_terminal(sys.stdin) and printing.is_terminal(sys.stdout)
    return terminals and not as_json


def ask(question: str, read: Callable[[str], T], default: str = "", hint: str = "") -> T:
    """Ask until the answer can be read; what is wrong with one is said before the next.

    read: raises WrongCall for an answer that cannot be used. default: what an empty line means.
    """
    offered = f" [{printing.clean(default)}]" if default else ""
    more = f" ({hint})" if hint else ""
    while True:
        try:
            return read(input(f"{question}{more}{offered}: ").strip() or default)
        except WrongCall as error:
            printing.problems(error.findings)


def needed(read: Callable[[str], T]) -> Callable[[str], T]:
    """Return a reader that refuses an empty answer."""

    def reads(text: str) -> T:
        if not text:
            raise WrongCall(Finding("is needed", "Write it, or leave with Ctrl-D."))
        return read(text)

    return reads


@contextmanager
def leaving() -> Iterator[None]:
    """Let Ctrl-D and Ctrl-C end the questions, and say that nothing was written."""
    try:
        yield
    except (EOFError, KeyboardInterrupt) as left:
        printing.say()
        printing.warn("Nothing was written.")
        raise typer.Exit(STOPPED if isinstance(left, KeyboardInterrupt) else 1) from None
