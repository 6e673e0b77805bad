"""What the benches hear of a take, fresh and kept."""

import dataclasses

import numpy as np
import pytest

from core.errors import InputError
from tests.bench import render
from tests.bench.corpus import SUFFIX, read_corpus
from tests.bench.listen import listen


@pytest.fixture
def take(tmp_path):
    notes = render.compose(12)
    render.write_midi(tmp_path / "take.mid", notes)
    render.write_audio(tmp_path / "take.flac", notes, 12)
    rows = ["time_s,kind,time_signature,beats_per_bar", *(f"{time:.6f},db,4/4,4" for time in notes[0][::8])]
    (tmp_path / f"take{SUFFIX}").write_text("\n".join(rows))
    return read_corpus(tmp_path)[0]


def test_kept_onsets_are_those_that_were_heard_until_the_recording_changes(take, tmp_path):
    cache = tmp_path / "kept"
    fresh, stored, again = (listen(take, audio=tmp_path, cache=c) for c in (None, cache, cache))
    for onsets in (stored, again):
        assert onsets.source == "audio"
        for item in dataclasses.fields(onsets)[1:]:
            np.testing.assert_array_equal(getattr(onsets, item.name), getattr(fresh, item.name))
    assert len(list(cache.iterdir())) == 1
    render.write_audio(tmp_path / "take.flac", render.compose(8), 8)
    assert listen(take, audio=tmp_path, cache=cache).duration == pytest.approx(8)


def test_both_ways_in_hear_the_same_take(take, tmp_path):
    # The sound is made from the very notes of the file, so their starts are the truth.
    midi, audio = listen(take), listen(take, audio=tmp_path)
    assert (midi.source, audio.source) == ("midi", "audio")
    away = np.abs(midi.time[:, None] - audio.time[None, :]).min(axis=1)
    assert np.mean(away < 0.010) > 0.9


def test_a_missing_recording_is_named(take, tmp_path):
    with pytest.raises(InputError, match=r"no take\.wav"):
        listen(take, audio=tmp_path / "none")
