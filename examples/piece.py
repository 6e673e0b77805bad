"""A finished example: what was played and what is true of it, and the files that say so.

==================  =======================================================================================
``NAME.mid``        the take; beside an audio take, the notes that were plucked
``NAME.bars.csv``   every true bar line: ``time_s,bar,beat,time_signature``; ``beat`` is always 1
``NAME.beats.csv``  every true beat: ``time_s,kind,time_signature,beats_per_bar,bar,beat``; ``kind`` is ``db`` on a
                    bar line, else ``b``
``NAME.pins.csv``   the bar lines a musician would place, the first two at least: ``time_s,bar``
``NAME.pauses.csv`` where the player stops to think: ``start_s`` and ``end_s``, the onsets before and after, and
                    ``saved_s``, how much sooner the music would go on in tempo (examples that have any)
==================  =======================================================================================

Times are seconds from the start of the file, to the microsecond.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from core.grid import Grid
from core.take import Message, Notes
from examples.performance import write_midi


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A take with its truth.

    Parameters
    ----------
    name, title : str
        Of its files, and as music.
    program : int
        General MIDI sound, from 0.
    notes : Notes
        What was played.
    messages : tuple of Message
        The pedal.
    grid : Grid
        The true beats.
    hesitations : tuple of (float, float, float)
        Onset before, onset after and seconds saved without each.
    pinned : tuple of int
        Bars whose bar lines are given as pins.
    """

    name: str
    title: str
    program: int = 0
    notes: Notes
    messages: tuple[Message, ...] = ()
    grid: Grid
    hesitations: tuple[tuple[float, float, float], ...] = ()
    pinned: tuple[int, ...] = (1, 2)

    def write_take(self, folder: Path) -> None:
        """Write the MIDI file."""
        write_midi(folder / f"{self.name}.mid", self.notes, self.messages, name=self.title, program=self.program)

    def write_truth(self, folder: Path) -> None:
        """Write the true bar lines and beats, the hesitations, and the pins."""
        metre, bars = self.grid.metre, self.grid.bar_lines
        pins = [(_time(line.time), line.bar) for line in bars if line.bar in self.pinned]
        _write(
            folder / f"{self.name}.bars.csv",
            ("time_s", "bar", "beat", "time_signature"),
            [(_time(line.time), line.bar, 1, metre.at(line.bar)) for line in bars],
        )
        _write(
            folder / f"{self.name}.beats.csv",
            ("time_s", "kind", "time_signature", "beats_per_bar", "bar", "beat"),
            [
                (
                    _time(beat.time),
                    "db" if beat.beat == 1 else "b",
                    metre.at(beat.bar),
                    metre.at(beat.bar).beats,
                    beat.bar,
                    beat.beat,
                )
                for beat in self.grid.beats
            ],
        )
        _write(
            folder / f"{self.name}.pins.csv",
            ("time_s", "bar"),
            pins,
        )
        if self.hesitations:
            _write(
                folder / f"{self.name}.pauses.csv",
                ("start_s", "end_s", "saved_s"),
                [tuple(_time(value) for value in row) for row in self.hesitations],
            )


def _time(seconds: float) -> str:
    return f"{seconds:.6f}"


def _write(path: Path, columns: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    page = io.StringIO()
    writer = csv.writer(page, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(rows)
    path.write_bytes(page.getvalue().encode())
