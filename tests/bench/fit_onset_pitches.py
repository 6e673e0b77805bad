"""Fit the network that tells which notes an onset struck; writes ``core/onset_pitches.npz``.

    python -m tests.bench.fit_onset_pitches CORPUS AUDIO_DIR [--out FILE.npz]

Every sixth performance is left out, and the notes found in it are what is printed. The string of
`examples.synth` is not among the instruments, so that it can judge too.
Exit status: 0 fitted, 2 something given cannot be used.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from core.errors import BarwrightError
from core.onset_pitches import HIGHEST, LOWEST, PLACE, judged, surroundings
from core.onset_times import attacks, novelty, peaks
from core.onsets_audio import SURE, loudness
from core.spectrum import RATE, Float32
from tests.bench.corpus import read_corpus
from tests.bench.sounds import Sound, sounds

HIDDEN, ROUNDS, BATCH = 32, 14, 24
RATE_OF_LEARNING, DECAY = 3e-3, 1e-5
PER_SOUND = 80
STRUCK, UNSURE = 0.04, 0.08
"""A note that starts this near to an onset belongs to it, one that starts between the two may or may not."""

Network = dict[str, Float32]
Examples = tuple[NDArray[np.float16], Float32, Float32]
"""Surroundings of each pitch at each onset, whether it was struck, and whether that counts (0 or 1)."""


def examples_of(sound: Sound, random: np.random.Generator) -> Examples:
    """Examples from some of the onsets that are heard in a sound, those that are none included."""
    level = loudness(np.var(sound.samples[: len(sound.samples) // 1102 * 1102].reshape(-1, 1102), axis=1))
    frames, _ = peaks(novelty(sound.samples, level))
    times = attacks(sound.samples, frames, level)
    times = times[(times > 0.2) & (times < len(sound.samples) / RATE - 0.4)]
    times = np.sort(random.choice(times, min(PER_SOUND, len(times)), replace=False))
    struck = np.zeros((len(times), HIGHEST - LOWEST + 1), np.float32)
    counts = np.ones_like(struck)
    for i, time in enumerate(times):
        away = np.abs(sound.start - time)
        counts[i, sound.pitch[(away > STRUCK) & (away < UNSURE)] - LOWEST] = 0
        struck[i, sound.pitch[away <= STRUCK] - LOWEST] = 1
    return surroundings(sound.samples, times).astype(np.float16), struck, np.maximum(counts, struck)


def fit(examples: Examples, *, seed: int = 0) -> Network:
    """Adam (Kingma and Ba 2015) on the cross-entropy, the step falling to nothing."""
    seen, struck, counts = examples
    random = np.random.default_rng(seed)
    network: Network = {
        "near": 0.05 * random.standard_normal((seen.shape[2], HIDDEN)),
        "bias": np.zeros(HIDDEN),
        "place": 0.1 * random.standard_normal((PLACE.shape[1], HIDDEN)),
        "out": 0.2 * random.standard_normal(HIDDEN),
        "out_bias": np.array(-2.0),
    }
    network = {name: value.astype(np.float32) for name, value in network.items()}
    mean = {name: np.zeros_like(value) for name, value in network.items()}
    square = {name: np.zeros_like(value) for name, value in network.items()}
    steps, step = ROUNDS * (len(seen) // BATCH), 0
    for turn in range(ROUNDS):
        total = 0.0
        order = random.permutation(len(seen))
        for first in range(0, len(order) - BATCH + 1, BATCH):
            batch = order[first : first + BATCH]
            loss, slopes = _slopes(network, seen[batch].astype(np.float32), struck[batch], counts[batch])
            total += loss
            step += 1
            rate = RATE_OF_LEARNING * min(1, step / 100) * (1 - step / (steps + 1))
            for name, slope in slopes.items():
                mean[name] = 0.9 * mean[name] + 0.1 * slope
                square[name] = 0.999 * square[name] + 0.001 * slope**2
                change = mean[name] / (1 - 0.9**step) / (np.sqrt(square[name] / (1 - 0.999**step)) + 1e-7)
                network[name] = (network[name] - rate * change).astype(np.float32)
        print(f"round {turn + 1} of {ROUNDS}: {total / max(len(order) // BATCH, 1):.3f} nats an onset", flush=True)
    return network


def _slopes(network: Network, seen: Float32, struck: Float32, counts: Float32) -> tuple[float, Network]:
    hidden = np.maximum(seen @ network["near"] + PLACE @ network["place"] + network["bias"], 0)
    evidence = hidden @ network["out"] + network["out_bias"]
    loss = float(np.sum(counts * (np.logaddexp(0, evidence) - struck * evidence)) / len(seen))
    slope = counts * (1 / (1 + np.exp(-evidence)) - struck) / len(seen)
    inner = slope[..., None] * network["out"] * (hidden > 0)
    flat = inner.reshape(-1, inner.shape[-1])
    return loss, {
        "near": seen.reshape(-1, seen.shape[-1]).T @ flat + DECAY * network["near"],
        "bias": flat.sum(axis=0),
        "place": PLACE.T @ inner.sum(axis=0),
        "out": hidden.reshape(flat.shape).T @ slope.ravel(),
        "out_bias": slope.sum(),
    }


def report(network: Network, examples: Examples) -> None:
    """Print how many notes are found, and how often the lowest one is exact."""
    seen, struck, counts = examples
    parts = [judged(network, seen[i : i + 128].astype(np.float32)) for i in range(0, len(seen), 128)]
    probability = np.concatenate(parts)
    found = (probability >= SURE) & (counts > 0)
    right = float(np.sum(found * struck))
    precision, recall = right / max(found.sum(), 1), right / struck.sum()
    real = struck.any(axis=1)
    sure = probability >= np.minimum(SURE, probability.max(axis=1, keepdims=True))
    low = np.mean(sure[real].argmax(axis=1) == struck[real].argmax(axis=1))
    print(f"{len(seen)} onsets left out: precision {precision:.3f}, recall {recall:.3f}; lowest exact {low:.3f}")


def main(argv: list[str] | None = None) -> int:
    """Fit, report and write the weights."""
    parser = argparse.ArgumentParser(prog="fit_onset_pitches", description="Fit the hearing of struck notes.")
    parser.add_argument("corpus", type=Path, help="folder of performances")
    parser.add_argument("audio", type=Path, metavar="AUDIO_DIR", help="folder of their recordings")
    parser.add_argument("--out", type=Path, default=Path("core/onset_pitches.npz"), metavar="FILE.npz")
    args = parser.parse_args(argv)
    random = np.random.default_rng(0)
    fitted: list[Examples] = []
    left_out: list[Examples] = []
    try:
        for i, performance in enumerate(read_corpus(args.corpus)):
            kept = left_out if i % 6 == 2 else fitted
            kept += [examples_of(sound, random) for sound in sounds(performance, args.audio, seed=i)]
            print(f"heard {performance.name}", flush=True)
    except BarwrightError as error:
        print(f"fit_onset_pitches: {error}", file=sys.stderr)
        return 2
    network = fit(_joined(fitted))
    report(network, _joined(left_out))
    np.savez(args.out, **network)
    return 0


def _joined(parts: list[Examples]) -> Examples:
    seen, struck, counts = (np.concatenate(column) for column in zip(*parts, strict=True))
    return seen, struck, counts


if __name__ == "__main__":
    sys.exit(main())
