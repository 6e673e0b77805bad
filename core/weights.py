"""The trained networks that come with the library, loaded once."""

from __future__ import annotations

from functools import lru_cache
from importlib import resources

import numpy as np
from numpy.typing import NDArray

from core.network import Network
from core.onsets import Source


@lru_cache(maxsize=2)
def networks(source: Source) -> tuple[Network, ...]:
    """Networks for onsets of one source; their opinions are averaged."""
    with resources.files("core").joinpath(f"weights_{source}.npz").open("rb") as file:
        arrays = dict(np.load(file))
    return networks_in(arrays)


def networks_in(arrays: dict[str, NDArray[np.float32]]) -> tuple[Network, ...]:
    """Networks out of the named arrays a training run stores."""
    return tuple(Network.of(arrays, f"{i}.") for i in range(int(arrays["networks"])))
