"""Arrays are refused in words that name the place."""

import pytest

from core.checks import ascending, finite
from core.errors import InputError


def test_arrays_cannot_be_written_to():
    with pytest.raises(ValueError, match="read-only"):
        ascending([1, 2], "Times")[0] = 5


@pytest.mark.parametrize(
    ("values", "message"),
    [
        ([1, 2, 2], "Times repeats at position 3"),
        ([1, 0.5], "Times goes back at position 2"),
        ([0, float("nan")], "not a number at position 2"),
    ],
)
def test_what_is_wrong_is_named(values, message):
    with pytest.raises(InputError, match=message):
        ascending(values, "Times")


def test_repeats_may_be_allowed():
    assert ascending([1, 1], "Times", strictly=False).tolist() == [1, 1]


def test_only_plain_lists():
    with pytest.raises(InputError, match="2-dimensional"):
        finite([[1.0]], "Times")
