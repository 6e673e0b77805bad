"""What is rendered: clicks at their samples, fades of equal power, levels, and the same however it is cut."""

from itertools import pairwise

import numpy as np
import pytest

from app.sound.burst import burst
from app.sound.clicks import BAR, BEAT, PART, Clicks
from app.sound.course import FADE, Course
from app.sound.mix import QUIETEST, Mix, gain
from app.sound.mixer import Loudness, Mixer, loudness
from tests.app.sound.waves import frequency_of, tone

RATE = 48000
CLICKS = Clicks.of([1.0, 1.5, 2.0001, 2.5], [BAR, BEAT, BEAT, BEAT])


class Rows:
    """A source of known samples."""

    def __init__(self, rows):
        self.rows = np.asarray(rows, dtype=np.float32)

    def read(self, first, count):
        out = np.zeros((count, 2), dtype=np.float32)
        start, end = max(first, 0), min(first + count, len(self.rows))
        if start < end:
            out[start - first : end - first] = self.rows[start:end]
        return out

    def ready(self, first, count):
        return True


STEADY = Rows(np.full((5 * RATE, 2), 0.25))


def mixer(source=None, course=None, counted=None, loud=None, clicks=CLICKS, **mix):
    course = course or Course(((0.5, 3.0),), RATE, lead=FADE)
    levels = Mix(**{"take": 0.0, "click": 0.0} | mix)
    return Mixer(course, source, clicks, counted or Clicks.none(), levels, loud or Loudness(0.1, 1.0))


def begins(row, level=1e-6):
    """Samples at which sound comes after silence."""
    loud = np.abs(row) > level
    quiet = np.convolve(loud, np.ones(200), "full")[: len(loud)]
    return np.flatnonzero(loud & (np.concatenate([[0], quiet[:-1]]) == 0))


