import numpy as np
import pytest
from scipy.optimize import approx_fprime

from core.onset_pitches import HIGHEST, LOWEST, PLACE, judged
from core.spectrum import RATE
from tests.bench.fit_onset_pitches import _slopes, examples_of
from tests.bench.sounds import Sound


def test_slopes_are_those_of_the_loss():
    # Finite differences of a general library, scipy.optimize.approx_fprime, are the reference.
    random = np.random.default_rng(0)
    seen = random.standard_normal((3, len(PLACE), 5))
    struck = (random.random((3, len(PLACE))) < 0.1).astype(float)
    counts = (random.random((3, len(PLACE))) < 0.9).astype(float)
    shapes = {"near": (5, 4), "bias": (4,), "place": (2, 4), "out": (4,), "out_bias": ()}
    sizes = [int(np.prod(shape)) for shape in shapes.values()]

    def network(flat):
        parts = np.split(flat, np.cumsum(sizes)[:-1])
        return {name: part.reshape(shape) for (name, shape), part in zip(shapes.items(), parts, strict=True)}

    at = random.standard_normal(sum(sizes))
    _, slopes = _slopes(network(at), seen, struck, counts)
    expected = approx_fprime(at, lambda flat: _slopes(network(flat), seen, struck, counts)[0], 1e-7)
    # The pull of the weights towards zero is no part of the loss and as small as 1e-5 of a weight.
    assert np.concatenate([slopes[name].ravel() for name in shapes]) == pytest.approx(expected, abs=2e-3)


def test_examples_say_what_was_struck_and_leave_out_what_is_unsure():
    samples = np.zeros(3 * RATE, np.float32)
    for start in (1.0, 2.0):
        time = np.arange(len(samples) - int(start * RATE)) / RATE
        samples[int(start * RATE) :] += (0.3 * np.sin(2 * np.pi * 220 * time) * np.exp(-5 * time)).astype(
            np.float32
        )
    sound = Sound(samples=samples, start=np.array([1.0, 1.06, 2.0]), pitch=np.array([57, 64, 57]))
    seen, struck, counts = examples_of(sound, np.random.default_rng(0))
    assert struck[:, 57 - LOWEST].tolist() == [1, 1]
    assert struck.sum() == 2
    assert counts[:, 64 - LOWEST].tolist() == [0, 1]
    assert seen.shape[:2] == (2, HIGHEST - LOWEST + 1)


def test_a_network_of_nothing_is_undecided():
    nothing = {"near": np.zeros((5, 4)), "bias": np.zeros(4), "place": np.zeros((2, 4)), "out": np.zeros(4)}
    assert judged(nothing | {"out_bias": np.array(0.0)}, np.ones((2, len(PLACE), 5))) == pytest.approx(0.5)
