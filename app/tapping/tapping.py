"""Tapping along: opens the tapping bar, runs a pass, and takes its taps from keys, pad and controllers."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal, Slot
from PySide6.QtWidgets import QWidget

from app.settings import Settings
from app.span import Span
from app.state import Message, State
from app.tapping.bar import TappingBar
from app.tapping.calibration import Calibration
from app.tapping.keys import TapKeys
from app.tapping.layer import TapLayer
from app.tapping.midi_in import MidiInput, Trigger
from app.tapping.moments import EventMoments
from app.tapping.playback import Playback, Strip
from app.tapping.run import MOMENT, Run
from app.tapping.waiting import NO_BARS, WaitingTaps
from app.tapping.words import habit_words, running_words
from app.workspace import Workspace
from core.tap_bias import Habit

BEFORE = 3.0
"""Seconds that are heard before the first bar that is to be tapped, and after the last."""

HOW = "Start plays the take. Then tap with Space, on the pad or on a MIDI key; Esc ends the pass."
TAP = "Space, the pad or a MIDI key on {on}. Esc ends the pass."
NO_TAPS = "Too few taps came in: press Space on every bar line while the take plays."


class Tapping(QObject):
    """Stands between the player, what is tapped, and the taps that wait.

    Parameters
    ----------
    workspace : Workspace
        Keeps the taps.
    player : Playback
        Its clock says what was heard at a tap.
    strip : Strip
        Starts the player, and plays bare clicks.
    lane : QWidget
        The main lane, over which taps are shown.
    span : Span
        What it shows.
    settings : Settings
        Knows how the musician taps, and on what.
    midi : MidiInput, optional
        Taps from controllers.
    """

    wanted = Signal()
    """The musician wants to tap, so the lane is to be shown."""

    def __init__(
        self,
        workspace: Workspace,
        player: Playback,
        strip: Strip,
        lane: QWidget,
        span: Span,
        settings: Settings,
        parent: QObject,
        midi: MidiInput | None = None,
    ) -> None:
        super().__init__(parent)
        self._workspace, self._player, self._strip = workspace, player, strip
        self._span, self._settings = span, settings
        self.bar, self.layer = TappingBar(), TapLayer(lane, span)
        self._run: Run | None = None
        self._open = False
        self._moments = EventMoments()
        self.waiting = WaitingTaps(workspace, self.bar, self.layer, settings, self)
        self.keys = TapKeys(self.bar.pad, self)
        self.midi = midi or MidiInput(parent=self)
        self.midi.only = Trigger.parse(settings.tapping("trigger"))
        workspace.changed.connect(self._taken_away)
        player.playing_changed.connect(self._playing)
        self.waiting.changed.connect(self._waiting_changed)
        self.midi.tapped.connect(self._tap)
        self.midi.changed.connect(self._show_midi)
        self.midi.learned.connect(self._learned)
        bar = self.bar
        bar.pad.struck.connect(self._strike)
        bar.pad.ended.connect(self._end)
        bar.done_wanted.connect(self._end)
        bar.again_wanted.connect(self._start)
        bar.any_note_wanted.connect(self._any_note)
        bar.learn_wanted.connect(self._learn)
        bar.calibrate_wanted.connect(self.calibrate_taps)
        bar.closed.connect(self.close_bar)

    def play_with(self, player: Playback, strip: Strip) -> None:
        """Use another player and strip from now on."""
        self._player.playing_changed.disconnect(self._playing)
        self._player, self._strip = player, strip
        player.playing_changed.connect(self._playing)

    @property
    def running(self) -> bool:
        """Whether a pass runs."""
        return self._run is not None

    # Commands

    def tap_along(self) -> None:
        """Open the tapping bar, begin a pass where the take plays already, or end the one that runs."""
        if self.running:
            self._end()
            return
        self.wanted.emit()
        self.open_bar()
        if self._player.playing:
            self._begin()
        else:
            self.bar.pad.setFocus()

    def place_tapped(self) -> None:
        """Place the lines that wait and are chosen."""
        if not self.running:
            self.waiting.place()

    def drop_taps(self) -> None:
        """Forget the taps that wait."""
        if not self.running:
            self.waiting.drop()

    def calibrate_taps(self) -> None:
        """Measure how the musician taps."""
        if self.running:
            self._end()
        self.midi.start()
        dialog = Calibration(self._player, self._strip, self.midi, self.bar.window())
        dialog.kept.connect(self._keep_habit)
        dialog.finished.connect(self._calibrated)
        dialog.open()

    @Slot(object)
    def _keep_habit(self, habit: Habit) -> None:
        self._settings.habit = habit
        self._workspace.message.emit(Message(f"You tap {habit_words(habit)}; every pass begins with that."))

    @Slot()
    def _calibrated(self) -> None:
        if not self._open:
            self.midi.stop()
        self._show()

    def open_bar(self) -> None:
        """Show the bar, and listen to controllers."""
        self._open = True
        self.bar.show()
        self.midi.start()
        self._show()

    @Slot()
    def close_bar(self) -> None:
        """Close the bar; taps that wait are kept, and shown when it is opened again."""
        self._end()
        self._open = False
        self.bar.hide()
        self.stop()
        self._show()

    def stop(self) -> None:
        """End all that was started here."""
        self._run = None
        self.keys.stop()
        self.midi.stop()
        self.bar.stop()

    # A pass

    @Slot()
    def _start(self) -> None:
        """Begin, and play: from before the selected bar or the waiting taps, else from what is on screen."""
        grid, chosen, waiting = self._workspace.state.grid, self._workspace.selection, self.waiting.passes
        beats = () if grid is None else grid.beats
        times = [beat.time for beat in beats if (beat.bar, beat.beat) in chosen]
        start: float
        end: float | None
        if waiting:
            start, end = waiting[-1].times[0] - BEFORE, waiting[-1].times[-1] + BEFORE
        elif times:
            # Over the selected bars, or on from the one that is selected.
            start, end = times[0] - BEFORE, times[-1] + BEFORE if len(times) > 1 else None
        else:
            start, end = self._span.start, None
        # What plays now would end the pass with its own end.
        self._player.stop()
        if self._begin():
            self._strip.play_from(max(start, 0.0), end)

    def _begin(self) -> bool:
        state = self._workspace.state
        if state.take is None or state.grid is None or len(state.grid.bar_lines) < 2:
            self._workspace.message.emit(Message(NO_BARS, warning=True))
            return False
        self._run = Run(state.take.duration)
        self._strip.lend_space(True)
        self.keys.start()
        self._show()
        return True

    @Slot()
    def _end(self) -> None:
        if self.running:
            self._player.stop()
            # One that had come to its end says nothing more.
            self._finish()

    def _finish(self) -> None:
        run, self._run = self._run, None
        self.keys.stop()
        self._strip.lend_space(False)
        if run is not None and not run.passes:
            self._workspace.message.emit(Message(NO_TAPS))
        if run is None:
            return
        for times in run.passes:
            self.waiting.keep(times, self.bar.every, run.speed)
        self._show()

    @Slot(bool)
    def _playing(self, playing: bool) -> None:
        if not playing and self.running:
            self._finish()
        elif playing and not self.running and self._open and not self.waiting.passes:
            # However it was started: with the bar open, playing is for tapping.
            self._begin()

    @Slot(int)
    def _strike(self, stamp: int) -> None:
        moment = self._moments.moment(stamp)
        if self.running:
            self._tap(moment)
        else:
            self._start()

    @Slot(float)
    def _tap(self, moment: float) -> None:
        heard = self._player.take_time
        if self._run is not None and self._run.add(heard(moment), heard(moment - MOMENT)):
            self.layer.show_taps(self._run.taps)
            self.bar.pad.light_up()
            self.bar.words.say(running_words(self._run.taps))

    @Slot(object, object)
    def _taken_away(self, old: State, new: State) -> None:
        if new.take is not old.take and self._open:
            if self.running:
                # Its taps are of a take that has gone.
                self._run = None
                self._strip.lend_space(False)
                self._player.stop()
            self.close_bar()

    # What is shown

    @Slot()
    def _waiting_changed(self) -> None:
        if self.waiting.passes and not self._open:
            self.open_bar()
        else:
            self._show()

    def _show(self) -> None:
        self.layer.show_taps(() if self._run is None else self._run.taps)
        if not self._open or self.running:
            self.waiting.hide()
        if self._run is not None:
            self.bar.show_running(running_words(self._run.taps), TAP.format(on=self.bar.kind.currentText()))
        elif self._open and self.waiting.passes:
            self.waiting.show()
        elif self._open:
            self.waiting.hide()
            habit = self._settings.habit
            known = "" if habit is None else f"; you tap {habit_words(habit)}"
            why = self._player.silent
            self.bar.show_ready(f"Tap along while the take plays{known}", f"{why} {HOW}".strip())
            self._show_midi()

    # Controllers

    @Slot()
    def _show_midi(self) -> None:
        only = self.midi.only
        self.bar.show_midi(self.midi.words, "any note" if only is None else only.words, free=only is None)

    @Slot()
    def _learn(self) -> None:
        self.midi.learn()
        self._workspace.message.emit(Message("Press the pad, key or pedal that is to tap."))

    @Slot(object)
    def _learned(self, trigger: Trigger) -> None:
        self._settings.remember_tapping("trigger", trigger.words)
        self._workspace.message.emit(
            Message(f"From now on {trigger.words} taps, and nothing else on a controller.")
        )
        self._show_midi()

    @Slot()
    def _any_note(self) -> None:
        self.midi.only = None
        self._settings.remember_tapping("trigger", "")
        self._show_midi()
