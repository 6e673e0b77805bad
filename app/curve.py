"""Keeps the tempi that would be handed over in step with the bars on screen."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal, Slot

from app.state import State
from app.workspace import Workspace
from core.errors import BarwrightError
from core.fit import fit_bars
from core.planned import Plan


class Curve(QObject):
    """Fits a tempo map to the bars as soon as they are settled; the hand-over's own plan takes its place.

    While new suggestions are on their way the curve stays: they are there before a hand has moved on, and a curve
    that went and came back with every edit would only flicker.

    Parameters
    ----------
    workspace : Workspace
        Knows the bars.
    """

    fitted = Signal(object)
    """The `Fit` of the bars on screen; None where there is none."""

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._workspace = workspace
        self._waiting = True
        workspace.changed.connect(self._changed)

    @Slot(object, object)
    def _changed(self, old: State, new: State) -> None:
        if new.take is not old.take or new.grid is None:
            self._waiting = True
            self.fitted.emit(None)
        self._waiting = self._waiting or new.grid is not old.grid
        if self._waiting and new.grid is not None and not new.pending:
            self._waiting = False
            try:
                self.fitted.emit(fit_bars(new.grid))
            except BarwrightError:
                self.fitted.emit(None)  # one line alone has no tempo

    @Slot(object)
    def take_plan(self, plan: Plan) -> None:
        """Show what will be handed over, until the bars change."""
        if plan.grid is self._workspace.state.grid:
            self.fitted.emit(plan.fit)
