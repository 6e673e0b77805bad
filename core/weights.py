"""The trained networks that come with the library, loaded once."""

from __future__ import annotations

from functools import lru_cache
from importlib import resources

import numpy as np
from numpy.typing import NDArray

from core.chooser import Chooser
from core.network import Network
from core.onsets import Source


@lru_cache(maxsize=2)
def networks(source: Source) -> tuple[Network, ...]:
    """Networks for onsets of one source; their opinions are averaged."""
    with resources.files("core").joinpath(f"weights_{source}.npz").open("rb") as file:
        arrays = dict(np.load(file))
    return networks_in(arrays)


@lru_cache(maxsize=2)
def chooser(source: Source) -> Chooser:
    """What weighs the places of the next bar line, for onsets of one source."""
    with resources.files("core").joinpath(f"chooser_{source}.npz").open("rb") as file:
        return Chooser.of(dict(np.load(file)))


@lru_cache(maxsize=2)
def middle_chooser(source: Source) -> Chooser:
    """What weighs the places of a bar line between two that were tapped, for onsets of one source."""
    with resources.files("core").joinpath(f"middle_{source}.npz").open("rb") as file:
        return Chooser.of(dict(np.load(file)))


def networks_in(arrays: dict[str, NDArray[np.float32]]) -> tuple[Network, ...]:
    """Networks out of the named arrays a training run stores."""
    return tuple(Network.of(arrays, f"{i}.") for i in range(int(arrays["networks"])))
