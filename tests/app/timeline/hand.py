"""A hand on the mouse: real events, in the order in which Qt sends them."""

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

NONE = Qt.KeyboardModifier.NoModifier
LEFT = Qt.MouseButton.LeftButton


def press(widget: QWidget, x: float, y: float, held=NONE, button=LEFT) -> None:
    QTest.mousePress(widget, button, held, QPoint(round(x), round(y)))


def move(widget: QWidget, x: float, y: float, held=NONE, button=LEFT) -> None:
    at = QPointF(round(x), round(y))
    nothing = Qt.MouseButton.NoButton
    event = QMouseEvent(QEvent.Type.MouseMove, at, widget.mapToGlobal(at), nothing, button, held)
    QApplication.sendEvent(widget, event)


def release(widget: QWidget, x: float, y: float, held=NONE, button=LEFT) -> None:
    QTest.mouseRelease(widget, button, held, QPoint(round(x), round(y)))


def drag(widget: QWidget, start: float, end: float, y: float, held=NONE, button=LEFT) -> None:
    press(widget, start, y, held, button)
    for share in (0.3, 0.7, 1.0):
        move(widget, start + share * (end - start), y, held, button)
    release(widget, end, y, held, button)


def click(widget: QWidget, x: float, y: float, held=NONE) -> None:
    QTest.mouseClick(widget, LEFT, held, QPoint(round(x), round(y)))


def double_click(widget: QWidget, x: float, y: float, held=NONE) -> None:
    click(widget, x, y, held)
    QTest.mouseDClick(widget, LEFT, held, QPoint(round(x), round(y)))
