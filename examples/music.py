"""Composing: a left hand that breaks chords, a right hand that sings over them.

Both hands are written in one small language, a bar a line: ``what:length`` in quarters, ``r`` for a rest, ``+``
between what sounds together. The left hand counts the steps of the chord upwards (0 is the bass, ``-`` the octave
below it). The right hand counts the degrees of the scale above the chord's root (1 is the root, 8 its octave); a
degree after ``>`` belongs to the chord of the next bar, which it anticipates.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import KW_ONLY, dataclass, field
from fractions import Fraction
from itertools import pairwise

import numpy as np

from core.metre import Metre
from examples.chords import Chord
from examples.performance import ScoreNote
from examples.tempo import Span


@dataclass(frozen=True, slots=True)
class Phrase:
    """A few bars of music, and how they are played.

    Parameters
    ----------
    chords : str
        One word a bar; a comma splits the bar between two chords, the second on its middle beat.
    left, right : str
        Names of left-hand patterns and right-hand figures, one a bar, over and over.
    qpm : float
        Tempo in quarter notes a minute at the turn of the phrase.
    loud : int
        Velocity about which it is played.
    arch : float
        Quantity of the phrase arch.
    slow_bars, slow_to : int, float
        Bars of final ritardando at its end, and the share of the tempo that is left then.
    stops : tuple of (int, float, float)
        Hesitations: bar of the phrase from 1, quarter of that bar before which the player stops, seconds.
    register : (int, int)
        Pitches between which the melody looks for its octave.
    doubling : int
        Degrees below the melody at which long notes are doubled; 0 for none.
    """

    chords: str
    left: str
    right: str
    _: KW_ONLY
    qpm: float
    loud: int
    arch: float = 0.55
    slow_bars: int = 0
    slow_to: float = 0.6
    stops: tuple[tuple[int, float, float], ...] = ()
    register: tuple[int, int] = (66, 86)
    doubling: int = 0

    @property
    def bars(self) -> int:
        """Number of bars."""
        return len(self.chords.split())

    def span(self, metre: Metre, bar: int) -> Span:
        """Give the phrase as the tempo sees it when it begins at a bar; the pickup goes with bar 1."""
        upbeat = metre.pickup if bar == 1 else 0
        return Span(
            quarters=metre.quarter_of(bar + self.bars) - metre.quarter_of(bar) + upbeat,
            qpm=self.qpm,
            arch=self.arch,
            slowing=self.slow_bars * metre.at(bar).quarters,
            slow_to=self.slow_to,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Style:
    """What a piece draws on: the key's scale (pitch classes, upwards) and the named patterns of both hands."""

    scale: tuple[int, ...]
    left: Mapping[str, str]
    right: Mapping[str, str]


def read_figure(text: str) -> Iterator[tuple[Fraction, Fraction, list[str]]]:
    """Yield the offset, the length and the words of each token of the small language, rests left out."""
    offset = Fraction(0)
    for token in text.split():
        what, length = token.split(":")
        if what != "r":
            yield offset, Fraction(length), what.split("+")
        offset += Fraction(length)


