"""The first bar line and the tempo, with nobody's help (pulses synthesised from published timing rules)."""

from __future__ import annotations

import numpy as np
import pytest

from core.costs import Costs
from core.evidence import Evidence
from core.long_table import LongTable
from core.metre import TimeSignature
from core.opening import first_bar_line, openings
from core.pulse import pulse_of
from core.weights import networks
from tests.core.played import arched, onsets_at

FOUR, THREE = TimeSignature(4, 4), TimeSignature(3, 4)


@pytest.mark.parametrize("beat", [0.45, 0.6])
def test_the_length_of_an_even_beat_is_found(beat):
    """Steady clicks, the first of four accented; half and double the beat count too, as in AMLt of mir_eval."""
    onsets = onsets_at(np.arange(0, 96) * beat + 0.3, accents=slice(None, None, 4))
    best = openings(onsets, Evidence(onsets, networks("midi")), [FOUR], Costs())[0]
    octaves = (best.quarter - np.log(beat)) / np.log(2)
    assert abs(octaves - round(octaves)) < 0.2
    assert abs(octaves) < 1.2


def test_shares_are_those_of_all_ways_tried_and_fall():
    onsets = onsets_at(arched(4, 16, 0.5), accents=slice(None, None, 4))
    ways = openings(onsets, Evidence(onsets, networks("midi")), [FOUR, THREE], Costs())
    shares = [way.share for way in ways]
    assert np.isclose(sum(shares), 1.0)
    assert shares == sorted(shares, reverse=True)
    assert {way.signature for way in ways} == {FOUR, THREE}


def test_metres_tried_together_score_as_each_does_alone():
    """Metres whose beats are alike are tried one after the other: that must not show in what is found."""
    onsets = onsets_at(arched(6, 16, 0.5), accents=slice(None, None, 4))
    evidence = Evidence(onsets, networks("midi"))
    texts = ("4/4", "6/8", "3/4", "2+2+3/8", "9/8")
    signatures = [TimeSignature.parse(text) for text in texts]
    told: list[float] = []
    together = openings(onsets, evidence, signatures, Costs(), progress=told.append)
    for signature in signatures:
        alone = openings(onsets, evidence, [signature], Costs())
        of_it = [way for way in together if way.signature == signature]
        assert [way.quarter for way in of_it] == [way.quarter for way in alone]
        total = sum(way.share for way in of_it)
        assert [way.share / total for way in of_it] == pytest.approx([way.share for way in alone], abs=1e-12)
    assert told == sorted(told)
    assert 0 < told[0] < 0.2
    assert told[-1] == 1.0


@pytest.mark.parametrize("pickup", [0, 1, 2, 3])
def test_the_first_bar_line_comes_after_the_pickup(pickup):
    """Phrase arches (Friberg, Bresin, Sundberg 2006), evidence for a bar line on every fourth beat."""
    times = arched(4, 16, 0.5)
    evidence = np.full((len(times), 3), [1.0, 1.0, -4.0])
    evidence[pickup::4, 2] = 2.0
    time, quarter = first_bar_line(LongTable(times, pulse_of(FOUR, 0.5), float(np.log(0.5)), Costs(), evidence))
    assert time == pytest.approx(times[pickup])
    assert abs(quarter - np.log(0.52)) < 0.2
