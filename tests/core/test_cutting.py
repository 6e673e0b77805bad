from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.arrangement import Arrangement
from core.cutting import BEFORE, bars_stretch, bring_back, cut, divide, early, keep_only, leave_out, tighten
from core.document import Document
from core.edited_grid import edited_grid
from core.edited_sound import FADE, EditedSound
from core.edits import MovePassage
from core.errors import InputError
from core.hesitations import Hesitation
from core.passages import Passage
from core.quiet_place import NoteLevel, SoundLevel, quietest
from core.read_audio import blocks
from core.read_take import read_take
from tests.core.free_grids import midi_take
from tests.core.test_edited_grid import even
from tests.core.test_edited_sound import InMemory

EXAMPLES = Path(__file__).parents[2] / "examples"


@dataclass
class Dip:
    """A level with one quiet place."""

    place: float

    def at(self, times):
        return np.abs(times - self.place)


@dataclass
class Quiet:
    """A level with several quiet places."""

    places: list[float]

    def at(self, times):
        return np.abs(np.subtract.outer(times, self.places)).min(axis=1)


@pytest.fixture(scope="module")
def guitar():
    take = read_take(EXAMPLES / "net-mending.ogg")
    return take, InMemory(np.concatenate(list(blocks(take))), take.rate)


def test_the_quietest_shift_is_found():
    assert quietest(Dip(9.95), (10.0,), -0.07, -0.02) == pytest.approx(-0.05, abs=0.006)


def test_sound_is_quiet_where_it_is_quiet():
    samples = np.ones((80_000, 1), np.float32)
    samples[40_000:44_000] = 0.001
    level = SoundLevel(InMemory(samples, 8000))
    np.testing.assert_allclose(level.at(np.array([1.0, 5.25])), [1.0, 0.001], rtol=1e-3)


def test_notes_are_quiet_where_no_key_moves():
    level = NoteLevel(midi_take([(0.0, 1.0, 60), (2.0, 3.0, 62)]))
    assert level.at(np.array([1.5]))[0] == 0
    assert level.at(np.array([2.0]))[0] > level.at(np.array([1.0]))[0] > 0


def test_bars_left_out_leave_the_beat_in_time():
    """Both ends are cut as far before their bar lines, so what follows comes where the first would have."""
    grid, level = even(6), NoteLevel(midi_take([(i / 2, i / 2 + 0.4, 60) for i in range(24)]))
    document = leave_out(*bars_stretch(grid, 2, 3), level, 12.0).apply(Document())
    lines = edited_grid(grid, document.arrangement, 12.0).grid.bar_times
    np.testing.assert_allclose(lines, [0, 2, 4, 6, 8], atol=1e-9)
    cut = document.arrangement.order[0].end
    assert 2.0 - BEFORE[1] <= cut <= 2.0 - BEFORE[0]
    back = bring_back(1.0, 11.0, 12.0).apply(document)
    assert back == Document()


@given(
    bars=st.permutations([(1, 1), (2, 4), (5, 6), (7, 9), (10, 11)]),
    kept=st.integers(1, 5),
    quiet=st.lists(st.floats(0.0, 24.0), min_size=1, max_size=6),
)
def test_bars_in_another_order_are_as_long_as_they_were(bars, kept, quiet):
    """Wherever it is quiet: the bar before a seam ends where its own next line would have been."""
    grid = even(12, start=0.5)
    order = cut([bars_stretch(grid, *both) for both in bars[:kept]], Quiet(quiet), 26.0)
    lines = edited_grid(grid, Arrangement(order), 26.0).grid.bar_times
    assert len(lines) == 1 + sum(last - first + 1 for first, last in bars[:kept])
    np.testing.assert_allclose(np.diff(lines), 2.0, atol=1e-9)


