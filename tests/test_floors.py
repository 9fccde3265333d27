"""The floors of the house, from the code's own imports: they point down only."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

import credits
from credits.files import shipped

PACKAGE = Path(credits.__file__).parent

# A room is a folder or a module of the package. The rooms of one floor do not know each other;
# the modules of the ground floor are one room.
GROUND = "ground"
FLOORS = {
    GROUND: 0,
    "units": 1,
    "model": 2,
    "footage": 3, "store": 3,
    "hands": 4, "review": 4,
    "billing": 5,
    "checks": 6,
    "figures": 7,
    "formats": 8,
    "site": 9,
    "app": 10,
    "desk": 11,
    "cli": 12,
}  # fmt: skip
ON_THE_GROUND = {
    "", "alphabets", "apart", "cautions", "collation", "editions", "errors", "files", "memory",
    "names",
    "temporary", "text", "toml_text", "two_processes", "unfinished", "waiting", "written",
}  # fmt: skip
ABOVE_ALL = {"__main__": "cli"}

KNOW_SQL = {"sqlite3", "sqlalchemy", "sqlmodel", "alembic"}
SLOW = {
    "sqlmodel", "sqlalchemy", "alembic", "opentimelineio", "typst", "python_calamine", "xlsxwriter",
    "openpyxl", "fontTools", "pyuca", "rapidfuzz", "stdnum", "jinja2", "markdown", "nh3", "prov",
    "starlette", "uvicorn", "icu",
}  # fmt: skip


def module_name(path: Path) -> str:
    """``credits.model.facts`` for its file; a package's ``__init__`` is the package."""
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {
    module_name(path): path
    for path in sorted(PACKAGE.rglob("*.py"))
    if "_data" not in path.relative_to(PACKAGE).parts
}


def room_of(module: str) -> str | None:
    """The room that a module of the package is in; None: it is in none."""
    name = [*module.split("."), ""][1]
    if name in ON_THE_GROUND:
        return GROUND
    name = ABOVE_ALL.get(name, name)
    return name if name in FLOORS and name != GROUND else None


def imports(nodes: Iterable[ast.AST], module: str) -> Iterator[tuple[int, str]]:
    """Every import among the nodes of a module: line, full name of what is imported."""
    for node in nodes:
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield node.lineno, alias.name
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module}:{node.lineno}: write the whole name of the module"
            for alias in node.names:
                inner = f"{node.module}.{alias.name}"
                yield node.lineno, inner if inner in MODULES else str(node.module)


@dataclass(frozen=True)
class Code:
    """What the tests ask of a module. imports: in functions and for types too; needed: as it loads.

    names: those that it reads or writes by themselves; attributes: those of something, with lines.
    """

    imports: Sequence[tuple[int, str]]
    needed: frozenset[str]
    classes: Sequence[str]
    names: frozenset[str]
    attributes: Sequence[tuple[int, str]]


@cache
def every_code() -> Mapping[str, Code]:
    """The code of every module, each parsed once; the trees are not kept."""
    found = {}
    for module, path in MODULES.items():
        tree = ast.parse(path.read_text(encoding="utf-8"))
        nodes = [*ast.walk(tree)]
        top = [node for node in tree.body if isinstance(node, ast.ImportFrom)]
        found[module] = Code(
            tuple(imports(nodes, module)),
            frozenset(name for _, name in imports(top, module) if name.startswith("credits")),
            tuple(node.name for node in tree.body if isinstance(node, ast.ClassDef)),
            frozenset(node.id for node in nodes if isinstance(node, ast.Name)),
            tuple((node.lineno, node.attr) for node in nodes if isinstance(node, ast.Attribute)),
        )
    return found


def own_imports() -> Sequence[tuple[str, int, str]]:
    """Every import of a module of the package in another: module, line, what is imported."""
    return [
        (module, line, imported)
        for module, code in every_code().items()
        for line, imported in code.imports
        if imported.split(".")[0] == "credits"
    ]


def test_every_module_has_a_floor() -> None:
    assert len(MODULES) > 60
    assert [module for module in MODULES if room_of(module) is None] == []
    assert {room_of(module) for module in MODULES} == set(FLOORS)


