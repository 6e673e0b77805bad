"""How the bars go on (pulses synthesised from the phrase arch's formula)."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from core.metre import Metre, TimeSignature
from core.onward import CHOSEN, Ahead, onward, read_off
from core.tables import Tables
from core.way import Mark
from tests.core.played import arched, onsets_at

FOUR = Metre.steady(TimeSignature(4, 4))


@pytest.fixture(scope="module")
def tables() -> Tables:
    """160 beats in phrase arches (Friberg, Bresin, Sundberg 2006), every fourth accented: 40 bars."""
    return Tables(onsets_at(arched(10, 16, 0.5), accents=slice(None, None, 4)))


def known(tables: Tables, *beats: int) -> list[Mark]:
    return [Mark(Fraction(beat), float(tables.onsets.time[beat])) for beat in beats]


def test_every_beat_of_the_take_follows_from_two_bar_lines(tables):
    marks = [landing.mark for landing in onward(tables, FOUR, known(tables, 0, 4))]
    time = tables.onsets.time
    assert [(mark.position, mark.time) for mark in marks] == [(beat, time[beat]) for beat in range(5, len(time))]


def test_the_next_bar_lines_come_with_a_verdict(tables):
    judged = [landing.mark.position for landing in onward(tables, FOUR, known(tables, 0, 4)) if landing.judged]
    assert judged == [4 * bar for bar in range(2, 2 + CHOSEN)]


def test_from_a_beat_inside_a_bar_its_end_comes_first(tables):
    marks = [landing.mark for landing in onward(tables, FOUR, known(tables, 0, 4, 8, 10))]
    assert [mark.position for mark in marks[:3]] == [11, 12, 13]
    assert marks[1].time == tables.onsets.time[12]


def test_with_one_line_and_a_tempo_the_bars_go_on_without_verdicts(tables):
    landings = list(onward(tables, FOUR, known(tables, 0), float(np.log(0.52))))
    assert landings[-1].mark.time == tables.onsets.time[-1]
    assert all(landing.judged is None for landing in landings)


def test_the_bars_go_back_before_the_first_line_too(tables):
    marks = list(read_off(tables, FOUR, known(tables, 80, 84), way=-1))
    assert [mark.position for mark in marks] == list(range(79, -1, -1))
    assert np.allclose([mark.time for mark in marks], tables.onsets.time[79::-1])


def test_what_lies_ahead_is_found_once_and_only_as_far_as_it_is_read(tables):
    asked: list[int] = []

    def found():
        for landing in onward(tables, FOUR, known(tables, 0, 4)):
            asked.append(1)
            yield landing

    ahead = Ahead(found())
    first = [landing for landing, _ in zip(ahead, range(5), strict=False)]
    assert len(asked) <= 6
    assert list(ahead)[:5] == first
    assert len(list(ahead)) == len(asked)
