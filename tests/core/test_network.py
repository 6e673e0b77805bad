"""The forward pass against plain loops."""

import numpy as np
from scipy.special import log_softmax

from core.network import Network

WIDTH, CHANNELS, FEATURES = 3, 4, 5


def _arrays(rng):
    shapes = {"mean": FEATURES, "entry": (FEATURES, CHANNELS), "entry_bias": CHANNELS, "out": (CHANNELS, 4)}
    shapes |= {"out_bias": 4}
    for i in range(2):
        shapes |= {f"kernel{i}": (WIDTH, CHANNELS, CHANNELS), f"kernel_bias{i}": CHANNELS}
        shapes |= {f"mix{i}": (CHANNELS, CHANNELS), f"mix_bias{i}": CHANNELS}
    arrays = {name: rng.normal(size=shape) for name, shape in shapes.items()}
    return arrays | {"scale": rng.uniform(0.5, 2, FEATURES), "dilations": np.array([1, 3])}


def _elu(x):
    # Clevert, Unterthiner & Hochreiter 2015 (from memory).
    return np.where(x > 0, x, np.exp(x) - 1)


def test_forward_pass():
    rng = np.random.default_rng(1)
    arrays = _arrays(rng)
    features = rng.normal(size=(11, FEATURES))
    x = _elu((features - arrays["mean"]) / arrays["scale"] @ arrays["entry"] + arrays["entry_bias"])
    for i, dilation in enumerate(arrays["dilations"]):
        y = np.tile(arrays[f"kernel_bias{i}"], (len(x), 1))
        for n in range(len(x)):
            for tap in range(WIDTH):
                other = n + (tap - WIDTH // 2) * dilation
                if 0 <= other < len(x):
                    y[n] += x[other] @ arrays[f"kernel{i}"][tap]
        x = x + _elu(y) @ arrays[f"mix{i}"] + arrays[f"mix_bias{i}"]
    wanted = log_softmax(_elu(x) @ arrays["out"] + arrays["out_bias"], axis=1)
    np.testing.assert_allclose(Network.of(arrays)(features), wanted, rtol=1e-3, atol=1e-3)
