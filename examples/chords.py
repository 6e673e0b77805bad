"""Chord symbols, and the pitches they give to each hand."""

from __future__ import annotations

import re
from dataclasses import dataclass

NAMES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
SIGNS = {"": 0, "#": 1, "b": -1}
QUALITIES = {
    "": (0, 4, 7),
    "m": (0, 3, 7),
    "7": (0, 4, 7, 10),
    "m7": (0, 3, 7, 10),
    "maj7": (0, 4, 7, 11),
    "sus": (0, 5, 7),
    "m6": (0, 3, 7, 9),
}
MAJOR = (0, 2, 4, 5, 7, 9, 11)
OWN_TONES = {2: (3, 4, 5), 4: (7,), 6: (10, 11)}
"""Semitones above the root that stand for the third, fifth and seventh degree (counted from 0) of a chord."""


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

    def step(self, number: int, *, bass: int) -> int:
        """Pitch of a step of the chord above a bass pitch; step 0 is the bass itself."""
        classes = {(self.root + tone) % 12 for tone in self.tones}
        above = [pitch for pitch in range(bass + 1, bass + 61) if pitch % 12 in classes]
        return above[number - 1] if number else bass

    def degree(self, number: int, scale: tuple[int, ...]) -> int:
        """Semitones above the root of a degree; the chord's own third, fifth and seventh come before the scale."""
        octave, step = divmod(number - 1, 7)
        own = [tone for tone in self.tones if tone in OWN_TONES.get(step, ())]
        if own:
            return 12 * octave + own[0]
        if self.root not in scale:
            return 12 * octave + MAJOR[step]
        above = scale[(scale.index(self.root) + step) % 7]
        return 12 * octave + (above - self.root) % 12


def _root(name: str) -> tuple[int, str]:
    match = re.fullmatch(r"([A-G])([b#]?)(.*)", name)
    assert match, name
    letter, sign, rest = match.groups()
    return (NAMES[letter] + SIGNS[sign]) % 12, rest
