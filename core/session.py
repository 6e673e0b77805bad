"""Where a take lies in a sequencer's session: bars before it, its offset, its bar numbers, and what to beware of.

A session starts on a bar line, at quarter 0 and second 0, and counts its bars from 1.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import accumulate, groupby
from math import ceil
from typing import Literal

import numpy as np

from core.checks import Floats, frozen
from core.errors import InputError
from core.fit import Fit
from core.grid import Grid
from core.lead_in import SANE, Lead, asked_lead, filling_lead, pickup_only
from core.metre import Metre, TimeSignature
from core.tempo_map import TempoMap

LeadIn = Literal["fill", "none"] | int
"""``fill`` gives the time before the first bar line whole bars, ``none`` none, a number that many bars."""

MOST_BARS = 999
"""Bars that can be asked for before a take."""

_MICROSECOND = 1e-6


@dataclass(frozen=True, slots=True)
class Caution:
    """What the musician should know before using a hand-over.

    Parameters
    ----------
    text : str
        One sentence.
    bar : int or None
        Bar of the take to look at; None where it is about no bar.
    """

    text: str
    bar: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Session:
    """A tempo map in a sequencer's own count.

    Parameters
    ----------
    metre : Metre
        Time signatures by session bar, the lead-in's included.
    tempo_map : TempoMap
        Session quarters against session seconds; its first knot is (0, 0).
    offset : float
        Second of the session at which take time 0 lies. Negative: the recording starts before the session.
    shift : int
        Session bar number minus take bar number.
    bar_times : (bars,) float
        Session seconds of the grid's bar lines, the first being that of `first_bar`.
    lead_in : tuple of TimeSignature
        The bars before the grid's first bar line.
    cautions : tuple of Caution
        What the musician should know before using it.
    """

    metre: Metre
    tempo_map: TempoMap
    offset: float
    shift: int
    bar_times: Floats
    lead_in: tuple[TimeSignature, ...] = ()
    cautions: tuple[Caution, ...] = ()

    @property
    def first_bar(self) -> int:
        """Session number of the grid's first bar line."""
        return len(self.lead_in) + 1

    @property
    def last_bar(self) -> int:
        """Session number of the grid's last bar line."""
        return len(self.lead_in) + len(self.bar_times)

    @property
    def bar_quarters(self) -> tuple[Fraction, ...]:
        """Session quarters of the bar lines 1 to `last_bar`."""
        lengths = (self.metre.at(bar).quarters for bar in range(1, self.last_bar))
        return tuple(accumulate(lengths, initial=Fraction(0)))

    @property
    def placing(self) -> str:
        """One sentence that says where to put the recording and how the bars are numbered."""
        where = "at the very start of the session"
        if self.offset > _MICROSECOND:
            where = f"at {self.offset:.6f} s of the session"
        elif self.offset < -_MICROSECOND:
            where = f"{-self.offset:.6f} s before the start of the session (or cut that much off its beginning)"
        return f"Put the recording {where}; {self.counting}."

    @property
    def counting(self) -> str:
        """How the bars are numbered, as part of a sentence."""
        return f"bar {self.first_bar - self.shift} of the take is bar {self.first_bar} of the session"


def check_lead_in(lead_in: LeadIn) -> None:
    """Refuse a lead-in that cannot be.

    Raises
    ------
    InputError
        If it is neither a word of `LeadIn` nor a number of bars from 0 to 999.
    """
    if lead_in not in ("fill", "none") and not (isinstance(lead_in, int) and 0 <= lead_in <= MOST_BARS):
        raise InputError(f"A lead-in of {lead_in} bars cannot be; ask for 0 to {MOST_BARS} bars.")


def check_intro(intro: int) -> None:
    """Refuse a number of empty bars that cannot be.

    Raises
    ------
    InputError
        If it is not 0 to 999.
    """
    if not 0 <= intro <= MOST_BARS:
        raise InputError(f"{intro} empty bars before the take cannot be; ask for 0 to {MOST_BARS}.")


