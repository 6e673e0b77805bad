"""A take at one steady tempo: attacks where the grid says, seams like the sound around them."""

import numpy as np
import pytest

from core.fit import fit_bars, fit_beats
from core.metre import Metre
from core.session import place
from core.session_sound import InSession
from core.steady import mean_tempo, steady_seconds
from core.steady_sound import steady_blocks
from tests.core.free_grids import FOUR, grid_of, rubato

RATE = 44_100


class Plucked:
    """Plucked tones that begin at given times: decaying partials, an attack of a millisecond."""

    rate, channels = RATE, 2

    def __init__(self, onsets, decay=8.0):
        self.frames = int((onsets[-1] + 2) * RATE)
        seconds = np.arange(self.frames) / RATE
        sound = np.zeros(self.frames)
        pitches = np.random.default_rng(3).integers(0, 24, len(onsets))
        for onset, pitch in zip(onsets, pitches, strict=True):
            since = seconds[(first := int(np.ceil(onset * RATE))) :] - onset
            tone = sum(np.sin(2 * np.pi * 220 * 2 ** (pitch / 12) * h * since) / h for h in (1, 2, 3, 4))
            sound[first:] += 0.2 * np.exp(-since * decay) * np.minimum(1, since / 0.001) * tone
        self.whole = np.stack([sound, 0.5 * sound], axis=1).astype(np.float32)

    def read(self, first, last):
        padded = np.zeros((last - first, 2), np.float32)
        begin, end = max(first, 0), min(last, self.frames)
        if end > begin:
            padded[begin - first : end - first] = self.whole[begin:end]
        return padded


def attack(sound, near):
    """Second at which the level first rises to a third of the attack's own, beyond what was sounding."""
    begin = max(int((near - 0.05) * RATE), 0)
    part = sound[begin : begin + RATE // 10]
    level = np.sqrt(np.convolve(part**2, np.ones(22) / 22, "same"))
    return (begin + int(np.argmax(level > max(1.5 * level[: RATE // 50].max(), 0.3 * level.max())))) / RATE


@pytest.mark.parametrize(("knots", "spread"), [("bars", 0.1), ("beats", 0.1), ("beats", 0.03)])
def test_attacks_are_within_two_milliseconds_of_the_steady_grid(knots, spread):
    grid = grid_of(Metre.steady(FOUR), rubato(32, spread=spread, seed=5), start=1.3)
    fit = fit_bars(grid) if knots == "bars" else fit_beats(grid, "all")
    session = place(grid, fit)
    onsets = grid.bar_times if knots == "bars" else grid.beat_times
    played = Plucked(onsets)
    tempo = mean_tempo(session)
    assert tempo == pytest.approx(60 * 32 / (grid.bar_times[-1] - grid.bar_times[0]), abs=0.5)
    steady = np.concatenate(list(steady_blocks(InSession(played, session), tempo)))
    wanted = steady_seconds(session, tempo, onsets + session.offset)
    steps = np.diff(wanted)
    np.testing.assert_allclose(steps, (4 if knots == "bars" else 1) * 60 / tempo, atol=1e-9)
    # Where an attack is found in the take itself is what the finder is off by.
    off = [
        (attack(steady[:, 0], want) - want) - (attack(played.whole[:, 0], onset) - onset)
        for want, onset in zip(wanted[:-1], onsets[:-1], strict=True)
    ]
    assert np.abs(off).max() < 0.002
    length = steady_seconds(session, tempo, np.array([session.offset + played.frames / RATE]))[0]
    assert abs(len(steady) / RATE - length) < 2 / RATE


def test_seams_have_no_step_and_no_hole():
    grid = grid_of(Metre.steady(FOUR), rubato(48, spread=0.08, seed=9), start=0.8)
    session = place(grid, fit_bars(grid))
    sound = Plucked(np.array([0.0]))
    sound.frames = int((grid.bar_times[-1] + 2) * RATE)
    seconds = np.arange(sound.frames) / RATE
    # A held chord: at a seam there is nothing to hide behind.
    held = sum(0.1 * np.sin(2 * np.pi * pitch * seconds) for pitch in (131, 196, 311, 440))
    sound.whole = np.stack([held, held], axis=1).astype(np.float32)
    tempo = mean_tempo(session)
    steady = np.concatenate(list(steady_blocks(InSession(sound, session), tempo)))[:, 0]
    inside = steady[RATE // 2 : -RATE // 2]
    assert np.abs(np.diff(inside)).max() < 1.5 * np.abs(np.diff(held)).max()
    # Levels of 50 ms at the seams, against those half a bar away from any.
    lines = steady_seconds(session, tempo, session.bar_times[1:-1])

    def level(at):
        return 10 * np.log10(np.mean(steady[int((at - 0.05) * RATE) : int(at * RATE)] ** 2))

    away = np.array([level(line - 0.5) for line in lines])
    assert np.abs(np.array([level(line) for line in lines]) - np.median(away)).max() < 3.0


def test_a_take_at_its_own_tempo_is_left_as_it_is():
    grid = grid_of(Metre.steady(FOUR), [0.5] * 16, start=0.5)
    session = place(grid, fit_bars(grid), lead_in="none")
    sound = Plucked(grid.beat_times)
    steady = np.concatenate(list(steady_blocks(InSession(sound, session), 120.0)))
    np.testing.assert_allclose(steady, InSession(sound, session).read(0, len(steady)), atol=1e-6)
