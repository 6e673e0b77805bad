"""Composing: chord symbols, a left hand that breaks them, a right hand that sings over them.

Both hands are written in one small language, a bar a line: ``what:length`` in quarters, ``r`` a rest, ``+`` what
sounds together. The left hand counts the steps of the chord upwards (0 is the bass), the right hand the degrees of
the scale above the chord's root (1 is the root, 8 the root above); ``>`` before a degree takes the next bar's chord.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from core.metre import Metre
from examples.performance import ScoreNote

NAMES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
QUALITIES = {
    "": (0, 4, 7), "m": (0, 3, 7), "7": (0, 4, 7, 10), "m7": (0, 3, 7, 10), "maj7": (0, 4, 7, 11),
    "sus": (0, 5, 7), "add9": (0, 4, 7, 14), "dim": (0, 3, 6), "6": (0, 4, 7, 9), "m6": (0, 3, 7, 9),
}  # fmt: skip
MAJOR = (0, 2, 4, 5, 7, 9, 11)


@dataclass(frozen=True, slots=True)
class Chord:
    """Pitch classes of root and bass, and the chord's tones in semitones above the root."""

    root: int
    bass: int
    tones: tuple[int, ...]

    @classmethod
    def parse(cls, symbol: str) -> Chord:
        """Read a symbol such as ``F#m7`` or ``G/B``."""
        upper, _, bass = symbol.partition("/")
        root, quality = _root(upper)
        return cls(root, _root(bass)[0] if bass else root, QUALITIES[quality])

    def step(self, index: int, *, bass: int) -> int:
        """Pitch of a step of the chord above a bass pitch; step 0 is the bass itself."""
        classes = {(self.root + tone) % 12 for tone in self.tones}
        above = [pitch for pitch in range(bass + 1, bass + 61) if pitch % 12 in classes]
        return bass if index == 0 else above[index - 1]

    def degree(self, number: int, scale: tuple[int, ...]) -> int:
        """Semitones above the root of a degree; the chord's own third, fifth and seventh come before the scale's."""
        octave, step = divmod(number - 1, 7)
        own = {0: 0, 2: (3, 4, 5), 4: (6, 7), 6: (10, 11)}.get(step)
        if step == 0:
            return 12 * octave
        if own:
            for tone in self.tones:
                if tone in own:
                    return 12 * octave + tone
        if self.root in scale:
            at = scale.index(self.root)
            return 12 * octave + (scale[(at + step) % 7] - self.root) % 12
        return 12 * octave + MAJOR[step]


def _root(name: str) -> tuple[int, str]:
    match = re.fullmatch(r"([A-G])([b#]?)(.*)", name)
    assert match, name
    letter, sign, rest = match.groups()
    return (NAMES[letter] + {"": 0, "#": 1, "b": -1}[sign]) % 12, rest


@dataclass(frozen=True, slots=True, kw_only=True)
class Phrase:
    """A few bars of music.

    Parameters
    ----------
    chords : str
        One word a bar; a comma splits the bar between two chords, and the second comes on its middle beat.
    left : str
        Names of left-hand patterns, one a bar, the last one repeated.
    right : str
        Names of right-hand figures, one a bar, the last one repeated.
    loud : int
        Velocity about which it is played.
    range : (int, int)
        Lowest and highest pitch at which the melody turns back.
    doubling : int
        Degrees below the melody at which long notes are doubled; 0 for none.
    """

    chords: str
    left: str
    right: str
    loud: int = 62
    range: tuple[int, int] = (66, 86)
    doubling: int = 0

    @property
    def bars(self) -> int:
        """Number of bars."""
        return len(self.chords.split())


@dataclass(frozen=True, slots=True, kw_only=True)
class Style:
    """What the phrases of a piece draw on: the key's scale (pitch classes) and the named patterns of both hands."""

    scale: tuple[int, ...]
    left: Mapping[str, str]
    right: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class _Bar:
    number: int
    start: Fraction
    chords: tuple[Chord, ...]
    following: Chord
    split: Fraction

    def chord(self, offset: Fraction) -> Chord:
        return self.chords[-1] if offset >= self.split else self.chords[0]


