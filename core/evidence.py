"""What the networks make of a take's onsets under a supposed bar length."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from core.checks import Floats
from core.features import SUPPOSED, heard, supposed
from core.metre import TimeSignature
from core.network import Network
from core.onsets import Onsets

ASPECTS = 24
"""Directions kept of what the networks make of the onsets."""

LEAST_SPREAD = 0.02
"""A direction in which a take hardly varies is not stretched beyond this share of the widest one's."""


@dataclass(frozen=True, slots=True, eq=False)
class Heard:
    """What the networks make of each onset.

    Parameters
    ----------
    evidence : (n, 3) float
        Log likelihood of each onset as a unit, beat and bar line, against its being none.
    inside : (n, at most ASPECTS) float
        What the evidence is judged from, along the directions in which this take varies most, each with a
        spread of about 1: onsets that play the same part lie near each other.
    """

    evidence: Floats
    inside: Floats


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

    def supposing(self, signature: TimeSignature, quarter: float | Floats) -> Heard:
        """Evidence when a quarter is supposed to last about so many seconds, everywhere or around each onset."""
        bar = np.full(len(self._onsets), quarter) * float(signature.quarters)
        return self._ask(supposed(self._onsets, bar, signature))

    def blind(self) -> Heard:
        """Evidence when nothing is supposed."""
        return self._ask(np.zeros((len(self._onsets), SUPPOSED)))

    def _ask(self, extra: Floats) -> Heard:
        if len(self._onsets) == 0:
            return Heard(np.zeros((0, 3)), np.zeros((0, ASPECTS)))
        both = np.concatenate([self._heard, extra], axis=1)
        hidden = [network.hidden(both) for network in self._networks]
        judged = [network.judged(inside) for network, inside in zip(self._networks, hidden, strict=True)]
        log_p = np.stack(judged).mean(axis=0, dtype=np.float64)
        return Heard(np.asarray(log_p[:, 1:] - log_p[:, :1]), _aspects(np.concatenate(hidden, axis=1)))


def _aspects(hidden: Floats) -> Floats:
    about = hidden.astype(np.float64) - hidden.mean(axis=0, dtype=np.float64)
    spread, directions = np.linalg.eigh(about.T @ about / len(about))
    widest = np.sqrt(spread[-ASPECTS:] + LEAST_SPREAD * spread[-1] + 1e-12)
    return np.asarray(about @ (directions[:, -ASPECTS:] / widest))
