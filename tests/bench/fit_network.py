"""Tune the tracker's network on a corpus; writes ``core/weights_SOURCE.npz``.

    python -m tests.bench.fit_network CORPUS [--audio DIR [--cache DIR]] [--steps N] [--out DIR]

Starts from ``untuned.npz`` beside this file, a network taught with synthetic performances alone. Besides the
network that is shipped, six more are tuned for the benches, each without the takes of one fold
(`tests.bench.held_out`); how well these judge the takes left out is printed. Needs PyTorch (extra ``training``).
Method: AdamW (Loshchilov and Hutter 2019), one cycle of the learning rate (Smith and Topin 2018), cross entropy
with label smoothing (Szegedy et al. 2016), dropout of whole channels.
Exit status: 0 tuned, 2 something given cannot be used.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import torch
from numpy.typing import NDArray
from torch import nn

from core.errors import BarwrightError
from core.features import HEARD
from core.network import Network
from core.onsets import Source
from core.weights import networks_in
from tests.bench.corpus import default_corpus, read_corpus
from tests.bench.held_out import HERE, folds
from tests.bench.lessons import BAR, BEAT, SHARES, SUPPOSINGS, Floats32, Lesson
from tests.bench.listen import listen

STEPS = {"midi": 400, "audio": 500}
BATCH, REACH = 12, 384
"""Passages in a step, and onsets in a passage."""

MOST_OF_A_TAKE = 1500
"""Takes with more onsets than this are not heard more often."""

VARIANTS = 6
"""Supposed lengths kept of a take for each way of supposing."""

LEARNING_RATE, DECAY, SMOOTHING = 1e-3, 0.03, 0.02
DROPPED_INPUT, DROPPED, NOISE = 0.1, 0.35, 0.1


class Learner(nn.Module):
    """`core.network.Network` as PyTorch can tune it."""

    def __init__(self, start: Network) -> None:
        super().__init__()
        self.mean, self.scale = start.mean, start.scale
        self.dilations = [layer.dilation for layer in start.layers]
        self.entry = _convolution(start.entry[None], start.entry_bias)
        self.kernels = nn.ModuleList(
            _convolution(layer.kernel, layer.kernel_bias, layer.dilation) for layer in start.layers
        )
        self.mixes = nn.ModuleList(_convolution(layer.mix[None], layer.mix_bias) for layer in start.layers)
        self.out = _convolution(start.out[None], start.out_bias)
        self.drop_input, self.drop = nn.Dropout(DROPPED_INPUT), nn.Dropout1d(DROPPED)

    def forward(self, features: torch.Tensor) -> torch.Tensor:
        """Scores of what each onset is, (batch, 4, n), from standardised features (batch, count, n)."""
        x = nn.functional.elu(self.entry(self.drop_input(features)))
        for kernel, mix in zip(self.kernels, self.mixes, strict=True):
            x = x + mix(self.drop(nn.functional.elu(kernel(x))))
        return self.out(nn.functional.elu(x))

    def arrays(self, prefix: str) -> dict[str, NDArray[np.float16]]:
        """The weights as `Network.of` reads them, in half precision."""
        named = {"mean": self.mean, "scale": self.scale}
        named["entry"], named["entry_bias"] = _weights(self.entry, flat=True)
        named["out"], named["out_bias"] = _weights(self.out, flat=True)
        for i, (kernel, mix) in enumerate(zip(self.kernels, self.mixes, strict=True)):
            named[f"kernel{i}"], named[f"kernel_bias{i}"] = _weights(kernel, flat=False)
            named[f"mix{i}"], named[f"mix_bias{i}"] = _weights(mix, flat=True)
        arrays = {prefix + name: value.astype(np.float16) for name, value in named.items()}
        arrays[f"{prefix}dilations"] = np.array(self.dilations)
        return arrays


def _convolution(kernel: Floats32, bias: Floats32, dilation: int = 1) -> nn.Conv1d:
    width, channels_in, channels_out = kernel.shape
    layer = nn.Conv1d(channels_in, channels_out, width, padding=dilation * (width // 2), dilation=dilation)
    with torch.no_grad():
        layer.weight.copy_(torch.from_numpy(np.ascontiguousarray(kernel.transpose(2, 1, 0))))
        layer.bias.copy_(torch.from_numpy(np.array(bias)))
    return layer


def _weights(layer: nn.Conv1d, *, flat: bool) -> tuple[Floats32, Floats32]:
    kernel = layer.weight.detach().numpy().transpose(2, 1, 0)
    return (kernel[0] if flat else kernel), layer.bias.detach().numpy()


def tune(start: Network, lessons: Sequence[Lesson], *, steps: int, seed: int = 0) -> Learner:
    """Teach a network with some takes."""
    torch.manual_seed(seed)
    random = np.random.default_rng(seed)
    learner = Learner(start)
    optimiser = torch.optim.AdamW(learner.parameters(), LEARNING_RATE, weight_decay=DECAY)
    schedule = torch.optim.lr_scheduler.OneCycleLR(optimiser, LEARNING_RATE, total_steps=steps)
    shares = np.array([min(len(lesson.onsets), MOST_OF_A_TAKE) for lesson in lessons], float)
    kept: dict[tuple[str, str], list[Floats32]] = {}
    learner.train()
    for _ in range(steps):
        features, kind, known = _batch(learner, lessons, shares / shares.sum(), kept, random)
        # Unlike what is supposed, what is heard differs from room to room and from player to player.
        features[:, :HEARD] += NOISE * (torch.randn(BATCH, HEARD, REACH) + torch.randn(BATCH, HEARD, 1))
        loss = nn.functional.cross_entropy(learner(features), kind, reduction="none", label_smoothing=SMOOTHING)
        optimiser.zero_grad()
        ((loss * known).sum() / known.sum()).backward()
        nn.utils.clip_grad_norm_(learner.parameters(), 1.0)
        optimiser.step()
        schedule.step()
    return learner.eval()


def _batch(
    learner: Learner,
    lessons: Sequence[Lesson],
    shares: NDArray[np.float64],
    kept: dict[tuple[str, str], list[Floats32]],
    random: np.random.Generator,
) -> tuple[torch.Tensor, torch.Tensor, torch.Tensor]:
    features = np.zeros((BATCH, REACH, len(learner.mean)), np.float32)
    kind = np.zeros((BATCH, REACH), np.int64)
    known = np.zeros((BATCH, REACH), np.float32)
    for row in range(BATCH):
        lesson = lessons[random.choice(len(lessons), p=shares)]
        what = SUPPOSINGS[random.choice(len(SUPPOSINGS), p=SHARES)]
        variants = kept.setdefault((lesson.name, what), [])
        if len(variants) < VARIANTS:
            variants.append(lesson.supposing(what, random))
            chosen = variants[-1]
        else:
            chosen = variants[random.integers(len(variants))]
        begin = int(random.integers(max(1, len(lesson.onsets) - REACH + 1)))
        part = slice(begin, begin + REACH)
        both = np.concatenate([lesson.described[part], chosen[part]], axis=1)
        features[row, : len(both)] = (both - learner.mean) / learner.scale
        kind[row, : len(both)], known[row, : len(both)] = lesson.kind[part], lesson.known[part]
    return torch.from_numpy(features.transpose(0, 2, 1).copy()), torch.from_numpy(kind), torch.from_numpy(known)


def judged(network: Network, lesson: Lesson) -> tuple[float, float]:
    """F of the onsets taken for beats, and for bar lines, where one length is supposed."""
    features = np.concatenate([lesson.described, lesson.supposing("one length", np.random.default_rng(0))], axis=1)
    chance = np.exp(network(features))[lesson.known > 0]
    kind = lesson.kind[lesson.known > 0]
    beat = _f(chance[:, BEAT] + chance[:, BAR] > 0.4, kind >= BEAT)
    return beat, _f(chance[:, BAR] > 0.35, kind == BAR)


def _f(said: NDArray[np.bool_], true: NDArray[np.bool_]) -> float:
    return 2 * int((said & true).sum()) / max(1, int(said.sum() + true.sum()))


def main(argv: list[str] | None = None) -> int:
    """Tune, write and print how the ones for the benches do."""
    parser = argparse.ArgumentParser(prog="fit_network", description="Tune the tracker's network.")
    parser.add_argument("corpus", type=Path, nargs="?", default=default_corpus(), help="folder of performances")
    parser.add_argument("--audio", type=Path, metavar="DIR", help="use the recordings in DIR")
    parser.add_argument("--cache", type=Path, metavar="DIR", help="keep the onsets of recordings in DIR")
    parser.add_argument("--steps", type=int, metavar="N", help="400 for MIDI, 500 for audio unless said otherwise")
    parser.add_argument("--out", type=Path, metavar="DIR", help="write here, not over the weights in use")
    args = parser.parse_args(argv)
    try:
        performances = [p for p in read_corpus(args.corpus) if p.name in folds()]
        lessons = [Lesson.of(p, listen(p, audio=args.audio, cache=args.cache)) for p in performances]
    except BarwrightError as error:
        print(f"fit_network: {error}", file=sys.stderr)
        return 2
    source: Source = "midi" if args.audio is None else "audio"
    steps = args.steps or STEPS[source]
    with np.load(HERE / "untuned.npz") as arrays:
        start = networks_in(dict(arrays))[0]
    fold_of = [folds()[lesson.name] for lesson in lessons]
    without: dict[str, NDArray[np.generic]] = {"networks": np.array(max(fold_of) + 1)}
    figures: list[tuple[float, float]] = []
    for fold in range(max(fold_of) + 1):
        dealt = list(zip(lessons, fold_of, strict=True))
        learner = tune(start, [lesson for lesson, of in dealt if of != fold], steps=steps)
        without |= learner.arrays(f"{fold}.")
        tuned = Network.of(learner.arrays(""))
        figures += [judged(tuned, lesson) for lesson, of in dealt if of == fold]
        print(f"fold {fold}: {np.mean(figures, axis=0).round(3)} so far", file=sys.stderr, flush=True)
    beat, bar = np.mean(figures, axis=0)
    before = np.mean([judged(start, lesson) for lesson in lessons], axis=0)
    print(f"F on takes left out: beats {beat:.3f} ({before[0]:.3f}), bar lines {bar:.3f} ({before[1]:.3f})")
    shipped = {"networks": np.array(1), **tune(start, lessons, steps=steps).arrays("0.")}
    np.savez_compressed((args.out or HERE) / f"held_out_{source}.npz", **without)
    np.savez_compressed((args.out or Path(__file__).parents[2] / "core") / f"weights_{source}.npz", **shipped)
    return 0


if __name__ == "__main__":
    sys.exit(main())
