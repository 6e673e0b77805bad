"""The taps that wait: what they mean, the lines they would place, and placing or dropping them.

The taps of a document are open until they are placed or dropped, and while they are, their lines are shown: after
undo, and in a project that is opened again, as after the pass itself.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from PySide6.QtCore import QObject, Signal, Slot

from app.questions import TapsRead
from app.settings import Settings
from app.state import Message, Place, State
from app.tapping.bar import TappingBar
from app.tapping.layer import TapLayer
from app.tapping.preview import Preview
from app.tapping.words import LOOKS, read_words
from app.workspace import Workspace
from core.document import Document, TapPass
from core.edits import AcceptTaps, DropTaps, KeepTaps, MeanTaps
from core.errors import InputError
from core.tap_meaning import guessed, meant_by
from core.tapped import TappedLine

READING = "Reading the taps"
NO_BARS = "There are no bars yet that taps could be counted by: place the first two bar lines."


class WaitingTaps(QObject):
    """Stands between the open taps of a document and what is shown of them.

    Parameters
    ----------
    workspace : Workspace
        Keeps the taps and reads them.
    bar : TappingBar
        Where the musician says what was tapped and what is placed.
    layer : TapLayer
        Shows the lines over the music.
    settings : Settings
        Knows how the musician taps.
    """

    changed = Signal()
    """There are other taps, or something else is known of them."""

    def __init__(
        self, workspace: Workspace, bar: TappingBar, layer: TapLayer, settings: Settings, parent: QObject
    ) -> None:
        super().__init__(parent)
        self._workspace, self._bar, self._layer, self._settings = workspace, bar, layer, settings
        self._read: TapsRead | None = None
        self._left_out: frozenset[Place] = frozenset()
        self._range = (0, 0)
        self._anchor: Place | None = None
        workspace.changed.connect(self._changed)
        workspace.selected.connect(self._selected)
        workspace.tapped.connect(self._tapped)
        layer.flag_clicked.connect(self._flag_clicked)
        bar.kind_chosen.connect(self._mean)
        bar.first_chosen.connect(self._mean_first)
        bar.range_chosen.connect(self._choose_range)
        bar.doubtful_chosen.connect(self._choose_doubtful)
        bar.place_wanted.connect(self.place)
        bar.drop_wanted.connect(self.drop)

    @property
    def passes(self) -> list[TapPass]:
        """The open passes, in the order in which they were tapped."""
        document = self._workspace.state.document
        return [] if document is None else [taps for taps in document.taps if taps.open]

    @property
    def lines(self) -> tuple[TappedLine, ...]:
        """The lines they would place, as far as they are known."""
        return () if self._read is None or self._read.tapped is None else self._read.tapped.lines

    @property
    def chosen(self) -> list[TappedLine]:
        """Those that are to be placed."""
        low, high = self._range
        return [
            line for line in self.lines if low <= line.bar <= high and (line.bar, line.beat) not in self._left_out
        ]

    # What is done

    def keep(self, times: tuple[float, ...], every: int | None, speed: float) -> None:
        """Keep a pass; one over taps that wait means what they mean."""
        waiting = self.passes
        taps = self._meant(times, waiting[-1].every if waiting else every, speed)
        if taps is not None:
            self._workspace.do(KeepTaps(taps))

    def _meant(self, times: tuple[float, ...], every: int | None, speed: float) -> TapPass | None:
        """What taps were meant for by the bars on screen; None, and a message, where nobody can say."""
        grid, habit = self._workspace.state.grid, self._settings.habit
        bias = 0.0 if habit is None else habit.at(speed).bias
        try:
            if grid is None:
                raise InputError(NO_BARS)
            return replace(meant_by(times, grid, every=every, bias=bias), speed=speed)
        except InputError as error:
            self._workspace.message.emit(Message(str(error), warning=True))
            return None

    @Slot()
    def place(self) -> None:
        """Place the lines that are chosen; with all bars they are dealt with, else the rest goes on waiting."""
        chosen = self.chosen
        if chosen:
            self._workspace.do(AcceptTaps(tuple(line.pin for line in chosen), done=self._range == self._bars))

    @Slot()
    def drop(self) -> None:
        """Forget the taps that wait."""
        if self.passes:
            self._workspace.do(DropTaps())

    @Slot(object)
    def _mean(self, every: int | None) -> None:
        waiting = self.passes
        meant = self._meant(waiting[-1].times, every, waiting[-1].speed) if waiting else None
        if meant is not None:
            self._workspace.do(MeanTaps(meant.every, meant.bar, meant.beat))

    @Slot(int)
    def _mean_first(self, bar: int) -> None:
        waiting = self.passes
        if waiting:
            self._workspace.do(MeanTaps(waiting[-1].every, bar, waiting[-1].beat))

    # What is known

    @property
    def _bars(self) -> tuple[int, int]:
        bars = [line.bar for line in self.lines]
        return (min(bars), max(bars)) if bars else (0, 0)

    @Slot(object, object)
    def _changed(self, old: State, new: State) -> None:
        before = _about_taps(old.document) if new.take is old.take else None
        now = _about_taps(new.document)
        if now == before:
            return
        self._read = None
        if self.passes:
            self._workspace.read_taps(self._settings.habit)
        self.changed.emit()

    @Slot(object)
    def _tapped(self, answer: TapsRead) -> None:
        if _about_taps(answer.document) != _about_taps(self._workspace.state.document):
            return
        self._read = answer
        self._left_out, self._anchor, self._range = frozenset(), None, self._bars
        self._bar.tick_doubtful()
        if answer.details:
            self._workspace.message.emit(Message(answer.why, answer.details, warning=True))
        self.changed.emit()

    # What is chosen

    @Slot(int, int)
    def _choose_range(self, low: int, high: int) -> None:
        self._range = (low, high)
        self._show_chosen()

    @Slot(object)
    def _selected(self, places: Iterable[Place]) -> None:
        """Bars that are selected are those to be placed, where lines wait for them."""
        if not self.lines:
            return
        bars, (low, high) = sorted({bar for bar, _ in places}), self._bars
        if bars and bars[0] <= high and bars[-1] >= low:
            low, high = max(bars[0], low), min(bars[-1], high)
        self._range = (low, high)
        self._bar.show_range(low, high)
        self._show_chosen()

    @Slot(object, bool)
    def _flag_clicked(self, place: Place, further: bool) -> None:
        """Leave a line out or take it in again; with Shift all from the one clicked before, as that is."""
        places = [(line.bar, line.beat) for line in self.lines if line.beat == 1]
        if further and self._anchor in places:
            low, high = sorted((places.index(self._anchor), places.index(place)))
            among = frozenset(places[low : high + 1])
            out = self._anchor in self._left_out
            self._left_out = self._left_out | among if out else self._left_out - among
        else:
            self._anchor = place
            self._left_out = self._left_out ^ {place}
        self._show_chosen()

    @Slot(bool)
    def _choose_doubtful(self, placed: bool) -> None:
        unsure = frozenset((line.bar, line.beat) for line in self.lines if line.doubtful)
        self._left_out = self._left_out - unsure if placed else self._left_out | unsure
        self._show_chosen()

    # What is shown

    def show(self) -> None:
        """Show them in the bar and over the music."""
        waiting, read = self.passes, self._read
        if read is None:
            self.hide()
            self._bar.show_reading(READING)
        elif read.tapped is None:
            self.hide()
            self._bar.show_failed(read.why, waiting[-1].every, waiting[-1].bar)
        else:
            words, how = read_words(read.tapped, sum(len(taps.times) for taps in waiting))
            how = f"{self._doubt(waiting[-1])}{how}"
            self._bar.show_read(words, how, every=waiting[-1].every, first=waiting[-1].bar, bars=self._bars)
            self._bar.show_range(*self._range)
            self._show_chosen()

    def hide(self) -> None:
        """Show nothing over the music."""
        self._layer.show_preview(Preview())

    def _doubt(self, taps: TapPass) -> str:
        """A word where taps look like something else than they are said to be."""
        grid = self._workspace.state.grid
        like = taps.every if grid is None else guessed(taps.times, grid)
        return f"These look like {LOOKS[like]}: say so below if they are. " if like != taps.every else ""

    def _show_chosen(self) -> None:
        chosen = {(line.bar, line.beat) for line in self.chosen}
        left_out = frozenset((line.bar, line.beat) for line in self.lines) - chosen
        self._layer.show_preview(Preview(self.lines, left_out))
        self._bar.show_count(sum(beat == 1 for _, beat in chosen))
        self._bar.show_doubtful(sum(line.doubtful and line.beat == 1 for line in self.lines))


def _about_taps(document: Document | None) -> Document | None:
    """All of a document that the lines of its open taps follow from; None where there are none."""
    if document is None or not any(taps.open for taps in document.taps):
        return None
    return Document(document.metre, document.pins, document.holds, document.free, taps=document.taps)
