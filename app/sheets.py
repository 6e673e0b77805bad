"""Opens what lies over the window: messages, keys, preferences, about."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QDialog, QWidget
from shiboken6 import isValid

from app.about import AboutDialog
from app.action_set import ActionSet
from app.message_strip import MessageStrip
from app.messages_dialog import MessagesDialog
from app.preferences import PreferencesDialog
from app.settings import Settings
from app.shortcut_sheet import ShortcutSheet
from app.theme import Theme


class Sheets(QObject):
    """Each `show_...` is a command of `app.actions`; `current` is what was opened last."""

    preferences_changed = Signal()
    layout_forgotten = Signal()
    outputs_wanted = Signal()
    """Which outputs there are for sound is asked; `show_outputs` is the answer."""

    def __init__(self, settings: Settings, theme: Theme, strip: MessageStrip, window: QWidget) -> None:
        super().__init__(window)
        self._settings, self._theme, self._strip, self._window = settings, theme, strip, window
        self.actions: ActionSet | None = None
        self.current: QDialog | None = None

    def _show(self, dialog: QDialog) -> None:
        """Show a dialog in place of one of its kind that is open still."""
        for other in self._window.findChildren(type(dialog)):
            if other is not dialog:
                other.close()
        self._take(dialog)
        dialog.show()

    def _take(self, dialog: QDialog) -> None:
        """Give a dialog the size it had last."""
        self.current = dialog
        kept = self._settings.layout(_name(dialog))
        if kept is not None:
            dialog.restoreGeometry(kept)
        dialog.finished.connect(self._finished)

    def _finished(self) -> None:
        dialog = self.sender()
        if isinstance(dialog, QDialog):
            self._settings.remember_layout(_name(dialog), dialog.saveGeometry())

    def show_messages(self) -> None:
        """Read earlier messages again."""
        self._show(MessagesDialog(self._strip.messages, self._window))

    def show_keys(self) -> None:
        """Show every command and its keys."""
        if self.actions is not None:
            self._show(ShortcutSheet(self.actions, self._window))

    def show_about(self) -> None:
        """Show version and licences."""
        self._show(AboutDialog(dark=self._theme.colours.dark, parent=self._window))

    def show_preferences(self) -> None:
        """Choose appearance, snapping, nudges and keys."""
        if self.actions is not None:
            dialog = PreferencesDialog(self._settings.preferences, self.actions.keys, self._window)
            dialog.accepted.connect(self._chosen)
            dialog.layout_forgotten.connect(self.layout_forgotten)
            self._take(dialog)
            dialog.open()
            self.outputs_wanted.emit()

    def show_outputs(self, names: tuple[str, ...]) -> None:
        """Offer these outputs, if that is being chosen."""
        if isinstance(self.current, PreferencesDialog) and isValid(self.current):
            self.current.show_outputs(names)

    def _chosen(self) -> None:
        if isinstance(self.current, PreferencesDialog):
            self._settings.preferences = self.current.chosen
            self._settings.keys = self.current.keys.chosen
            self.preferences_changed.emit()


def _name(dialog: QDialog) -> str:
    return f"dialog/{type(dialog).__name__}"
