"""The weighing of places, against the definition of the conditional logit (McFadden 1974)."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from core.chooser import Chooser
from core.next_line import FEATURES
from core.weights import chooser


def plain(direct: list[float]) -> Chooser:
    count = len(direct)
    one = np.ones(count, np.float32)
    nothing = np.zeros((count, 1), np.float32)
    return Chooser(0 * one, one, np.array(direct, np.float32), nothing, nothing[0], nothing[0])


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.floats(-4, 4), st.floats(-4, 4)), min_size=1, max_size=8))
def test_without_a_hidden_layer_it_is_a_conditional_logit(rows):
    x = np.array(rows)
    utility = np.exp(x @ np.array([0.5, -1.5]))
    assert np.allclose(np.exp(plain([0.5, -1.5])(x)), utility / utility.sum(), atol=1e-5)


def test_a_feature_far_out_counts_no_more_than_one_at_the_limit():
    log_p = plain([1.0])(np.array([[5.0], [500.0], [0.0]]))
    assert np.isclose(log_p[0], log_p[1])
    assert log_p[0] > log_p[2]


def test_the_weights_that_come_with_the_library_fit_the_features():
    for source in ("midi", "audio"):
        weights = chooser(source)
        assert weights.mean.shape == weights.scale.shape == weights.direct.shape == (FEATURES,)
        assert np.isclose(np.exp(weights(np.zeros((3, FEATURES)))).sum(), 1.0)
