"""Plays what is asked for: each method is a command of `app.actions`, and the playhead goes with it."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import replace

from PySide6.QtCore import QObject, Qt, QTimer, Slot

from app.action_set import ActionSet
from app.bar_stack import BarStack
from app.moment import Moment
from app.navigation import Navigation
from app.settings import Settings
from app.sound.choices import SPEEDS, SoundChoices
from app.sound.clicks import BAR, BEAT, Clicks, clicks_of, count_in
from app.sound.clock import now
from app.sound.player import Player
from app.state import State
from app.timeline.ruler import clock
from app.timeline.timeline import Timeline
from app.transport import Transport
from app.workspace import Workspace
from core.checks import Floats
from core.grid import Beat

FRAME = 16
"""Milliseconds from one place of the playhead to the next."""

CHECKED = {"toggle_loop": "loop", "toggle_click": "clicking", "toggle_apart": "apart", "toggle_follow": "follow"}
"""Commands that are on or off, and what they choose."""

Stretch = tuple[float, float]


class Listening(QObject):
    """Stands between the player, the strip that plays, and the take on screen.

    Parameters
    ----------
    workspace : Workspace
        Knows the take, its bars and what is selected.
    player : Player
        Plays.
    timeline : Timeline
        Shows the playhead.
    bar_stack : BarStack
        Shows it too.
    navigation : Navigation
        Goes to the bar that is heard next.
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
        navigation: Navigation,
        settings: Settings,
        window: QObject,
    ) -> None:
        super().__init__(window)
        self._workspace, self._player, self._settings = workspace, player, settings
        self._timeline, self._bar_stack, self._navigation = timeline, bar_stack, navigation
        self._strip: Transport | None = None
        self._actions: ActionSet | None = None
        self._lent = False
        self._cursor = 0.0
        self._stopped = 0.0
        self.choices: SoundChoices = settings.sound.at_first()
        self._timer = QTimer(self, interval=FRAME, timerType=Qt.TimerType.PreciseTimer)
        self._timer.timeout.connect(self._move)
        workspace.changed.connect(self._changed)
        workspace.selected.connect(self._selected)
        timeline.pointed.connect(self._pointed)
        timeline.ruler.started.connect(self.play_from)
        player.playing_changed.connect(self._playing)

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
        self._cursor = start
        grid = self._workspace.state.grid
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

    # Commands

    def play_stop(self) -> None:
        """Play from the selection or where was pointed to, or stop."""
        if self._player.playing:
            self._player.stop()
            return
        chosen = self._selected_stretch()
        if self.choices.loop and len(self._workspace.selection) > 1 and chosen is not None:
            self.play_from(*chosen)
        else:
            take = self._workspace.state.take
            over = take is not None and self._cursor >= take.duration - 0.05
            self.play_from(0.0 if over else self._cursor)

    def play_on(self) -> None:
        """Go on where it stopped."""
        if self._player.playing:
            self._player.stop()
        else:
            self.play_from(self._stopped)

    def play_from_start(self) -> None:
        """Play the take from its beginning."""
        self.play_from(0.0)

    def hear_bar(self) -> None:
        """Hear the selected bar, or the one where was pointed to."""
        self._hear_lines(0)

    def hear_next_bar(self) -> None:
        """Select the next bar and hear it."""
        self._hear_lines(1)

    def hear_previous_bar(self) -> None:
        """Select the bar before and hear it."""
        self._hear_lines(-1)

    def hear_selection(self) -> None:
        """Hear the selected bars."""
        chosen = self._selected_stretch()
        if chosen is not None:
            self._hear([chosen])

    def hear_section(self) -> None:
        """Hear the section that holds the selected bar."""
        moment, document = self._moment, self._workspace.state.document
        first = moment.section
        if document is None or first is None:
            return
        nexts = [each.bar for each in document.sections if each.bar > first]
        lines = self._lines
        inside = [i for i, line in enumerate(lines) if line.bar >= first and (not nexts or line.bar < min(nexts))]
        if inside:
            self._hear([(lines[inside[0]].time, self._end_of(inside[-1]))])

    def hear_doubtful(self) -> None:
        """Hear each bar that begins at a doubtful line, with one bar before it."""
        lines = self._lines
        self._hear(doubtful_stretches(lines, [self._end_of(i) for i in range(len(lines))]))

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

    @property
    def _moment(self) -> Moment:
        return Moment(self._workspace.state, self._workspace.selection)

    @property
    def _lines(self) -> tuple[Beat, ...]:
        grid = self._workspace.state.grid
        return () if grid is None else grid.bar_lines

    def _end_of(self, i: int) -> float:
        """Where the bar of a bar line ends: at the next, or with the take."""
        lines, take = self._lines, self._workspace.state.take
        return lines[i + 1].time if i + 1 < len(lines) else lines[i].time if take is None else take.duration

    def _selected_stretch(self) -> Stretch | None:
        """From the first selected bar line to the end of the last selected bar."""
        bars = {bar for bar, _ in self._moment.lines}
        inside = [i for i, line in enumerate(self._lines) if line.bar in bars]
        return (self._lines[inside[0]].time, self._end_of(inside[-1])) if inside else None

    def _hear(self, stretches: list[Stretch]) -> None:
        self._player.play_stretches(stretches, loop=self.choices.loop, speed=self._speed)

    def _hear_lines(self, step: int) -> None:
        """Hear the bar so many bars on."""
        lines = self._lines
        if not lines:
            return
        bar = self._moment.bar
        known = [line.bar for line in lines]
        here = known.index(bar) if bar in known else bisect_right([line.time for line in lines], self._cursor) - 1
        i = min(max(here + step, 0), len(lines) - 1)
        if step or bar is None:
            self._navigation.go_to_place((lines[i].bar, 1))
        self._hear([(lines[i].time, self._end_of(i))])

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
        self._player.set_clicks(clicks_of(self._workspace.state.grid, self.choices.parts))

    @Slot(object, object)
    def _changed(self, old: State, new: State) -> None:
        if new.take is not old.take:
            self._cursor = self._stopped = 0.0
            self._player.load(new.take)
        if new.grid is not old.grid:
            self._tell_clicks()

    @Slot(object)
    def _selected(self, _: object) -> None:
        first = next(iter(self._moment.lines.values()), None)
        if first is not None:
            self._cursor = first.time

    @Slot(float)
    def _pointed(self, time: float) -> None:
        self._cursor = time
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
        self._bar_stack.set_playhead(time)
        if self._strip is not None:
            self._strip.show_place("" if time is None else self._words(time))

    def _words(self, time: float) -> str:
        grid = self._workspace.state.grid
        at = clock(max(time, 0.0), 0.1)
        i = -1 if grid is None else bisect_right([beat.time for beat in grid.beats], time + 1e-6) - 1
        if grid is None or i < 0:
            return at
        return f"Bar {grid.beats[i].bar}.{grid.beats[i].beat}   {at}"


def doubtful_stretches(lines: tuple[Beat, ...], ends: list[float]) -> list[Stretch]:
    """Each bar that begins at a doubtful line, with the bar before it; what overlaps is one stretch.

    Parameters
    ----------
    lines : tuple of Beat
        Bar lines in order.
    ends : list of float
        Where the bar of each ends, in seconds.
    """
    found: list[Stretch] = []
    for i, line in enumerate(lines):
        if line.doubtful:
            start = lines[max(i - 1, 0)].time
            if found and start <= found[-1][1]:
                found[-1] = found[-1][0], ends[i]
            else:
                found.append((start, ends[i]))
    return found
