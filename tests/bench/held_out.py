"""Weights that have not seen a take, for honest figures on the takes the shipped weights were tuned on.

`held_out_midi.npz` and `held_out_audio.npz` hold six networks each: the takes were dealt into six folds (parts of
one work into the same), and network `i` was tuned without fold `i`. `held_out_chooser_midi.npz` and
`held_out_middle_midi.npz`, and their likes for audio, hold six choosers in the same way.
`folds.json` says which fold a take is in.
"""

from __future__ import annotations

import json
from functools import lru_cache
from pathlib import Path

import numpy as np

from core.chooser import Chooser
from core.network import Network
from core.onsets import Source
from core.weights import chooser, middle_chooser, networks, networks_in

HERE = Path(__file__).parent


@lru_cache(maxsize=1)
def folds() -> dict[str, int]:
    """Fold of each take by name."""
    return dict(json.loads((HERE / "folds.json").read_text(encoding="utf-8")))


@lru_cache(maxsize=2)
def _all(source: Source) -> tuple[Network, ...]:
    with np.load(HERE / f"held_out_{source}.npz") as arrays:
        return networks_in(dict(arrays))


def held_out(name: str, source: Source) -> tuple[Network, ...]:
    """Networks that were not tuned on a take: those of its fold, or the shipped ones where it is in none."""
    fold = folds().get(name)
    return networks(source) if fold is None else (_all(source)[fold],)


@lru_cache(maxsize=16)
def held_out_chooser(name: str, source: Source) -> Chooser:
    """Chooser that was not fitted on a take: that of its fold, or the shipped one where it is in none."""
    fold = folds().get(name)
    if fold is None:
        return chooser(source)
    with np.load(HERE / f"held_out_chooser_{source}.npz") as arrays:
        return Chooser.of(dict(arrays), f"{fold}.")


@lru_cache(maxsize=16)
def held_out_middle(name: str, source: Source) -> Chooser:
    """The same for what weighs the places between two tapped lines."""
    fold = folds().get(name)
    if fold is None:
        return middle_chooser(source)
    with np.load(HERE / f"held_out_middle_{source}.npz") as arrays:
        return Chooser.of(dict(arrays), f"{fold}.")
