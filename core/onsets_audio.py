"""Onsets of an audio take, read and described in stretches so that its length does not matter."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.checks import Floats
from core.errors import TakeError
from core.onset_pitches import HIGHEST, LOWEST, struck
from core.onset_times import HOP, attacks, novelty, peaks
from core.onsets import Onsets
from core.read_audio import mono_blocks
from core.spectrum import RATE, Float32, hann, magnitudes, semitones
from core.take import AudioTake

APART = 0.030
"""Seconds between two onsets; closer ones are one chord."""

SURE = 0.4
"""Probability from which a pitch is taken to have been struck."""

_LEAD = 170 * HOP
_STRETCH = 10_000 * HOP
_TAIL = 1120 * HOP
"""Samples heard before, described at once, and heard after: the longest note that is followed lasts 6 s."""

_SOFTEST = 1e-5
_HEARD = 0.3
_KNOCK = 0.06
_LONGEST = 6.0

_TRACK_HOP = 512
_TRACK_WINDOW = hann(2048)
_TRACK_BANDS = semitones(2048, LOWEST, HIGHEST)
_TRACKED = int(_LONGEST * RATE / _TRACK_HOP)
_DECAY = 10 ** (-10 / 20)
_ATTACK_WINDOW = hann(1024)
_BEFORE_ATTACK = 64


@dataclass(frozen=True, slots=True, eq=False)
class _Heard:
    """Attacks of a stretch: seconds of the take, level, probability of each pitch, seconds each lasts."""

    time: Floats
    strength: Floats
    struck: Floats
    length: Floats


def audio_onsets(take: AudioTake, *, progress: Callable[[float], None] | None = None) -> Onsets:
    """Find the onsets of an audio take and describe each on the scales of a MIDI take.

    The file is read twice: once for how loud the take is, which sets what counts as an attack, and once in
    overlapping stretches of a minute. Memory does not grow with the length of the take.

    Parameters
    ----------
    take : AudioTake
        The recording.
    progress : callable, optional
        Called with the share that is done, 0 to 1.

    Raises
    ------
    TakeError
        If the file cannot be read to its end, is silent, or nothing in it starts.
    """
    level = _level(take, _part(progress, 0.0, 0.1))
    heard = [_listen(samples, start, level) for samples, start in _stretches(take, _part(progress, 0.1, 1.0))]
    onsets = _onsets(_joined(heard), take.duration)
    if len(onsets) == 0:
        raise TakeError(
            f"No note was found to start in {take.path}: choose a recording in which notes are struck."
        )
    return onsets


def _part(progress: Callable[[float], None] | None, first: float, last: float) -> Callable[[float], None]:
    return (lambda done: progress(first + (last - first) * min(done, 1.0))) if progress else (lambda done: None)


def _level(take: AudioTake, progress: Callable[[float], None]) -> float:
    size = RATE // 20
    energy = []
    rest = np.zeros(0, np.float32)
    done = 0
    for block in mono_blocks(take, rate=RATE):
        rest = np.concatenate([rest, block])
        whole = len(rest) // size * size
        energy.append(np.var(rest[:whole].reshape(-1, size), axis=1))
        rest = rest[whole:]
        done += len(block)
        progress(done / RATE / max(take.duration, 1e-9))
    if len(rest):
        energy.append(np.var(rest, keepdims=True))
    return max(loudness(np.concatenate(energy)), _SOFTEST)


def loudness(energy: ArrayLike) -> float:
    """Amplitude of the loud places: the mean over windows of 50 ms, each weighted by its energy.

    So neither a long silence nor a single bang changes what counts as loud.

    Parameters
    ----------
    energy : (n,) float
        Variance of the samples of each window.
    """
    windows = np.asarray(energy, dtype=np.float64)
    return float(np.sqrt(np.sum(windows**2) / max(float(np.sum(windows)), 1e-30)))


def _stretches(take: AudioTake, progress: Callable[[float], None]) -> Iterator[tuple[Float32, int]]:
    """Yield the samples of each stretch, `_LEAD` before and up to `_TAIL` after it, and where it starts."""
    whole = _LEAD + _STRETCH + _TAIL
    parts = [np.zeros(_LEAD, np.float32)]
    count, start = _LEAD, 0
    for block in mono_blocks(take, rate=RATE):
        parts.append(block)
        count += len(block)
        while count >= whole:
            held = np.concatenate(parts)
            yield held[:whole], start
            parts, count, start = [held[_STRETCH:]], count - _STRETCH, start + _STRETCH
            progress(start / RATE / max(take.duration, 1e-9))
    held = np.concatenate(parts)
    while len(held) > _LEAD:
        yield held[:whole], start
        held, start = held[_STRETCH:], start + _STRETCH
    progress(1.0)


def _listen(samples: Float32, start: int, level: float) -> _Heard:
    frames, height = peaks(novelty(samples, level))
    time = attacks(samples, frames, level)
    order = np.argsort(time, kind="stable")
    frames, height, time = frames[order], height[order], time[order]
    pitches = struck(samples, time)
    strength, length = _strength(samples, time, level), _length(samples, time, pitches)
    # A faint rise must have a pitch; a knock on the body of a guitar has none.
    heard = (pitches.max(axis=1) >= _HEARD) | (height >= _KNOCK)
    mine = heard & (frames * HOP >= _LEAD) & (frames * HOP < _LEAD + _STRETCH)
    return _Heard(time[mine] + (start - _LEAD) / RATE, strength[mine], pitches[mine], length[mine])


def _joined(parts: list[_Heard]) -> _Heard:
    return _Heard(*(np.concatenate([getattr(part, item.name) for part in parts]) for item in fields(_Heard)))


def _strength(samples: Float32, time: Floats, level: float) -> Floats:
    """Level of each attack in decibels: what it adds in the first 46 ms, and how loud all is in the first 93.

    The mean of the two follows MIDI velocity better than either.
    """
    attack = np.round(time * RATE).astype(np.int64) - _BEFORE_ATTACK
    short, long = _ATTACK_WINDOW, _TRACK_WINDOW
    rise = magnitudes(samples, attack, short) - magnitudes(samples, attack - len(short), short)
    whole = magnitudes(samples, attack, long) ** 2
    added = 20 * np.log10(np.maximum(rise, 0).sum(axis=1) / level + 1e-3)
    return np.asarray((added + 10 * np.log10(whole.sum(axis=1) / level**2 + 1e-6)) / 2, dtype=np.float64)


def _length(samples: Float32, time: Floats, pitches: Floats) -> Floats:
    """Seconds until the longest note of each attack has decayed by 10 dB or is struck again."""
    starts = np.arange(len(samples) // _TRACK_HOP) * _TRACK_HOP
    parts = [np.zeros((0, _TRACK_BANDS.shape[1]), np.float32)]
    parts += [
        magnitudes(samples, starts[i : i + 1024], _TRACK_WINDOW) @ _TRACK_BANDS
        for i in range(0, len(starts), 1024)
    ]
    track = np.concatenate(parts)
    first = np.ceil(time * RATE / _TRACK_HOP).astype(np.int64)
    until = np.searchsorted(time, time + _LONGEST)
    sure = _sure(pitches)
    length = np.zeros(len(time))
    for i in range(len(time)):
        notes = np.flatnonzero(sure[i])
        sound = track[first[i] : first[i] + _TRACKED, notes]
        if len(sound):
            soft = sound < _DECAY * sound[:4].max(axis=0)
            decayed = _first(soft, np.arange(len(sound)) * _TRACK_HOP / RATE)
            again = _first(sure[i + 1 : until[i]][:, notes], time[i + 1 : until[i]] - time[i])
            length[i] = np.minimum(decayed, again).max()
    return length


def _first(happens: NDArray[np.bool_], when: Floats) -> Floats:
    """When each column first happens, `_LONGEST` if never."""
    if len(happens) == 0:
        return np.full(happens.shape[1], _LONGEST)
    return np.where(happens.any(axis=0), when[happens.argmax(axis=0)], _LONGEST)


def _sure(pitches: Floats) -> NDArray[np.bool_]:
    """Pitches that were struck, at least one of each attack."""
    return np.asarray(pitches >= np.minimum(SURE, pitches.max(axis=1, keepdims=True)))


def _onsets(found: _Heard, duration: float) -> Onsets:
    order = np.argsort(found.time, kind="stable")
    time = np.clip(found.time[order], 0, duration)
    # Where a recording is cut off in the middle of a sound, the cut looks like an attack.
    keep = (np.diff(time, prepend=-np.inf) >= APART) & (time < duration - APART)
    order, time = order[keep], time[keep]
    pitches = found.struck[order]
    sure = _sure(pitches)
    chroma = np.zeros((len(time), 12))
    for pitch in range(LOWEST, HIGHEST + 1):
        chroma[:, pitch % 12] += pitches[:, pitch - LOWEST]
    unknown = np.full(len(time), np.inf)
    return Onsets(
        source="audio",
        duration=duration,
        time=time,
        strength=found.strength[order],
        count=np.maximum(pitches.sum(axis=1), 1.0),
        low=LOWEST + sure.argmax(axis=1),
        high=HIGHEST - sure[:, ::-1].argmax(axis=1),
        length=np.maximum(found.length[order], APART),
        chroma=chroma / chroma.sum(axis=1, keepdims=True),
        pedal_lift=unknown,
        pedal_down=unknown,
    )