def test_the_imports_were_seen() -> None:
    assert len(own_imports()) > 300
    assert {room_of(imported) for _, _, imported in own_imports()} >= set(FLOORS)
    assert [imported for _, _, imported in own_imports() if imported not in MODULES] == []


def test_imports_point_down_only() -> None:
    wrong = [
        f"{module}:{line} imports {imported}"
        for module, line, imported in own_imports()
        if room_of(module) != room_of(imported)
        and FLOORS[str(room_of(imported))] >= FLOORS[str(room_of(module))]
    ]
    assert wrong == []


def test_rooms_of_one_floor_do_not_know_each_other() -> None:
    known = {
        (room_of(module), room_of(imported))
        for module, _, imported in own_imports()
        if room_of(module) != room_of(imported)
    }
    for one, other in (("footage", "store"), ("hands", "review")):
        assert (one, other) not in known
        assert (other, one) not in known


def test_no_two_modules_import_each_other_as_they_load() -> None:
    """A ring of imports works only by luck of the order; those in functions are no ring."""
    needs = {module: code.needed for module, code in every_code().items()}
    while free := {module for module, needed in needs.items() if not needed & needs.keys()}:
        for module in free:
            del needs[module]
    assert needs == {}


def test_the_guide_draws_these_floors() -> None:
    guide = (PACKAGE.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
    drawn: dict[str, int] = {}
    for number, rooms in re.findall(r"^ +(\d+)  (.+)$", guide, re.MULTILINE):
        for room in re.split(r" {3,}", rooms):
            words = room.split()
            if number == "0":
                assert set(words) == ON_THE_GROUND - {""}
            elif words[0] in FLOORS:
                drawn[words[0]] = int(number)
    assert {**drawn, GROUND: 0} == FLOORS


def test_the_guide_names_files_that_are_there() -> None:
    root = PACKAGE.parent
    guide = (root / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`([a-z_]+/[a-z0-9_/.]+\.(?:py|md|js|html))`", guide))
    assert len(named) > 20
    places = (root, PACKAGE, root / "site_templates")
    assert [name for name in sorted(named) if not any((at / name).exists() for at in places)] == []


def test_a_class_name_stands_once() -> None:
    names = Counter(name for code in every_code().values() for name in code.classes)
    assert [name for name, times in names.items() if times > 1] == []


def test_only_the_store_knows_sql() -> None:
    knowing = {
        room_of(module)
        for module, code in every_code().items()
        for _, imported in code.imports
        if imported.split(".")[0] in KNOW_SQL
    }
    assert knowing == {"store"}


def test_only_the_command_line_prints() -> None:
    streams = {"stdout", "stderr"}
    printing = {
        room_of(module)
        for module, code in every_code().items()
        if "print" in code.names or streams & {name for _, name in code.attributes}
    }
    assert printing == {"cli"}


def test_nobody_is_told_to_install_a_library() -> None:
    """Whoever reads a page or an answer cannot; what is needed comes with the program."""
    shown = (path for path in shipped("site_templates").rglob("*") if path.is_file())
    read = (*MODULES.values(), *shown)
    telling = [path for path in read if b"pip install" in path.read_bytes()]
    assert telling == []


@pytest.mark.parametrize(
    "room", ["units", "model", "footage", "hands", "review", "billing", "checks", "figures"]
)
def test_computations_and_pages_read_no_clock_no_chance_no_environment(room: str) -> None:
    outside = {"time", "random", "secrets", "os", "sys", "socket", "subprocess", "locale", "uuid"}
    clocks = {"now", "today", "utcnow"}
    wrong = []
    for module, code in every_code().items():
        if room_of(module) != room:
            continue
        wrong += [f"{module}:{line} {name}" for line, name in code.imports if name in outside]
        wrong += [f"{module}:{line} {name}" for line, name in code.attributes if name in clocks]
    assert wrong == []


def test_the_command_line_starts_without_the_slow_libraries() -> None:
    program = "import sys, credits.cli.main; print(*sorted({m.split('.')[0] for m in sys.modules}))"
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    loaded = set(done.stdout.split())
    assert "typer" in loaded
    assert loaded & SLOW == set()
