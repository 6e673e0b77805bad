"""The lessons say what the truth says, and tuning makes a network that judges them better."""

from __future__ import annotations

from importlib import import_module
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from core.metre import Metre, TimeSignature
from core.onsets import Onsets
from core.onsets_midi import midi_onsets
from core.take import MidiTake, Notes
from core.weights import networks_in
from tests.bench.corpus import Performance
from tests.bench.held_out import HERE
from tests.bench.lessons import BAR, BEAT, NONE, UNIT, Lesson


def lesson_of(times: np.ndarray, beats: np.ndarray) -> Lesson:
    """A take of single notes whose every third beat is a bar line."""
    bars = beats[::3]
    performance = Performance(
        name="waltz",
        folder=Path("."),
        bars=bars,
        beats=beats[: 3 * (len(bars) - 1) + 1],
        metre=Metre(((1, TimeSignature.parse("3/4")),)),
        unsettled=0.0,
        bar_to_bar_change=0.0,
    )
    return Lesson.of(performance, onsets_at(times))


def onsets_at(times: np.ndarray) -> Onsets:
    n = len(times)
    notes = Notes(
        start=times,
        end=times + 0.2,
        pitch=np.resize([48, 64, 67], n),
        velocity=np.resize([80, 60, 60], n),
        channel=np.zeros(n, int),
    )
    return midi_onsets(MidiTake(path=Path("waltz.mid"), duration=float(times[-1]) + 1, notes=notes, messages=()))


@pytest.fixture
def waltz() -> Lesson:
    beats = 1.0 + np.arange(40) * 1.0
    halves = beats[:-1] + 0.5
    stray = beats[:-1] + 0.2
    return lesson_of(np.sort(np.concatenate([beats, halves, stray])), beats)


def test_each_onset_is_what_the_truth_says(waltz):
    # A beat of one second has two units: the nearest to half a second (Fraisse 1982, from memory).
    assert waltz.kind[:9].tolist() == [BAR, NONE, UNIT, BEAT, NONE, UNIT, BEAT, NONE, UNIT]
    assert waltz.known[-1] == 1 or waltz.onsets.time[-1] > 40
    assert np.allclose(waltz.beat, 1.0)


def test_supposed_lengths_stay_near_the_truth_and_nothing_says_nothing(waltz):
    random = np.random.default_rng(1)
    assert not waltz.supposing("nothing", random).any()
    for what in ("one length", "a length that follows"):
        beat = np.exp(waltz.supposing(what, random)[:, 2] - 0.7)
        assert np.all(np.abs(np.log(beat)) < 0.4)
    constant = waltz.supposing("one length", random)[:, 2]
    assert all(a == b for a, b in pairwise(constant))


def test_tuning_teaches_and_the_weights_survive_half_precision(waltz):
    torch = pytest.importorskip("torch", reason="needs PyTorch: install the extra 'training'")
    fit_network = import_module("tests.bench.fit_network")
    with np.load(HERE / "untuned.npz") as arrays:
        start = networks_in(dict(arrays))[0]
    learner = fit_network.tune(start, [waltz], steps=8)
    tuned = fit_network.Network.of(learner.arrays(""))
    features = np.concatenate([waltz.described, waltz.supposing("one length", np.random.default_rng(0))], axis=1)
    rows = np.arange(len(features))
    assert tuned(features)[rows, waltz.kind].mean() > start(features)[rows, waltz.kind].mean()
    scaled = torch.from_numpy(((features - tuned.mean) / tuned.scale).T[None].astype(np.float32))
    with torch.no_grad():
        scores = learner(scaled)[0].log_softmax(0).numpy().T
    # PyTorch is the reference for what numpy computes at run time; half precision costs a little.
    assert np.abs(scores - tuned(features)).max() < 0.05
