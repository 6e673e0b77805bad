"""Chord symbols and the two hands."""

from fractions import Fraction

import pytest

from core.metre import Metre, TimeSignature
from examples.chords import Chord
from examples.music import Composer, Phrase, Style, read_figure

C_MAJOR = (0, 2, 4, 5, 7, 9, 11)


# music21's names of the same chords (it writes a flat as "-").
@pytest.mark.parametrize("symbol", ["C", "F#m7", "Bb7", "Gmaj7", "Asus", "Gm6", "D/F#", "E7", "Am/G", "F#7"])
def test_a_chord_has_the_tones_its_symbol_says(symbol):
    music21 = pytest.importorskip("music21", reason="music21 names the tones of these chords")
    written = symbol.replace("sus", "sus4").replace("Bb", "B-")
    expected = music21.harmony.ChordSymbol(written)
    chord = Chord.parse(symbol)
    tones = {(chord.root + tone) % 12 for tone in chord.tones}
    assert tones | {chord.bass} == {pitch.pitchClass for pitch in expected.pitches}
    assert chord.bass == expected.bass().pitchClass


def test_steps_go_up_the_chord_from_the_bass():
    assert [Chord.parse("C/E").step(i, bass=40) for i in range(5)] == [40, 43, 48, 52, 55]  # E G C E G


def test_degrees_follow_the_scale_and_the_chords_own_tones():
    assert [Chord.parse("Dm").degree(i, C_MAJOR) for i in (1, 2, 3, 4, 5, 6, 7, 8, 10)] == [
        0,
        2,
        3,
        5,
        7,
        9,
        10,
        12,
        15,
    ]
    assert Chord.parse("D7").degree(3, C_MAJOR) == 4  # F sharp, which the key has not
    assert Chord.parse("C").degree(-1, C_MAJOR) == -3  # the sixth below


def test_reading_a_figure():
    assert list(read_figure("0:1.5 r:.5 2+3:2")) == [(0, Fraction(3, 2), ["0"]), (2, 2, ["2", "3"])]


def test_a_split_bar_has_a_pedal_change_on_its_middle_beat():
    style = Style(scale=C_MAJOR, left={"l": "0:2 0:2"}, right={"r": "1:2 >3:2"})
    composer = Composer(style, 1)
    composer.write([Phrase("C C F,G7 C", "l", "r", qpm=100, loud=60)], Metre.steady(TimeSignature(4, 4)))
    assert composer.changes == [0, 8, 10, 12, 16]
    basses = [
        min(note.pitch for note in composer.score if note.quarter == quarter) % 12 for quarter in (0, 8, 10, 12)
    ]
    assert basses == [0, 5, 7, 0]
    ahead = max(note.pitch for note in composer.score if note.quarter == 6)
    assert ahead % 12 == 9  # bar 2 ends on bar 3's third, A over F
