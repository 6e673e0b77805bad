"""What the networks make of a take's onsets under a supposed bar length."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from core.checks import Floats
from core.features import SUPPOSED, heard, supposed
from core.metre import TimeSignature
from core.network import Network
from core.onsets import Onsets


class Evidence:
    """Evidence for units, beats and bar lines at each onset.

    Parameters
    ----------
    onsets : Onsets
        What was heard.
    networks : sequence of Network
        Asked in turn; their log probabilities are averaged.
    """

    def __init__(self, onsets: Onsets, networks: Sequence[Network]) -> None:
        self._onsets, self._networks = onsets, networks
        self._heard = heard(onsets)

    def supposing(self, signature: TimeSignature, quarter: float) -> Floats:
        """Evidence when a quarter is supposed to last about so many seconds.

        Returns
        -------
        (n, 3) float
            Log likelihood of each onset as a unit, beat and bar line, against its being none.
        """
        bar = np.full(len(self._onsets), quarter * float(signature.quarters))
        return self._ask(supposed(self._onsets, bar, signature))

    def blind(self) -> Floats:
        """Evidence when nothing is supposed, as `supposing` gives it."""
        return self._ask(np.zeros((len(self._onsets), SUPPOSED)))

    def _ask(self, extra: Floats) -> Floats:
        if len(self._onsets) == 0:
            return np.zeros((0, 3))
        both = np.concatenate([self._heard, extra], axis=1)
        log_p = np.stack([network(both) for network in self._networks]).mean(axis=0, dtype=np.float64)
        return np.asarray(log_p[:, 1:] - log_p[:, :1])
