"""Plays what is asked for: each method is a command of `app.actions`, and the playhead goes with it."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import replace

from PySide6.QtCore import QObject, Qt, QTimer, Slot

from app.action_set import ActionSet
from app.bar_stack import BarStack
from app.cutting.heard_space import HeardSpace
from app.moment import Moment
from app.settings import Settings
from app.sound.choices import SPEEDS, SoundChoices
from app.sound.clicks import BAR, BEAT, Clicks, clicks_of, count_in
from app.sound.clock import now
from app.sound.player import Player
from app.state import State
from app.stretches import Stretch, selected_stretch
from app.timeline.ruler import clock
from app.timeline.timeline import Timeline
from app.transport import Transport
from app.workspace import Workspace
from core.checks import Floats
from core.take import AudioTake

FRAME = 16
"""Milliseconds from one place of the playhead to the next."""

CHECKED = {"toggle_loop": "loop", "toggle_click": "clicking", "toggle_apart": "apart", "toggle_follow": "follow"}
"""Commands that are on or off, and what they choose."""


class Listening(QObject):
    """Stands between the player, the strip that plays, and the take on screen.

    Parameters
    ----------
    workspace : Workspace
        Knows the take as it was played, its bars and what is selected.
    player : Player
        Plays.
    timeline : Timeline
        Shows the playhead.
    bar_stack : BarStack
        Shows it too.
    settings : Settings
        Keeps what is chosen.
    window : QObject
    """

    def __init__(
        self,
        workspace: Workspace,
        player: Player,
        timeline: Timeline,
        bar_stack: BarStack,
        settings: Settings,
        window: QObject,
    ) -> None:
        super().__init__(window)
        self._workspace, self._player, self._settings = workspace, player, settings
        self._space: Workspace | HeardSpace = workspace
        self._timeline, self._bar_stack = timeline, bar_stack
        self._strip: Transport | None = None
        self._actions: ActionSet | None = None
        self._lent = False
        self.cursor = 0.0
        """Seconds of take time at which playing begins, when nothing else is said."""
        self._stopped = 0.0
        self.choices: SoundChoices = settings.sound.at_first()
        self._timer = QTimer(self, interval=FRAME, timerType=Qt.TimerType.PreciseTimer)
        self._timer.timeout.connect(self._move)
        self._listen()
        player.playing_changed.connect(self._playing)

    @property
    def moment(self) -> Moment:
        """What is shown and selected where it is played."""
        return Moment(self._space.state, self._space.selection)

    def attend(self, space: Workspace | HeardSpace, timeline: Timeline) -> None:
        """Play from now on what another page shows: the take as it was played, or as it is heard."""
        if space is self._space:
            return
        self._player.stop()
        self._space.changed.disconnect(self._changed)
        self._space.selected.disconnect(self._selected)
        self._timeline.pointed.disconnect(self._pointed)
        self._timeline.ruler.started.disconnect(self.play_from)
        self._space, self._timeline = space, timeline
        self._listen()
        timeline.set_follow(self.choices.follow)
        self._load()
        self._tell_clicks()
        self._selected(None)

    def go_to(self, bar: int) -> None:
        """Select a bar line and show it."""
        self._timeline.go_to(bar)

    def _listen(self) -> None:
        self._space.changed.connect(self._changed)
        self._space.selected.connect(self._selected)
        self._timeline.pointed.connect(self._pointed)
        self._timeline.ruler.started.connect(self.play_from)

    def _load(self) -> None:
        self.cursor = self._stopped = 0.0
        heard = self._space.heard if isinstance(self._space, HeardSpace) else None
        if heard is not None and isinstance(heard.take, AudioTake):
            # Its file is still the recording.
            self._player.load(self._workspace.state.take, heard.passages)
        else:
            self._player.load(self._space.state.take)

    def begin(self, strip: Transport, actions: ActionSet) -> None:
        """Take in the strip, and the actions that are checked by what is chosen."""
        self._strip, self._actions = strip, actions
        strip.chosen.connect(self._choose)
        self._player.levels.connect(strip.meter.show_levels)
        self._player.silent_changed.connect(strip.show_silent)
        self._choose(self.choices)

    def stop(self) -> None:
        """Stop for good, before the window goes."""
        self._timer.stop()
        self._settings.sound = self.choices

    # For taps

    def play_from(self, start: float, end: float | None = None) -> None:
        """Play from a moment of the take on, as the strip says."""
        self.cursor = start
        grid = self._space.state.grid
        self._player.play(
            start,
            end,
            loop=self.choices.loop,
            speed=self._speed,
            count_in=count_in(grid, start, self.choices.counted),
        )

    def play_clicks(self, times: Floats) -> None:
        """Play clicks alone at these seconds."""
        kinds = [BEAT if i % 4 else BAR for i in range(len(times))]
        self._player.play_clicks(Clicks.of(times, kinds))

    def lend_space(self, lent: bool) -> None:
        """Leave the keys of playing to the taps, or take them back."""
        self._lent = lent
        if self._actions is not None:
            for name in ("play_stop", "play_on"):
                self._actions.lend(name, lent=lent)

    def hear(self, stretches: list[Stretch]) -> None:
        """Play stretches one after the other, with nothing counted before them."""
        self._player.play_stretches(stretches, loop=self.choices.loop, speed=self._speed)

    # Commands

    def play_stop(self) -> None:
        """Play from the selection or where was pointed to, or stop."""
        if self._player.playing:
            self._player.stop()
            return
        chosen = selected_stretch(self.moment)
        if self.choices.loop and len(self._space.selection) > 1 and chosen is not None:
            self.play_from(*chosen)
        else:
            take = self._space.state.take
            over = take is not None and self.cursor >= take.duration - 0.05
            self.play_from(0.0 if over else self.cursor)

    def play_on(self) -> None:
        """Go on where it stopped."""
        if self._player.playing:
            self._player.stop()
        else:
            self.play_from(self._stopped)

    def play_from_start(self) -> None:
        """Play the take from its beginning."""
        self.play_from(0.0)

    def loop(self) -> None:
        """Begin anew at the end from now on."""
        self._choose(replace(self.choices, loop=True))

    def toggle_loop(self) -> None:
        """Play again and again, or once."""
        self._choose(replace(self.choices, loop=not self.choices.loop))

    def toggle_click(self) -> None:
        """Click on or off."""
        self._choose(replace(self.choices, clicking=not self.choices.clicking))

    def toggle_apart(self) -> None:
        """Take left and click right, or both in the middle."""
        self._choose(replace(self.choices, apart=not self.choices.apart))

    def toggle_follow(self) -> None:
        """Go along with the playhead, or not."""
        self._choose(replace(self.choices, follow=not self.choices.follow))

    def slower(self) -> None:
        """Play slower by a step."""
        self._step_speed(1)

    def faster(self) -> None:
        """Play faster by a step."""
        self._step_speed(-1)

    # Inside

    @property
    def _speed(self) -> float:
        return self.choices.speed / 100

    def _step_speed(self, step: int) -> None:
        i = SPEEDS.index(self.choices.speed) + step
        if 0 <= i < len(SPEEDS):
            self._choose(replace(self.choices, speed=SPEEDS[i]))

    @Slot(object)
    def _choose(self, choices: SoundChoices) -> None:
        before, self.choices = self.choices, choices
        self._player.set_mix(choices.mix)
        self._timeline.set_follow(choices.follow)
        if choices.parts != before.parts:
            self._tell_clicks()
        if self._strip is not None and self._actions is not None:
            self._strip.show_choices(choices)
            for name, field in CHECKED.items():
                self._actions[name].setChecked(getattr(choices, field))
        if (choices.speed, choices.loop) != (before.speed, before.loop):
            self._player.change(loop=choices.loop, speed=self._speed)

    def _tell_clicks(self) -> None:
        self._player.set_clicks(clicks_of(self._space.state.grid, self.choices.parts))

    @Slot(object, object)
    def _changed(self, old: State, new: State) -> None:
        if new.take is not old.take:
            self._load()
        if new.grid is not old.grid:
            self._tell_clicks()

    @Slot(object)
    def _selected(self, _: object) -> None:
        first = next(iter(self.moment.lines.values()), None)
        if first is not None:
            self.cursor = first.time

    @Slot(float)
    def _pointed(self, time: float) -> None:
        self.cursor = time
        if self._player.playing and not self._lent:
            self.play_from(time)

    @Slot(bool)
    def _playing(self, playing: bool) -> None:
        if self._strip is not None:
            self._strip.show_playing(playing=playing)
        if playing:
            self._timer.start()
        else:
            self._timer.stop()
            self._show(None)

    @Slot()
    def _move(self) -> None:
        time = self._player.take_time(now())
        if time is not None:
            self._stopped = max(time, 0.0)
            self._show(time)

    def _show(self, time: float | None) -> None:
        self._timeline.set_playhead(time)
        self._bar_stack.set_playhead(time if self._space is self._workspace else None)
        if self._strip is not None:
            self._strip.show_place("" if time is None else self._words(time))

    def _words(self, time: float) -> str:
        grid = self._space.state.grid
        at = clock(max(time, 0.0), 0.1)
        i = -1 if grid is None else bisect_right([beat.time for beat in grid.beats], time + 1e-6) - 1
        if grid is None or i < 0:
            return at
        return f"Bar {grid.beats[i].bar}.{grid.beats[i].beat}   {at}"
