"""What of the window is shown: one page of several, the side panel or not, and how they share the room."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QSplitter, QStackedWidget, QVBoxLayout, QWidget

from app.action_set import ActionSet
from app.actions import PAGES
from app.settings import Settings
from app.side_panel import SidePanel
from app.window_layout import WindowLayout


class Views(QObject):
    """Goes from page to page, and remembers how all of it lay.

    Parameters
    ----------
    window : QWidget
        The window.
    pages : sequence of QWidget
        Timeline, bar stack, what is heard, and hand-over, in the order of `PAGES`.
    over : sequence of QWidget
        Stand above every page.
    side_panel : SidePanel
        Stands beside them.
    parts : dict of str to QSplitter
        Others whose shares are remembered, under the names they are kept by.
    settings : Settings
        Where it is kept.
    """

    page_changed = Signal()
    """Another page is the one in use."""

    def __init__(
        self,
        window: QWidget,
        *,
        pages: tuple[QWidget, QWidget, QWidget, QWidget],
        over: Sequence[QWidget],
        side_panel: SidePanel,
        parts: dict[str, QSplitter],
        settings: Settings,
    ) -> None:
        super().__init__(window)
        self._settings, self._side_panel = settings, side_panel
        self._named = dict(zip(PAGES, pages, strict=True))
        self.page: QWidget = pages[0]
        self._taken = False
        self._panel_wanted = True
        self.stack = QStackedWidget()
        for page in pages:
            self.stack.addWidget(page)
        left = QWidget()
        column = QVBoxLayout(left)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        for widget in over:
            column.addWidget(widget)
        column.addWidget(self.stack, 1)
        self.splitter = QSplitter(Qt.Orientation.Horizontal)
        self.splitter.addWidget(left)
        self.splitter.addWidget(side_panel)
        self.splitter.setStretchFactor(0, 1)
        self.splitter.setStretchFactor(1, 0)
        self.splitter.setCollapsible(0, False)
        self.splitter.setHandleWidth(5)
        self._layout = WindowLayout(window, self.splitter, parts, settings)

    def begin(self, empty: QWidget, actions: ActionSet) -> None:
        """Take in what is shown while no take is open, and the actions that are checked by what is shown."""
        self._empty, self._actions = empty, actions
        self.stack.insertWidget(0, empty)
        self.restore()

    def show(self, *, taken: bool) -> None:
        """Show the page in use, or the empty window where no take is open."""
        self._taken = taken
        self.stack.setCurrentWidget(self.page if taken else self._empty)
        self._show_panel(shown=self._panel_wanted)
        self._check_page()

    # What is remembered

    def restore(self) -> None:
        """Lie as on the last day."""
        self._layout.restore()
        self.page = self._named.get(self._settings.text("page", PAGES[0]), self.page)
        self._panel_wanted = self._settings.text("panel", "shown") == "shown"

    def remember(self) -> None:
        """Keep how it lies."""
        self._layout.remember()
        name = next(name for name, page in self._named.items() if page is self.page)
        self._settings.remember_text("page", name)
        self._settings.remember_text("panel", "shown" if self._panel_wanted else "hidden")

    def forget_layout(self) -> None:
        """Lie as on the first day."""
        self._layout.forget()
        self._show_panel(shown=True)

    # Commands

    def show_timeline(self) -> None:
        """Go to the timeline."""
        self._go_to("show_timeline")

    def show_bar_stack(self) -> None:
        """Go to the bar stack."""
        self._go_to("show_bar_stack")

    def show_heard(self) -> None:
        """Go to what is heard, or back to the timeline from there."""
        self._go_to("show_timeline" if self.page is self._named["show_heard"] else "show_heard")

    def show_hand_over(self) -> None:
        """Go to the hand-over."""
        self._go_to("show_hand_over")

    def _go_to(self, name: str) -> None:
        self.page = self._named[name]
        if self._taken:
            self.stack.setCurrentWidget(self.page)
        self._check_page()
        self.page_changed.emit()

    def _check_page(self) -> None:
        for name, page in self._named.items():
            self._actions[name].setChecked(page is self.page)

    def toggle_side_panel(self) -> None:
        """Show or hide the side panel."""
        self._show_panel(shown=not self._panel_wanted)

    def show_history(self) -> None:
        """Go to the list of what was done."""
        self._show_panel(shown=True)
        self._side_panel.done.setFocus()

    def show_pauses(self) -> None:
        """Go to the list of pauses."""
        self._show_panel(shown=True)
        self._side_panel.cutting.setCurrentWidget(self._side_panel.cutting.pauses)
        self._side_panel.cutting.pauses.list.setFocus()

    def _show_panel(self, *, shown: bool) -> None:
        self._panel_wanted = shown
        # Beside an empty window the panel would have nothing to say.
        self._side_panel.setVisible(shown and self._taken)
        self._actions["toggle_side_panel"].setChecked(shown)