def test_clicks_begin_at_the_very_sample():
    out = mixer().render(0, 3 * RATE)
    lead = round(FADE * RATE)
    expected = [lead + round(time * RATE) - RATE // 2 for time in CLICKS.time]
    # The first sample of a burst is zero: it rises from there.
    assert begins(out[:, 0]).tolist() == [at + 1 for at in expected]


def test_at_half_speed_clicks_are_twice_as_far_apart():
    slow = mixer(course=Course(((0.5, 3.0),), RATE, 0.5, lead=FADE)).render(0, 6 * RATE)
    lead = round(FADE * RATE)
    assert begins(slow[:, 0]).tolist() == [lead + round(2 * t * RATE) - RATE + 1 for t in CLICKS.time]


def test_what_is_counted_comes_before_the_take():
    counted = Clicks.of([-0.5, 0.0], [BAR, BEAT])
    out = mixer(course=Course(((0.5, 3.0),), RATE, lead=1.0), counted=counted).render(0, RATE)
    assert begins(out[:, 0]).tolist() == [1, RATE // 2 + 1]


def test_a_loop_clicks_in_every_round():
    course = Course(((1.0, 2.0),), RATE, loop=True, lead=FADE)
    out = mixer(course=course).render(0, 4 * RATE)
    lead = round(FADE * RATE)
    places = [lead + k * RATE // 2 for k in range(8)]
    assert begins(out[:, 0]).tolist() == [at + 1 for at in places if at < 4 * RATE]


def test_it_is_the_same_however_it_is_cut():
    course = Course(((0.5, 1.1), (2.0, 2.6)), RATE, 0.7, loop=True, lead=0.3)
    noise = Rows(np.random.default_rng(1).uniform(-0.3, 0.3, (5 * RATE, 2)))
    made = mixer(noise, course, Clicks.of([0.3], [BAR]))
    whole = made.render(0, 2 * RATE)
    cuts = [0, 1, 500, 501, 40000, 40960, 70001, 2 * RATE]
    parts = [made.render(a, b - a) for a, b in pairwise(cuts)]
    np.testing.assert_array_equal(np.concatenate(parts), whole)


def test_the_take_comes_in_before_its_stretch_and_goes_at_its_end_with_equal_power():
    out = mixer(STEADY, clicking=False).render(0, 3 * RATE)[:, 0]
    lead = fade = round(FADE * RATE)
    end = lead + round(2.5 * RATE)
    np.testing.assert_allclose(out[lead : end - fade], 0.25, atol=1e-6)
    assert out[0] == 0.0
    assert not out[end:].any()
    # sin^2 + cos^2 = 1: what goes at the end and what comes before the start add up in power at a seam.
    np.testing.assert_allclose(out[:fade] ** 2 + out[end - fade : end] ** 2, 0.25**2, atol=1e-4)


def test_a_loop_has_no_step_at_its_seam():
    course = Course(((0.5, 1.25),), RATE, loop=True, lead=FADE)
    wave = np.repeat(tone(100.0, 3.0)[:, None], 2, axis=1)
    out = mixer(Rows(wave), course, clicking=False).render(0, 3 * RATE)[:, 0]
    steepest = 0.3 * 2 * np.pi * 100.0 / RATE
    assert np.abs(np.diff(out)).max() < 2 * steepest


@pytest.mark.parametrize("kind", [BAR, BEAT, PART])
@pytest.mark.parametrize("pitch", [700.0, 1000.0, 1600.0])
def test_a_click_has_its_pitch_and_ends_by_itself(kind, pitch):
    sound = burst(kind, pitch, RATE)
    # Common practice, no source: the bar a fifth above the beat, smaller parts below it.
    wanted = pitch * {BAR: 1.5, BEAT: 1.0, PART: 0.75}[kind]
    assert frequency_of(sound, RATE) == pytest.approx(wanted, rel=0.02)
    assert sound[0] == 0.0
    assert abs(sound[-1]) < 1e-3


def test_a_click_is_never_louder_than_the_take_at_first():
    rng = np.random.default_rng(2)
    for level in (0.5, 0.02):
        take = Rows(rng.normal(0, level, (5 * RATE, 2)).clip(-0.9, 0.9))
        loud = loudness(take, 5 * RATE, RATE)
        usual = Mix()
        apart = mixer(take, loud=loud, take=usual.take, click=usual.click, apart=True).render(0, 3 * RATE)
        left = np.sqrt(np.mean(apart[RATE : RATE + 9600, 0] ** 2))
        # The click for as long as it lasts, RMS as in IEC 60268-3 (from memory): root of the mean square.
        at = round(FADE * RATE) + RATE // 2
        right = np.sqrt(np.mean(apart[at : at + round(0.05 * RATE), 1] ** 2))
        assert 0 < right < left
        assert np.abs(apart[:, 1]).max() < np.abs(apart[:, 0]).max()


def test_apart_the_take_is_left_and_the_click_right():
    out = mixer(STEADY, apart=True).render(RATE // 4, RATE)
    np.testing.assert_allclose(out[:, 0], 0.25, atol=1e-6)
    assert np.abs(out[:, 1]).max() > 0
    assert np.abs(mixer(STEADY, apart=True, clicking=False).render(0, RATE)[:, 1]).max() == 0


def test_levels_are_decibels():
    # 20 lg: IEC 60027-3. A take at -20 dB has a tenth of its samples.
    out = mixer(STEADY, take=-20.0, clicking=False).render(RATE, 100)
    np.testing.assert_allclose(out, 0.025, atol=1e-6)
    assert gain(QUIETEST) == 0.0
    assert not mixer(STEADY, take=QUIETEST, clicking=False).render(RATE, 100).any()


def test_nothing_goes_beyond_full_scale():
    loud = Rows(np.full((5 * RATE, 2), 0.99))
    assert np.abs(mixer(loud, loud=Loudness(1.0, 1.0)).render(0, 2 * RATE)).max() <= 1.0


def test_loudness_passes_over_silence():
    rows = np.zeros((10 * RATE, 2))
    rows[: 3 * RATE] = tone(440.0, 3.0, level=0.5)[:, None]
    found = loudness(Rows(rows), 10 * RATE, RATE)
    # The root mean square of a sine is its peak over the root of two.
    assert found.usual == pytest.approx(0.5 / np.sqrt(2), rel=0.02)
    assert found.peak == pytest.approx(0.5, rel=0.01)
    assert loudness(Rows(np.zeros((100, 2))), 100, RATE) == Loudness()
