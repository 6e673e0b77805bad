"""What other means take for the same picture: filling a widget, and pyqtgraph's own curve and lines."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pyqtgraph as pg
import soundfile
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QWidget

from tests.bench import window_session


class Filled(QWidget):
    """A widget that is filled, in one rectangle or a column at a time."""

    columns = False

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor("#fbfaf6"))
        if self.columns:
            colour, height = QColor("#2f6a91"), self.height()
            for x in range(self.width()):
                high = height * (x * 37 % 100) // 100
                painter.fillRect(x, (height - high) // 2, 1, high, colour)
        painter.end()


def reference(
    audio: Path, *, size: tuple[int, int], spans: dict[str, float | None], lines: int, frames: int
) -> dict[str, dict[str, dict[str, float]]]:
    """Median and 95th percentile, in milliseconds, of a frame by each means."""
    return {"fill": _fill(size, frames), "pyqtgraph": _graph(audio, size, spans, lines, frames)}


def _summary(seconds: list[float]) -> dict[str, float]:
    median, p95 = (1e3 * np.percentile(seconds, [50, 95])).tolist()
    return {"median": median, "p95": p95, "n": len(seconds)}


def _fill(size: tuple[int, int], frames: int) -> dict[str, dict[str, float]]:
    found = {}
    for name, columns in (("one rectangle", False), ("a column a pixel", True)):
        widget = Filled()
        widget.columns = columns
        widget.resize(*size)
        widget.show()
        QTest.qWait(50)
        found[name] = _summary([_timed(widget.repaint) for _ in range(frames)])
        widget.close()
        widget.deleteLater()
    return found


def _graph(
    audio: Path, size: tuple[int, int], spans: dict[str, float | None], lines: int, frames: int
) -> dict[str, dict[str, float]]:
    samples, rate = soundfile.read(audio, dtype="float32")
    duration = len(samples) / rate
    moments = np.arange(len(samples)) / rate
    widget = pg.PlotWidget()
    for channel in range(samples.shape[1]):
        curve = pg.PlotDataItem(moments, samples[:, channel] + 2 * channel, pen=pg.mkPen("#2f6a91", width=1))
        widget.addItem(curve)
        # Before it is added to a view, these two raise an AttributeError.
        curve.setDownsampling(auto=True, method="peak")
        curve.setClipToView(True)
    for time_s in np.linspace(0, duration, lines):
        widget.addItem(pg.InfiniteLine(time_s, angle=90, pen=pg.mkPen("#3f5368", width=1)))
    widget.setYRange(-1, 3)
    widget.resize(*size)
    widget.show()
    QTest.qWait(100)
    found = {}
    for name, length in spans.items():
        wide = 0.999 * duration if length is None else length
        seconds = []
        for i in range(frames):
            start = 0.0005 * duration * i / frames if length is None else 0.3 * duration + i * wide / 200
            begin = window_session.clock()
            widget.setXRange(start, start + wide, padding=0)
            widget.viewport().repaint()
            seconds.append(window_session.clock() - begin)
        found[name] = _summary(seconds[3:])
    widget.close()
    widget.deleteLater()
    return found


def _timed(run: Callable[[], object]) -> float:
    begin = window_session.clock()
    run()
    return window_session.clock() - begin
