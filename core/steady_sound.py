"""A take's sound at one steady tempo: stretched piece by piece along its tempo map.

Each piece between two knots of the map is stretched as a whole, with margins on both sides, and goes over into the
next where the two differ least, a little before the knot: bar lines are where notes begin, and an attack must not
be cross-faded. Every place is rounded to a frame once, from its absolute time, so nothing adds up.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

import numpy as np
from numpy.typing import NDArray
from python_stretch import Signalsmith

from core.heard import Told
from core.session_sound import InSession, frame_at
from core.tempo_map import TempoMap

Float32 = NDArray[np.float32]

MARGIN, FADE = 0.150, 0.020
"""Seconds of the recording around a piece that are stretched with it, and seconds over which two go over."""

_LONGEST = 8.0
"""Seconds of a piece; a longer stretch between knots is divided, so that memory stays small."""

_CLEAR = 0.005
"""Seconds before a knot that belong to what begins there: nobody plays to the millisecond."""

_FARTHEST, _STEP = 0.090, 0.005
"""Seconds before a knot within which a seam is looked for, and from try to try."""

_APART = 0.001
"""Seconds by which two pieces may differ over where a moment lies, at a seam."""


@dataclass(frozen=True, slots=True)
class _Piece:
    """Seconds of the session, and the seconds they become."""

    begin: float
    end: float
    to_begin: float
    to_end: float

    @property
    def speed(self) -> float:
        return (self.end - self.begin) / (self.to_end - self.to_begin)


def steady_blocks(sound: InSession, tempo: float, *, progress: Told = lambda _: None) -> Iterator[Float32]:
    """The take from the start of its session, at a steady tempo, as blocks of (frames, channels).

    Parameters
    ----------
    sound : InSession
        The take in its own session.
    tempo : float
        Quarters a minute.
    progress : callable
        Told the share that is done, 0 to 1.
    """
    rate = sound.heard.rate
    pieces = _pieces(sound.session.tempo_map, sound.frames / rate, tempo)
    done, held = 0, np.zeros((0, sound.heard.channels), np.float32)
    fade = frame_at(FADE, rate)
    # Frames up to `done` are out; `held` is the end of a piece, which the next one may still take over.
    for i, piece in enumerate(pieces):
        stretched, first = _stretched(sound, piece, rate)
        if i:
            seam = _seam(held, done, stretched, first, pieces[i - 1], piece, rate)
            yield held[: seam - done]
            yield _gone_over(held[seam - done :][:fade], stretched[seam - first :][:fade])
            done = seam + fade
        end = frame_at(piece.to_end, rate)
        sure = max(end - frame_at(_FARTHEST + FADE, rate), done) if i + 1 < len(pieces) else end
        yield stretched[done - first : sure - first]
        held, done = stretched[sure - first :], sure
        progress((i + 1) / len(pieces))


def _pieces(tempo_map: TempoMap, seconds: float, tempo: float) -> list[_Piece]:
    """Divide the seconds of a session at its knots, and evenly where those are far apart."""
    knots = [0.0, *(knot for knot in tempo_map.seconds.tolist() if 0 < knot < seconds), seconds]
    # A last piece of no length worth stretching goes with the one before.
    if len(knots) > 2 and knots[-1] - knots[-2] < 2 * _FARTHEST:
        del knots[-2]
    places: list[float] = []
    for begin, end in pairwise(knots):
        parts = max(1, ceil((end - begin) / _LONGEST))
        places += [begin + (end - begin) * i / parts for i in range(parts)]
    places.append(seconds)
    becomes = (tempo_map.quarters_at(places) * 60 / tempo).tolist()
    return [
        _Piece(begin, end, to_begin, to_end)
        for (begin, end), (to_begin, to_end) in zip(pairwise(places), pairwise(becomes), strict=True)
    ]


def _stretched(sound: InSession, piece: _Piece, rate: int) -> tuple[Float32, int]:
    """Stretch a piece with its margins; and the frame of what comes out at which it begins."""
    speed = piece.speed
    first = frame_at(piece.begin - MARGIN, rate)
    last = frame_at(piece.end + MARGIN, rate)
    at = frame_at(piece.to_begin - (piece.begin - first / rate) / speed, rate)
    wanted = frame_at(piece.to_end, rate) + frame_at(FADE, rate) - at
    # The library wants rows that may be written to.
    samples = np.array(sound.read(first, last).T, order="C")
    if abs(speed - 1) > 1e-9:
        stretch = Signalsmith.Stretch()
        stretch.preset(sound.heard.channels, rate)
        stretch.setTimeFactor(speed)
        samples = np.asarray(stretch.process(samples), dtype=np.float32)
    rows = np.zeros((wanted, sound.heard.channels), np.float32)
    got = samples.T[:wanted]
    rows[: len(got)] = got
    return rows, at


def _seam(
    held: Float32, done: int, stretched: Float32, first: int, before: _Piece, piece: _Piece, rate: int
) -> int:
    """Frame at which one piece begins to go over into the next: where they differ least."""
    fade, knot = frame_at(FADE, rate), frame_at(piece.to_begin, rate)
    drift = abs(piece.speed / before.speed - 1)
    reach = min(_FARTHEST, _APART / drift if drift > 1e-9 else _FARTHEST)
    places = []
    for away in np.arange(_CLEAR, max(reach, _CLEAR) + _STEP / 2, _STEP):
        place = knot - fade - frame_at(float(away), rate)
        if place >= max(done, first):
            places.append(place)
    if not places:
        return max(knot - fade, done, first)

    def apart(place: int) -> float:
        a, b = held[place - done :][:fade], stretched[place - first :][:fade]
        return float(np.sum((a - b) ** 2)) if len(a) == len(b) == fade else np.inf

    return min(places, key=apart)


def _gone_over(old: Float32, new: Float32) -> Float32:
    """Cross-fade two versions of the same moment, keeping its power whether their phases agree or not."""
    length = min(len(old), len(new))
    old, new = old[:length], new[:length]
    angle = ((np.arange(length) + 0.5) / max(length, 1) * np.pi / 2)[:, None]
    out, into = np.cos(angle) ** 2, np.sin(angle) ** 2
    power = float(np.sqrt(np.sum(old**2) * np.sum(new**2)))
    alike = float(np.sum(old * new)) / power if power > 0 else 1.0
    # a^2 + b^2 + 2 r a b is the power of a sum of two signals with correlation r.
    level = np.sqrt(out**2 + into**2 + 2 * max(alike, 0.0) * out * into)
    return np.asarray((old * out + new * into) / level, dtype=np.float32)
