"""Take time and recording time, and the only way between them.

The recording never changes. The take is what is heard of it: passages of the recording one after the other, so
that cutting, shortening and reordering are other passages over the same recording.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import inf

import numpy as np
from numpy.typing import ArrayLike

from core.checks import Floats
from core.errors import InputError


@dataclass(frozen=True, slots=True, order=True)
class Passage:
    """A stretch of the recording, in seconds of recording time; its end is no longer heard.

    Raises
    ------
    InputError
        If it does not end after it starts, or starts before the recording.
    """

    start: float
    end: float

    def __post_init__(self) -> None:
        if not 0 <= self.start < self.end < inf:
            raise InputError(
                f"A passage from {self.start:.3f} s to {self.end:.3f} s cannot be heard: "
                "it must start at 0 s or later and end after its start."
            )

    @property
    def duration(self) -> float:
        """Seconds it lasts."""
        return self.end - self.start


@dataclass(frozen=True, slots=True)
class Passages:
    """What is heard of a recording, in the order in which it is heard.

    Parameters
    ----------
    parts : tuple of Passage
        At least one; no moment of the recording is heard twice, so that each has one place in the take at most.

    Raises
    ------
    InputError
        If there is no passage, or two share a stretch of the recording.
    """

    parts: tuple[Passage, ...]

    def __post_init__(self) -> None:
        if not self.parts:
            raise InputError("A take needs at least one passage of its recording.")
        in_order = sorted(self.parts)
        for before, after in pairwise(in_order):
            if after.start < before.end:
                raise InputError(
                    f"The passage from {after.start:.3f} s starts before the one from {before.start:.3f} s "
                    f"ends ({before.end:.3f} s): no part of a recording can be heard twice."
                )

    @classmethod
    def whole(cls, duration: float) -> Passages:
        """All of a recording as it is, where take time is recording time."""
        return cls((Passage(0.0, duration),))

    @property
    def duration(self) -> float:
        """Seconds the take lasts."""
        return float(self.joints[-1])

    def to_recording(self, take_s: ArrayLike) -> Floats:
        """Seconds of recording time heard at seconds of take time.

        At a joint it is the passage that starts. Before the take and after it, the first and the last passage
        are thought to go on.

        Parameters
        ----------
        take_s : float or (...,) array

        Returns
        -------
        (...,) float
        """
        take = np.asarray(take_s, dtype=np.float64)
        joints = self.joints
        part = np.clip(np.searchsorted(joints, take, side="right") - 1, 0, len(self.parts) - 1)
        starts = np.array([passage.start for passage in self.parts])
        return np.asarray(starts[part] + (take - joints[part]))

    def to_take(self, recording_s: ArrayLike) -> Floats:
        """Seconds of take time at which seconds of recording time are heard.

        Parameters
        ----------
        recording_s : float or (...,) array

        Returns
        -------
        (...,) float
            NaN where left out. The end of the last passage is the end of the take, unless another starts there.
        """
        recording = np.asarray(recording_s, dtype=np.float64)
        take = np.where(recording == self.parts[-1].end, self.duration, np.nan)
        for passage, joint in zip(self.parts, self.joints, strict=False):
            inside = (recording >= passage.start) & (recording < passage.end)
            take = np.where(inside, joint + (recording - passage.start), take)
        return np.asarray(take)

    @property
    def joints(self) -> Floats:
        """Take time at which each passage starts, and the end; one more than there are passages."""
        return np.concatenate(([0.0], np.cumsum([passage.duration for passage in self.parts])))
