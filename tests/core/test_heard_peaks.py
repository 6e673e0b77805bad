from pathlib import Path

import numpy as np
import pytest

from core.document import Document
from core.edits import LeaveOut, MovePassage
from core.heard_peaks import HeardPeaks
from core.heard_take import heard_take
from core.passages import Passage
from core.peaks import build
from core.read_take import read_take
from tests.core.test_edited_grid import even

EXAMPLE = Path(__file__).parents[2] / "examples" / "net-mending.ogg"


@pytest.fixture(scope="module")
def seen():
    take = read_take(EXAMPLE)
    recording = build(take)
    document = MovePassage(1, 0).apply(LeaveOut(Passage(10.0, 20.0), take.duration).apply(Document()))
    heard = heard_take(take, document, even(20))
    return recording, HeardPeaks.of(recording, heard.passages, heard.take), heard.passages


def test_a_stretch_inside_a_passage_looks_as_it_does_in_the_recording(seen):
    recording, peaks, passages = seen
    second = float(passages.joints[1])
    for start, there in ((0.0, 20.0), (second, 0.0)):
        for length, width in ((5.0, 500), (2.5, 100)):
            np.testing.assert_array_equal(
                peaks.columns(start, start + length, width)[:, 1:-1],
                recording.columns(there, there + length, width)[:, 1:-1],
            )
            np.testing.assert_array_equal(
                peaks.body(start, start + length, width)[:, 1:-1],
                recording.body(there, there + length, width)[:, 1:-1],
            )


def test_every_column_of_the_take_is_filled_and_none_outside(seen):
    _, peaks, passages = seen
    inside = peaks.columns(0.0, passages.duration - 0.1, 700)
    assert not np.isnan(inside).any()
    outside = peaks.columns(passages.duration + 1, passages.duration + 2, 10)
    assert np.isnan(outside).all()


def test_samples_ascend_through_a_seam(seen):
    recording, peaks, passages = seen
    seam = float(passages.joints[1])
    times, values = peaks.curve(seam - 0.01, seam + 0.01)
    assert (np.diff(times) > 0).all()
    assert values.shape == (recording.channels, len(times))
    assert len(times) == pytest.approx(0.02 * peaks.take.rate, abs=4)