def compose(
    phrases: Sequence[Phrase], style: Style, metre: Metre, *, seed: int
) -> tuple[list[ScoreNote], list[Fraction]]:
    """Write the notes of a piece from its phrases.

    Returns
    -------
    score : list of ScoreNote
        All notes from bar 1 on.
    changes : list of Fraction
        Where the harmony changes, for the pedal; its last entry is the end of the piece.
    """
    rng = np.random.RandomState(seed)
    score: list[ScoreNote] = []
    changes: list[Fraction] = []
    bass, melody, last = 45, 74, None
    number = 1
    for i, phrase in enumerate(phrases):
        then = phrases[i + 1].chords.split()[0] if i + 1 < len(phrases) else "D"
        for j, bar in enumerate(_bars(phrase, metre, number, then)):
            way = j / max(phrase.bars - 1, 1)
            loud = phrase.loud + 9 * np.sin(np.pi * min(1.0, 1.25 * way)) + _accent(rng)
            for offset in (Fraction(0), bar.split)[: len(bar.chords)]:
                if bar.chord(offset) != last:
                    changes.append(bar.start + offset)
                last = bar.chord(offset)
            names = phrase.left.split()
            pattern = style.left[names[min(j, len(names) - 1)]]
            bass = _left(score, bar, pattern, bass, metre, loud - 9, rng)
            names = phrase.right.split()
            figure = style.right[names[min(j, len(names) - 1)]]
            melody = _right(score, bar, figure, melody, metre, loud + 6, phrase, style.scale, rng)
        number += phrase.bars
    return score, [*changes, metre.quarter_of(number)]


def _bars(phrase: Phrase, metre: Metre, first: int, then: str) -> Iterator[_Bar]:
    words = [*phrase.chords.split(), then]
    for j, (word, after) in enumerate(zip(words, words[1:], strict=False)):
        places = metre.at(first + j).beat_quarters
        yield _Bar(
            number=first + j,
            start=metre.quarter_of(first + j),
            chords=tuple(Chord.parse(symbol) for symbol in word.split(",")),
            following=Chord.parse(after.split(",")[0]),
            split=places[(len(places) + 1) // 2],
        )


def _accent(rng: np.random.RandomState) -> float:
    return float(rng.normal(0, 2.5))


def read_figure(text: str) -> Iterator[tuple[Fraction, Fraction, list[str]]]:
    """Offset, length and words of each token of the small language."""
    offset = Fraction(0)
    for token in text.split():
        what, length = token.split(":")
        if what != "r":
            yield offset, Fraction(length), what.split("+")
        offset += Fraction(length)


def _velocity(bar: _Bar, offset: Fraction, loud: float, metre: Metre, rng: np.random.RandomState) -> int:
    # The bar line is leant on in three bars of four, as players shape by the line and not by the bar.
    beats = metre.at(bar.number).beat_quarters
    if offset == 0:
        weight = 6.0 if rng.random_sample() < 0.75 else 0.0
    elif offset in beats:
        weight = 2.0 if offset == bar.split else 0.0
    else:
        weight = -4.0
    return int(np.clip(round(loud + weight + rng.normal(0, 4)), 18, 118))


def _left(
    score: list[ScoreNote],
    bar: _Bar,
    pattern: str,
    bass: int,
    metre: Metre,
    loud: float,
    rng: np.random.RandomState,
) -> int:
    """Add a bar of the left hand; returns its bass pitch."""
    for offset, length, words in read_figure(pattern):
        chord = bar.chord(offset)
        near = [pitch for pitch in range(33, 53) if pitch % 12 == chord.bass]
        bass = min(near, key=lambda pitch: abs(pitch - (bass + 41) / 2)) if bass % 12 != chord.bass else bass
        for word in words:
            pitch = bass - 12 if word == "-" else chord.step(int(word), bass=bass)
            lean = 3 if word in "-0" else -2
            velocity = _velocity(bar, offset, loud + lean, metre, rng)
            score.append(ScoreNote(bar.start + offset, length, pitch, velocity))
    return bass


def _right(
    score: list[ScoreNote],
    bar: _Bar,
    figure: str,
    melody: int,
    metre: Metre,
    loud: float,
    phrase: Phrase,
    scale: tuple[int, ...],
    rng: np.random.RandomState,
) -> int:
    """Add a bar of the right hand; returns the pitch it ends on."""
    low, high = phrase.range
    root: dict[Chord, int] = {}
    for offset, length, words in read_figure(figure):
        chord = bar.following if words[0].startswith(">") else bar.chord(offset)
        degrees = [int(word.lstrip(">")) for word in words]
        top = max(degrees)
        if chord not in root:
            # The octave that leads on most closely from the last note, and stays in range.
            goal = float(np.clip(melody, low + 3, high - 3))
            up = chord.degree(top, scale)
            roots = [pitch for pitch in range(36, 97) if pitch % 12 == chord.root]
            root[chord] = min(roots, key=lambda pitch: abs(pitch + up - goal))
        if phrase.doubling and length >= 1 and len(degrees) == 1:
            degrees.append(top - phrase.doubling)
        for degree in degrees:
            pitch = root[chord] + chord.degree(degree, scale)
            velocity = _velocity(bar, offset, loud if degree == top else loud - 10, metre, rng)
            score.append(ScoreNote(bar.start + offset, length, pitch, velocity))
            if degree == top:
                melody = pitch
    return melody
