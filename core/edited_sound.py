"""The sound of a recording through an arrangement: its passages one after the other, joined without a click.

Frames are those of take time. Two passages are joined by an equal-power cross-fade around the seam (the squares of
both gains sum to 1, so that unrelated sound keeps its loudness), into which the recording goes on a little beyond
the end of the one and begins a little before the start of the other.
"""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray

from core.heard import Heard
from core.passages import Passages

Float32 = NDArray[np.float32]

FADE = 0.02
"""Seconds a cross-fade lasts; shorter where a passage is."""


class EditedSound:
    """Reads what is heard of a recording from any place, without holding more than is asked for.

    Parameters
    ----------
    sound : Heard
        The recording.
    passages : Passages
        What is heard of it.
    """

    def __init__(self, sound: Heard, passages: Passages) -> None:
        self._sound = sound
        self.rate, self.channels = sound.rate, sound.channels
        # Each rounded once, from its absolute place: no seam is off by more than a sample, however many there are.
        self._joints: list[int] = np.rint(passages.joints * sound.rate).astype(np.int64).tolist()
        self._starts: list[int] = [round(part.start * sound.rate) for part in passages.parts]
        self.frames: int = self._joints[-1]
        lengths = np.diff(self._joints)
        half = round(FADE * sound.rate / 2)
        self._halves: list[int] = [
            int(min(half, before // 2, after // 2)) for before, after in itertools.pairwise(lengths)
        ]

    def read(self, first: int, last: int) -> Float32:
        """Samples of the frames `first` up to `last` of the take; silence outside it.

        Returns
        -------
        (last - first, channels) float32
        """
        out = np.zeros((max(last - first, 0), self.channels), dtype=np.float32)
        for i, start in enumerate(self._starts):
            begin, end = max(self._joints[i], first), min(self._joints[i + 1], last)
            if begin < end:
                from_frame = start + begin - self._joints[i]
                out[begin - first : end - first] = self._sound.read(from_frame, from_frame + end - begin)
        for i, half in enumerate(self._halves):
            seam = self._joints[i + 1]
            begin, end = max(seam - half, first), min(seam + half, last)
            if begin < end:
                out[begin - first : end - first] = self._faded(i, half, begin - seam, end - seam)
        return out

    def _faded(self, seam: int, half: int, begin: int, end: int) -> Float32:
        """Frames around a seam, counted from it."""
        left = self._starts[seam] + self._joints[seam + 1] - self._joints[seam]
        right = self._starts[seam + 1]
        # The middle of a frame: the first is not quite silent and the last not quite full, alike on both sides.
        angle = (np.arange(begin, end) + half + 0.5) / (2 * half) * (np.pi / 2)
        out, into = (gain.astype(np.float32)[:, None] for gain in (np.cos(angle), np.sin(angle)))
        return out * self._sound.read(left + begin, left + end) + into * self._sound.read(
            right + begin, right + end
        )
