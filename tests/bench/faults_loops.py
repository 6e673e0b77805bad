"""Let every step that writes a project or a hand-over fail in turn, and look what is left.

After each fault the folder must hold what it held before, to the byte; the project must load; and what is said
must be a sentence that tells what to do. On a disk that stays away what cannot be removed may lie about, but the
old file must load all the same.
"""

from __future__ import annotations

import argparse
import contextlib
import errno
import io
import json
import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from core.errors import BarwrightError
from core.handover import plan, write
from core.handover_settings import Settings
from core.metre import Metre
from core.project_file import previous, read_project, write_project
from core.write_csv import write_beats
from tests.bench.fault_disk import Disk
from tests.core.free_grids import FOUR, grid_of, rubato

NUMBERS = (errno.ENOSPC, errno.EACCES, errno.EIO, errno.ENOENT)
STORED = Path(__file__).parents[1] / "core" / "projects" / "version-4.barwright"
EXAMPLE = Path(__file__).parents[2] / "examples" / "night-ferry.mid"

_MOST = 200
_ADVICE = ("choose", "free some space", "make it first", "try again", "give a file name", "delete it yourself")


@dataclass(frozen=True, slots=True)
class Job:
    """Something that writes.

    Parameters
    ----------
    prepare : callable
        Fills the folder with what is there before.
    run : callable
        Writes into it; raises a `BarwrightError` where it cannot.
    loads : callable
        Reads what was there before; raises where it cannot.
    """

    prepare: Callable[[Path], None]
    run: Callable[[Path], None]
    loads: Callable[[Path], object]


@dataclass(slots=True)
class Count:
    """What one job came to: faults made, and those after which something was wrong."""

    faults: int = 0
    wrong: list[str] = field(default_factory=list)


def _project(step: int) -> Any:
    whole, _ = read_project(STORED)
    return replace(whole, document=whole.first, at=0) if step else whole


def _old_project(folder: Path) -> None:
    write_project(folder / "evening.barwright", replace(_project(1), folder=None))
    write_project(folder / "evening.barwright", _project(1))


def _loads_project(folder: Path) -> None:
    assert read_project(folder / "evening.barwright")[0] == _project(1)
    read_project(previous(folder / "evening.barwright"))


def _grid() -> Any:
    return grid_of(Metre.steady(FOUR), rubato(40))


def _hand_over(name: str, division: int, folder: Path) -> None:
    write(plan(_grid(), Settings(name=name, division=division)), folder, overwrite=True)


def _command(folder: Path) -> None:
    """The command line into a folder that it has to make; its sentence becomes the error."""
    from app.cli import main  # noqa: PLC0415 - loads more than the other jobs need

    said = io.StringIO()
    with contextlib.redirect_stderr(said), contextlib.redirect_stdout(io.StringIO()):
        status = main(
            ["map", str(EXAMPLE), "--metre", "6/8", "--out", str(folder / "new" / "maps"), "--quiet", "--force"]
        )
    if status == 2:
        raise BarwrightError(said.getvalue().removeprefix("barwright: ").strip())
    assert status == 0, said.getvalue()


def _saved(folder: Path) -> None:
    write_project(folder / "evening.barwright", _project(0))


def _nothing(_: Path) -> None:
    pass


JOBS: dict[str, Job] = {
    "a new project": Job(_nothing, _saved, _nothing),
    "a project again": Job(_old_project, _saved, _loads_project),
    "a hand-over": Job(_nothing, lambda folder: _hand_over("evening", 960, folder), _nothing),
    "a hand-over again": Job(
        lambda folder: _hand_over("evening", 480, folder),
        lambda folder: _hand_over("evening", 960, folder),
        _nothing,
    ),
    "a list of beats": Job(
        _nothing, lambda folder: write_beats(folder / "beats.csv", _grid(), overwrite=True), _nothing
    ),
    "the command line": Job(_nothing, _command, _nothing),
}
"""Everything that writes what the musician keeps."""


def _contents(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()
    }


def _ways() -> Iterator[tuple[str, dict[str, Any]]]:
    for number in NUMBERS:
        yield errno.errorcode[number], {"number": number}
    yield "full from then on", {"number": errno.ENOSPC, "lasting": True}
    yield "read-only from then on", {"number": errno.EROFS, "lasting": True}
    yield "folder moved away", {"number": errno.ENOENT, "vanish": True}


def loop(job: Job, scratch: Path) -> Count:
    """Fail each step of a job in every way."""
    count = Count()
    for way, how in _ways():
        for fail_at in range(1, _MOST):
            if not _fault(job, scratch, way, fail_at, how, count):
                break
        else:
            count.wrong.append(f"{way}: it never went through")
    return count