def test_what_is_cut_later_is_cut_as_far_before_its_beat():
    """So bars are as long as they were, one edit after another, though each by itself would be cut elsewhere."""
    grid, level = even(12), Quiet([3.95, 11.965, 15.98])
    document = Document()
    for time in (4.0, 12.0, 16.0):
        before = early(document.arrangement, grid)
        document = divide(time, level, 24.0, before=before).apply(document)
    starts = [passage.start for passage in document.arrangement.order[1:]]
    assert 4.0 - BEFORE[1] <= starts[0] <= 4.0 - BEFORE[0]
    np.testing.assert_allclose(starts, [starts[0], starts[0] + 8, starts[0] + 12], atol=1e-9)
    document = MovePassage(1, 2).apply(document)
    lines = edited_grid(grid, document.arrangement, 24.0).grid.bar_times
    np.testing.assert_allclose(np.diff(lines), 2.0, atol=1e-9)


def test_no_passage_is_cut_before_a_beat_where_none_is_cut_or_near_none():
    grid = even(12)
    assert early(Arrangement(), grid) is None
    assert early(Arrangement((Passage(0.0, 4.25), Passage(6.25, 24.0))), grid) is None
    assert early(Arrangement((Passage(0.0, 4.25), Passage(5.97, 24.0))), grid) == pytest.approx(0.03)


def test_a_passage_kept_alone_and_one_divided():
    grid, level = even(6), Dip(0.0)
    kept = keep_only(*bars_stretch(grid, 1, 2), level, 12.0).apply(Document())
    assert kept.arrangement.order[0].start == 0
    assert len(edited_grid(grid, kept.arrangement, 12.0).grid.bar_lines) == 3
    two = divide(4.0, level, 12.0).apply(Document())
    assert len(two.arrangement.order) == 2
    assert two.arrangement.heard(12.0).parts == (Passage(0.0, 12.0),)


def test_what_is_not_there_is_refused():
    with pytest.raises(InputError, match="bars are 1 to 6"):
        bars_stretch(even(6), 3, 9)
    with pytest.raises(InputError, match="nothing between"):
        leave_out(13.0, 14.0, Dip(0.0), 12.0)
    with pytest.raises(InputError, match="No pause"):
        tighten([], Dip(0.0))
    with pytest.raises(InputError, match="cannot be"):
        tighten([Hesitation(1.0, 4.0, 2.0, 1)], Dip(0.0), length=-1.0)


def test_no_cut_in_real_sound_makes_a_step_above_its_own(guitar):
    """At every cut the largest step from sample to sample is one the recording itself has within a fifth of a
    second of it, so nothing is heard as a click."""
    take, sound = guitar
    level, rate = SoundLevel(sound), take.rate
    for k in range(24):
        start = 4.0 + 1.37 * k
        order = leave_out(start, start + 2.6, level, take.duration).apply(Document()).arrangement
        passages = order.heard(take.duration)
        edited = EditedSound(sound, passages)
        seam = round(passages.joints[1] * rate)
        half = round(FADE * rate)
        steps = np.abs(np.diff(edited.read(seam - half, seam + half), axis=0)).max()
        around = [round(passages.parts[0].end * rate), round(passages.parts[1].start * rate)]
        own = max(np.abs(np.diff(sound.read(at - rate // 5, at + rate // 5), axis=0)).max() for at in around)
        assert steps <= own


def test_a_pause_in_sound_is_cut_where_it_is_quiet(guitar):
    take, sound = guitar
    # A pause of three seconds in the middle of the guitar: silence with some of its own noise.
    rate = take.rate
    middle = round(20.0 * rate)
    noise = np.random.default_rng(3).normal(0, 1e-4, (3 * rate, sound.channels)).astype(np.float32)
    longer = InMemory(np.concatenate((sound.samples[:middle], noise, sound.samples[middle:])), rate)
    pause = Hesitation(19.8, 23.1, 2.0, 9)
    arrangement = tighten([pause], SoundLevel(longer)).apply(Document()).arrangement
    assert isinstance(arrangement, Arrangement)
    (taken,) = arrangement.taken
    assert taken.duration == pytest.approx(2.0)
    assert 20.0 < taken.start < taken.end < 23.0
