"""The wheel over a lane."""

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent

from app.span import SHORTEST, Span
from app.timeline.wheel import wheel

SHIFT = Qt.KeyboardModifier.ShiftModifier


def turned(x=0, y=0, *, at=0.0, keys=Qt.KeyboardModifier.NoModifier, pixels=(0, 0)):
    return QWheelEvent(
        QPointF(at, 5),
        QPointF(at, 5),
        QPoint(*pixels),
        QPoint(x, y),
        Qt.MouseButton.NoButton,
        keys,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )


@pytest.fixture
def span():
    span = Span()
    span.set_width(1000)
    span.set_duration(100.0)
    span.show(40.0, 60.0)
    return span


@pytest.mark.parametrize("y", [120, -120, 15, 360])
def test_the_moment_under_the_pointer_stays(span, y):
    before = span.time_at(300)
    wheel(turned(y=y, at=300), span)
    assert span.time_at(300) == pytest.approx(before)
    assert (span.end - span.start < 20) == (y > 0)


def test_up_and_down_again_is_where_it_was(span):
    wheel(turned(y=120, at=700), span)
    wheel(turned(y=-120, at=700), span)
    assert (span.start, span.end) == pytest.approx((40.0, 60.0))


def test_shift_scrolls_and_keeps_the_zoom(span):
    wheel(turned(y=-120, keys=SHIFT), span)
    assert span.start > 40
    assert span.end - span.start == pytest.approx(20)


def test_a_touchpad_moves_the_music_with_the_fingers(span):
    before = span.x_of(50.0)
    wheel(turned(x=-40, pixels=(-33, 0)), span)
    assert span.x_of(50.0) == pytest.approx(before - 33)


def test_a_sideways_wheel_scrolls(span):
    wheel(turned(x=120), span)
    assert span.start < 40


def test_nothing_leaves_the_take(span):
    for _ in range(200):
        wheel(turned(y=-120, at=999), span)
    assert (span.start, span.end) == (0.0, 100.0)
    for _ in range(200):
        wheel(turned(y=120, at=10), span)
        wheel(turned(y=120, keys=SHIFT), span)
    assert span.start == 0.0
    assert span.end == pytest.approx(SHORTEST)
