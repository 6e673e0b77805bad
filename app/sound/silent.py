"""Plays in silence: a clock that runs through the take as sound would, for machines and moments without any."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf

from PySide6.QtCore import QObject, Qt, QTimer, Signal, Slot

from app.sound.clicks import Clicks, CountIn
from app.sound.clock import now
from app.sound.course import SLOWEST, Course, course_of
from app.sound.mix import Mix
from app.state import Message
from core.passages import Passages
from core.take import Take

_RATE = 48000


@dataclass(frozen=True, slots=True)
class Playing:
    """One playing on the common clock.

    Parameters
    ----------
    number : int
    course : Course
    zero : float or None
        Moment at which its first frame is heard; None until that is known.
    until : float
        Moment from which it is no longer heard.
    """

    number: int
    course: Course
    zero: float | None = None
    until: float = inf

    def frame(self, moment: float) -> float | None:
        """Frame of the course that is heard at a moment; None where none is."""
        if self.zero is None or moment >= self.until:
            return None
        return (moment - self.zero) * self.course.rate

    def take_time(self, moment: float) -> float | None:
        """Seconds of take time heard at a moment; None where nothing is."""
        frame = self.frame(moment)
        return None if frame is None else self.course.take_time(frame)


class SilentClock(QObject):
    """Plays stretches of a take without a sound; what a tap or a playhead asks is the same as with sound."""

    playing_changed = Signal(bool)
    levels = Signal(float, float)
    """Peaks of left and right, 0 to 1."""
    message = Signal(object)
    """Message for the strip."""
    silent_changed = Signal(str)
    """Why nothing is heard; empty while something is."""
    devices_changed = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._duration = inf
        self._number = 0
        self._playing: Playing | None = None
        self._before: Playing | None = None
        self._count_in: CountIn | None = None
        self._bare: Clicks | None = None
        self._silent = ""
        # Coarse timers may be late by a twentieth: seconds at the end of a long take.
        self._end = QTimer(self, singleShot=True, timerType=Qt.TimerType.PreciseTimer)
        self._end.timeout.connect(self._over)

    @property
    def playing(self) -> bool:
        """Whether something is being played."""
        return self._playing is not None

    @property
    def silent(self) -> str:
        """Why nothing is heard, in a sentence; empty while something is."""
        return self._silent

    @property
    def devices(self) -> tuple[str, ...]:
        """Names of the outputs that are known, the system's usual one first."""
        return ()

    @property
    def missed(self) -> int:
        """Frames the card wanted in this playing that were not there."""
        return 0

    def load(self, take: Take | None, passages: Passages | None = None) -> None:
        """Play this take from now on, or none.

        Parameters
        ----------
        take : Take or None
            The recording; of a MIDI take the notes as they are to be heard.
        passages : Passages, optional
            What is heard of an audio take; all of it, where it is not given.
        """
        self.stop()
        heard = take if passages is None else passages
        self._duration = inf if heard is None else heard.duration

    def set_clicks(self, clicks: Clicks) -> None:
        """Say where the clicks of the take are."""

    def set_mix(self, mix: Mix) -> None:
        """Say how loud take and click are."""

    def set_device(self, name: str) -> None:
        """Say where sound goes from the next playing on; empty for the system's usual output."""

    def play(
        self,
        start: float,
        end: float | None = None,
        *,
        loop: bool = False,
        speed: float = 1.0,
        count_in: CountIn | None = None,
    ) -> None:
        """Play from a moment of the take to another, or to its end.

        Parameters
        ----------
        start, end : float
            Seconds of take time.
        loop : bool
            Whether to begin anew at the end.
        speed : float
            0.5 to 1; the pitch stays.
        count_in : CountIn, optional
            What is counted before.
        """
        last = self._duration if end is None else end
        self.play_stretches([(start, last)], loop=loop, speed=speed, count_in=count_in)

    def play_stretches(
        self,
        stretches: Sequence[tuple[float, float]],
        *,
        loop: bool = False,
        speed: float = 1.0,
        count_in: CountIn | None = None,
    ) -> None:
        """Play several stretches one after the other, with a short silence between them."""
        kept = ((max(start, 0.0), min(end, self._duration)) for start, end in stretches)
        self._play(tuple(kept), loop=loop, speed=speed, count_in=count_in)

    def change(self, *, loop: bool, speed: float) -> None:
        """Go on from here at another speed, in a loop or not; nothing where nothing is played."""
        playing = self._playing
        if playing is None or self._bare is not None:
            return
        course = playing.course
        frame = playing.frame(now()) or 0.0
        done = course.elapsed(frame) * course.speed / speed
        self._play(course.stretches, loop=loop, speed=speed, enter=done)

    def play_clicks(self, clicks: Clicks) -> None:
        """Play clicks alone, from 0 to half a second after the last; the take is not heard."""
        self._play(((0.0, float(clicks.time[-1]) + 0.5),) if len(clicks) else (), bare=clicks)

    def _play(
        self,
        stretches: tuple[tuple[float, float], ...],
        *,
        loop: bool = False,
        speed: float = 1.0,
        count_in: CountIn | None = None,
        bare: Clicks | None = None,
        enter: float = 0.0,
    ) -> None:
        heard = tuple((start, end) for start, end in stretches if start < end < inf)
        if not heard:
            self.stop()
            return
        was = self.playing
        self._close(now())
        self._number += 1
        self._count_in, self._bare = count_in, bare
        speed = min(max(speed, SLOWEST), 1.0)
        course = course_of(heard, _RATE, speed, loop, count_in, enter)
        self._playing = Playing(self._number, course)
        self._begin()
        if not was and self.playing:
            self.playing_changed.emit(True)

    def stop(self) -> None:
        """Stop, where something is being played."""
        if self._playing is not None:
            self._halt()
            self._close(now())
            self.levels.emit(0.0, 0.0)
            self.playing_changed.emit(False)

    def take_time(self, moment: float) -> float | None:
        """Seconds of take time that are heard at a moment of `app.sound.clock.now`.

        Answers for the present playing and for the one before it. In a count-in it is below the start. None where
        nothing is heard.
        """
        for playing in (self._playing, self._before):
            if playing is not None and (found := playing.take_time(moment)) is not None:
                return found
        return None

    def rounds(self, moment: float) -> int | None:
        """How often a loop has been through at a moment; None where nothing is heard."""
        for playing in (self._playing, self._before):
            if playing is not None and playing.take_time(moment) is not None:
                frame = playing.frame(moment)
                return None if frame is None else playing.course.lap(frame)
        return None

    def close(self) -> None:
        """End, for good."""
        self.stop()
        self._end.stop()

    # For a clock with sound

    def _begin(self) -> None:
        """Set off what is to be played."""
        self._run(now())

    def _halt(self) -> None:
        """Stop what is being played."""

    def _run(self, zero: float) -> None:
        """Run in silence from a moment on."""
        if self._playing is not None:
            self._playing = replace(self._playing, zero=zero)
            course = self._playing.course
            if course.frames is not None:
                left = zero + course.frames / course.rate - now()
                self._end.start(max(round(1000 * left), 0))

    def _set_silent(self, why: Message | None, *, aloud: bool = True) -> None:
        text = "" if why is None else why.text
        if text != self._silent:
            self._silent = text
            self.silent_changed.emit(text)
            if why is not None and aloud:
                self.message.emit(why)

    def _close(self, moment: float) -> None:
        """Nothing of what was played is heard from a moment on."""
        self._end.stop()
        if self._playing is not None:
            self._before, self._playing = replace(self._playing, until=moment), None

    @Slot()
    def _over(self) -> None:
        if self._playing is not None:
            self._close(inf)
            self.levels.emit(0.0, 0.0)
            self.playing_changed.emit(False)
