"""The tempo of a whole take: phrases that breathe, a slow drift, and places where the player stops to think."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from core.checks import Floats
from core.tempo_map import TempoMap
from examples.timing import phrase_arch, ritardando_time

PULSE = Fraction(1, 4)
"""Length of the steps a tempo is laid out in, in quarters: a sixteenth note."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A phrase as the tempo sees it.

    Parameters
    ----------
    quarters : Fraction
        Its length.
    qpm : float
        Quarter notes a minute at the turn of the phrase.
    arch, turn : float
        Quantity and turn of the phrase arch.
    slowing : Fraction
        Length of the final ritardando at its end in quarters; 0 for none.
    slow_to : float
        Share of the tempo left at the end of the ritardando.
    """

    quarters: Fraction
    qpm: float
    arch: float
    turn: float = 0.55
    slowing: Fraction = Fraction(0)
    slow_to: float = 0.6

    def pulses(self) -> Floats:
        """Seconds of each sixteenth note."""
        count = int(self.quarters / PULSE)
        lengths = 60 / self.qpm * float(PULSE) * phrase_arch(count, k=self.arch, turn=self.turn)
        last = int(self.slowing / PULSE)
        if last:
            way = ritardando_time(np.arange(last + 1) / last, q=3, w=self.slow_to)
            lengths[-last:] *= np.diff(way) * last
        return lengths


@dataclass(frozen=True, slots=True)
class Hesitation:
    """The player stops and looks for the next idea: `seconds` more than the beat asks for, before `quarter`."""

    quarter: Fraction
    seconds: float


def tempo_of(
    spans: Sequence[Span],
    hesitations: Sequence[Hesitation] = (),
    *,
    start: float,
    first: Fraction = Fraction(0),
    drift: float,
    seed: int,
) -> TempoMap:
    """Lay out a take's tempo.

    Parameters
    ----------
    spans : sequence of Span
        Phrase by phrase, from the score position `first` on.
    hesitations : sequence of Hesitation
        Each falls into the sixteenth note before its place; nothing may be struck inside that.
    start : float
        Second at which the music begins.
    first : Fraction
        Score position at which it begins, in quarters; negative with a pickup.
    drift : float
        Standard deviation of the tempo's slow wandering, as a share of the tempo.
    seed : int
        Seed of the wandering.
    """
    lengths = np.concatenate([span.pulses() for span in spans])
    lengths *= 1 + drift * _wandering(len(lengths), seed)
    for pause in hesitations:
        lengths[int((pause.quarter - first) / PULSE) - 1] += pause.seconds
    quarters = float(first) + float(PULSE) * np.arange(len(lengths) + 1)
    return TempoMap(quarters, start + np.concatenate(([0.0], np.cumsum(lengths))))


def _wandering(count: int, seed: int) -> Floats:
    """Noise of standard deviation 1 that forgets itself over some four bars, smooth from pulse to pulse."""
    rng = np.random.RandomState(seed)
    kernel = np.hanning(129)[1:-1]
    white = rng.normal(size=count + len(kernel) - 1)
    return np.asarray(np.convolve(white, kernel, mode="valid") / np.sqrt((kernel**2).sum()))
