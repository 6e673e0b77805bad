"""How alike bars are (pulses synthesised here)."""

from __future__ import annotations

import numpy as np

from core.likeness import harmonies, rhythms


def test_a_bar_played_slower_has_the_same_rhythm():
    bar = np.array([0.0, 0.25, 0.5, 0.625, 0.75])
    time = np.concatenate([bar * 2.0, 2.0 + bar * 3.1])
    rhythm, count = rhythms(time, np.array([0.0, 2.0]), np.array([2.0, 5.1]))
    assert count.tolist() == [5, 5]
    assert np.isclose(rhythm[0] @ rhythm[1], 1.0)


def test_another_rhythm_of_as_many_onsets_is_less_alike():
    time = np.concatenate([np.array([0.0, 0.5, 1.0, 1.5]), 2.0 + np.array([0.0, 0.3, 1.2, 1.8])])
    rhythm, count = rhythms(time, np.array([0.0, 2.0]), np.array([2.0, 4.0]))
    assert count.tolist() == [4, 4]
    assert rhythm[0] @ rhythm[1] < 0.7


def test_an_onset_just_before_the_line_belongs_to_the_bar_it_opens():
    _, count = rhythms(np.array([0.0, 1.0, 1.99, 3.0]), np.array([0.0, 2.0]), np.array([2.0, 4.0]))
    assert count.tolist() == [2, 2]


def test_an_empty_bar_is_like_no_other():
    rhythm, count = rhythms(np.array([0.0, 0.5]), np.array([0.0, 5.0]), np.array([1.0, 6.0]))
    assert count.tolist() == [2, 0]
    assert rhythm[0] @ rhythm[1] == 0.0


def test_the_same_chords_in_another_tempo_sound_alike_and_others_do_not():
    time = np.array([0.0, 1.0, 2.0, 4.0, 6.0, 7.0])
    chroma = np.eye(12)[[0, 7, 0, 7, 3, 10]]
    sums = np.concatenate([np.zeros((1, 12)), np.cumsum(chroma, axis=0)])
    first, second, third = harmonies(time, sums, np.array([0.0, 2.0, 6.0]), np.array([2.0, 6.0, 8.0]))
    assert np.isclose(first @ second, first @ first)
    assert first @ third == 0.0
