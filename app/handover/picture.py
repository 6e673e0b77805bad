"""A live picture of the tempo map: how fast each bar is, and how far the map is from each bar line.

The plotting library takes a noticeable while to load, so this module is imported when the page is first shown.
"""

from __future__ import annotations

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QEvent, QPoint, QSize, Qt, Signal
from PySide6.QtGui import QColor, QMouseEvent, QPen, QWheelEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.colours import Colours
from app.sayings import clock, signed
from core.checks import Floats
from core.planned import Plan

_STEPS = (1, 2, 5, 10, 20, 30, 60, 120, 180, 300, 600, 1200, 1800, 3600)
"""Seconds between the marks of the time axis."""

_LEAST_ERROR = 1.25
"""Milliseconds shown above and below at least, so that rounding does not look like an error."""


class _Clock(pg.AxisItem):  # type: ignore[misc]
    """Minutes and seconds."""

    def tickSpacing(self, low: float, high: float, size: float) -> list[tuple[float, float]]:
        """Marks 65 pixels apart or more."""
        wanted = (high - low) * 65 / max(size, 1)
        return [(next((step for step in _STEPS if step >= wanted), _STEPS[-1]), 0)]

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:
        """Name the marks."""
        return [clock(value) for value in values]


class _Figures(pg.AxisItem):  # type: ignore[misc]
    """Figures, with a true minus."""

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:
        """Name the marks."""
        return [words.replace("-", "\N{MINUS SIGN}") for words in super().tickStrings(values, scale, spacing)]


