"""What the tracker's network is taught with: onsets described as it hears them, and what each of them is.

The length of a bar is supposed in three of four lessons, as a musician would know it roughly: one length for the
whole take, or one that follows its tempo; in the fourth nothing is supposed. So one network serves before the
first bar line is placed and after.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from core.checks import Floats
from core.features import SUPPOSED, heard, supposed
from core.metre import TimeSignature
from core.onsets import Onsets
from core.pulse import pulse_of
from tests.bench.corpus import Performance

NONE, UNIT, BEAT, BAR = range(4)
"""What an onset is."""

NEAR = 0.07
"""Seconds within which an onset is taken for a beat's."""

NEAR_UNIT = 0.15
"""The same for a unit, as a share of its length."""

BEATS_AROUND = 6
"""The local tempo is the median over so many beats to each side."""

Supposing = Literal["nothing", "one length", "a length that follows"]
SUPPOSINGS: tuple[Supposing, ...] = get_args(Supposing)
SHARES = (0.25, 0.4, 0.35)

Floats32 = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Lesson:
    """One take with what each onset is.

    Parameters
    ----------
    name : str
        Of the take.
    onsets : Onsets
        As heard.
    described : (n, HEARD) float32
        Features of the onsets alone.
    kind : (n,) int
        NONE, UNIT, BEAT or BAR.
    known : (n,) float32
        1 where the truth reaches, else 0.
    beat : (n,) float
        Length of a beat around each onset in seconds.
    signature : TimeSignature
        That of most bars.
    """

    name: str
    onsets: Onsets
    described: Floats32
    kind: NDArray[np.int64]
    known: Floats32
    beat: Floats
    signature: TimeSignature

    @classmethod
    def of(cls, performance: Performance, onsets: Onsets) -> Lesson:
        """Judge the onsets of a take by its true beats."""
        beats, bars, metre = performance.beats, performance.bars, performance.metre
        signature = Counter(metre.at(bar) for bar in range(1, len(bars))).most_common(1)[0][0]
        lengths = np.diff(beats)
        quarters = float(signature.quarters / signature.beats)
        division = pulse_of(signature, float(np.median(lengths)) / quarters).division
        kind = np.full(len(onsets), NONE, dtype=np.int64)
        for part in range(1, division):
            _mark(kind, UNIT, onsets.time, beats[:-1] + lengths * part / division, NEAR_UNIT * lengths / division)
        _mark(kind, BEAT, onsets.time, beats, np.full(len(beats), NEAR))
        _mark(kind, BAR, onsets.time, bars, np.full(len(bars), NEAR))
        local = [
            float(np.median(lengths[max(0, i - BEATS_AROUND) : i + BEATS_AROUND + 1])) for i in range(len(lengths))
        ]
        inside = (onsets.time >= beats[0] - 0.05) & (onsets.time <= beats[-1] + 0.05)
        return cls(
            name=performance.name,
            onsets=onsets,
            described=heard(onsets).astype(np.float32),
            kind=kind,
            known=inside.astype(np.float32),
            beat=np.interp(onsets.time, (beats[1:] + beats[:-1]) / 2, local),
            signature=signature,
        )

    def supposing(self, what: Supposing, random: np.random.Generator) -> Floats32:
        """Features under a supposed length of the bars, of shape (n, SUPPOSED)."""
        if what == "nothing":
            return np.zeros((len(self.onsets), SUPPOSED), np.float32)
        if what == "one length":
            beat = np.full(len(self.beat), random.choice(self.beat) * np.exp(random.normal(0, 0.04)))
        else:
            wander = np.cumsum(random.normal(0, 0.004, len(self.beat))) + random.normal(0, 0.05)
            beat = self.beat * np.exp(wander)
        return supposed(self.onsets, beat * self.signature.beats, self.signature).astype(np.float32)


def _mark(kind: NDArray[np.int64], value: int, time: Floats, wanted: Floats, within: Floats) -> None:
    right = np.clip(np.searchsorted(time, wanted), 1, len(time) - 1)
    nearest = np.where(np.abs(time[right] - wanted) < np.abs(time[right - 1] - wanted), right, right - 1)
    close = np.abs(time[nearest] - wanted) < within
    kind[nearest[close]] = np.maximum(kind[nearest[close]], value)
