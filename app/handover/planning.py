"""When a plan is due: a while after the last change, and only while somebody looks."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject, QTimer, Signal, Slot

from app.errands import Errands
from core.planned import Plan

DELAY = 150
"""Milliseconds without another change before the plan is worked out again."""


class Planning(QObject):
    """Knows the plan, and whether it is that of what is wished for."""

    due = Signal()
    """It is time to say, with `make` or `give_up`, what becomes of the plan."""
    planned = Signal(object)
    """`Plan`: it has been worked out."""
    failed = Signal(object)
    """The exception that kept it from being worked out."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._plan: Plan | None = None
        self._looked_at = False
        self._wished = self._asked = self._answered = 0  # which plan is due, is being made, is there
        self._timer = QTimer(self, singleShot=True)
        self._timer.timeout.connect(self.due)
        self._errands = Errands(self)
        self._errands.done.connect(self._made)
        self._errands.failed.connect(self._failed)

    @property
    def plan(self) -> Plan | None:
        """The plan; None while there is none or it is being worked out."""
        return self._plan if self._answered == self._wished else None

    @property
    def last(self) -> Plan | None:
        """The plan worked out last, be it that of what is wished for or not."""
        return self._plan

    @property
    def waiting(self) -> bool:
        """Whether it will be due by itself."""
        return self._timer.isActive()

    def wish(self) -> None:
        """Another plan is wished for: bars or settings have changed."""
        self._wished += 1
        if self._looked_at:
            self._timer.start(DELAY)

    def look(self, *, looking: bool) -> None:
        """Somebody begins to look, and what was left is due; or nobody looks any more."""
        self._looked_at = looking
        if not looking:
            self._timer.stop()
        elif self._asked != self._wished:
            self._timer.start(0)

    def make(self, work: Callable[[], Plan]) -> None:
        """Have the plan that is due worked out."""
        self._asked = self._wished
        self._errands.ask(work)

    def give_up(self) -> None:
        """There is no plan for what is wished for."""
        self._asked = self._wished
        self._errands.drop()
        self._plan = None

    def forget(self) -> None:
        """Drop the plan of a take that has gone."""
        self._plan = None
        self._errands.drop()

    def stop(self) -> None:
        """End the timer and whatever is being worked out; for good."""
        self._timer.stop()
        self._errands.stop()

    @Slot(object)
    def _made(self, plan: Plan) -> None:
        self._plan, self._answered = plan, self._asked
        self.planned.emit(plan)

    @Slot(object)
    def _failed(self, error: Exception) -> None:
        self._plan = None
        self.failed.emit(error)
