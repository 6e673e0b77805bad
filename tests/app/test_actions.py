"""The table of commands: complete, consistent, and each command done by somebody."""

from collections import Counter

import pytest
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QWidget

from app.action_set import ActionSet
from app.actions import COMMANDS, CONTEXT, MENUS, PAGES, TOOLBAR, WITH_TEXT
from app.corrections import Corrections
from app.counting import Counting
from app.cutting.hand import Cutting
from app.hearing import Hearing
from app.icon import folder
from app.listening import Listening
from app.main_window import MainWindow
from app.moment import Moment
from app.navigation import Navigation
from app.notes.hand import Notes
from app.opening import Opening
from app.saving import Saving
from app.sections.hand import Sections
from app.sheets import Sheets
from app.tapping.tapping import Tapping
from app.views import Views
from app.workspace import Workspace

IDS = {command.id for command in COMMANDS}
HANDS = (
    Corrections, Counting, Cutting, Hearing, Listening, Navigation, Notes, Opening, Saving, Sections, Sheets,
    Tapping, Views,
    Workspace,
    MainWindow,
)  # fmt: skip


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command.id)
def test_every_command_is_in_a_menu_says_what_it_does_and_is_done(command):
    assert command.menu in MENUS
    assert command.text
    assert command.tip.endswith(".")
    assert any(callable(getattr(hand, command.id, None)) for hand in HANDS)
    assert not command.icon or (folder() / f"{command.icon}.svg").is_file()
    assert isinstance(command.when(Moment()), str)
    for key in command.keys:
        assert not QKeySequence(key).isEmpty()
        assert QKeySequence(key).toString() == QKeySequence(QKeySequence(key).toString()).toString()


def test_no_key_and_no_id_is_given_twice():
    keys = Counter(QKeySequence(key).toString() for command in COMMANDS for key in command.keys)
    assert [key for key, times in keys.items() if times > 1] == []
    assert len(IDS) == len(COMMANDS)


@pytest.mark.parametrize("menu", MENUS)
def test_no_mnemonic_is_given_twice_in_a_menu(menu):
    texts = [command.text for command in COMMANDS if command.menu == menu]
    letters = Counter(text[text.index("&") + 1].lower() for text in texts if "&" in text)
    assert [letter for letter, times in letters.items() if times > 1] == []


def test_toolbar_pages_and_context_menu_name_commands():
    used = {name for group in (*TOOLBAR, *(group for _, group in CONTEXT)) for name in group}
    assert used | set(PAGES) | WITH_TEXT <= IDS


def test_an_empty_window_can_do_little_and_says_why():
    possible = {command.id for command in COMMANDS if not command.when(Moment())}
    assert {"open_take", "show_keys", "show_preferences", "show_about", "quit_window"} <= possible
    assert not possible & {"place_here", "undo", "next_doubtful", "show_hand_over", "close_take"}


def test_a_command_nobody_does_is_a_fault(qtbot):
    window = QWidget()
    qtbot.addWidget(window)
    with pytest.raises(LookupError, match="nobody does"):
        ActionSet(window, [])