def place(grid: Grid, fit: Fit, *, lead_in: LeadIn = "fill", intro: int = 0) -> Session:
    """Lay a grid and its tempo map into a session.

    Parameters
    ----------
    grid : Grid
        Bar lines of the take, two at least.
    fit : Fit
        The tempo map fitted to them.
    lead_in : "fill", "none" or int
        ``fill``: the recording lies at the very start, and the time before the grid's first beat gets whole bars
        at a tempo near the opening one; where it is too short for that, one short bar of a few beats; where it is
        too short even for that, one bar as if asked for. A pickup is completed to a whole bar. ``none``: the
        first bar line is the start of the session and what was played before lies outside. A number: so many
        bars before the first bar line at the opening tempo, a pickup lying in the last of them.
    intro : int
        Empty bars before all that, in the take's first metre and at its opening tempo. With any, ``fill`` gives
        whole bars at that tempo too, as many as hold what was recorded before the first bar line: whoever begins
        in the first empty bar goes on into the take without another tempo or a short bar on the way.

    Returns
    -------
    Session

    Raises
    ------
    InputError
        If the grid has fewer than two bar lines, or a number of bars is negative or above 999.
    """
    lines = grid.bar_lines
    if len(lines) < 2:
        raise InputError("A tempo map needs at least two bar lines; place the first two.")
    check_lead_in(lead_in)
    check_intro(intro)
    first = lines[0].bar
    pickup = grid.quarter_of(lines[0]) - grid.quarter_of(grid.beats[0])
    signature = grid.metre.at(grid.beats[0].bar)
    opening = _opening_tempo(grid, fit.tempo_map)
    empty = asked_lead(signature, Fraction(0), intro, opening)
    cautions: list[Caution] = []

    bare = lead_in in ("none", 0)
    played = _from_first_beat(grid, fit.tempo_map, with_pickup=not bare)
    start = float(played.seconds[0])
    if bare:
        lead = Lead((), Fraction(0), 0.0)
    elif lead_in != "fill":
        lead = asked_lead(signature, pickup, int(lead_in), opening)
    elif intro:
        held = max(start, 0.0) * opening / 60 + float(pickup) - _MICROSECOND
        lead = asked_lead(signature, pickup, max(ceil(held / float(signature.quarters)), 0), opening)
    elif start <= _MICROSECOND:
        lead = pickup_only(signature, pickup)
        if start < -_MICROSECOND:
            early = (
                f"The first bar begins {-start:.6f} s before the recording: "
                f"put the recording at {-start:.6f} s of the session."
            )
            cautions.append(Caution(early, first))
    elif filling := filling_lead(signature, pickup, start, opening):
        lead = filling
    else:
        lead = asked_lead(signature, pickup, 1, opening)
        at = lead.seconds - start
        soon = (
            f"The first beat comes {1000 * start:.1f} ms into the recording, too soon for a lead-in that fills "
            f"it: a whole bar was put before, so put the recording at {at:.6f} s of the session."
        )
        cautions.append(Caution(soon, first))

    quarters = played.quarters - played.quarters[0] + float(lead.quarters)
    seconds = played.seconds - start + lead.seconds
    # The lead-in, and the empty bars before it, each begin at a knot of their own.
    if lead.quarters:
        quarters, seconds = np.insert(quarters, 0, 0.0), np.insert(seconds, 0, 0.0)
    if intro:
        quarters = np.insert(quarters + float(empty.quarters), 0, 0.0)
        seconds = np.insert(seconds + empty.seconds, 0, 0.0)
    lead = Lead(empty.bars + lead.bars, empty.quarters + lead.quarters, empty.seconds + lead.seconds)
    offset = lead.seconds - start
    shift = len(lead.bars) + 1 - first
    session = Session(
        metre=_session_metre(grid.metre, lead.bars, first, lines[-1].bar),
        tempo_map=TempoMap(quarters, seconds),
        offset=offset,
        shift=shift,
        bar_times=frozen(grid.bar_times + offset),
        lead_in=lead.bars,
    )
    return replace(session, cautions=(*cautions, *_tempo_cautions(session)))


