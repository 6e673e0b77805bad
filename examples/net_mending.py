"""Net Mending: a fingerpicked guitar in 3/4, under a minute, as an audio take.

From the same unshot film: the ferryman mends his nets. Each bar is a shape of the left hand on six strings and a
picking pattern of the right: thumb on the bass strings, a pinch with the top string where the tune is.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from core.checks import Floats
from core.metre import Metre, TimeSignature
from examples.performance import ScoreNote, perform, true_grid
from examples.piece import Piece
from examples.synth import guitar
from examples.tempo import Span, tempo_of

OPEN_STRINGS = (40, 45, 50, 55, 59, 64)
"""Standard tuning E A D G B E, lowest string first (common practice, no source)."""

SHAPES = {
    "C": "x32010", "G": "320003", "G/B": "x20003", "Am": "x02210", "Am/G": "302210", "F": "xx3211",
    "Dm": "xx0231", "Em": "022000", "E7": "020100", "D/F#": "200232", "C/E": "032010", "A": "x02220",
}  # fmt: skip
"""Frets from the lowest string to the highest; x is not played."""

PICKING = {
    # One sign an eighth note: b the bass, t the thumb's other string, 3 2 1 the strings from the third to the top.
    "roll": ("b1", "3", "2", "1", "2", "3"),
    "thumb": ("b", "3", "t1", "2", "3", "2"),
    "tune": ("b1", "3", "2", "31", "2", "1"),
    "waltz": ("b", "", "321", "", "321", ""),
    "ring": ("b321", "", "", "", "", ""),
    "fall": ("b1", "2", "3", "t", "2", "3"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Verse:
    """Some bars: a shape and a picking pattern for each, and their tempo."""

    shapes: str
    picking: str
    span: Span


VERSES = (
    Verse(
        shapes="Am Am/G F C G/B Am Dm E7",
        picking="roll thumb roll fall roll thumb tune waltz",
        span=Span(quarters=Fraction(24), qpm=96, arch=0.5),
    ),
    Verse(
        shapes="Am Am/G F C Dm G C E7",
        picking="roll tune fall thumb tune roll waltz ring",
        span=Span(quarters=Fraction(24), qpm=100, arch=0.5),
    ),
    Verse(
        shapes="F C/E Dm Am F E7 Am Am",
        picking="tune thumb fall roll tune waltz roll ring",
        span=Span(quarters=Fraction(24), qpm=97, arch=0.4, slowing=Fraction(9), slow_to=0.55),
    ),
)
RATE = 22_050
"""Samples a second: little of a nylon string lies above 10 kHz, and the file stays small."""


def _score(rng: np.random.RandomState) -> list[ScoreNote]:
    """Write the notes; a string rings until it is plucked again, for a bar at most."""
    score: list[ScoreNote] = []
    ringing: dict[int, int] = {}
    eighth = 0
    for verse in VERSES:
        for shape, picking in zip(verse.shapes.split(), verse.picking.split(), strict=True):
            frets = SHAPES[shape]
            basses = [string for string in range(6) if frets[string] != "x"]
            strings = {"b": basses[0], "t": basses[1], "3": 3, "2": 4, "1": 5}
            for signs in PICKING[picking]:
                quarter = Fraction(eighth, 2)
                for sign in signs:
                    string = strings[sign]
                    if string in ringing:
                        last = score[ringing[string]]
                        score[ringing[string]] = last._replace(duration=min(last.duration, quarter - last.quarter))
                    ringing[string] = len(score)
                    loud = round(66 + {"b": 10, "1": 6}.get(sign, 0) + rng.normal(0, 4))
                    score.append(ScoreNote(quarter, Fraction(3), OPEN_STRINGS[string] + int(frets[string]), loud))
                eighth += 1
    return score


def net_mending() -> tuple[Piece, Floats]:
    """Compose and play it; returns the piece and its samples, mono at `RATE`, peak 1/4 (-12 dBFS)."""
    metre = Metre.steady(TimeSignature(3, 4))
    score = _score(np.random.RandomState(21))
    bars = sum(len(verse.shapes.split()) for verse in VERSES)
    tempo = tempo_of([verse.span for verse in VERSES], start=0.9, drift=0.02, seed=22)
    performance = perform(score, tempo.seconds_at, seed=23, noise=0.8, spread=(0.003, 0.012))
    piece = Piece(
        name="net-mending",
        title="Net Mending",
        program=24,
        notes=performance.notes,
        grid=true_grid(performance, metre, tempo.seconds_at, last_bar=bars),
    )
    return piece, guitar(piece.notes, rate=RATE, seed=24)
