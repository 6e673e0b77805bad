import dataclasses

import numpy as np
import pytest

from core.onsets import Onsets
from tests.bench.onset_timing import compare, main


def onsets(n=20):
    random = np.random.default_rng(0)
    low = random.integers(30, 60, n)
    return Onsets(
        source="midi", duration=30.0, time=1 + np.arange(n) * 0.5, strength=random.uniform(-20, 0, n),
        count=random.integers(1, 5, n), low=low, high=low + random.integers(0, 30, n),
        length=random.uniform(0.1, 2, n), chroma=np.full((n, 12), 1 / 12), pedal_lift=np.full(n, np.inf),
        pedal_down=np.full(n, np.inf),
    )  # fmt: skip


def test_what_is_heard_as_it_was_played_is_right_in_everything():
    figures = compare(onsets(), onsets())
    for key in ("recall", "precision", "f", "low_right", "low_r", "high_r", "count_r", "strength_r", "length_r"):
        assert figures[key] == pytest.approx(1), key
    assert figures["bias_ms"] == figures["error_ms"] == figures["error_90_ms"] == 0


def test_late_and_missing_onsets_are_told():
    played = onsets()
    late = dataclasses.replace(played, time=played.time + np.where(np.arange(20) < 15, 0.004, 0.100))
    figures = compare(late, played)
    assert figures["recall"] == figures["precision"] == pytest.approx(0.75)
    assert figures["bias_ms"] == pytest.approx(4)


def test_a_folder_that_is_none_is_refused_in_a_sentence(tmp_path, capsys):
    assert main([str(tmp_path / "none"), str(tmp_path)]) == 2
    assert "There is no corpus folder" in capsys.readouterr().err