def _opening_tempo(grid: Grid, tempo_map: TempoMap) -> float:
    """Median tempo of the first four bars, within what sequencers accept."""
    quarters = np.array([float(grid.quarter_of(line)) for line in grid.bar_lines[:5]])
    tempi = 60 * np.diff(quarters) / np.diff(tempo_map.seconds_at(quarters))
    return float(np.clip(np.median(tempi), *SANE))


def _from_first_beat(grid: Grid, tempo_map: TempoMap, *, with_pickup: bool) -> TempoMap:
    """Cut or extend a map so that its first knot is the grid's first beat, or its first bar line."""
    beat = grid.beats[0] if with_pickup else grid.bar_lines[0]
    quarter = float(grid.quarter_of(beat))
    later = tempo_map.quarters > quarter
    start = float(tempo_map.seconds_at(quarter))
    return TempoMap(
        np.insert(tempo_map.quarters[later], 0, quarter), np.insert(tempo_map.seconds[later], 0, start)
    )


def _session_metre(metre: Metre, before: tuple[TimeSignature, ...], first: int, last: int) -> Metre:
    """Count the lead-in's and the take's signatures by session bar, keeping only real changes."""
    shift = len(before) + 1 - first
    starts = [*enumerate(before, 1), (first + shift, metre.at(first))]
    starts += [(bar + shift, signature) for bar, signature in metre.changes if first < bar <= last]
    changes = [starts[0]]
    for bar, signature in starts[1:]:
        if signature != changes[-1][1]:
            changes.append((bar, signature))
    return Metre(tuple(changes))


def _tempo_cautions(session: Session) -> list[Caution]:
    """Name the bars whose tempo many sequencers refuse, neighbours together."""
    slowest, fastest = SANE
    lines = np.array([float(quarter) for quarter in session.bar_quarters])
    knots, tempi = session.tempo_map.quarters, session.tempo_map.tempi
    outside: dict[int, float] = {}
    for i in np.flatnonzero((tempi < slowest * (1 - 1e-9)) | (tempi > fastest * (1 + 1e-9))):
        begin = int(np.searchsorted(lines, knots[i], side="right"))
        end = int(np.searchsorted(lines, knots[i + 1], side="left"))
        for bar in range(begin, end + 1):
            worst = outside.get(bar, tempi[i])
            outside[bar] = float(max(worst, tempi[i]) if worst > fastest else min(worst, tempi[i]))
    cautions = []
    for _, run in groupby(
        enumerate(sorted(outside)), key=lambda item: (item[1] - item[0], outside[item[1]] > fastest)
    ):
        bars = [bar for _, bar in run]
        named = _bars(bars[0], bars[-1], session.shift)
        fast = outside[bars[0]] > fastest
        worst = (max if fast else min)(outside[bar] for bar in bars)
        remedy = (
            "check the bar lines there" if fast else "give it extra beats as a hold, or check the bar lines there"
        )
        sentence = (
            f"{named} at {worst:.4g} quarters a minute, {f'above {fastest}' if fast else f'below {slowest}'}, "
            f"which many sequencers refuse: {remedy}."
        )
        cautions.append(Caution(sentence, bars[0] - session.shift))
    return cautions


def _bars(first: int, last: int, shift: int) -> str:
    """Name bars as the take counts them, and as the session does where that differs."""
    take = f"Bar {first - shift}" if first == last else f"Bars {first - shift} to {last - shift}"
    if shift:
        take += f" (bar {first} of the session)" if first == last else f" (bars {first} to {last} of the session)"
    return f"{take} {'is' if first == last else 'are'}"
