"""A folder of takes handed over one by one, several at a time; one that fails does not stop the rest.

Each take has a process of its own, so whatever happens to it happens to nothing else.
"""

from __future__ import annotations

import multiprocessing
import os
import sys
from argparse import Namespace
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor, as_completed
from contextlib import suppress
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from app.mapping import map_take
from app.progress import Progress
from app.telling import count, tell
from core.errors import BarwrightError, InputError
from core.project_file import is_project, read_project

ENDINGS = {
    *(".mid", ".midi", ".smf", ".rmi", ".wav", ".flac", ".ogg", ".oga", ".mp3", ".aif", ".aiff", ".aifc"),
    *(".au", ".caf", ".opus", ".m4a", ".aac", ".mp4", ".barwright"),
}
"""Endings of files that can be takes."""

_OF_ONE = (
    *("name", "pins", "hold", "section", "leave_out", "keep"),
    *("remove_note", "move_note", "velocity", "level_velocities"),
)
"""What can be said of one take alone."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one take: facts where it went well, a sentence where it did not."""

    take: Path
    facts: dict[str, Any] = field(default_factory=dict)
    words: str = ""
    sentence: str = ""


def map_folder(given: Namespace) -> int:
    """Write the hand-over of every take in a folder, each into a folder of its own.

    Returns
    -------
    int
        0 where all went well, 2 where any did not.
    """
    for name in _OF_ONE:
        if getattr(given, name):
            option = name.replace("_", "-")
            raise InputError(f"--{option} is about one take; leave it out with a folder, or name one file.")
    jobs = given.jobs if given.jobs is not None else os.cpu_count() or 1
    if jobs < 1:
        raise InputError(f"{jobs} takes at a time cannot be worked on; give --jobs 1 or more.")
    takes = takes_in(given.take)
    outcomes: dict[Path, Outcome] = {}
    with Progress(quiet=given.quiet) as progress, ThreadPoolExecutor(min(jobs, len(takes))) as pool:
        progress.stage(f"{count(len(takes), 'take')} in {given.take}")
        waiting = [pool.submit(_apart, _for_one(given, take, takes)) for take in takes]
        try:
            for number, done in enumerate(as_completed(waiting), 1):
                outcome = done.result()
                outcomes[outcome.take] = outcome
                progress.stage(f"{number} of {len(takes)}: {outcome.take.name}: {_short(outcome)}")
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            for child in multiprocessing.active_children():
                child.terminate()
            raise
    return _told(given, [outcomes[take] for take in takes])


def takes_in(folder: Path) -> list[Path]:
    """Takes and projects in a folder, by name; a recording that a project is about is not taken twice.

    Raises
    ------
    InputError
        If there is none.
    """
    files = sorted(
        path
        for path in folder.iterdir()
        if path.suffix.lower() in ENDINGS and path.name[0] != "." and path.is_file()
    )
    known: set[str] = set()
    for path in files:
        if is_project(path):
            with suppress(BarwrightError):
                known.add(read_project(path)[0].recording.name)
    takes = [path for path in files if path.name not in known]
    if not takes:
        raise InputError(f"{folder} holds no take: name a folder with MIDI or audio files, or with projects.")
    return takes


def _for_one(given: Namespace, take: Path, takes: Sequence[Path]) -> Namespace:
    """What is asked for one take; bar lines placed for it lie beside it as ``NAME.pins.csv``."""
    one = Namespace(**vars(given))
    one.take = take
    alone = sum(other.stem.casefold() == take.stem.casefold() for other in takes) == 1
    one.out = given.out / (take.stem if alone else take.name)
    pins = take.with_name(f"{take.stem}.pins.csv")
    one.pins = pins if pins.is_file() and not is_project(take) else None
    return one


def _apart(given: Namespace) -> Outcome:
    """Hand over one take in a process of its own."""
    context = multiprocessing.get_context("spawn")
    answer, into = context.Pipe(duplex=False)
    child = context.Process(target=_work, args=(given, into), daemon=True)
    child.start()
    into.close()
    try:
        outcome: Outcome = answer.recv()
    except EOFError:
        outcome = Outcome(given.take, sentence=f"{given.take.name} ended without an answer: try it by itself.")
    child.join()
    answer.close()
    return outcome


def _work(given: Namespace, answer: Connection) -> None:
    try:
        mapped = map_take(given, Progress(quiet=True))
        lines = mapped.grid.bar_lines
        doubtful = sum(line.doubtful for line in lines)
        words = f"{count(len(lines), 'bar line')}, {doubtful} doubtful, {count(len(mapped.written.files), 'file')}"
        outcome = Outcome(given.take, mapped.facts, words)
    except BarwrightError as error:
        outcome = Outcome(given.take, sentence=" ".join(str(error).split()))
    except OSError as error:
        outcome = Outcome(given.take, sentence=f"{error.filename or given.take}: {error.strerror or error}.")
    except Exception as error:
        outcome = Outcome(given.take, sentence=f"something went wrong inside ({type(error).__name__}: {error}).")
    answer.send(outcome)
    answer.close()


def _short(outcome: Outcome) -> str:
    return outcome.words or "failed"


def _told(given: Namespace, outcomes: Sequence[Outcome]) -> int:
    failed = [outcome for outcome in outcomes if outcome.sentence]
    for outcome in outcomes:
        for warning in outcome.facts.get("warnings", ()):
            print(f"Warning: {outcome.take.name}: {warning}", file=sys.stderr)
    for outcome in failed:
        print(f"barwright: {outcome.take.name}: {outcome.sentence}", file=sys.stderr)
    facts = {
        "takes": [
            {"take": str(outcome.take), "failed": outcome.sentence or None, **outcome.facts}
            for outcome in outcomes
        ],
        "done": len(outcomes) - len(failed),
        "failed": len(failed),
    }
    width = max(len(outcome.take.name) for outcome in outcomes)
    words = [f"{outcome.take.name:<{width}}  {_short(outcome)}" for outcome in outcomes]
    words.append(f"{count(len(outcomes) - len(failed), 'take')} of {len(outcomes)} written to {given.out}.")
    tell(given, facts, words)
    return 2 if failed else 0
