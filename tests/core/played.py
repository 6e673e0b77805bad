"""Plain takes as onsets, for the tests: only their times say anything, unless low notes mark the bar lines."""

from __future__ import annotations

import numpy as np

from core.onsets import Onsets


def onsets_at(times: np.ndarray, *, accents: slice | None = None) -> Onsets:
    """Onsets that all look alike but for the accented ones, which are louder, lower and longer."""
    n = len(times)
    same = np.zeros(n)
    loud = same.copy()
    if accents is not None:
        loud[accents] = 1.0
    return Onsets(
        source="midi",
        duration=float(times[-1]) + 1.0,
        time=times,
        strength=12 * loud,
        count=same + 1 + 2 * loud,
        low=same + 60 - 24 * loud,
        high=same + 60,
        length=same + 0.2 + loud,
        chroma=np.full((n, 12), 1 / 12),
        pedal_lift=same + np.inf,
        pedal_down=same + np.inf,
    )


def arched(phrases: int, pulses: int, seconds: float) -> np.ndarray:
    """Times of pulses played in phrase arches, turning half way (Friberg, Bresin, Sundberg 2006, k = 1)."""
    done = np.arange(pulses) / (pulses - 1)
    rise, fall = np.minimum(2 * done, 1), np.maximum(2 * done - 1, 0)
    durations = np.tile(seconds * (1 + 0.1 * (1 - rise) ** 2 + 0.2 * fall**2), phrases)
    return np.concatenate([[0.0], np.cumsum(durations)])
