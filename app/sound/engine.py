"""Plays: keeps the frames on their way to the card ahead of it, and says where on the common clock they are."""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace

import numpy as np

from app.sound.burst import LENGTH
from app.sound.card import NO_CARD, Cards, NoSoundError
from app.sound.clicks import Clicks
from app.sound.clock import now
from app.sound.course import course_of
from app.sound.messages import (
    Anchor,
    Devices,
    Ended,
    Failed,
    Load,
    Look,
    News,
    Order,
    Play,
    SetClicks,
    SetMix,
    Stop,
    Waiting,
)
from app.sound.mix import Mix
from app.sound.mixer import Loudness, Mixer, loudness
from app.sound.output import Output
from app.sound.sources import PIANO_RATE, Stereo, TakeSound
from core.errors import BarwrightError
from core.passages import Passages
from core.take import Take

AHEAD = 0.4
"""Seconds that are rendered ahead of the card."""

_BLOCK = 1024

_BLEND = 0.01
"""Seconds in which what was on its way goes over into what is wanted instead."""

_TELL = 0.04
"""Seconds from one anchor to the next."""

_REST = 30.0
"""Seconds of silence after which the card is let go."""

_VANISHED = "The sound output has gone: the take runs on in silence; play again when it is back."


@dataclass(slots=True)
class _Playing:
    number: int
    mixer: Mixer
    base: int
    """Count of the ring at frame 0 of the course."""
    missed: int
    """Frames missed before."""

    @property
    def last(self) -> int | None:
        """Count of the ring after the last frame; None where there is none."""
        frames = self.mixer.course.frames
        return None if frames is None else self.base + frames


