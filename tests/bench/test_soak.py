"""The soak finds what grows, and a round of it goes through in the real window."""

import os

import pytest

from tests.app.shell import window_of
from tests.bench import soak


def sampled(*megabytes):
    return [dict.fromkeys(soak.GROWTH, 1.0) | {"memory_mb": each} for each in megabytes]


def test_what_grows_with_every_round_is_found_and_what_only_goes_up_and_down_is_not():
    def leaks(*megabytes):
        return [name for name, share in soak.grown(sampled(*megabytes)).items() if share > soak.GROWTH[name]]

    assert leaks(*(100.0 + 10 * (i % 2) for i in range(40))) == []
    assert leaks(*(100.0 + i for i in range(40))) == ["memory_mb"]
    # What is filled once, at the beginning, is no leak.
    assert leaks(*(10.0 * i for i in range(10)), *(100.0 for _ in range(30))) == []


@pytest.mark.skipif(not os.path.exists("/proc/self/statm"), reason="memory is read from /proc")
def test_a_round_goes_through(tmp_path):
    with window_of(tmp_path) as window:
        musician = soak.Soak(window, tmp_path, seed=3)
        musician.round(soak.EXAMPLES / "night-ferry.mid", 40)
        assert musician.faults == []
        assert len(musician.kinds) > 15
        assert window.workspace.state.take is None
        assert set(soak.counted(window)) == set(soak.GROWTH)
