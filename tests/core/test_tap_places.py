"""Places that taps can mean."""

from core.metre import Metre, TimeSignature
from core.tap_places import Places

# Four, then three from bar 3 on.
CHANGING = Metre(((1, TimeSignature(4, 4)), (3, TimeSignature(3, 4))))


def where(places, which):
    return [(places.all[i].bar, places.all[i].beat) for i in which]


def test_every_second_bar_is_tapped_and_all_lines_are_known():
    places = Places.of(CHANGING, 1, 1, 2, 4)
    assert where(places, places.tapped) == [(1, 1), (3, 1), (5, 1)]
    assert where(places, places.lines) == [(1, 1), (2, 1), (3, 1), (4, 1), (5, 1)]


def test_beats_follow_the_metre_and_begin_where_the_first_tap_was_meant():
    places = Places.of(CHANGING, 2, 3, "beat", 1)
    assert where(places, places.tapped) == [(2, 3), (2, 4), (3, 1), (3, 2), (3, 3)]
    assert places.quarters.tolist() == [6, 7, 8, 9, 10]


def test_what_follows_a_place_is_given_in_order():
    places = Places.of(CHANGING, 1, 1, 2, 6)
    first, *_ = places.tapped
    assert where(places, places.after(first, 2)) == [(3, 1), (5, 1)]
    assert where(places, places.after(first, 2, lines=True)) == [(2, 1), (3, 1)]
    assert places.index(9, 1) is None
