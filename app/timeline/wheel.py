"""What the wheel does over every lane: zoom at the pointer, or scroll."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QWheelEvent

from app.span import Span

_NOTCH = 120
"""What Qt reports for one notch of a wheel: eighths of a degree."""

_ZOOM = 1.25
"""How much closer one notch brings."""

_SHARE = 0.1
"""Part of what is on screen that one notch scrolls by."""


def wheel(event: QWheelEvent, span: Span, *, x: float | None = None) -> None:
    """Zoom at the pointer with a plain vertical wheel; scroll with Shift or a horizontal one.

    Parameters
    ----------
    event : QWheelEvent
        Its place is that of the pointer in a lane, unless `x` says where in a lane the pointer would be.
    span : Span
        What is on screen.
    x : float, optional
        Logical pixels from the left edge of a lane.
    """
    turned, moved = event.angleDelta(), event.pixelDelta()
    sideways = abs(turned.x()) > abs(turned.y())
    if sideways or event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
        notches = (turned.x() if sideways else turned.y()) / _NOTCH
        # A touchpad knows how far the fingers went, and the music should go with them.
        pixels = moved.x() if sideways else moved.y()
        span.scroll(-(pixels or notches * _SHARE * span.width))
    elif turned.y():
        span.zoom(_ZOOM ** (turned.y() / _NOTCH), event.position().x() if x is None else x)
    event.accept()
