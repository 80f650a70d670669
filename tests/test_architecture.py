"""Architecture rules, checked in the source and in fresh processes: imports of the core, forbidden calls."""

from __future__ import annotations

import ast
import importlib
import inspect
import re
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

TOP = Path(__file__).parents[1]
SOURCE = TOP / "src" / "wetside"
CORE = ("domain", "present")
NETWORK = ("socket", "ssl", "http", "urllib", "ftplib", "smtplib")
FOREIGN = ("textual", "rich", "pydantic", "sqlite3", "tomli_w", "platformdirs")


def modules(room: str) -> list[str]:
    """Every module of a room by its dotted name."""
    found = [path for path in sorted((SOURCE / room).rglob("*.py")) if path.name != "__init__.py"]
    return [".".join(("wetside", *path.relative_to(SOURCE).with_suffix("").parts)) for path in found]


@pytest.mark.parametrize("names", [modules(room) for room in CORE], ids=str)
def test_the_core_loads_nothing_but_the_standard_library(names: list[str]) -> None:
    code = f"import sys, {', '.join(names)}; print(*sorted(set(sys.modules) & set({FOREIGN!r})))"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == ""


def test_the_version_is_printed_without_loading_a_large_library() -> None:
    code = (
        "import sys; from wetside.cli import main\n"
        f"main(['--version']); print(*sorted(set(sys.modules) & set({FOREIGN!r})), file=sys.stderr)"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.startswith("wetside ")
    assert ran.stderr.strip() == ""


@cache
def trees() -> tuple[tuple[Path, ast.Module], ...]:
    """Every source file, parsed."""
    return tuple((path, ast.parse(path.read_text("utf-8"))) for path in sorted(SOURCE.rglob("*.py")))


def test_no_shell_and_no_network_anywhere() -> None:
    wrong = []
    for path, tree in trees():
        for node in ast.walk(tree):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom) and node.module is not None:
                names = [node.module]
            if any(name.split(".")[0] in NETWORK for name in names):
                wrong.append(f"{path.name}:{node.lineno} {names}")  # type: ignore[attr-defined]  # imports have one
            if isinstance(node, ast.keyword) and node.arg == "shell":
                wrong.append(f"{path.name}:{node.lineno} shell=")
            if (
                isinstance(node, ast.Attribute)
                and node.attr in ("system", "popen")
                and "os" in ast.dump(node.value)
            ):
                wrong.append(f"{path.name}:{node.lineno} os.{node.attr}")
    # quoting a file name for a lock needs urllib.parse, which opens nothing
    assert [line for line in wrong if "urllib.parse" not in line] == []


def test_no_bare_except() -> None:
    bare = [
        f"{path.name}:{node.lineno}"
        for path, tree in trees()
        for node in ast.walk(tree)
        if isinstance(node, ast.ExceptHandler) and node.type is None
    ]
    assert bare == []


def is_private(name: str) -> bool:
    return name.startswith("_") and not name.endswith("__")


def test_no_private_module_or_name_of_a_library_is_imported() -> None:
    wrong = []
    for path, tree in trees():
        for node in ast.walk(tree):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import | ast.ImportFrom) else []
            if isinstance(node, ast.ImportFrom):
                names.append(node.module or "")
            if any(is_private(part) for name in names for part in name.split(".")):
                wrong.append(f"{path.name}: {names}")
    assert wrong == []


def test_only_private_names_of_our_own_are_used() -> None:
    # Documented: os._exit and _replace of a named tuple; the type of argparse for commands has no public name.
    ours, used = {"_exit", "_replace", "_SubParsersAction"}, set()
    for path, tree in trees():
        for node in ast.walk(tree):
            match node:
                case ast.FunctionDef(name=name) | ast.AsyncFunctionDef(name=name) | ast.ClassDef(name=name):
                    ours.add(name)
                case ast.Name(id=name, ctx=ast.Store()):
                    ours.add(name)
                case ast.Attribute(attr=name, value=ast.Name(id="self"), ctx=ast.Store()):
                    ours.add(name)
                case ast.Attribute(attr=name) if is_private(name):
                    used.add((path.name, name))
    assert {(file, name) for file, name in used if name not in ours} == set()


@cache
def private_names(module: str) -> set[str]:
    """The private attributes and methods that the classes of a module give themselves."""
    source = inspect.getsource(importlib.import_module(module))
    found = re.findall(r"(?:\bself\.|^    (?:async )?def )(_\w+)", source, re.MULTILINE)
    return {name for name in found if is_private(name)}


def test_no_class_of_the_full_screen_has_a_private_name_of_the_library() -> None:
    wrong = []
    for module in modules("tui"):
        classes = inspect.getmembers(importlib.import_module(module), inspect.isclass)
        bases = {base.__module__ for _, cls in classes if cls.__module__ == module for base in cls.__mro__}
        for base in sorted(base for base in bases if base.startswith("textual")):
            wrong += [(module, base, name) for name in sorted(private_names(module) & private_names(base))]
    assert wrong == []


FEW_WORDS = 4
SENTENCES_IN_THE_CORE = {
    "proof/": "findings for whoever writes a profile: they quote its keys, and name the step and the path",
    "profile/mixing_lines.py": "the grammar of a profile's lines, which are sentences",
    "profile/model.py": "the default of a profile's text",
    "messages.py": "a type in quotes",
}
"""Where the core has strings of more than FEW_WORDS with a capital, a stop or a value in them, and why."""


def told_to_people(tree: ast.Module) -> Iterator[str]:
    """Each string of more than FEW_WORDS with a capital, a stop or a value in it (written "{}").

    Left out are docstrings, and what is raised as an error of programming (ValueError, KeyError).
    """
    left_out: set[ast.AST] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            left_out.add(node.value)
        raised = node.exc.func if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call) else None
        if isinstance(raised, ast.Name) and raised.id in ("ValueError", "KeyError"):
            left_out.update(ast.walk(node))
        if node in left_out or not isinstance(node, ast.JoinedStr | ast.Constant):
            continue
        parts = node.values if isinstance(node, ast.JoinedStr) else [node]
        left_out.update(parts)
        text = "".join(str(part.value) if isinstance(part, ast.Constant) else "{}" for part in parts)
        is_text = isinstance(node, ast.JoinedStr) or isinstance(node.value, str)
        if is_text and len(text.split()) > FEW_WORDS and re.search(r"[A-Z.:;{]", text):
            yield text


def test_the_core_returns_codes_and_values_and_no_sentences() -> None:
    core = SOURCE / "domain"
    found = {
        path.relative_to(core).as_posix(): texts
        for path, tree in trees()
        if path.is_relative_to(core) and (texts := [*told_to_people(tree)])
    }
    allowed = tuple(SENTENCES_IN_THE_CORE)
    assert {name: texts for name, texts in found.items() if not name.startswith(allowed)} == {}
    assert [each for each in allowed if not any(name.startswith(each) for name in found)] == []


def test_the_top_level_has_only_the_expected_files() -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=TOP, capture_output=True, text=True, check=False)
    if listed.returncode:
        pytest.skip("not a git checkout")
    names = {line.split("/")[0] for line in listed.stdout.splitlines()}
    visible = {name for name in names if not name.startswith(".")}
    assert visible <= {"pyproject.toml", "README.md", "DEVELOPERS.md", "src", "tests", "profiles", "screenshots"}
