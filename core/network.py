"""A small dilated convolutional network over onsets, run with numpy alone.

It reads the features of an onset and of its neighbours, up to some 250 onsets to either side, and says how
likely the onset is a unit, a beat or a bar line. Method: Bai, Kolter & Koltun, "An Empirical Evaluation of
Generic Convolutional and Recurrent Networks for Sequence Modeling", 2018, without the causality.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats32 = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Layer:
    """One residual layer: a dilated convolution, then a mixing of its channels."""

    kernel: Floats32
    """Shape (width, channels in, channels out)."""
    kernel_bias: Floats32
    mix: Floats32
    mix_bias: Floats32
    dilation: int


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """The weights of the network, as trained."""

    mean: Floats32
    scale: Floats32
    entry: Floats32
    entry_bias: Floats32
    layers: tuple[Layer, ...]
    out: Floats32
    out_bias: Floats32

    @classmethod
    def of(cls, arrays: Mapping[str, NDArray[np.float32]], prefix: str = "") -> Network:
        """Take the weights out of named arrays, as the training script names them."""

        def get(name: str) -> Floats32:
            return np.asarray(arrays[prefix + name], dtype=np.float32)

        dilations = np.asarray(arrays[prefix + "dilations"]).tolist()
        layers = tuple(
            Layer(get(f"kernel{i}"), get(f"kernel_bias{i}"), get(f"mix{i}"), get(f"mix_bias{i}"), dilation)
            for i, dilation in enumerate(dilations)
        )
        return cls(
            mean=get("mean"),
            scale=get("scale"),
            entry=get("entry"),
            entry_bias=get("entry_bias"),
            layers=layers,
            out=get("out"),
            out_bias=get("out_bias"),
        )

    def hidden(self, features: NDArray[np.float64]) -> Floats32:
        """What the network makes of each onset before judging it, shape (n, channels)."""
        x: Floats32 = (features.astype(np.float32) - self.mean) / self.scale
        x = _elu(np.asarray(x @ self.entry + self.entry_bias, dtype=np.float32))
        for layer in self.layers:
            x = np.asarray(x + _elu(_convolve(x, layer)) @ layer.mix + layer.mix_bias, dtype=np.float32)
        return _elu(x)

    def __call__(self, features: NDArray[np.float64]) -> Floats32:
        """Log probabilities of none, unit, beat and bar line, shape (n, 4)."""
        return self.judged(self.hidden(features))

    def judged(self, hidden: Floats32) -> Floats32:
        """Log probabilities of none, unit, beat and bar line, shape (n, 4), from what `hidden` gives."""
        logits = hidden @ self.out + self.out_bias
        logits = logits - logits.max(axis=1, keepdims=True)
        return np.asarray(logits - np.log(np.exp(logits).sum(axis=1, keepdims=True)), dtype=np.float32)


def _convolve(x: Floats32, layer: Layer) -> Floats32:
    width = len(layer.kernel)
    reach = layer.dilation * (width // 2)
    padded = np.pad(x, ((reach, reach), (0, 0)))
    out = np.broadcast_to(layer.kernel_bias, x.shape).copy()
    part = np.empty_like(out)
    for tap in range(width):
        out += np.matmul(padded[tap * layer.dilation : tap * layer.dilation + len(x)], layer.kernel[tap], out=part)
    return out


def _elu(x: Floats32) -> Floats32:
    below = np.minimum(x, 0)
    return np.maximum(x, 0) + np.expm1(below, out=below)
