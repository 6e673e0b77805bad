"""The actions of Qt, made from the table of commands: their keys and icons, and whether they can be done now."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMenu, QMenuBar, QWidget

from app.action import Command
from app.actions import COMMANDS, MENUS, PAGES
from app.colours import Colours
from app.icon import icon
from app.moment import Moment

KEYED_TIP = "{text} ({keys})"


def shown(keys: Iterable[str]) -> str:
    """Keys as the system writes them."""
    return ", ".join(QKeySequence(key).toString(QKeySequence.SequenceFormat.NativeText) for key in keys)


class ActionSet(QObject):
    """All actions of the window, by the id of their command.

    Parameters
    ----------
    window : QWidget
        In which the keys hold.
    hands : sequence of QObject
        Who does the commands: the first that has a method of the command's name.

    Raises
    ------
    LookupError
        If nobody does a command.
    """

    keys_changed = Signal()

    def __init__(self, window: QWidget, hands: Sequence[QObject]) -> None:
        super().__init__(window)
        self.commands: dict[str, Command] = {command.id: command for command in COMMANDS}
        self.keys: dict[str, tuple[str, ...]] = {}
        self._actions: dict[str, QAction] = {}
        self._reasons: dict[str, str] = {}
        pages = QActionGroup(self)
        for command in COMMANDS:
            action = QAction(command.text, self)
            action.setObjectName(command.id)
            action.setStatusTip(command.tip)
            action.setCheckable(command.checkable)
            if command.id in PAGES:
                pages.addAction(action)
            action.triggered.connect(self._hand(command.id, hands))
            self._actions[command.id] = action
            window.addAction(action)
        self.rebind({})

    def __getitem__(self, name: str) -> QAction:
        return self._actions[name]

    @staticmethod
    def _hand(name: str, hands: Sequence[QObject]):  # type: ignore[no-untyped-def]
        for hand in hands:
            if hasattr(hand, name):
                return getattr(hand, name)
        raise LookupError(f"nobody does {name}")

    def rebind(self, chosen: dict[str, list[str]]) -> None:
        """Give every command its keys: those chosen, else those of the table."""
        for name, command in self.commands.items():
            keys = tuple(chosen.get(name, command.keys))
            self.keys[name] = keys
            self._actions[name].setShortcuts([QKeySequence(key) for key in keys])
            self._tell(name)
        self.keys_changed.emit()

    def judge(self, moment: Moment) -> None:
        """Say what can be done now, and why the rest cannot."""
        for name, command in self.commands.items():
            reason = command.when(moment)
            if reason != self._reasons.get(name):
                self._reasons[name] = reason
                self._actions[name].setEnabled(not reason)
                self._tell(name)

    def refusal(self, keys: QKeySequence) -> str:
        """Why the command with these keys cannot be done now; empty when it can, or when there is none."""
        for name, action in self._actions.items():
            if keys in action.shortcuts():
                return self._reasons.get(name, "")
        return ""

    def lend(self, name: str, *, lent: bool) -> None:
        """Leave the keys of a command to somebody else, or take them back."""
        keys = () if lent else self.keys[name]
        self._actions[name].setShortcuts([QKeySequence(key) for key in keys])

    def recolour(self, colours: Colours) -> None:
        """Draw the icons in other colours."""
        for name, command in self.commands.items():
            if command.icon:
                self._actions[name].setIcon(icon(command.icon, colours))

    def _tell(self, name: str) -> None:
        command, keys, reason = self.commands[name], self.keys[name], self._reasons.get(name, "")
        head = KEYED_TIP.format(text=command.plain, keys=shown(keys[:1])) if keys else command.plain
        lines = [head, command.tip] + ([f"Not now: {reason}"] if reason else [])
        self._actions[name].setToolTip("<p style='white-space:pre-wrap'>" + "\n".join(map(_plain, lines)) + "</p>")
        self._actions[name].setStatusTip(f"{command.tip} {reason}".strip())

    # Menus

    def fill(self, bar: QMenuBar) -> dict[str, QMenu]:
        """Put every command into its menu; return the menus by their text."""
        menus = {}
        for text in MENUS:
            menu = menus[text] = bar.addMenu(text)
            menu.setToolTipsVisible(True)
            of_menu = [command for command in COMMANDS if command.menu == text]
            for before, command in zip([None, *of_menu], of_menu, strict=False):
                if before is not None and before.group != command.group:
                    menu.addSeparator()
                menu.addAction(self._actions[command.id])
        return menus

    def menu(self, groups: Sequence[tuple[str, Sequence[str]]], parent: QWidget) -> QMenu:
        """A menu of some commands, in groups; one with a title is a menu in it."""
        made = QMenu(parent)
        made.setToolTipsVisible(True)
        for before, (title, group) in zip([None, *groups], groups, strict=False):
            if before is not None and not (title and before[0]):
                made.addSeparator()
            inner = made.addMenu(title) if title else made
            inner.setToolTipsVisible(True)
            inner.addActions([self._actions[name] for name in group])
        return made


def _plain(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;")
