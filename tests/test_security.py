"""Nothing that is read decides what code runs, and nothing is sent or fetched."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

from tests.app.takes import play_midi

ROOT = Path(__file__).parents[1]

SOURCES = sorted(path for folder in ("core", "app") for path in (ROOT / folder).rglob("*.py"))

# What makes code of data (docs.python.org, "Security Considerations"), by the name it is called or imported by.
RUNS_CODE = {"eval", "exec", "compile", "__import__"}
CODE_MODULES = {"pickle", "marshal", "shelve", "yaml", "dill", "joblib", "runpy", "code", "codeop", "imp"}
CODE_MODULES |= {
    "socket",
    "ssl",
    "http",
    "urllib",
    "ftplib",
    "smtplib",
    "requests",
    "xmlrpc",
    "asyncio",
    "webbrowser",
}

# The window and its own child process speak in pickles through a pipe that is nobody else's.
ALLOWED = {("app/pipe.py", "pickle")}


def found_in(path):
    """Names of what runs code or reaches the network in a module."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in RUNS_CODE:
            yield node.func.id
        if isinstance(node, ast.Import):
            yield from (one.name.partition(".")[0] for one in node.names)
        if isinstance(node, ast.ImportFrom) and node.module:
            yield node.module.partition(".")[0]
            yield from (f"{node.module}.{one.name}" for one in node.names)
        if isinstance(node, ast.keyword) and node.arg in ("allow_pickle", "shell"):
            yield node.arg


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_file_is_ever_run_and_nothing_reaches_the_network(path):
    name = path.relative_to(ROOT).as_posix()
    wrong = set(found_in(path)) & (RUNS_CODE | CODE_MODULES | {"allow_pickle", "shell"})
    assert {one for one in wrong if (name, one) not in ALLOWED} == set()


# Every process of ours loads this first (docs.python.org, "site"): it notes and forbids all that opens a way out
# (docs.python.org, "Audit events table").
GUARD = """
import os, sys
FORBIDDEN = {
    "socket.connect", "socket.bind", "socket.getaddrinfo", "socket.gethostbyname", "socket.gethostbyaddr",
    "socket.sendto", "socket.sendmsg", "urllib.Request", "ftplib.connect", "smtplib.connect",
    "http.client.connect", "webbrowser.open",
}
def guard(event, arguments):
    if event in FORBIDDEN:
        with open(os.environ["TRIED"], "a") as file:
            file.write(f"{event} {arguments}\\n")
        raise PermissionError(event)
sys.addaudithook(guard)
with open(os.environ["TRIED"] + ".processes", "a") as file:
    file.write(f"{os.getpid()} {sys.argv[:1]}\\n")
"""

JOB = """
import sys
from pathlib import Path
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from app.settings import Settings
from app.window import build_window
app = QApplication([])
folder, take = Path(sys.argv[1]), Path(sys.argv[2])
window = build_window(Settings(folder / "settings.ini"))
window.show()
window.open_path(take)
def wait(done):
    for _ in range(600):
        if done():
            return
        QTest.qWait(100)
    raise SystemExit("it took too long")
state = lambda: window.workspace.state
wait(lambda: state().grid is not None and not state().pending)
window.actions_by_id["show_hand_over"].trigger()
window.hand_over.settings = {"folder": str(folder), "name": "evening"}
wait(lambda: window.hand_over.footer.write.isEnabled())
window.hand_over.footer.write.click()
wait(lambda: (folder / "evening.tempo-map.mid").is_file())
print(*sorted(name for name in sys.modules if name.startswith("PySide6.")))
window.close()
"""


@pytest.fixture
def guarded(tmp_path):
    """Run Python with every process below it guarded; say what was tried and how many processes there were."""
    site = tmp_path / "site"
    site.mkdir()
    (site / "sitecustomize.py").write_text(GUARD, encoding="utf-8")
    tried = tmp_path / "tried"

    def run(*arguments):
        import os  # noqa: PLC0415

        paths = os.pathsep.join([str(site), str(ROOT)])
        environment = {**os.environ, "PYTHONPATH": paths, "TRIED": str(tried), "QT_QPA_PLATFORM": "offscreen"}
        ended = subprocess.run(
            [sys.executable, *map(str, arguments)],
            cwd=ROOT,
            env=environment,
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )
        assert ended.returncode == 0, ended.stderr
        what = tried.read_text(encoding="utf-8") if tried.exists() else ""
        processes = Path(f"{tried}.processes").read_text(encoding="utf-8").splitlines()
        return ended.stdout, what, processes

    return run


def test_the_guard_itself_sees_what_is_tried(guarded):
    code = "import socket\ntry:\n    socket.create_connection(('127.0.0.1', 9))\nexcept OSError:\n    pass"
    _, tried, processes = guarded("-c", code)
    assert "socket.getaddrinfo" in tried
    assert len(processes) == 1


def test_a_whole_evening_opens_no_way_out(guarded, tmp_path):
    take = play_midi(tmp_path / "take.mid", phrases=2).path
    out, tried, _ = guarded("-m", "app.cli", "map", take, "--out", tmp_path / "maps", "--quiet", "--json")
    assert "tempo-map.mid" in out
    out, tried, processes = guarded("-c", JOB, tmp_path, take)
    assert tried == ""
    # The command line before, the window, and the process that suggests its bars.
    assert len(processes) >= 3
    assert "QtWidgets" in out
    assert "QtNetwork" not in out
    assert (tmp_path / "evening.bars.csv").is_file()