class FitPicture(pg.GraphicsLayoutWidget):  # type: ignore[misc]
    """Two plots over the time of the take; it is only looked at, and a click leads to a bar."""

    went_to = Signal(int)

    def __init__(self, colours: Colours, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._plan: Plan | None = None
        self._at: int | None = None
        self._tempi = np.zeros(0)
        self.setAccessibleName("Picture of the tempo map")
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.viewport().setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setMinimumHeight(230)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Expanding)
        self.setAntialiasing(False)
        layout = self.ci.layout
        layout.setContentsMargins(4, 6, 12, 4)
        layout.setVerticalSpacing(0)
        self.tempo_title = self.addLabel(row=0, col=0, justify="left")
        self.tempo = self._plot(1, labelled=False)
        self.error_title = self.addLabel(row=2, col=0, justify="left")
        self.error = self._plot(3, labelled=True)
        self.error.setXLink(self.tempo)
        layout.setRowStretchFactor(1, 3)
        layout.setRowStretchFactor(3, 2)

        self._cursor = [pg.InfiniteLine(angle=90, movable=False) for _ in range(2)]
        for plot, line in zip((self.tempo, self.error), self._cursor, strict=True):
            plot.addItem(line)
            line.hide()
        self._zero = pg.InfiniteLine(angle=0, movable=False)
        self._limits = [pg.InfiniteLine(angle=0, movable=False) for _ in range(2)]
        for line in (self._zero, *self._limits):
            self.error.addItem(line)
        self._curve = pg.PlotCurveItem(antialias=False)
        self._bars, self._beyond, self._worst = (pg.ScatterPlotItem(antialias=False) for _ in range(3))
        self._stems = pg.PlotCurveItem(antialias=False, connect="pairs")
        for item in (self._curve, self._bars, self._beyond):
            self.tempo.addItem(item)
        for item in (self._stems, self._worst):
            self.error.addItem(item)
        self.recolour(colours)

    def _plot(self, row: int, *, labelled: bool) -> pg.PlotItem:
        plot = self.addPlot(
            row=row, col=0, axisItems={"bottom": _Clock("bottom"), "left": _Figures("left")}, enableMenu=False
        )
        plot.hideButtons()
        plot.setMouseEnabled(False, False)
        plot.getViewBox().setDefaultPadding(0)
        for side in ("left", "bottom"):
            axis = plot.getAxis(side)
            axis.setStyle(tickLength=-4, autoExpandTextSpace=False, tickTextOffset=4, hideOverlappingLabels=False)
            axis.setStyle(maxTickLevel=1)
            axis.enableAutoSIPrefix(False)
        plot.getAxis("left").setWidth(48)
        plot.getAxis("bottom").setStyle(showValues=labelled)
        plot.getAxis("bottom").setHeight(20 if labelled else 6)
        return plot

    def sizeHint(self) -> QSize:
        """As low as it can be read; it takes what is left."""
        return QSize(400, 230)

    def recolour(self, colours: Colours) -> None:
        """Take other colours."""
        self._colours = colours
        self.setBackground(colours.lane)
        faint = QColor(colours.edge)
        for plot in (self.tempo, self.error):
            for side in ("left", "bottom"):
                plot.getAxis(side).setPen(_pen(faint))
                plot.getAxis(side).setTextPen(_pen(colours.faint))
        self._curve.setPen(_pen(colours.curve))
        self._stems.setPen(_pen(colours.curve))
        self._zero.setPen(_pen(faint))
        for line in self._limits:
            line.setPen(_pen(colours.faint, Qt.PenStyle.DashLine))
        for line in self._cursor:
            line.setPen(_pen(colours.faint, Qt.PenStyle.DotLine))
        self._entitle()
        if self._plan is not None:
            self.show_plan(self._plan)

    def show_plan(self, plan: Plan) -> None:
        """Draw a plan."""
        self._plan = plan
        times = plan.grid.bar_times
        self._tempi = plan.grid.bar_tempi
        self._draw_tempi(0.5 * (times[:-1] + times[1:]), plan)
        self._draw_errors(times, 1000 * plan.fit.bar_errors, plan)
        first = min(float(times[0]), float(plan.fit.tempo_map.seconds[0]), 0.0)
        self.tempo.setXRange(first, float(times[-1]), padding=0.005)
        self._point_at(None)

    def _draw_tempi(self, middles: Floats, plan: Plan) -> None:
        knots, tempi = plan.fit.tempo_map.seconds, plan.fit.tempo_map.tempi
        self._curve.setData(np.repeat(knots, 2)[1:-1], np.repeat(tempi, 2))
        low, high = _usual_range(np.concatenate((self._tempi, tempi)))
        self.tempo.setYRange(low, high, padding=0)
        inside = (self._tempi >= low) & (self._tempi <= high)
        brush = pg.mkBrush(self._colours.tempo)
        self._bars.setData(middles[inside], self._tempi[inside], symbol="s", size=4, pen=None, brush=brush)
        # A bar too fast or too slow for the picture is a triangle at its edge, pointing out of it.
        above = self._tempi > high
        shown = above | (self._tempi < low)
        edge = np.where(above, high - 0.03 * (high - low), low + 0.03 * (high - low))
        marks = np.where(above, "t1", "t")
        self._beyond.setData(middles[shown], edge[shown], symbol=list(marks[shown]), size=9, pen=None, brush=brush)

    def _draw_errors(self, times: Floats, errors: Floats, plan: Plan) -> None:
        tolerance = 1000 * plan.settings.tolerance if plan.settings.knots == "fewest" else None
        self._stems.setData(np.repeat(times, 2), np.ravel(np.column_stack((np.zeros_like(errors), errors))))
        reach = max(_LEAST_ERROR, 1.25 * float(np.abs(errors).max()), 1.25 * (tolerance or 0.0))
        self.error.setYRange(-reach, reach, padding=0)
        for line, sign in zip(self._limits, (-1, 1), strict=True):
            line.setVisible(tolerance is not None)
            line.setValue(sign * (tolerance or 0.0))
        worst = int(np.abs(errors).argmax())
        at = [worst] if abs(errors[worst]) >= 0.001 else []
        ring = _pen(self._colours.doubtful)
        self._worst.setData(times[at], errors[at], symbol="o", size=9, pen=ring, brush=None)
        self._entitle()

    def _entitle(self) -> None:
        """Say what is drawn and in what units, or what is under the pointer."""
        colours, plan = self._colours, self._plan
        text, faint = colours.text.name(), colours.faint.name()
        parts = f"<span style='color:{colours.tempo.name()}'>■</span> each bar &nbsp; " + (
            f"<span style='color:{colours.curve.name()}'>━</span> tempo map"
        )
        errors = "every bar line is met exactly"
        if plan is not None and plan.settings.knots == "fewest":
            errors = f"dashed: the tolerance of {1000 * plan.settings.tolerance:g} ms"
        if plan is not None and self._at is not None:
            line = plan.grid.bar_lines[self._at]
            where = f"bar {line.bar} at {clock(line.time)}"
            parts = f"{where}: {self._tempi[self._at]:.1f}" if self._at < len(self._tempi) else where
            errors = f"bar {line.bar}: {signed(1000 * plan.fit.bar_errors[self._at], 3)} ms"
        for label, title, words in (
            (self.tempo_title, "Tempo in quarter notes a minute", parts),
            (self.error_title, "Map minus bar line in ms", errors),
        ):
            label.setText(
                f"<span style='color:{text}'>{title}</span> &nbsp; <span style='color:{faint}'>{words}</span>",
                size=f"{self.font().pointSizeF():.1f}pt",
                justify="left",
            )

    def _point_at(self, bar: int | None) -> None:
        self._at = bar
        for line in self._cursor:
            line.setVisible(bar is not None)
            if bar is not None and self._plan is not None:
                line.setValue(float(self._plan.grid.bar_times[bar]))
        self._entitle()

    def bar_at(self, point: QPoint) -> int | None:
        """Index of the bar line nearest to a point of the widget; None outside the plots."""
        at = self.mapToScene(point)
        if self._plan is None or not any(
            plot.getViewBox().sceneBoundingRect().contains(at) for plot in (self.tempo, self.error)
        ):
            return None
        time = self.tempo.getViewBox().mapSceneToView(at).x()
        return int(np.abs(self._plan.grid.bar_times - time).argmin())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Name the bar under the pointer."""
        bar = self.bar_at(event.position().toPoint())
        self.setCursor(Qt.CursorShape.ArrowCursor if bar is None else Qt.CursorShape.PointingHandCursor)
        if bar != self._at:
            self._point_at(bar)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Nothing here can be dragged."""
        event.accept()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Go to the bar."""
        bar = self.bar_at(event.position().toPoint())
        if event.button() == Qt.MouseButton.LeftButton and bar is not None and self._plan is not None:
            self.went_to.emit(self._plan.grid.bar_lines[bar].bar)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """The first click has done it."""
        event.accept()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave it to the page."""
        event.ignore()

    def leaveEvent(self, event: QEvent) -> None:
        """Name nothing any more."""
        self._point_at(None)
        super().leaveEvent(event)


def _pen(colour: QColor, style: Qt.PenStyle = Qt.PenStyle.SolidLine) -> QPen:
    pen = QPen(colour, 1, style)
    pen.setCosmetic(True)
    return pen


def _usual_range(tempi: Floats) -> tuple[float, float]:
    """Range that shows every tempo, or nearly every one where a few are far out."""
    low, high = float(tempi.min()), float(tempi.max())
    near, far = np.percentile(tempi, (3, 97))
    spread = max(far - near, 0.1 * float(np.median(tempi)))
    low, high = max(low, near - spread), min(high, far + spread)
    margin = max(0.08 * (high - low), 1.0)
    return max(low - margin, 0.0), high + margin
