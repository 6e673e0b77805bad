"""A corpus folder: performances as NAME.mid with their true beats and bar lines as NAME.beats.csv.

Columns of the truth: ``time_s``, ``kind`` (``db`` bar line, ``b`` other beat, ``bR`` a beat whose exact place the
score does not settle), ``time_signature`` and ``beats_per_bar``. Nothing else in the folder is read.
"""

from __future__ import annotations

import csv
import math
import os
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import numpy as np

from core.checks import Floats, ascending
from core.errors import InputError, MetreError
from core.metre import Metre, TimeSignature

SUFFIX = ".beats.csv"
COLUMNS = ("time_s", "kind", "time_signature", "beats_per_bar")
KINDS = ("db", "b", "bR")


@dataclass(frozen=True, slots=True, kw_only=True)
class Performance:
    """A take whose bar lines are known.

    Parameters
    ----------
    name : str
        Name of its files without the ending.
    folder : Path
        Where they lie.
    bars : (n,) float
        True bar lines in seconds; the first one is bar 1.
    beats : (m,) float
        True beats in seconds from the first bar line to the last, bar lines among them. A bar may hold fewer
        than its metre has.
    metre : Metre
        Time signatures with every change, and the pickup that was played before bar 1.
    unsettled : float
        Share of the beats whose place the score does not settle (``bR``).
    bar_to_bar_change : float
        Median absolute change (natural log) of the length of a beat from one bar to the next, bars with
        unsettled beats left out: how freely it is played. NaN where there are no two bars.
    """

    name: str
    folder: Path
    bars: Floats
    beats: Floats
    metre: Metre
    unsettled: float
    bar_to_bar_change: float

    @property
    def midi(self) -> Path:
        """The MIDI file."""
        return self.folder / f"{self.name}.mid"


def default_corpus() -> Path:
    """Where the corpus lies when nobody says: BARWRIGHT_CORPUS, else beside the checkout."""
    beside = Path(__file__).resolve().parents[3] / "shared" / "corpus"
    return Path(os.environ.get("BARWRIGHT_CORPUS", beside))


def read_corpus(folder: Path, *, only: list[str] | None = None, every: int = 1) -> list[Performance]:
    """Read the performances of a folder in order of their names.

    Parameters
    ----------
    folder : Path
        A folder that holds NAME.mid and NAME.beats.csv.
    only : list of str, optional
        Names to read; all when not given.
    every : int
        Of those, the first and then every so many.

    Raises
    ------
    InputError
        If the folder, a file or a value in it cannot be used.
    """
    if not folder.is_dir():
        raise InputError(
            f"There is no corpus folder {folder}: give a folder with NAME.mid and NAME{SUFFIX} files."
        )
    names = sorted(path.name.removesuffix(SUFFIX) for path in folder.glob(f"*{SUFFIX}"))
    if not names:
        raise InputError(
            f"The folder {folder} holds no NAME{SUFFIX}: give a folder of performances with their truth."
        )
    if only:
        lost = sorted(set(only) - set(names))
        if lost:
            raise InputError(f"Not in the folder {folder}: {', '.join(lost)}.")
        names = [name for name in names if name in only]
    if every < 1:
        raise InputError(f"Every {every} takes is no choice: give 1 or more.")
    return [read_performance(folder, name) for name in names[::every]]


def read_performance(folder: Path, name: str) -> Performance:
    """Read the truth of one performance; see `read_corpus`."""
    path = folder / f"{name}{SUFFIX}"
    if not (folder / f"{name}.mid").is_file():
        raise InputError(f"{path} has no {name}.mid beside it.")
    rows = _rows(path)
    starts = [i for i, row in enumerate(rows) if row["kind"] == "db"]
    if len(starts) < 2:
        raise InputError(f"{path} has {len(starts)} bar lines (kind db); two are the least to start from.")
    times = ascending([float(row["time_s"]) for row in rows], f"time_s of {path}")
    return Performance(
        name=name,
        folder=folder,
        bars=times[starts],
        beats=times[starts[0] : starts[-1] + 1],
        metre=_metre(path, rows, starts),
        unsettled=sum(row["kind"] == "bR" for row in rows) / len(rows),
        bar_to_bar_change=_bar_to_bar_change(rows, starts, times),
    )


def _rows(path: Path) -> list[dict[str, str]]:
    try:
        with path.open(newline="", encoding="utf-8-sig") as file:
            reader = csv.DictReader(file)
            lost = [column for column in COLUMNS if column not in (reader.fieldnames or [])]
            if lost:
                raise InputError(f"{path} has no column {', '.join(lost)}.")
            rows = []
            for row in reader:
                try:
                    usable = math.isfinite(float(row["time_s"])) and row["kind"] in KINDS
                except (TypeError, ValueError):
                    usable = False
                if not usable:
                    raise InputError(
                        f"{path}, line {reader.line_num}: time_s must be seconds, kind one of {', '.join(KINDS)}."
                    )
                rows.append(row)
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise InputError(f"{path} cannot be read: {error}.") from error
    return rows


def signature_of(text: str, beats_per_bar: int) -> TimeSignature:
    """A time signature that beats as often as the truth counts: 3/8 in three, 6/8 in two, 12/16 in four.

    Raises
    ------
    MetreError
        If the bar does not divide into that many equal beats.
    """
    plain = TimeSignature.parse(text)
    if beats_per_bar < 1 or plain.numerator % beats_per_bar:
        raise MetreError(f"A bar of {text} does not divide into {beats_per_bar} equal beats.")
    group = plain.numerator // beats_per_bar
    return TimeSignature(plain.numerator, plain.denominator, (group,) * beats_per_bar)


def _metre(path: Path, rows: list[dict[str, str]], starts: list[int]) -> Metre:
    changes: list[tuple[int, TimeSignature]] = []
    for bar, start in enumerate(starts, 1):
        row = rows[start]
        try:
            signature = signature_of(row["time_signature"], int(row["beats_per_bar"]))
        except (TypeError, ValueError) as error:
            raise InputError(f"{path}, bar {bar}: {error}") from error
        if not changes or changes[-1][1] != signature:
            changes.append((bar, signature))
    first = changes[0][1]
    beat = first.quarters / first.beats
    return Metre(tuple(changes), pickup=Fraction(starts[0] % first.beats) * beat)


def _bar_to_bar_change(rows: list[dict[str, str]], starts: list[int], times: Floats) -> float:
    settled = np.array([all(row["kind"] != "bR" for row in rows[a:b]) for a, b in pairwise(starts)])
    beats = np.array([float(rows[start]["beats_per_bar"]) for start in starts[:-1]])
    changes = np.abs(np.diff(np.log(np.diff(times[starts]) / beats)[settled]))
    return float(np.median(changes)) if len(changes) else math.nan