class Engine:
    """Does what it is told by orders, a little at each `tick`; one thread calls both.

    Parameters
    ----------
    cards : callable
        Makes the cards; may raise `NoSoundError`.
    say : callable
        Is told the news.
    """

    def __init__(self, cards: Callable[[], Cards], say: Callable[[News], None]) -> None:
        self._output, self._say = Output(cards), say
        self._sound: TakeSound | None = None
        self._take: Take | None = None
        self._passages: Passages | None = None
        self._loudness = Loudness()
        self._measured: list[tuple[TakeSound, Loudness]] = []
        self._mix, self._clicks = Mix(), Clicks.none()
        self._playing: _Playing | None = None
        self._bare = False
        self._told = self._quiet_since = 0.0

    # Orders

    def do(self, order: Order) -> None:
        """Do one thing."""
        match order:
            case Load(take, passages):
                self._load(take, passages)
            case Play():
                try:
                    self._play(order)
                except (BarwrightError, OSError) as error:
                    self._halt()
                    self._say(Failed(order.number, _words(error)))
            case Stop():
                self._halt()
            case SetClicks(clicks):
                self._clicks = clicks
                self._change(clicks=clicks)
            case SetMix(mix):
                self._mix = mix
                self._change(mix=mix)
            case Look():
                self._look()

    def _load(self, take: Take | None, passages: Passages | None) -> None:
        self._halt()
        if self._sound is not None:
            self._sound.close()
        self._sound, self._take, self._passages, self._loudness = None, take, passages, Loudness()
        if take is not None:
            # What cannot be read now is said when it is to be played.
            with suppress(BarwrightError, OSError):
                self._sound = TakeSound(take, passages)
                threading.Thread(target=self._measure, args=(self._sound,), daemon=True).start()

    def _measure(self, sound: TakeSound) -> None:
        """Find out how loud a take is, in a thread of its own; that also has its piano tones made."""
        # ValueError: the take was closed meanwhile.
        with suppress(BarwrightError, OSError, ValueError):
            frames = round(sound.duration * sound.rate)
            self._measured.append((sound, loudness(sound.plain(), frames, sound.rate)))

    def _look(self) -> None:
        try:
            names = tuple(device.name for device in self._output.devices())
            self._say(Devices(names, "" if names else NO_CARD))
        except NoSoundError as error:
            self._say(Devices((), str(error)))

    def _play(self, order: Play) -> None:
        if self._take is not None and self._sound is None:
            self._sound = TakeSound(self._take, self._passages)
        self._absorb()
        bare, sound, output = order.bare, self._sound if order.bare is None else None, self._output
        output.open(order.device, self._sound.rate if self._sound is not None else PIANO_RATE)
        mixer = Mixer(
            course=course_of(order.stretches, output.rate, order.speed, order.loop, order.count_in, order.enter),
            source=None if sound is None else sound.at(output.rate, order.speed),
            clicks=self._clicks if bare is None else bare,
            counted=order.count_in.clicks if order.count_in is not None else Clicks.none(),
            mix=self._mix if bare is None else replace(self._mix, clicking=True),
            loudness=self._loudness if bare is None else Loudness(),
        )
        self._bare = bare is not None
        ring = output.ring
        base = min(ring.read + output.guard, ring.written)
        self._playing = _Playing(order.number, mixer, base, ring.missed)
        ring.due = False
        self._patch()
        output.start(now())

    def _halt(self) -> None:
        if self._playing is not None:
            self._playing = None
            self._output.ring.due = False
            self._patch()
            self._quiet_since = now()

    def _change(self, clicks: Clicks | None = None, mix: Mix | None = None) -> None:
        playing = self._playing
        if playing is not None and not self._bare:
            mixer = playing.mixer
            playing.mixer = replace(
                mixer, clicks=clicks or mixer.clicks, mix=mix or mixer.mix, loudness=self._loudness
            )
            self._patch()

    # Frames

    def _rendered(self, at: int, count: int) -> Stereo:
        """Frames at a count of the ring."""
        out = np.zeros((count, 2), dtype=np.float32)
        playing = self._playing
        if playing is not None:
            skip = max(playing.base - at, 0)
            if skip < count:
                out[skip:] = playing.mixer.render(at + skip - playing.base, count - skip)
        return out

    def _patch(self) -> None:
        """Put what is wanted now in the place of what is on its way, and go over into it softly."""
        output, ring = self._output, self._output.ring
        if not output.running:
            ring.written = ring.read
            return
        at, end = ring.read + output.guard, ring.written
        if at >= end:
            return
        try:
            blend = min(round(_BLEND * output.rate), end - at)
            rise = np.linspace(0.0, 1.0, blend, dtype=np.float32)[:, None]
            rows = self._rendered(at, blend)
            ring.put(at, rows * rise + ring.get(at, blend) * (1 - rise))
            for start in range(at + blend, end, _BLOCK):
                ring.put(start, self._rendered(start, min(_BLOCK, end - start)))
        except (BarwrightError, OSError) as error:
            self._fail(_words(error))

    def _fill(self, playing: _Playing) -> None:
        ring, rate = self._output.ring, self._output.rate
        if not self._output.warm:
            return
        tail = None if playing.last is None else playing.last + round(LENGTH * rate)
        while (at := ring.written) < ring.read + AHEAD * rate and (tail is None or at < tail):
            if not playing.mixer.ready(max(at - playing.base, 0), _BLOCK):
                return
            ring.put(at, self._rendered(at, _BLOCK))
            ring.due = True
        if tail is not None and ring.written >= tail:
            ring.due = False

    # As time goes on

    def tick(self) -> None:
        """Go on; wants to be called every ten milliseconds or so."""
        self._absorb()
        playing, moment = self._playing, now()
        if playing is None:
            if self._output.running and moment - self._quiet_since > _REST:
                self._output.let_go()
            return
        try:
            self._fill(playing)
            if not self._output.alive(moment):
                self._fail(_VANISHED)
            elif moment - self._told >= _TELL:
                self._told = moment
                self._tell(playing)
        except (BarwrightError, OSError) as error:
            self._fail(_words(error))

    @property
    def busy(self) -> bool:
        """Whether there is anything to go on with."""
        return self._output.running or self._playing is not None

    def _absorb(self) -> None:
        """Take in how loud the take is, once that is known."""
        while self._measured:
            sound, loud = self._measured.pop()
            if sound is self._sound:
                self._loudness = loud
                self._change()

    def _tell(self, playing: _Playing) -> None:
        ring, rate = self._output.ring, self._output.rate
        zero = self._output.zero()
        if zero is None or ring.read <= playing.base:
            self._say(Waiting(playing.number))
            return
        moment = now()
        heard = round((moment - zero) * rate)
        width = round(_TELL * rate)
        start = max(heard - width, 0)
        peaks = np.abs(ring.get(start, max(heard - start, 1))).max(axis=0)
        anchor = Anchor(
            number=playing.number,
            rate=rate,
            frame=heard - playing.base,
            moment=zero + heard / rate,
            left=float(peaks[0]),
            right=float(peaks[1]),
            missed=ring.missed - playing.missed,
        )
        self._say(anchor)
        if playing.last is not None and heard >= playing.last:
            self._playing = None
            ring.due = False
            self._quiet_since = moment
            self._say(Ended(playing.number))

    def _fail(self, sentence: str) -> None:
        playing, self._playing = self._playing, None
        self._output.ring.due = False
        self._output.forget()
        if playing is not None:
            self._say(Failed(playing.number, sentence))


def _words(error: Exception) -> str:
    return " ".join(str(error).split())