@dataclass(frozen=True, slots=True)
class _Bar:
    """A bar to be written: its chords, the next bar's, where its second chord comes, and its loudness."""

    start: Fraction
    beats: tuple[Fraction, ...]
    chords: tuple[Chord, ...]
    following: Chord
    loud: float

    @property
    def middle(self) -> Fraction:
        return self.beats[(len(self.beats) + 1) // 2]

    def chord(self, offset: Fraction) -> Chord:
        return self.chords[-1] if offset >= self.middle else self.chords[0]


@dataclass(slots=True)
class Composer:
    """Writes a score phrase by phrase, each hand going on from where it was.

    Parameters
    ----------
    style : Style
        The piece's.
    seed : int
        Seed of the loudness of each note.
    """

    style: Style
    seed: int
    score: list[ScoreNote] = field(default_factory=list)
    changes: list[Fraction] = field(default_factory=list)
    """Where the harmony changes, for the pedal."""
    _bass: int = 45
    _melody: int = 74
    _harmony: Chord | None = None
    _rng: np.random.RandomState = field(init=False)

    def __post_init__(self) -> None:
        self._rng = np.random.RandomState(self.seed)

    def write(self, phrases: Sequence[Phrase], metre: Metre) -> None:
        """Write phrases one after the other from bar 1."""
        bar = 1
        for phrase, following in pairwise([*phrases, phrases[0]]):
            left, right = phrase.left.split(), phrase.right.split()
            for i, written in enumerate(self._bars(phrase, metre, bar, following)):
                self._note_changes(written)
                self._write_left(written, self.style.left[left[i % len(left)]])
                self._write_right(written, self.style.right[right[i % len(right)]], phrase)
            bar += phrase.bars
        self.changes.append(metre.quarter_of(bar))

    def _bars(self, phrase: Phrase, metre: Metre, first: int, following: Phrase) -> Iterator[_Bar]:
        words = [*phrase.chords.split(), following.chords.split()[0]]
        for i, (word, after) in enumerate(pairwise(words)):
            swell = 9 * np.sin(np.pi * min(1.0, 1.25 * i / max(phrase.bars - 1, 1)))
            yield _Bar(
                start=metre.quarter_of(first + i),
                beats=metre.at(first + i).beat_quarters,
                chords=tuple(Chord.parse(symbol) for symbol in word.split(",")),
                following=Chord.parse(after.split(",")[0]),
                loud=phrase.loud + swell + self._rng.normal(0, 2.5),
            )

    def _note_changes(self, bar: _Bar) -> None:
        for offset, chord in zip((Fraction(0), bar.middle), bar.chords, strict=False):
            if chord != self._harmony:
                self.changes.append(bar.start + offset)
            self._harmony = chord

    def _write_left(self, bar: _Bar, pattern: str) -> None:
        for offset, length, words in read_figure(pattern):
            chord = bar.chord(offset)
            if self._bass % 12 != chord.bass:
                # Between where the hand is and where it likes to be.
                goal = (self._bass + 41) / 2
                self._bass = min(_octaves(chord.bass, 33, 53), key=lambda pitch: abs(pitch - goal))
            for word in words:
                pitch = self._bass - 12 if word == "-" else chord.step(int(word), bass=self._bass)
                self._add(bar, offset, length, pitch, -6 if word in "-0" else -11)

    def _write_right(self, bar: _Bar, figure: str, phrase: Phrase) -> None:
        scale = self.style.scale
        low, high = phrase.register
        roots: dict[Chord, int] = {}
        for offset, length, words in read_figure(figure):
            chord = bar.following if words[0].startswith(">") else bar.chord(offset)
            degrees = sorted(int(word.lstrip(">")) for word in words)
            top = degrees[-1]
            if chord not in roots:
                goal = float(np.clip(self._melody, low + 3, high - 3)) - chord.degree(top, scale)
                roots[chord] = min(_octaves(chord.root, 36, 97), key=lambda pitch: abs(pitch - goal))
            if phrase.doubling and length >= 1 and len(degrees) == 1:
                degrees.insert(0, top - phrase.doubling)
            for degree in degrees:
                pitch = roots[chord] + chord.degree(degree, scale)
                self._add(bar, offset, length, pitch, 6 if degree == top else -4)
            self._melody = roots[chord] + chord.degree(top, scale)

    def _add(self, bar: _Bar, offset: Fraction, length: Fraction, pitch: int, lean: float) -> None:
        # The bar line is leant on three times in four: players shape by the line, not by the bar.
        if offset == 0:
            weight = 6.0 if self._rng.random_sample() < 0.75 else 0.0
        elif offset in bar.beats:
            weight = 2.0 if offset == bar.middle else 0.0
        else:
            weight = -4.0
        loud = round(bar.loud + lean + weight + self._rng.normal(0, 4))
        self.score.append(ScoreNote(bar.start + offset, length, pitch, int(np.clip(loud, 18, 118))))


def _octaves(pitch_class: int, low: int, high: int) -> list[int]:
    return [pitch for pitch in range(low, high) if pitch % 12 == pitch_class]
