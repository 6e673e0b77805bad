"""The rules of who may import whom, read from the source and tried in a fresh interpreter."""

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
WINDOW = {"PySide6", "PySide2", "PyQt6", "PyQt5", "shiboken6", "qtpy", "pyqtgraph"}
HEAVY = {"numpy", "scipy", "librosa", "numba", "sklearn", "soundfile", "mido", "av", "PySide6", "pyqtgraph"}
CORE = sorted((ROOT / "core").rglob("*.py"))


def imported(source: str) -> set[str]:
    """Top-level packages that a module's source imports, anywhere in it."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found |= {alias.name.partition(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            found.add("." if node.level else (node.module or "").partition(".")[0])
    return found


def rows_of_the_handbook() -> dict[str, int]:
    """Row of each module of core in the map of the house, the first row being 0."""
    _, table = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("| stage | modules of `core` |")
    rows = table.split("\n\n")[0].splitlines()[2:]
    return {name: i for i, row in enumerate(rows) for name in re.findall("`([a-z_]+)`", row.split("|")[2])}


def loaded_by(program: str) -> set[str]:
    """Top-level packages in a fresh interpreter after it has run a program."""
    ending = "\nimport sys; print(*{name.partition('.')[0] for name in sys.modules})"
    result = subprocess.run(
        [sys.executable, "-c", program + ending], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return set(result.stdout.splitlines()[-1].split())


def test_the_reader_of_imports_sees_every_form():
    source = "import a.b, c\nfrom d.e import f\ndef g():\n    from h import i\n    from . import j\n"
    assert imported(source) == {"a", "c", "d", "h", "."}


@pytest.mark.parametrize("path", CORE, ids=lambda path: path.stem)
def test_core_imports_neither_the_window_nor_the_app(path):
    names = imported(path.read_text(encoding="utf-8"))
    assert not names & (WINDOW | {"app", "tests", "."})


def test_the_handbook_names_every_module():
    assert set(rows_of_the_handbook()) == {path.stem for path in CORE} - {"__init__"}


@pytest.mark.parametrize("path", CORE, ids=lambda path: path.stem)
def test_arrows_go_down_the_map_of_the_house(path):
    rows = rows_of_the_handbook()
    used = re.findall(r"^\s*from core\.([a-z_]+) import", path.read_text(encoding="utf-8"), flags=re.MULTILINE)
    assert {name for name in used if rows[name] > rows[path.stem]} == set()


def test_loading_all_of_core_loads_neither_the_window_nor_the_app():
    modules = [".".join(path.relative_to(ROOT).with_suffix("").parts) for path in CORE]
    loaded = loaded_by("\n".join(f"import {name}" for name in modules if not name.endswith("__init__")))
    assert "core" in loaded
    assert not loaded & (WINDOW | {"app", "tests"})


@pytest.mark.parametrize("arguments", [["--help"], ["map", "--help"], ["--version"], ["map"]])
def test_help_and_complaints_load_nothing_heavy(arguments):
    program = f"from app.cli import main\ntry:\n    main({arguments!r})\nexcept SystemExit:\n    pass"
    loaded = loaded_by(program)
    assert "app" in loaded
    assert not loaded & HEAVY


def test_the_window_loads_nothing_that_only_the_worker_needs():
    # Compiling the search and hearing a recording are the worker's; each would hold up the start of the window.
    assert not loaded_by("import app.window") & {"librosa", "llvmlite", "numba"}
