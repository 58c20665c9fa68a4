"""The shape of the house: which floor may import which, what is loaded when, how long a file may be, what may be named.

These read the source as text or as a syntax tree, so that they hold for code which no other test happens to run.
"""

from __future__ import annotations

import ast
import fnmatch
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import stash

PROJECT = Path(__file__).resolve().parent.parent
MAY_IMPORT = {
    "nesting": set(),
    "stash": {"nesting"},
    "cli": {"nesting", "stash"},
    "migrations": {"nesting", "stash"},
}
HEAVY = {"ortools", "matplotlib", "numba", "pint", "alembic", "jsonschema", "scipy", "ezdxf", "cv2"}
# Modules that are themselves imported only inside functions, and may name their heavy library at the top.
HEAVY_AT_TOP = {
    "nesting/compiled.py": "numba",
    "migrations/env.py": "alembic",
    "migrations/versions/*.py": "alembic",
    "stash/camera/*.py": "cv2",
}
DISTRIBUTED_AS = {"pil": "pillow", "cv2": "opencv-python-headless"}
# Imported under one name, installed under another.
LONGEST_FILE = 600
TOP_LEVEL = {
    *("README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "pyproject.toml", ".gitignore", ".ci"),
    *("nesting", "stash", "cli", "migrations", "tests"),
}
# Of this machine, of a source that is not ours to name, or of a package registry. Each is split, so that this file holds none.
NOT_TO_BE_NAMED = [
    *(
        "trans" + "cript",
        "seed" + " doc",
        "/wo" + "rk/",
        "/fa" + "rm/",
        "/tm" + "p/",
        "/ro" + "ot/",
        "/ho" + "me/",
        "/op" + "t/",
    ),
    *("pypi" + ".org", "python" + "hosted", "index" + "-url", "find" + "-links"),
]


@cache
def files() -> tuple[Path, ...]:
    """Every file that git keeps or would keep, relative to the project."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=PROJECT,
        capture_output=True,
        check=True,
    ).stdout.decode()
    found = (Path(name) for name in sorted(set(listed.split("\0"))) if name)
    return tuple(path for path in found if (PROJECT / path).is_file())


def modules(*floors: str) -> list[Path]:
    return [path for path in files() if path.suffix == ".py" and path.parts[0] in (floors or MAY_IMPORT)]


@cache
def tree(path: Path) -> ast.Module:
    return ast.parse((PROJECT / path).read_text(encoding="utf-8"), filename=str(path))


def names_imported(node: ast.AST) -> Iterator[tuple[int, str]]:
    """(line, dotted name) of each absolute import at or below `node`."""
    for found in ast.walk(node):
        if isinstance(found, ast.Import):
            yield from ((found.lineno, name.name) for name in found.names)
        elif isinstance(found, ast.ImportFrom) and not found.level and found.module:
            yield found.lineno, found.module


def imports(*floors: str) -> Iterator[tuple[str, str]]:
    """(where, dotted name) of each absolute import on the floors."""
    for path in modules(*floors):
        yield from ((f"{path}:{line} imports {name}", name) for line, name in names_imported(tree(path)))


def top(name: str) -> str:
    return name.split(".")[0]


def at_import(node: ast.AST) -> Iterator[ast.stmt]:
    """The statements that run when a module is imported: not those in functions, nor those for the type checker only."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
            continue
        if isinstance(child, ast.If) and "TYPE_CHECKING" in ast.unparse(child.test):
            continue
        if isinstance(child, ast.Import | ast.ImportFrom):
            yield child
        yield from at_import(child)


def loaded_by(code: str) -> set[str]:
    """The top names in `sys.modules` of a fresh interpreter after `code`."""
    ran = subprocess.run(
        [sys.executable, "-c", f"{code}\nimport sys\nprint(*{{name.split('.')[0] for name in sys.modules}}, file=sys.stderr)"],
        cwd=PROJECT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    return set(ran.stderr.splitlines()[-1].split())


def project_file() -> dict[str, object]:
    return tomllib.loads((PROJECT / "pyproject.toml").read_text(encoding="utf-8"))


def distributions() -> tuple[set[str], set[str]]:
    """Names of the distributions that the project needs to run, and to be tested."""
    project = project_file()["project"]
    assert isinstance(project, dict)
    extras = project["optional-dependencies"]
    needed = [*project["dependencies"], *(line for name, lines in extras.items() if name != "test" for line in lines)]
    return {bare_name(line) for line in needed}, {bare_name(line) for line in extras["test"]}


def bare_name(requirement: str) -> str:
    return re.split(r"[<>=!~\[; ]", requirement)[0].lower()


# --- imports -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("floor", MAY_IMPORT)
def test_no_import_points_up(floor: str) -> None:
    above = set(MAY_IMPORT) - MAY_IMPORT[floor] - {floor}
    assert modules(floor), f"{floor}/ is empty"
    assert not [where for where, name in imports(floor) if top(name) in above]


@pytest.mark.parametrize("floor", MAY_IMPORT)
def test_inside_a_floor_imports_are_relative(floor: str) -> None:
    assert not [where for where, name in imports(floor) if top(name) == floor]


def test_a_floor_is_entered_by_its_front_door() -> None:
    """From above: `from nesting import …`, and of the stash the modules that its `__init__` names."""
    doors = {f"stash.{name}" for name in stash.__all__}
    inside = [(where, name) for where, name in imports("stash", "cli") if name.startswith(("nesting.", "stash."))]
    assert not [where for where, name in inside if name not in doors]


def test_heavy_libraries_are_imported_where_they_are_used() -> None:
    found = []
    for path in modules():
        allowed = {name for pattern, name in HEAVY_AT_TOP.items() if fnmatch.fnmatch(path.as_posix(), pattern)}
        for statement in at_import(tree(path)):
            found += [f"{path}:{line} {name}" for line, name in names_imported(statement) if top(name) in HEAVY - allowed]
    assert not found


@pytest.mark.parametrize("code", ["import nesting", "import stash", "import cli.main"])
def test_importing_a_floor_loads_nothing_heavy(code: str) -> None:
    assert not loaded_by(code) & (HEAVY | {"pandas", "scipy"})


def outside(*floors: str) -> set[str]:
    """The libraries that the floors import, but for Python's own."""
    found = {top(name) for _, name in imports(*floors)}
    names = {name.lower() for name in found - set(sys.stdlib_module_names) - set(MAY_IMPORT) - {"tests"}}
    return {DISTRIBUTED_AS.get(name, name) for name in names}


def test_what_is_imported_is_declared_and_what_is_declared_is_imported() -> None:
    needed, for_tests = distributions()
    assert outside(*MAY_IMPORT) == needed
    assert outside("tests") <= needed | for_tests


# --- what a floor may do -------------------------------------------------------------------------------------------------


def talks(path: Path) -> Iterator[str]:
    """Places that speak to a person: print, input, the standard streams, or a library made for that."""
    yield from (f"{path}:{line} imports {name}" for line, name in names_imported(tree(path)) if top(name) in {"rich", "typer"})
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Call) and ast.unparse(node.func) in {"print", "input"}:
            yield f"{path}:{node.lineno} {ast.unparse(node.func)}()"
        if isinstance(node, ast.Attribute) and ast.unparse(node) in {"sys.stdout", "sys.stderr", "sys.stdin"}:
            yield f"{path}:{node.lineno} {ast.unparse(node)}"


def test_only_the_cli_and_the_engines_own_command_talk() -> None:
    silent = [path for path in modules("nesting", "stash", "migrations") if path.as_posix() != "nesting/__main__.py"]
    assert not [line for path in silent for line in talks(path)]


# --- files ---------------------------------------------------------------------------------------------------------------


def test_the_top_level_is_exactly_this() -> None:
    assert {path.parts[0] for path in files()} == TOP_LEVEL


def test_no_file_is_too_long() -> None:
    lengths = {path: len((PROJECT / path).read_text(encoding="utf-8").splitlines()) for path in modules(*MAY_IMPORT, "tests")}
    assert not {path: length for path, length in lengths.items() if length > LONGEST_FILE}


def test_no_file_names_this_machine() -> None:
    found = []
    for path in files():
        text = (PROJECT / path).read_bytes().decode("utf-8", errors="ignore").lower()
        found += [f"{path} names {word}" for word in NOT_TO_BE_NAMED if word in text]
    assert not found


def test_every_test_folder_is_a_package() -> None:
    """Without `__init__.py` pytest would put tests/nesting itself on the path, and same-named test files would clash."""
    folders = {path.parent for path in modules("tests")}
    assert not [folder for folder in folders if folder / "__init__.py" not in files()]


def test_the_wheel_takes_every_file_of_the_floors() -> None:
    setup = project_file()["tool"]["setuptools"]  # type: ignore[index]
    ours = [path for path in files() if path.parts[0] in MAY_IMPORT]
    assert {".".join(path.parent.parts) for path in ours if path.suffix == ".py"} == set(setup["packages"])
    patterns = [f"{package.replace('.', '/')}/{name}" for package, names in setup["package-data"].items() for name in names]
    others = [path.as_posix() for path in ours if path.suffix != ".py"]
    assert not [name for name in others if not any(fnmatch.fnmatch(name, pattern) for pattern in patterns)]


def test_each_dependency_has_its_reason_written_down() -> None:
    guide = (PROJECT / "DEVELOPERS.md").read_text(encoding="utf-8").lower()
    assert not [name for name in set.union(*distributions()) if f"| {name} |" not in guide]
