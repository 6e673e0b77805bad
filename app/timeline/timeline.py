"""The timeline: overview, ruler, sections, stage and tempo over one stretch of the take."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QSplitter, QVBoxLayout, QWidget

from app.span import Span
from app.state import State
from app.timeline.lines import Lines, lines_of
from app.timeline.notes_picture import NotesPicture
from app.timeline.overview import Overview
from app.timeline.ruler import Ruler
from app.timeline.section_lane import SectionLane
from app.timeline.stage import Stage
from app.timeline.tempo_lane import TempoLane
from app.timeline.wave_picture import WavePicture
from app.workspace import Workspace
from core.fit import Fit
from core.peaks import Peaks
from core.take import MidiTake

ZOOM_STEP = 1.5
"""How much closer one step brings."""

TURN_AT, TURN_TO = 0.9, 0.1
"""Following a playhead: where on screen it is when the next part is shown, and where it then is."""


class Timeline(QWidget):
    """Stacks the lanes over one span: `overview`, `ruler`, `sections`, `stage` and `tempo`."""

    pointed = Signal(float)
    """A moment was clicked where no line is, or in the ruler; seconds."""

    went_to = Signal(int)
    """A bar was chosen in a lane and has been shown."""

    rename_wanted = Signal(int)
    """The section that begins with this bar is to get another name."""

    menu_wanted = Signal(object, object)
    """A context menu is asked for: a target of `picking`, and the place on the screen (QPoint)."""

    def __init__(self, workspace: Workspace, span: Span, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._workspace, self._span = workspace, span
        self._playhead: float | None = None
        self._follow = True
        self.overview = Overview(workspace, span)
        self.ruler = Ruler(workspace, span)
        self.sections = SectionLane(workspace, span)
        self.stage = Stage(workspace, span)
        self.tempo = TempoLane(workspace, span)

        self.splitter = QSplitter(Qt.Orientation.Vertical)
        self.splitter.addWidget(self.stage)
        self.splitter.addWidget(self.tempo)
        self.splitter.setStretchFactor(0, 4)
        self.splitter.setStretchFactor(1, 1)
        self.splitter.setChildrenCollapsible(False)
        self.splitter.setHandleWidth(5)
        self.splitter.setSizes([440, 120])
        self._lanes = QWidget()
        stack = QVBoxLayout(self._lanes)
        stack.setContentsMargins(0, 0, 0, 0)
        stack.setSpacing(1)
        for lane in (self.overview, self.ruler, self.sections):
            stack.addWidget(lane)
        stack.addWidget(self.splitter, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self._lanes)

        workspace.changed.connect(self._on_changed)
        workspace.picture.connect(self._on_picture)
        self.stage.pointed.connect(self.pointed)
        self.ruler.clicked.connect(self._on_ruler)
        self.stage.menu_wanted.connect(self.menu_wanted)
        self.sections.menu_wanted.connect(self.menu_wanted)
        self.sections.rename_wanted.connect(self.rename_wanted)
        self.sections.went_to.connect(self._on_went_to)
        self.tempo.went_to.connect(self._on_went_to)
        self._lanes.setVisible(workspace.state.take is not None)
        if workspace.state.take is not None:
            span.set_duration(workspace.state.take.duration)
        self._on_picture(workspace.pictured)

    # What is shown

    def fit(self) -> None:
        """Show the whole take."""
        self._span.fit()

    def zoom_to(self, bar: int, bars: int = 4) -> None:
        """Show so many bars, beginning with this one, and a little around them."""
        lines = self._lines
        if lines is None or len(lines.bars) < 2 or lines.index((bar, 1)) is None:
            return
        first = int(lines.bar_number.searchsorted(bar))
        last = min(first + bars, len(lines.bars) - 1)
        first = min(first, last - 1)
        self._show(float(lines.bar_time[first]), float(lines.bar_time[last]))

    def zoom_selection(self) -> None:
        """Show the selected bars, from the first to the end of the last."""
        chosen = sorted(bar for bar, _ in self._workspace.selection)
        if chosen:
            self.zoom_to(chosen[0], chosen[-1] - chosen[0] + 1)

    def go_to(self, bar: int) -> None:
        """Show a bar line at the zoom in use, and select it."""
        self.stage.select((bar, 1))

    def zoom_in(self) -> None:
        """Come closer to the selected line if it is on screen, else to the middle."""
        self._span.zoom(ZOOM_STEP, self._still())

    def zoom_out(self) -> None:
        """Show more."""
        self._span.zoom(1 / ZOOM_STEP, self._still())

    def set_fit(self, fit: Fit | None) -> None:
        """Draw the tempo map that will be handed over into the tempo lane."""
        self.tempo.set_fit(fit)

    def set_playhead(self, seconds: float | None) -> None:
        """Show where the take is being played, and go along with it if that is wanted.

        A playhead the musician has scrolled away from is left alone until it is on screen again.
        """
        before, self._playhead = self._playhead, seconds
        self.stage.set_playhead(seconds)
        if seconds is None or not self._follow or self.stage.busy:
            return
        span = self._span
        length = span.end - span.start
        if before is None:
            lost = not span.start <= seconds <= span.end
        else:
            lost = span.start <= before <= span.end and not span.start <= seconds <= span.start + TURN_AT * length
        if lost:
            span.show(seconds - TURN_TO * length, seconds + (1 - TURN_TO) * length)

    def set_follow(self, follow: bool) -> None:
        """Say whether the lanes go along with the playhead."""
        self._follow = follow

    @property
    def _lines(self) -> Lines | None:
        grid = self._workspace.state.grid
        return None if grid is None else lines_of(grid)

    def _show(self, start: float, end: float) -> None:
        margin = 0.06 * (end - start)
        self._span.show(start - margin, end + margin)

    def _still(self) -> float:
        """Pixel that stays where it is while zooming from the keyboard."""
        lines, at = self._lines, self.stage.at
        line = None if lines is None or at is None or at not in self._workspace.selection else lines.line(at)
        if line is not None and self._span.start <= line.time <= self._span.end:
            return self._span.x_of(line.time)
        return self._span.width / 2

    # What happens

    def _on_changed(self, old: State, new: State) -> None:
        if new.take is not old.take:
            self._lanes.setVisible(new.take is not None)
            self._playhead = None
            self.stage.set_playhead(None)
            if new.take is not None:
                self._span.set_duration(new.take.duration)

    def _on_picture(self, pictured: object) -> None:
        picture: NotesPicture | WavePicture | None = None
        if isinstance(pictured, MidiTake):
            picture = NotesPicture(pictured)
        elif isinstance(pictured, Peaks):
            picture = WavePicture(pictured)
        self.stage.set_picture(picture)
        self.overview.set_picture(picture)

    def _on_ruler(self, time: float) -> None:
        """Bring a moment into the middle, and choose the bar it is in."""
        lines = self._lines
        at = None if lines is None else lines.bar_at(time)
        if lines is not None and at is not None:
            self.stage.select((int(lines.bar_number[at]), 1))
        self._span.centre(time)
        self.pointed.emit(time)

    def _on_went_to(self, bar: int) -> None:
        self.go_to(bar)
        self.went_to.emit(bar)
