"""What is in the repository: a tidy top level, and no trace of the machine it was written on."""

import re
import subprocess
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "app", "core", "tests", "examples", "icons"}
# Roots of absolute paths, put together here so that this file does not hold what it looks for.
ROOTS = [f"/{name}/" for name in ("work", "tmp", "home", "root", "Users", "mnt", "opt")] + [":" + "\\\\"]
MACHINE_PATH = re.compile(r"(?<![\w.~}/-])(?:" + "|".join(map(re.escape, ROOTS)) + ")")


@pytest.fixture(scope="module")
def tracked() -> list[Path]:
    listing = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listing.returncode:
        pytest.skip("not a git checkout: what is tracked is not known here")
    return [Path(name) for name in listing.stdout.split("\0") if name and (ROOT / name).exists()]


def test_the_visible_top_level_is_what_the_handbook_lists(tracked):
    assert {path.parts[0] for path in tracked if not path.parts[0].startswith(".")} <= TOP


def test_an_installed_copy_has_all_packages():
    said = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]
    files = [*(ROOT / "app").rglob("__init__.py"), *(ROOT / "core").rglob("__init__.py")]
    there = {path.parent.relative_to(ROOT) for path in files}
    # The pictures of the buttons lie at the top level and are no Python.
    assert set(said["packages"]) == {".".join(path.parts) for path in there} | set(said["package-dir"])


def test_no_text_file_holds_a_path_of_a_machine(tracked):
    found = []
    for path in tracked:
        data = (ROOT / path).read_bytes()
        if b"\0" not in data:
            lines = data.decode("utf-8", errors="replace").splitlines()
            found += [f"{path}:{i}: {line}" for i, line in enumerate(lines, 1) if MACHINE_PATH.search(line)]
    assert not found


@pytest.mark.parametrize("name", ["work", "home"])
def test_a_path_of_a_machine_would_be_found(name):
    assert MACHINE_PATH.search(f'open("/{name}/somebody/take.mid")')
    assert not MACHINE_PATH.search(f"see docs/{name}/take.mid")
