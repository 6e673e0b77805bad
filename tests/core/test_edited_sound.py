from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings

from core.edited_sound import FADE, EditedSound
from core.passages import Passage, Passages
from tests.core.test_passages import reordered

RATE = 8000


@dataclass
class InMemory:
    """Sound that is all there."""

    samples: np.ndarray
    rate: int = RATE

    @property
    def channels(self):
        return self.samples.shape[1]

    @property
    def frames(self):
        return len(self.samples)

    def read(self, first, last):
        out = np.zeros((last - first, self.channels), np.float32)
        begin, end = min(max(first, 0), self.frames), min(max(last, 0), self.frames)
        if begin < end:
            out[begin - first : end - first] = self.samples[begin:end]
        return out


def ramp(seconds):
    """Every sample is its own number, so that one sees where it comes from."""
    return InMemory(np.arange(round(seconds * RATE), dtype=np.float32)[:, None])


def tone(seconds, pitch=220.0, rate=RATE):
    return InMemory(
        np.sin(2 * np.pi * pitch * np.arange(round(seconds * rate)) / rate).astype(np.float32)[:, None], rate
    )


def test_all_of_it_is_the_recording_itself():
    sound = tone(2.0)
    edited = EditedSound(sound, Passages.whole(2.0))
    assert edited.frames == sound.frames
    np.testing.assert_array_equal(edited.read(0, sound.frames), sound.samples)
    assert not edited.read(-10, 0).any()


def test_away_from_the_seams_every_sample_is_the_recordings_own():
    passages = Passages((Passage(2.0, 3.0), Passage(0.5, 1.5), Passage(3.25, 4.0)))
    edited = EditedSound(ramp(4.0), passages)
    heard = edited.read(0, edited.frames)[:, 0]
    wanted = np.rint(passages.to_recording(np.arange(edited.frames) / RATE) * RATE)
    away = np.ones(edited.frames, dtype=bool)
    for seam in (1.0, 2.0):
        away[round((seam - FADE) * RATE) : round((seam + FADE) * RATE)] = False
    np.testing.assert_array_equal(heard[away], wanted[away])


def test_any_block_is_a_part_of_the_whole():
    edited = EditedSound(tone(4.0), Passages((Passage(2.0, 3.0), Passage(0.5, 1.5))))
    whole = edited.read(0, edited.frames)
    for first, last in ((0, 10), (7900, 8100), (7990, 7995), (8001, 8050), (15900, 16100), (-5, 20)):
        wanted = np.zeros((last - first, 1), np.float32)
        begin, end = max(first, 0), min(last, edited.frames)
        wanted[begin - first : end - first] = whole[begin:end]
        np.testing.assert_array_equal(edited.read(first, last), wanted)


def test_unrelated_sound_keeps_its_power_through_a_seam():
    """Equal power: the squares of the gains sum to 1, so the mean power of noise stays (published definition)."""
    noise = np.random.default_rng(1).normal(0, 0.2, (RATE * 40, 1)).astype(np.float32)
    places = [Passage(float(a), a + 0.5) for a in range(0, 40, 2)]
    edited = EditedSound(InMemory(noise), Passages(tuple(places[::-1])))
    half = round(FADE * RATE / 2)
    seams = [round(0.5 * RATE * i) for i in range(1, len(places))]
    at_seams = np.concatenate([edited.read(seam - half, seam + half) for seam in seams])
    assert np.mean(at_seams**2) == pytest.approx(0.04, rel=0.06)


@pytest.mark.parametrize("rate", [22050, 44100])
def test_no_sample_step_at_a_seam_is_above_the_signals_own(rate):
    """A tone cut at any phase: with no fade the step would be up to twice the amplitude."""
    sound = tone(6.0, 187.3, rate)
    own = np.abs(np.diff(sound.samples[:, 0])).max()
    for k in range(40):
        start, into = 1.0 + k / 4000, 3.0 + k / 1777
        edited = EditedSound(sound, Passages((Passage(0.0, start), Passage(into, 6.0))))
        seam = round(start * rate)
        around = edited.read(seam - rate // 20, seam + rate // 20)[:, 0]
        # Both sides sound in the fade: the gains sum to the square root of two at most, and turn slowly.
        assert np.abs(np.diff(around)).max() <= own * np.sqrt(2) + np.pi / 2 / (FADE * rate) * np.sqrt(2)


@settings(max_examples=60, deadline=None)
@given(reordered())
def test_frames_are_counted_from_the_absolute_place(passages):
    edited = EditedSound(ramp(1.0), passages)
    assert edited.frames == round(passages.duration * RATE)
    first = edited.read(0, 1)
    assert first.shape == (1, 1)
