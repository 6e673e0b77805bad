"""Bar times and beat times as CSV (RFC 4180: commas, CRLF, a header line; in UTF-8).

The file of bars has one row a bar line:

==================  ==========================================================================================
``time_s``          second of the take, to the microsecond
``bar``             bar number of the take (a pickup belongs to bar 0)
``origin``          ``placed`` by the musician, or ``suggested``
``time_signature``  of the bar that starts here; with the grouping of its beats where it is not the usual one
``tempo_qpm``       mean tempo of the bar in quarter notes a minute; empty at the last bar line
``section``         name of the section the bar lies in; empty before the first
``confidence``      0 to 1; 1 where placed
``error_ms``        the tempo map's bar line minus this one, in milliseconds
``session_bar``     bar number in the session, lead-in counted
``session_time_s``  second of the session at which this bar line sounds
==================  ==========================================================================================

The file of beats has one row a beat: ``time_s``, ``bar``, ``beat`` (1 is the bar line), ``origin``,
``time_signature``, ``confidence``, as above.

A section's name that a spreadsheet would take for a formula (it starts with ``=``, ``+``, ``-``, ``@``, a tab or
a carriage return) is written with an apostrophe before it.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from pathlib import Path

from core.document import Section
from core.fit import Fit
from core.grid import Beat, Grid
from core.safe_write import safe_write
from core.session import Session

BAR_COLUMNS = (
    "time_s",
    "bar",
    "origin",
    "time_signature",
    "tempo_qpm",
    "section",
    "confidence",
    "error_ms",
    "session_bar",
    "session_time_s",
)
BEAT_COLUMNS = ("time_s", "bar", "beat", "origin", "time_signature", "confidence")


def bars_csv(grid: Grid, fit: Fit, session: Session, *, sections: Sequence[Section] = ()) -> bytes:
    """Make the file of bar times.

    Parameters
    ----------
    grid, fit, session
        The grid, its tempo map, and where both lie in the session.
    sections : sequence of Section
        Names and the bars of the take they start at.
    """
    lines = grid.bar_lines
    heard = fit.tempo_map.seconds_at([float(grid.quarter_of(line)) for line in lines])
    starts = sorted(sections, key=lambda marker: marker.bar)
    rows = []
    for i, line in enumerate(lines):
        signature = grid.metre.at(line.bar)
        last = i + 1 == len(lines)
        mean = "" if last else f"{60 * float(signature.quarters) / (heard[i + 1] - heard[i]):.4f}"
        section = next((marker.name for marker in reversed(starts) if marker.bar <= line.bar), "")
        rows.append(
            (
                *(_time(line.time), line.bar, _origin(line), signature.full),
                *(mean, _inert(section), f"{line.confidence:.3f}", f"{_plain(1000 * fit.bar_errors[i]):.3f}"),
                *(line.bar + session.shift, _time(line.time + session.offset)),
            )
        )
    return _page(BAR_COLUMNS, rows)


def beats_csv(grid: Grid) -> bytes:
    """Make the file of beat times."""
    rows = (
        (
            *(_time(beat.time), beat.bar, beat.beat, _origin(beat)),
            *(grid.metre.at(beat.bar).full, f"{beat.confidence:.3f}"),
        )
        for beat in grid.beats
    )
    return _page(BEAT_COLUMNS, rows)


def write_beats(path: Path, grid: Grid, *, overwrite: bool = False) -> None:
    """Write the file of beat times alone.

    Raises
    ------
    HandoverError
        If the file exists or cannot be written.
    """
    safe_write(path, beats_csv(grid), overwrite=overwrite)


def _page(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    page = io.StringIO(newline="")
    writer = csv.writer(page, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows(rows)
    return page.getvalue().encode("utf-8", "replace")


def _plain(number: float) -> float:
    """Drop the sign of a zero that only rounding made negative."""
    return round(float(number), 6) + 0.0


def _time(seconds: float) -> str:
    return f"{_plain(seconds):.6f}"


def _origin(beat: Beat) -> str:
    return "placed" if beat.placed else "suggested"


def _inert(words: str) -> str:
    return f"'{words}" if words.startswith(("=", "+", "-", "@", "\t", "\r")) else words
