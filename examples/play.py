"""From phrases to a finished piano piece: written, laid out in time, played, pedalled."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from core.metre import Metre
from examples.music import Composer, Phrase, Style
from examples.performance import ScoreNote, pedalling, perform, true_grid
from examples.piece import Piece
from examples.tempo import Hesitation, tempo_of


def play(
    phrases: Sequence[Phrase],
    style: Style,
    metre: Metre,
    *,
    name: str,
    title: str,
    start: float,
    seed: int,
    upbeat: Sequence[ScoreNote] = (),
    drift: float = 0.02,
    pinned: tuple[int, ...] = (1, 2),
) -> Piece:
    """Compose and play a piece.

    Parameters
    ----------
    phrases, style, metre
        The music.
    name, title : str
        Of its files, and as music.
    start : float
        Second of the recording at which it begins.
    seed : int
        First of the four seeds it takes: loudness, wandering of the tempo, the hands, the foot.
    upbeat : sequence of ScoreNote
        Notes of the pickup.
    drift : float
        Standard deviation of the wandering, as a share of the tempo.
    pinned : tuple of int
        Bars whose bar lines are given as pins.
    """
    composer = Composer(style, seed)
    composer.write(phrases, metre)
    spans, stops, bar = [], [], 1
    for phrase in phrases:
        spans.append(phrase.span(metre, bar))
        stops += [
            Hesitation(metre.quarter_of(bar + at - 1) + Fraction(quarter), seconds)
            for at, quarter, seconds in phrase.stops
        ]
        bar += phrase.bars
    tempo = tempo_of(spans, stops, start=start, first=-metre.pickup, drift=drift, seed=seed + 1)
    performance = perform([*upbeat, *composer.score], tempo.seconds_at, seed=seed + 2)
    return Piece(
        name=name,
        title=title,
        notes=performance.notes,
        messages=pedalling(composer.changes, tempo.seconds_at, seed=seed + 3),
        grid=true_grid(performance, metre, tempo.seconds_at, last_bar=bar - 1),
        hesitations=performance.hesitations(stops),
        pinned=pinned,
    )
