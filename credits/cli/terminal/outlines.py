"""Commands in outline, for the Tab key: the words and options that each takes, kept in files.

With a command's module comes all that the command needs, and a Tab in it would wait for that. So
what a Tab needs is kept in the user's folder of caches when the module was imported, with a stamp
of the product's files: after a change, or without the file, it is made again. Whatever an outline
cannot answer the command itself is asked.
"""

from __future__ import annotations

import inspect
import json
import os
from collections.abc import Callable, Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any

from typer.core import TyperArgument, TyperCommand, TyperOption

import credits
from credits.cli.options import Completion
from credits.cli.production import completion_of, note_of

Outline = dict[str, Any]
Whole = Callable[[], TyperCommand]
Suggest = Callable[[Any, list[str], str], list[tuple[str, str]]]

FORMAT = 2


def outlined(name: str, whole: Whole) -> TyperCommand:
    """Return a command as a Tab needs it.

    whole: imports the command.
    """
    stamp = _stamp()
    outline = _kept(name, stamp)
    if outline is None:
        outline = _outline(whole())
        _keep(name, stamp, outline)
    return _command(name, outline, whole)


def cache_folder() -> Path:
    """Return the folder of what is kept for this user and may go at any time."""
    given = os.environ.get("XDG_CACHE_HOME")
    return (Path(given) if given else Path.home() / ".cache") / "credits"


def _stamp() -> str:
    """Return what tells this state of the product from others: its files, when each changed."""
    files = sorted(
        (entry.path, entry.stat().st_mtime_ns, entry.stat().st_size)
        for folder, *_ in os.walk(Path(credits.__file__).parent)
        for entry in os.scandir(folder)
        if entry.name.endswith(".py")
    )
    return sha256(repr((FORMAT, files)).encode()).hexdigest()


def _file(name: str) -> Path:
    """A file for each command: two that are made at once do not undo each other."""
    return cache_folder() / f"command-{name}.json"


def _kept(name: str, stamp: str) -> Outline | None:
    try:
        kept = json.loads(_file(name).read_text("utf-8"))
        return dict(kept["outline"]) if kept["stamp"] == stamp else None
    except Exception:  # it is missing, or not ours: it is made again
        return None


def _keep(name: str, stamp: str, outline: Outline) -> None:
    try:
        path = _file(name)
        path.parent.mkdir(parents=True, exist_ok=True)
        new = path.with_name(f"{path.name}.{os.getpid()}.new")
        new.write_text(json.dumps({"stamp": stamp, "outline": outline}), "utf-8")
        new.replace(path)
    except (OSError, RuntimeError):  # no home, or none that may be written: the next Tab waits too
        return


# --- from a command to its outline


def _completions(command: TyperCommand) -> Iterator[tuple[str, Completion]]:
    """Yield the completions of a command's parameters, as its function says them."""
    assert command.callback is not None
    signature = inspect.signature(inspect.unwrap(command.callback), eval_str=True)
    for parameter in signature.parameters.values():
        for said in (parameter.default, *getattr(parameter.annotation, "__metadata__", ())):
            if (complete := getattr(said, "autocompletion", None)) is not None:
                yield parameter.name, complete


def _outline(command: TyperCommand) -> Outline:
    by_name = dict(_completions(command))
    return {
        "settings": command.context_settings,
        "parameters": [_parameter(each, by_name.get(str(each.name))) for each in command.params],
    }


def _parameter(parameter: Any, complete: Completion | None) -> dict[str, Any]:
    said = {
        "name": parameter.name,
        "completed": complete is not None or bool(parameter.type.shell_complete(None, None, "")),
        "by": None if complete is None else note_of(complete),
        "look": {each: getattr(parameter, each) for each in ("nargs", "help", "hidden", "metavar")},
    }
    if isinstance(parameter, TyperOption):
        first, *others = parameter.opts
        said["names"] = ["/".join([first, *parameter.secondary_opts]), *others]
        said["look"] |= {"is_flag": parameter.is_flag, "multiple": parameter.multiple}
    return said


# --- and back


def _command(name: str, outline: Outline, whole: Whole) -> TyperCommand:
    parameters = [
        (TyperOption if "names" in said else TyperArgument)(
            param_decls=[said["name"], *said.get("names", ())],
            autocompletion=_suggest(said, whole) if said["completed"] else None,
            **said["look"],
        )
        for said in outline["parameters"]
    ]
    return TyperCommand(name, params=[*parameters], context_settings=outline["settings"])


def _suggest(said: dict[str, Any], whole: Whole) -> Suggest:
    if said["by"] is not None:
        complete = completion_of(said["by"])
        return lambda ctx, _words, begun: complete(ctx, begun)

    def asked(ctx: Any, _words: list[str], begun: str) -> list[tuple[str, str]]:
        own = next(each for each in whole().params if each.name == said["name"])
        return [(item.value, item.help or "") for item in own.shell_complete(ctx, begun)]

    return asked
