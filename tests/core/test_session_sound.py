"""A take laid into its session to the sample, its clicks, and sections that go round."""

import numpy as np
import pytest

from core.fit import fit_bars
from core.metre import Metre, TimeSignature
from core.session import place
from core.session_sound import CLICK, InSession, click_blocks, click_times, loop_blocks
from tests.core.free_grids import FOUR, grid_of, rubato

RATE = 8000


class Ramp:
    """Sound whose every sample says its own frame."""

    rate, channels = RATE, 1

    def __init__(self, frames):
        self.frames = frames
        self.whole = np.arange(1, frames + 1, dtype=np.float32)[:, None]

    def read(self, first, last):
        padded = np.zeros((last - first, 1), np.float32)
        begin, end = max(first, 0), min(last, self.frames)
        if end > begin:
            padded[begin - first : end - first] = self.whole[begin:end]
        return padded


def laid(grid, **choice):
    return place(grid, fit_bars(grid), **choice)


@pytest.mark.parametrize(
    "choice", [{}, {"lead_in": 2}, {"intro": 3}, {"lead_in": "none"}, {"lead_in": 1, "intro": 1}]
)
def test_the_first_sample_is_the_start_of_the_session(choice):
    grid = grid_of(Metre.steady(FOUR), rubato(32), start=3.21)
    session = laid(grid, **choice)
    sound = InSession(Ramp(26 * RATE), session)
    whole = np.concatenate(list(sound.blocks()))
    assert len(whole) == sound.frames
    # A moment of the take is heard where the session says, to half a sample.
    for line, time in zip(grid.bar_lines, session.bar_times, strict=True):
        assert abs((whole[round(time * RATE), 0] - 1) / RATE - line.time) <= 1 / RATE
    assert (session.offset >= 0) == (whole[0, 0] <= 1)


def test_a_loop_goes_round_without_a_step_larger_than_its_own():
    grid = grid_of(Metre.steady(FOUR), rubato(32), start=0.5)
    session = laid(grid)
    sound = Ramp(26 * RATE)
    seconds = np.arange(sound.frames) / RATE
    sound.whole = (0.5 * np.sin(2 * np.pi * 110 * seconds) + 0.2 * np.sin(2 * np.pi * 331 * seconds))[
        :, None
    ].astype(np.float32)
    in_session = InSession(sound, session)
    first, last = round(session.bar_times[2] * RATE), round(session.bar_times[5] * RATE)
    loop = np.concatenate(list(loop_blocks(in_session, first, last)))[:, 0]
    assert len(loop) == last - first
    own = np.abs(np.diff(in_session.read(first, last)[:, 0])).max()
    round_it_goes = np.abs(np.diff(np.concatenate((loop[-200:], loop[:200]))))
    assert round_it_goes.max() <= 1.05 * own
    assert np.abs(loop).max() <= np.abs(sound.whole).max()
    # All but the last ten milliseconds is as it was played.
    np.testing.assert_array_equal(loop[: -RATE // 100], in_session.read(first, last)[: -RATE // 100, 0])


def test_clicks_sound_on_every_beat_and_are_never_loud():
    grid = grid_of(Metre(((1, FOUR), (3, TimeSignature(6, 8)))), rubato(12), start=1.0)
    session = laid(grid)
    times = click_times(session)
    lead = sum(signature.beats for signature in session.lead_in)
    on_lines = [time for time, strong in times[lead:] if strong]
    np.testing.assert_allclose(on_lines, grid.bar_times + session.offset)
    np.testing.assert_allclose(np.diff([time for time, _ in times[lead : lead + 5]], n=2), 0, atol=1e-9)
    assert [strong for _, strong in times[lead:]] == [beat.beat == 1 for beat in grid.beats]
    frames = round((times[-1][0] + 1) * RATE)
    clicks = np.concatenate(list(click_blocks(times, frames, RATE)))[:, 0]
    assert len(clicks) == frames
    assert np.abs(clicks).max() == pytest.approx(CLICK, rel=1e-6)
    for time, strong in times:
        at = round(time * RATE)
        assert np.abs(clicks[at : at + 40]).max() == pytest.approx(CLICK if strong else CLICK / 2, rel=1e-6)
        assert not clicks[max(at - 200, 0) : at].any()
