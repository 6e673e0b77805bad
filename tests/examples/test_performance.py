"""Playing a score through a tempo."""

from fractions import Fraction

import numpy as np
import pytest

from core.metre import Metre, TimeSignature
from examples.performance import ScoreNote, pedalling, perform, true_grid
from examples.tempo import Hesitation, Span, tempo_of
from examples.timing import MOTOR_NOISE, ritardando_time


def clock(quarters):
    return 1 + 0.5 * np.asarray(quarters)


def single_notes(count):
    return [ScoreNote(Fraction(i), Fraction(1), 60 + i % 12, 64) for i in range(count)]


def test_without_noise_a_note_starts_where_the_tempo_says():
    played = perform(single_notes(8), clock, seed=1, noise=0)
    assert played.notes.start == pytest.approx(1 + 0.5 * np.arange(8))


def test_motor_noise_has_the_published_deviation():
    # Friberg, Bresin & Sundberg 2006: standard deviation 6.8 ms at k = 1; the tails beyond 2.5 are cut here.
    played = perform(single_notes(4000), clock, seed=1)
    late = np.sort(played.notes.start) - clock(np.arange(4000))
    assert late.std() == pytest.approx(MOTOR_NOISE, rel=0.05)
    assert abs(late.mean()) < 4 * MOTOR_NOISE / np.sqrt(4000)


def test_a_chord_is_spread_about_its_place():
    chord = [ScoreNote(Fraction(i), Fraction(1), pitch, 64) for i in range(200) for pitch in (48, 60, 64, 67)]
    played = perform(chord, clock, seed=2, noise=0, spread=(0.005, 0.025))
    for i in range(200):
        start = played.notes.start[played.quarters == i]
        assert 0.005 <= np.ptp(start) <= 0.025
        assert played.struck(Fraction(i)) == pytest.approx(clock(i))


def test_a_key_is_up_before_it_goes_down_again_and_a_doubled_note_is_played_once():
    score = [ScoreNote(Fraction(0), Fraction(4), 60, 40), ScoreNote(Fraction(0), Fraction(1), 60, 90)]
    score += [ScoreNote(Fraction(i, 2), Fraction(4), 60, 64) for i in range(1, 20)]
    notes = perform(score, clock, seed=3).notes
    assert len(notes) == 20
    assert notes.velocity[0] == 90
    assert (notes.end[:-1] < notes.start[1:]).all()


def test_the_same_seed_plays_the_same():
    first, again, other = (perform(single_notes(50), clock, seed=seed).notes.start for seed in (5, 5, 6))
    assert (first == again).all()
    assert (first != other).any()


def test_the_true_grid_is_the_mean_of_what_is_struck_else_the_tempo():
    metre = Metre.steady(TimeSignature(3, 4), pickup=Fraction(1))
    score = [ScoreNote(Fraction(q), Fraction(1), p, 64) for q in (-1, 0, 2, 3) for p in (50, 60, 67)]
    played = perform(score, clock, seed=7)
    grid = true_grid(played, metre, clock, last_bar=2)
    assert [(beat.bar, beat.beat) for beat in grid.beats] == [(0, 3), (1, 1), (1, 2), (1, 3), (2, 1)]
    assert grid.bar_times == pytest.approx([played.notes.start[3:6].mean(), played.notes.start[9:].mean()])
    assert grid.beats[2].time == clock(1)


def test_a_hesitation_makes_the_music_late_by_its_length():
    span = Span(quarters=Fraction(16), qpm=120, arch=0)
    steady = tempo_of([span], start=0, drift=0, seed=1)
    stopped = tempo_of([span], [Hesitation(Fraction(8), 2.5)], start=0, drift=0, seed=1)
    assert steady.seconds_at([0, 4, 8, 16]) == pytest.approx([0, 2, 4, 8])
    assert stopped.seconds_at([0, 4, 7.75, 8, 16]) == pytest.approx([0, 2, 3.875, 6.5, 10.5])
    played = perform(single_notes(16), stopped.seconds_at, seed=1, noise=0)
    assert played.hesitations([Hesitation(Fraction(8), 2.5)])[0] == pytest.approx((3.5, 6.5, 2.5))


def test_a_span_slows_down_as_the_formula_says():
    # The whole span is the ritardando, so Friberg & Sundberg's T(1) is its length.
    tempo = tempo_of([Span(quarters=Fraction(8), qpm=120, arch=0, slowing=Fraction(8), slow_to=0.25)],
                     start=0, drift=0, seed=1)  # fmt: skip
    assert tempo.seconds_at(8) == pytest.approx(5.714286, abs=1e-6)
    assert tempo.seconds_at([2, 4, 6]) == pytest.approx(4 * ritardando_time([0.25, 0.5, 0.75], q=3, w=0.25))


def test_the_pedal_is_lifted_after_the_change_and_pressed_again():
    messages = pedalling([Fraction(q) for q in (0, 4, 8)], clock, seed=1)
    assert [message.data[2] for message in messages] == [127, 0, 127, 0]
    times = [message.time for message in messages]
    assert times == sorted(times)
    assert all(0.02 <= time - change <= 0.07 for time, change in zip(times[1::2], (3, 5), strict=True))
