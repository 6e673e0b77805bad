"""The walk through the alternatives of a bar line."""

from app.walk import Walk
from core.document import Document
from core.grid import Beat, Pin

LINE = Beat(10.0, 5, 1, confidence=0.3, alternatives=(10.5, 9.5))


def test_it_goes_round_through_the_suggestion():
    walk = Walk.of(LINE)
    assert [walk.stepped(i).time for i in range(4)] == [None, 10.5, 9.5, None]
    assert walk.stepped(-1).time == 9.5


def test_it_goes_on_only_where_it_left_the_line():
    walk = Walk.of(LINE).stepped(1)
    assert walk.goes_on(Document(pins=(Pin(10.5, 5),)))
    assert not walk.goes_on(Document(pins=(Pin(10.6, 5),)))
    assert not walk.goes_on(Document())
    assert Walk.of(LINE).goes_on(Document())
