"""Placed bar lines, and bar times to compare with, from CSV files.

A header line names the columns; ``time_s`` must be there, ``bar`` and ``beat`` may be (an empty cell leaves the
bar number open, and the beat 1). Other columns are allowed: with a column ``origin``, as in the files Barwright
writes, only rows that say ``placed`` are pins, so a written file can be edited by hand and given back.
Commas separate; semicolons with decimal commas, as some spreadsheets write them, are understood too.
"""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from core.errors import InputError, PinError
from core.grid import Pin
from core.numbering import HIGHEST, LOWEST
from core.take_file import LONGEST, whole_file

_MOST_BYTES = 8 << 20

_MOST_ROWS = 200_000
"""Lines of a file; a take of six hours has fewer beats."""

_MOST_BEATS = 255
"""The upper figure of a time signature is one byte in a MIDI file."""

_LONGEST = 30
"""Characters of a cell that a sentence repeats."""

_NUMBER = re.compile(r"[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?", re.ASCII)


@dataclass(frozen=True, slots=True)
class _Row:
    """One line of a file, its cells by column name, and the words that say where it stands."""

    where: str
    cells: dict[str, str]

    def number(self, column: str) -> float:
        word = self.cells[column].replace(",", ".")
        value = float(word) if _NUMBER.fullmatch(word) else math.nan
        if not math.isfinite(value):
            raise PinError(
                f'{self.where}: {column} is "{self._short(column)}", not a number; correct or remove the line.'
            )
        return value

    def time(self, column: str) -> float:
        value = self.number(column)
        if value > LONGEST:
            raise PinError(f"{self.where}: no take lasts until {value:g} s; give {column} in seconds.")
        return value

    def whole(self, column: str) -> int:
        value = self.number(column)
        if value != int(value):
            raise PinError(
                f'{self.where}: {column} is "{self._short(column)}", not a whole number; correct the line.'
            )
        return int(value)

    def bar(self, column: str) -> int:
        value = self.whole(column)
        if not LOWEST <= value <= HIGHEST:
            raise PinError(
                f'{self.where}: {column} is "{self._short(column)}"; bars are numbered from {LOWEST} to {HIGHEST}.'
            )
        return value

    def beat(self) -> int:
        value = self.whole("beat")
        if not 1 <= value <= _MOST_BEATS:
            raise PinError(f"{self.where}: there is no beat {value:.10g}; beats count from 1, the bar line.")
        return value

    def _short(self, column: str) -> str:
        """What stands there on one line, without repeating a whole file."""
        text = " ".join(self.cells[column].split())
        return text if len(text) <= _LONGEST else text[:_LONGEST] + "..."


def read_pins(path: Path) -> tuple[Pin, ...]:
    """Read the placed bar lines of a take.

    Parameters
    ----------
    path : Path
        CSV file with the column ``time_s``, seconds of the take, and perhaps ``bar``, ``beat`` and ``origin``.

    Returns
    -------
    tuple of Pin
        In order of time; empty if every row is a suggestion.

    Raises
    ------
    InputError
        If the file cannot be read or has no ``time_s``.
    PinError
        If a cell cannot be used, or the rows contradict each other; with the file's name and the line.
    """
    pins: list[Pin] = []
    numbered: Pin | None = None
    for row in _rows(path, ("time_s",)):
        if row.cells.get("origin", "placed").lower() != "placed":
            continue
        pin = Pin(
            row.time("time_s"),
            row.bar("bar") if row.cells.get("bar") else None,
            row.beat() if row.cells.get("beat") else 1,
        )
        if pin.time < 0:
            raise PinError(f"{row.where}: {pin.time:g} s is before the take starts; correct or remove the line.")
        if pins and pin.time <= pins[-1].time:
            raise PinError(
                f"{row.where}: {pin.time:g} s does not come after {pins[-1].time:g} s; put the lines in order."
            )
        if pin.bar is not None:
            if numbered and numbered.bar is not None and (pin.bar, pin.beat) <= (numbered.bar, numbered.beat):
                raise PinError(
                    f"{row.where}: bar {pin.bar} beat {pin.beat} at {pin.time:g} s cannot come after bar "
                    f"{numbered.bar} beat {numbered.beat} at {numbered.time:g} s; correct one of the two."
                )
            numbered = pin
        pins.append(pin)
    return tuple(pins)


def read_bar_times(path: Path) -> tuple[tuple[int, float], ...]:
    """Read bar numbers and times to compare a tempo map with, placed or not.

    Parameters
    ----------
    path : Path
        CSV file with ``session_bar`` and ``session_time_s``, as Barwright writes, or else ``bar`` and ``time_s``
        counted and timed as in the map. Rows with a ``beat`` other than 1 are passed over.

    Returns
    -------
    tuple of (int, float)
        Bar number and seconds, one a bar line, ascending in both.

    Raises
    ------
    InputError
        If the file cannot be read, lacks the columns, or has no bar line.
    PinError
        If a cell is not a number, or the rows are out of order; with the file's name and the line.
    """
    times: list[tuple[int, float]] = []
    for row in _rows(path, ("time_s", "bar")):
        session = "session_bar" in row.cells and "session_time_s" in row.cells
        if row.cells.get("beat") and row.whole("beat") != 1:
            continue
        bar = row.bar("session_bar" if session else "bar")
        time = row.time("session_time_s" if session else "time_s")
        if times and (bar <= times[-1][0] or time <= times[-1][1]):
            raise PinError(
                f"{row.where}: bar {bar} at {time:g} s does not come after bar {times[-1][0]} at "
                f"{times[-1][1]:g} s; put the lines in order, each bar once."
            )
        times.append((bar, time))
    if not times:
        raise InputError(f"{path} has no bar line; give one line for each, with time_s and bar.")
    return tuple(times)


def _rows(path: Path, needed: tuple[str, ...]) -> Iterator[_Row]:
    """Yield the lines of a file that hold anything, stripped of blanks."""
    try:
        page = whole_file(path, _MOST_BYTES, "a CSV file").decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(f"{path} is not a CSV file in UTF-8; save it as CSV (UTF-8).") from error
    page = page.replace("\r\n", "\n").replace("\r", "\n")
    head = page.partition("\n")[0]
    semicolons = ";" in head and "," not in head
    reader = csv.reader(io.StringIO(page), delimiter=";" if semicolons else ",", strict=True)
    try:
        columns = [cell.strip().lower() for cell in next(reader, [])]
        for name in needed:
            if name not in columns:
                raise InputError(
                    f"{path} has no column {name}; its first line must name the columns, like time_s,bar,beat."
                )
        for number, cells in enumerate(reader, 1):
            if number > _MOST_ROWS:
                raise InputError(f"{path} has more than {_MOST_ROWS} lines; no take has so many beats.")
            padded = [cell.strip() for cell in cells[: len(columns)]] + [""] * (len(columns) - len(cells))
            if any(padded):
                yield _Row(f"{path.name}, line {reader.line_num}", dict(zip(columns, padded, strict=False)))
    except csv.Error as error:
        raise InputError(
            f"{path.name}, line {reader.line_num}: this is not CSV ({error}); save the file anew."
        ) from error
