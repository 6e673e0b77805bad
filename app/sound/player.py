"""Plays the take: the window's side of the process that owns the card, with a silent clock to fall back on."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import QObject, QTimer, Slot

from app.child import Child
from app.sound.clicks import Clicks
from app.sound.clock import now
from app.sound.messages import (
    Anchor,
    Devices,
    Ended,
    Failed,
    Load,
    Look,
    News,
    Play,
    SetClicks,
    SetMix,
    Stop,
    Waiting,
)
from app.sound.mix import Mix
from app.sound.silent import SilentClock
from app.state import Message
from core.passages import Passages
from core.take import Take

SOON = 800
"""Milliseconds after a take is opened at which the process is started, so that the first playing does not wait."""

PATIENCE = 8000
"""Milliseconds the process may take to be heard; sound systems that hang do so for ever."""

_DIED = "Sound ended unexpectedly: the take runs on in silence, and the next playing tries again."
_NO_ANSWER = "The sound system does not answer: the take runs on in silence, and the next playing tries again."


class Player(SilentClock):
    """Plays through a process of its own. Whatever goes wrong there, the take runs on, be it in silence."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._take: Take | None = None
        self._passages: Passages | None = None
        self._mix, self._clicks = Mix(), Clicks.none()
        self._device = ""
        self._devices: tuple[str, ...] = ()
        self._missed = 0
        self._child = Child("app.sound.server", self)
        self._child.said.connect(self._hear)
        self._child.died.connect(self._lost)
        self._soon = QTimer(self, singleShot=True, interval=SOON)
        self._soon.timeout.connect(self._start)
        self._patience = QTimer(self, singleShot=True, interval=PATIENCE)
        self._patience.timeout.connect(self._give_up)

    @property
    def devices(self) -> tuple[str, ...]:
        """Names of the outputs that are known, the system's usual one first."""
        return self._devices

    @property
    def missed(self) -> int:
        """Frames the card wanted in this playing that were not there."""
        return self._missed

    @property
    def pid(self) -> int:
        """Process id of what plays; 0 while there is none."""
        return self._child.pid

    def load(self, take: Take | None, passages: Passages | None = None) -> None:
        """Play this take from now on, or none; of an audio take these passages, where they are given."""
        super().load(take, passages)
        self._take, self._passages = take, passages
        self._child.send(Load(take, passages))
        if take is not None and not self._child.runs:
            self._soon.start()

    def set_clicks(self, clicks: Clicks) -> None:
        """Say where the clicks of the take are; heard within half a second."""
        self._clicks = clicks
        self._child.send(SetClicks(clicks))

    def set_mix(self, mix: Mix) -> None:
        """Say how loud take and click are; heard within half a second."""
        if mix != self._mix:
            self._mix = mix
            self._child.send(SetMix(mix))

    def set_device(self, name: str) -> None:
        """Say where sound goes from the next playing on; empty for the system's usual output."""
        self._device = name

    def look(self) -> None:
        """Ask which outputs there are; `devices_changed` answers."""
        self._start()
        self._child.send(Look())

    def close(self) -> None:
        """End the process, for good."""
        super().close()
        self._soon.stop()
        self._patience.stop()
        self._child.stop()

    @Slot()
    def _start(self) -> None:
        self._soon.stop()
        if not self._child.runs:
            self._child.start()
            for message in (Load(self._take, self._passages), SetMix(self._mix), SetClicks(self._clicks), Look()):
                self._child.send(message)

    def _begin(self) -> None:
        self._start()
        self._missed = 0
        playing = self._playing
        if playing is not None and self._child.runs:
            course = playing.course
            self._child.send(
                Play(
                    number=playing.number,
                    stretches=course.stretches,
                    speed=course.speed,
                    loop=course.loop,
                    count_in=self._count_in,
                    device=self._device,
                    bare=self._bare,
                    enter=course.enter,
                )
            )
            self._patience.start()

    def _halt(self) -> None:
        self._patience.stop()
        self._child.send(Stop())

    @Slot(object)
    def _hear(self, news: News) -> None:
        match news:
            case Devices(names, why):
                self._devices = names
                if why:
                    # Shown beside the levels; nobody has asked for sound yet.
                    self._set_silent(Message(why), aloud=False)
                self.devices_changed.emit()
            case Anchor():
                self._anchor(news)
            case Waiting(number) if self._playing is not None and number == self._playing.number:
                self._patience.start()
            case Ended(number) if self._playing is not None and number == self._playing.number:
                self._over()
            case Failed(number, sentence) if self._playing is not None and number == self._playing.number:
                self._fall_silent(Message(sentence, warning=True))

    def _anchor(self, anchor: Anchor) -> None:
        playing = self._playing
        if playing is None or anchor.number != playing.number or self._end.isActive():
            return
        self._patience.stop()
        course = playing.course
        if course.rate != anchor.rate:
            course = replace(course, rate=anchor.rate)
        zero = anchor.moment - anchor.frame / anchor.rate
        self._playing = replace(playing, course=course, zero=zero)
        self._missed = anchor.missed
        self._set_silent(None)
        self.levels.emit(anchor.left, anchor.right)

    def _fall_silent(self, why: Message) -> None:
        """Go on without sound, from where it ended."""
        self._patience.stop()
        playing = self._playing
        if playing is not None:
            self._run(now() if playing.zero is None else playing.zero)
            self.levels.emit(0.0, 0.0)
        self._set_silent(why)

    @Slot(str)
    def _lost(self, words: str) -> None:
        if self.playing:
            self._fall_silent(Message(_DIED, words, warning=True))

    @Slot()
    def _give_up(self) -> None:
        self._child.kill()
        self._fall_silent(Message(_NO_ANSWER, warning=True))
