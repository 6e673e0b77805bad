"""How the parts of the hand-over page lie: the form at the left, the sheet beside it, the footer below."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QHBoxLayout, QScrollArea, QStackedWidget, QVBoxLayout, QWidget

from app.handover.footer import Footer
from app.handover.form import SettingsForm
from app.handover.sheet import EmptyNote, Sheet

_FORM_WIDTH = 340


def lay_out(page: QWidget, form: SettingsForm, sheet: Sheet, footer: Footer) -> tuple[QStackedWidget, QScrollArea]:
    """Fill the page.

    Returns
    -------
    stack : QStackedWidget
        What to show: at 0 a note for a take without bars, at 1 the work.
    right : QScrollArea
        In which the sheet is.
    """
    left, right = _scrolling(form), _scrolling(sheet)
    left.setFixedWidth(_FORM_WIDTH)
    left.setObjectName("formEdge")
    sides = QHBoxLayout()
    sides.setSpacing(0)
    sides.addWidget(left)
    sides.addWidget(right, 1)
    work, stack = QWidget(), QStackedWidget()
    whole = QVBoxLayout(work)
    whole.setContentsMargins(0, 0, 0, 0)
    whole.setSpacing(0)
    whole.addLayout(sides, 1)
    whole.addWidget(footer)
    stack.addWidget(EmptyNote())
    stack.addWidget(work)
    around = QVBoxLayout(page)
    around.setContentsMargins(0, 0, 0, 0)
    around.addWidget(stack)
    return stack, right


def _scrolling(widget: QWidget) -> QScrollArea:
    area = QScrollArea()
    area.setWidget(widget)
    area.setWidgetResizable(True)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    return area
