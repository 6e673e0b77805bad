"""From the taps of a document to the lines they would place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from core.document import Document, TapPass
from core.errors import InputError
from core.network import Network
from core.onsets import Onsets
from core.tap_bias import Habit
from core.tap_edits import NONE_OPEN, replaceable
from core.tapped import Tapped
from core.taps import Pass, read_taps

SAME = 1e-6
"""A line this many seconds from where it is placed already is not worth placing again."""


def read_document(
    document: Document, onsets: Onsets, *, habit: Habit | None = None, networks: Sequence[Network] | None = None
) -> Tapped:
    """Read the lines that a document's open taps would place.

    Passes over the same stretch that were dealt with before are read with them. Lines that stand where they are
    placed already are left out, and so are beats that cannot be placed: in held bars and in bars with no pulse.

    Parameters
    ----------
    onsets : Onsets
        What was heard in the take.
    habit : Habit, optional
        How the musician was found to tap.
    networks : sequence of Network, optional
        Instead of those that come with the library.

    Raises
    ------
    InputError
        If no taps are open.
    PinError
        If a placed line cannot be counted to from the first tap.
    """
    waiting = [one for one in document.taps if one.open]
    if not waiting:
        raise InputError(NONE_OPEN)
    passes = [one for one in document.taps if one.open or any(_over(one, other) for other in waiting)]
    again = replaceable(document)
    fixed = [pin for pin in document.pins if pin.time not in again]
    read = read_taps(
        [_pass(one) for one in passes], onsets, document.metre, pins=fixed, habit=habit, networks=networks
    )
    standing = {(pin.bar, pin.beat): pin.time for pin in document.pins}
    evenly = {*document.holds, *document.free}
    new = [
        line
        for line in read.lines
        if abs(line.time - standing.get((line.bar, line.beat), -1.0)) > SAME
        and (line.beat == 1 or line.bar not in evenly)
        and 0 <= line.time <= onsets.duration
    ]
    return replace(read, lines=tuple(new))


def _over(one: TapPass, other: TapPass) -> bool:
    return one.times[0] <= other.times[-1] and other.times[0] <= one.times[-1]


def _pass(taps: TapPass) -> Pass:
    return Pass(np.array(taps.times), taps.every or "beat", taps.bar, taps.beat, taps.speed)