def _fault(job: Job, scratch: Path, way: str, fail_at: int, how: dict[str, Any], count: Count) -> bool:
    """One fault; whether there was one."""
    shutil.rmtree(scratch, ignore_errors=True)
    folder = scratch / "evening"
    folder.mkdir(parents=True)
    job.prepare(folder)
    before = _contents(folder)
    disk = Disk(folder, fail_at, **how)
    said, other = "", ""
    try:
        with disk.patched():
            job.run(folder)
    except BarwrightError as error:
        said = str(error)
    except Exception as error:
        other = f"{type(error).__name__}: {error}"
    if len(disk.made) < fail_at:
        return False
    count.faults += 1
    where = f"{way}, step {fail_at} ({disk.made[fail_at - 1]})"
    if other:
        count.wrong.append(f"{where}: {other}")
    elif said and not (said.endswith(".") and any(words in said for words in _ADVICE)):
        count.wrong.append(f"{where}: says only {said}")
    there = folder if folder.is_dir() else folder.with_name("evening gone")
    try:
        if said or other:
            job.loads(there)
        else:
            _went_through(job, there, disk.made[fail_at - 1])
    except Exception as error:
        count.wrong.append(f"{where}: afterwards {type(error).__name__}: {error}")
    clean = not how.get("vanish") and how["number"] != errno.EROFS
    if clean and said and _contents(there) != before:
        count.wrong.append(f"{where}: left {sorted(set(_contents(there)) ^ set(before))}")
    return True


def _went_through(job: Job, folder: Path, failed: str) -> None:
    """In spite of the fault what is new must be whole, and alone unless it could not be taken away."""
    left = _contents(folder)
    job.run(folder)
    after = _contents(folder)
    assert set(left) == set(after) or failed == "unlink", f"left {sorted(set(left) ^ set(after))}"
    assert all(left[name] == after[name] for name in set(left) & set(after) if not name.endswith("~"))


def too_large(scratch: Path) -> Count:
    """The system itself refuses to let a file grow beyond a size (RLIMIT_FSIZE), where there is such a limit."""
    count = Count()
    try:
        import resource  # noqa: PLC0415 - not on Windows
    except ImportError:
        return count
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    for name in ("a project again", "a hand-over again"):
        job = JOBS[name]
        for size in (0, 1, 100, 400):
            shutil.rmtree(scratch, ignore_errors=True)
            folder = scratch / "evening"
            folder.mkdir(parents=True)
            job.prepare(folder)
            before = _contents(folder)
            said = ""
            resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
            try:
                job.run(folder)
            except BarwrightError as error:
                said = str(error)
            finally:
                resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
            count.faults += 1
            if not any(words in said for words in _ADVICE) or _contents(folder) != before:
                count.wrong.append(f"{name}, no file beyond {size} bytes: {said or 'nothing was said'}")
            job.loads(folder)
    return count


def run(*, only: Sequence[str] = ()) -> dict[str, Any]:
    """Go through every job.

    Parameters
    ----------
    only : sequence of str
        Jobs by name; all when empty.

    Returns
    -------
    dict
        ``faults``, how many after which something was ``wrong``, ``jobs`` with both of each, and ``findings``.
    """
    jobs: dict[str, Count] = {}
    with tempfile.TemporaryDirectory() as scratch:
        for name in only or JOBS:
            jobs[name] = loop(JOBS[name], Path(os.path.realpath(scratch)) / "loop")
        if not only:
            jobs["files that may not grow"] = too_large(Path(scratch) / "loop")
    findings = [f"{name}: {wrong}" for name, count in jobs.items() for wrong in count.wrong]
    return {
        "faults": sum(count.faults for count in jobs.values()),
        "wrong": len(findings),
        "jobs": {name: {"faults": count.faults, "wrong": len(count.wrong)} for name, count in jobs.items()},
        "findings": findings,
    }


def show(figures: dict[str, Any]) -> None:
    """Print a table."""
    print(f"{'writing':<26}{'faults':>8}{'wrong':>8}")
    for name, job in (*figures["jobs"].items(), ("all", figures)):
        print(f"{name:<26}{job['faults']:>8}{job['wrong']:>8}")
    for finding in figures["findings"]:
        print(finding)


def main(argv: list[str] | None = None) -> int:
    """Fail and print; 1 where anything was wrong."""
    parser = argparse.ArgumentParser(prog="faults_loops", description="Let every step that writes fail in turn.")
    parser.add_argument("--only", nargs="+", choices=tuple(JOBS), default=(), help="jobs by name")
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    args = parser.parse_args(argv)
    figures = run(only=args.only)
    print(json.dumps(figures, indent=1)) if args.json else show(figures)
    return 1 if figures["findings"] else 0


if __name__ == "__main__":
    sys.exit(main())
