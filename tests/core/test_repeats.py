"""Stretches that are heard again, on pieces made of letters, whose repetitions are plain to see."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from core.repeats import NEAREST, repeats


def alike(bars, noise=0.0, seed=1):
    """Bars that are the same letter are wholly alike, others not at all, but for noise."""
    letters = np.array(bars)
    rough = np.random.default_rng(seed).uniform(-noise, noise, (len(letters), len(letters)))
    return (letters[:, None] == letters) + (rough + rough.T) / 2


def bars_of(form, lengths):
    """Name every bar of a form, such as "ABA", by its letter and its place in it."""
    return [f"{letter}{i}" for letter in form for i in range(lengths[letter])]


def test_what_comes_again_is_found_from_both_sides():
    bars = bars_of("ABAC", {"A": 12, "B": 9, "C": 10})
    assert repeats(alike(bars), 0.4).tolist() == [21] * 12 + [0] * 9 + [-21] * 12 + [0] * 10


def test_nothing_that_comes_again_is_nothing():
    assert not repeats(alike(range(40)), 0.4).any()


def test_a_figure_over_and_over_is_no_section_near_by():
    away = repeats(alike([i % 2 for i in range(30)]), 0.4)
    assert not np.any((away != 0) & (np.abs(away) < NEAREST))


@settings(max_examples=60, deadline=None)
@given(
    st.text("ABC", min_size=2, max_size=5),
    st.fixed_dictionaries({letter: st.integers(8, 20) for letter in "ABC"}),
    st.integers(0, 99),
)
def test_each_bar_is_the_same_as_the_one_it_points_to(form, lengths, seed):
    bars = bars_of(form, lengths)
    away = repeats(alike(bars, noise=0.3, seed=seed), 0.4)
    there = np.array(bars)[np.arange(len(bars)) + away]
    # An edge may be a bar off where noise says so.
    assert np.count_nonzero(there != np.array(bars)) <= len(form)
    once = [letter for letter in form if form.count(letter) == 1]
    assert np.count_nonzero(away == 0) <= sum(lengths[letter] for letter in once) + len(form)
