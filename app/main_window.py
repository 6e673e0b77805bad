"""The window: puts its parts together, opens takes, and keeps what is shown in step with the workspace."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QByteArray, QEvent, QSize, Qt
from PySide6.QtGui import QAction, QCloseEvent, QDragEnterEvent, QDragLeaveEvent, QDropEvent, QStatusTipEvent
from PySide6.QtWidgets import (
    QFileDialog,
    QMainWindow,
    QMenu,
    QMessageBox,
    QSizePolicy,
    QSplitter,
    QStackedWidget,
    QToolBar,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.about import AboutDialog
from app.action_set import ActionSet
from app.actions import CONTEXT, PAGES, TOOLBAR, WITH_TEXT
from app.bar_stack import BarStack
from app.colours import Colours
from app.corrections import Corrections
from app.empty_state import EmptyState, example_folder
from app.handover_page import HandoverPage
from app.message_strip import MessageStrip
from app.messages_dialog import MessagesDialog
from app.metre_question import MetreQuestion
from app.navigation import Navigation
from app.pointer import Pointer
from app.preferences import PreferencesDialog
from app.segments import Segments
from app.settings import Settings
from app.shortcut_sheet import ShortcutSheet
from app.side_panel import SidePanel
from app.span import Span
from app.state import Message, State
from app.theme import Theme
from app.timeline.timeline import Timeline
from app.workspace import Workspace

if TYPE_CHECKING:
    from core.handover import Plan

TAKES = (
    "Takes (*.mid *.midi *.smf *.rmi *.wav *.flac *.ogg *.oga *.mp3 *.aif *.aiff *.aifc *.au *.caf *.opus "
    "*.m4a *.aac *.mp4);;All files (*)"
)
FIRST_SIZE = QSize(1280, 800)
PANEL_WIDTH = 280


class MainWindow(QMainWindow):
    """Barwright's one window.

    Parameters
    ----------
    settings : Settings
        What is remembered.
    theme : Theme
        Colours, followed while the window is open.
    """

    def __init__(self, settings: Settings, theme: Theme) -> None:
        super().__init__()
        self.settings, self.theme = settings, theme
        self.workspace = Workspace(self)
        self.span = Span(self)
        self.timeline = Timeline(self.workspace, self.span)
        self.bar_stack = BarStack(self.workspace, self.span)
        self.hand_over = HandoverPage(self.workspace)
        self.side_panel = SidePanel()
        self.strip = MessageStrip()
        self.question = MetreQuestion()
        self.pointer = Pointer(self.workspace, self.span, self)
        self.pointer.watch(self.timeline.stage)
        self.corrections = Corrections(self.workspace, self.pointer, self)
        self.navigation = Navigation(self.workspace, self.timeline, self.span, self)
        self.actions_by_id = ActionSet(self, [self.corrections, self.navigation, self])
        self.empty = EmptyState(self.actions_by_id["open_take"], self.actions_by_id["open_example"])
        self._page: QWidget = self.timeline
        self._busy = False
        self._opening: Path | None = None
        self._leave: str = ""
        self._dialog: QWidget | None = None

        self.setMinimumSize(720, 460)
        self.setAcceptDrops(True)
        self._lay_out()
        self._make_menus()
        self._make_toolbar()
        self._connect()
        self._take_preferences()
        self._restore_layout()
        self._recolour(theme.colours)
        self._show_state(self.workspace.state)

    # Parts

    def _lay_out(self) -> None:
        self.pages = QStackedWidget()
        for page in (self.empty, self.timeline, self.bar_stack, self.hand_over):
            self.pages.addWidget(page)
        left = QWidget()
        over = QVBoxLayout(left)
        over.setContentsMargins(0, 0, 0, 0)
        over.setSpacing(0)
        over.addWidget(self.question)
        over.addWidget(self.pages, 1)
        self.splitter = QSplitter(Qt.Orientation.Horizontal)
        self.splitter.addWidget(left)
        self.splitter.addWidget(self.side_panel)
        self.splitter.setStretchFactor(0, 1)
        self.splitter.setStretchFactor(1, 0)
        self.splitter.setCollapsible(0, False)
        self.splitter.setHandleWidth(5)
        whole = QWidget()
        column = QVBoxLayout(whole)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.splitter, 1)
        column.addWidget(self.strip)
        self.setCentralWidget(whole)

    def _make_menus(self) -> None:
        menus = self.actions_by_id.fill(self.menuBar())
        self.recent_menu = QMenu("Open &recent", self)
        self.recent_menu.setToolTipsVisible(True)
        self.recent_menu.triggered.connect(self._open_recent)
        menus["&Take"].insertMenu(self.actions_by_id["open_example"], self.recent_menu)
        self.context_menu = self.actions_by_id.menu(CONTEXT, self)

    def _make_toolbar(self) -> None:
        bar = QToolBar("Tools")
        bar.setObjectName("tools")
        bar.setMovable(False)
        bar.setIconSize(QSize(20, 20))
        bar.setContextMenuPolicy(Qt.ContextMenuPolicy.PreventContextMenu)
        for i, group in enumerate(TOOLBAR):
            if i:
                bar.addSeparator()
            for name in group:
                self._add_tool(bar, name, with_text=name in WITH_TEXT)
        room = QWidget()
        room.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        bar.addWidget(room)
        rows = [self.actions_by_id.commands[name] for name in PAGES]
        self.segments = Segments([self.actions_by_id[row.id] for row in rows], [row.icon for row in rows], "Page")
        bar.addWidget(self.segments)
        self._add_tool(bar, "toggle_side_panel", with_text=False)
        self.addToolBar(bar)
        self.tools = bar

    def _add_tool(self, bar: QToolBar, name: str, *, with_text: bool) -> None:
        action = self.actions_by_id[name]
        bar.addAction(action)
        button = bar.widgetForAction(action)
        if isinstance(button, QToolButton):
            style = Qt.ToolButtonStyle
            button.setToolButtonStyle(style.ToolButtonTextBesideIcon if with_text else style.ToolButtonIconOnly)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.setAccessibleName(self.actions_by_id.commands[name].plain)

    def _connect(self) -> None:
        self.workspace.changed.connect(self._changed)
        self.workspace.selected.connect(self._selected)
        self.workspace.message.connect(self.say)
        self.workspace.working.connect(self._working)
        self.timeline.menu_wanted.connect(self._show_context_menu)
        self.timeline.rename_wanted.connect(self.corrections.ask_name)
        self.bar_stack.menu_wanted.connect(self._show_context_menu)
        self.bar_stack.went_to.connect(self._go_in_timeline)
        self.hand_over.went_to.connect(self._go_in_timeline)
        self.hand_over.planned.connect(self._planned)
        self.side_panel.look_first.wanted.connect(self.navigation.go_to_place)
        self.side_panel.done.wanted.connect(self.workspace.go_to)
        self.side_panel.this_bar.wanted.connect(self.corrections.take_alternative)
        self.strip.cancelled.connect(self.workspace.cancel)
        self.strip.list_wanted.connect(self.show_messages)
        self.question.chosen.connect(self.corrections.change_metre_throughout)
        self.question.other_wanted.connect(self.corrections.ask_metre_throughout)
        self.empty.wanted.connect(self.open_path)
        self.theme.changed.connect(self._recolour)

    # What is remembered

    def _take_preferences(self) -> None:
        preferences = self.settings.preferences
        if self.theme.appearance != preferences.appearance:
            self.theme.choose(preferences.appearance)
        self.corrections.preferences = preferences
        self.timeline.stage.set_snapping(preferences.snap)
        self.actions_by_id.rebind(self.settings.keys)
        self.side_panel.show_state(self.workspace.state, preferences.doubtful)

    def _restore_layout(self) -> None:
        geometry = self.settings.layout("geometry")
        if geometry is None or not self.restoreGeometry(geometry):
            self.resize(FIRST_SIZE)
        self._restore_splitters()
        page = self.settings.text("page", PAGES[0])
        self._page = {"show_bar_stack": self.bar_stack, "show_hand_over": self.hand_over}.get(page, self.timeline)
        self._panel_wanted = self.settings.text("panel", "shown") == "shown"

    def _restore_splitters(self) -> None:
        for name, splitter in self._splitters.items():
            kept = self.settings.layout(name)
            if kept is not None:
                splitter.restoreState(kept)
        if self.settings.layout("whole") is None:
            self.splitter.setSizes([FIRST_SIZE.width() - PANEL_WIDTH, PANEL_WIDTH])

    @property
    def _splitters(self) -> dict[str, QSplitter]:
        return {"whole": self.splitter, "panel-parts": self.side_panel.splitter, "lanes": self.timeline.splitter}

    def _remember_layout(self) -> None:
        self.settings.remember_layout("geometry", self.saveGeometry())
        for name, splitter in self._splitters.items():
            self.settings.remember_layout(name, QByteArray(splitter.saveState()))
        pages = dict(zip((self.timeline, self.bar_stack, self.hand_over), PAGES, strict=True))
        self.settings.remember_text("page", pages[self._page])
        self.settings.remember_text("panel", "shown" if self._panel_wanted else "hidden")
        self.settings.save()

    def forget_layout(self) -> None:
        """Lie as on the first day."""
        self.settings.forget_layout()
        self.showNormal()
        self.resize(FIRST_SIZE)
        self._show_panel(shown=True)
        self.side_panel.splitter.setSizes([300, 220, 220])
        self.splitter.setSizes([FIRST_SIZE.width() - PANEL_WIDTH, PANEL_WIDTH])

    # What is shown

    def _changed(self, old: State, new: State) -> None:
        if new.grid is not old.grid:
            self.timeline.set_fit(None)
        self.question.show_change(old, new)
        self._show_state(new)
        if new.take is not None and new.take is not old.take:
            self.settings.remember_take(new.take.path)
            self._show_recent()
            self.timeline.stage.setFocus()

    def _selected(self, _: object) -> None:
        self._show_selection()
        self._judge()

    def _show_state(self, state: State) -> None:
        name = "" if state.take is None else state.take.path.name
        self.setWindowTitle(f"{name} \N{EM DASH} Barwright" if name else "Barwright")
        self.setWindowFilePath(str(state.take.path) if state.take is not None else "")
        self.pages.setCurrentWidget(self.empty if state.take is None else self._page)
        self.strip.count(state)
        self._show_panel(shown=self._panel_wanted)
        self.side_panel.show_state(state, self.settings.preferences.doubtful)
        self._check_page()
        self._show_selection()
        self._show_recent()
        self._judge()

    def _show_selection(self) -> None:
        self.side_panel.show_selection(self.corrections.moment, self.corrections.alternatives)

    def _show_recent(self) -> None:
        recent = self.settings.recent
        self.empty.show_recent(recent)
        self.recent_menu.clear()
        for i, path in enumerate(recent, 1):
            action = self.recent_menu.addAction(f"&{i} {path.name}" if i < 10 else path.name)
            action.setToolTip(str(path))
            action.setData(str(path))
        self.recent_menu.setEnabled(bool(recent))

    def _judge(self) -> None:
        moment = replace(
            self.corrections.moment,
            example=example_folder() is not None,
            recent=bool(self.settings.recent),
            busy=self._busy,
        )
        self.actions_by_id.judge(moment)

    def _working(self, stage: str, share: float) -> None:
        self.strip.work(stage, share)
        if bool(stage) != self._busy:
            self._busy = bool(stage)
            self._judge()

    def _recolour(self, colours: Colours) -> None:
        self.actions_by_id.recolour(colours)
        self.strip.recolour(colours)
        self.question.recolour(colours)
        self.empty.recolour(colours)
        self.segments.recolour(colours)

    def say(self, message: Message) -> None:
        """Say something quietly in the strip."""
        self.strip.say(message)

    def event(self, event: QEvent) -> bool:
        """Show the tip of a command in the strip while the pointer is on it."""
        if event.type() == QEvent.Type.StatusTip and isinstance(event, QStatusTipEvent):
            self.strip.hint(event.tip())
            return True
        return super().event(event)

    def _planned(self, plan: Plan) -> None:
        """The tempo map that will be handed over is drawn with the tempi, until the bars change."""
        if plan.grid is self.workspace.state.grid:
            self.timeline.set_fit(plan.fit)

    def _go_in_timeline(self, bar: int) -> None:
        self.show_timeline()
        self.navigation.go_to_place((bar, 1))

    def _show_context_menu(self, target: object, place: object) -> None:
        self.pointer.fixed = getattr(target, "time", None)
        self.context_menu.popup(place)  # type: ignore[arg-type]

    # Commands: take

    def open_take(self) -> None:
        """Ask for a file."""
        dialog = QFileDialog(self, "Open a take", str(self.settings.folder("takes")), TAKES)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.fileSelected.connect(self._file_chosen)
        self._dialog = dialog
        dialog.open()

    def _file_chosen(self, name: str) -> None:
        self.open_path(Path(name))

    def _open_recent(self, action: QAction) -> None:
        self.open_path(Path(str(action.data())))

    def open_example(self) -> None:
        """Open the ten-minute example."""
        folder = example_folder()
        if folder is not None:
            self.open_path(folder / "low-tide.mid")

    def open_path(self, path: Path) -> None:
        """Open a file, after asking where work would be left."""
        self._opening = path
        self._ask_to_leave("_open_now")

    def _open_now(self) -> None:
        if self._opening is not None:
            self.settings.remember_folder("takes", self._opening.parent)
            self.workspace.open(self._opening)

    def forget_recent(self) -> None:
        """Empty the list of recent takes."""
        self.settings.forget_takes()
        self._show_recent()
        self._judge()

    def cancel_work(self) -> None:
        """Stop what is being worked on."""
        self.workspace.cancel()

    def close_take(self) -> None:
        """Close the take."""
        self._ask_to_leave("_close_take_now")

    def _close_take_now(self) -> None:
        self.workspace.close_take()

    def quit_window(self) -> None:
        """Close the window."""
        self._ask_to_leave("_close_now")

    def _close_now(self) -> None:
        self.close()

    def _ask_to_leave(self, then: str) -> None:
        """Do something that leaves the take; ask first where things were done to it."""
        state = self.workspace.state
        self._leave = then
        if state.take is None or not state.at:
            self._left()
            return
        things = "1 thing" if state.at == 1 else f"{state.at} things"
        box = QMessageBox(self)
        box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        box.setWindowTitle("Leave this take?")
        box.setIcon(QMessageBox.Icon.Question)
        box.setText(f"Leave {state.take.path.name}?")
        box.setInformativeText(
            f"You have done {things} to its bars. They last in what you hand over, not in the take itself."
        )
        leave = box.addButton("Leave", QMessageBox.ButtonRole.DestructiveRole)
        leave.clicked.connect(self._left)
        box.setDefaultButton(box.addButton("Stay", QMessageBox.ButtonRole.RejectRole))
        self._dialog = box
        box.open()

    def _left(self) -> None:
        getattr(self, self._leave)()

    # Commands: edit and view

    def undo(self) -> None:
        """Take back the last edit."""
        self.workspace.undo()

    def redo(self) -> None:
        """Do it again."""
        self.workspace.redo()

    def show_history(self) -> None:
        """Go to the list of what was done."""
        self._show_panel(shown=True)
        self.side_panel.done.setFocus()

    def show_timeline(self) -> None:
        """Go to the timeline."""
        self._go_to_page(self.timeline)

    def show_bar_stack(self) -> None:
        """Go to the bar stack."""
        self._go_to_page(self.bar_stack)

    def show_hand_over(self) -> None:
        """Go to the hand-over."""
        self._go_to_page(self.hand_over)

    def _go_to_page(self, page: QWidget) -> None:
        self._page = page
        if self.workspace.state.take is not None:
            self.pages.setCurrentWidget(page)
        self._check_page()

    def _check_page(self) -> None:
        for name, page in zip(PAGES, (self.timeline, self.bar_stack, self.hand_over), strict=True):
            self.actions_by_id[name].setChecked(page is self._page)

    def toggle_side_panel(self) -> None:
        """Show or hide the side panel."""
        self._show_panel(shown=not self._panel_wanted)

    def _show_panel(self, *, shown: bool) -> None:
        self._panel_wanted = shown
        # Beside an empty window the panel would have nothing to say.
        self.side_panel.setVisible(shown and self.workspace.state.take is not None)
        self.actions_by_id["toggle_side_panel"].setChecked(shown)

    def toggle_full_screen(self) -> None:
        """Use the whole screen, or the window again."""
        self.setWindowState(self.windowState() ^ Qt.WindowState.WindowFullScreen)

    # Commands: dialogs

    def _open(self, dialog: QWidget) -> None:
        self._dialog = dialog
        dialog.show()

    def show_messages(self) -> None:
        """Read earlier messages again."""
        self._open(MessagesDialog(self.strip.messages, self))

    def show_keys(self) -> None:
        """Show every command and its keys."""
        self._open(ShortcutSheet(self.actions_by_id, self))

    def show_about(self) -> None:
        """Show version and licences."""
        self._open(AboutDialog(dark=self.theme.colours.dark, parent=self))

    def show_preferences(self) -> None:
        """Choose appearance, snapping, nudges and keys."""
        dialog = PreferencesDialog(self.settings.preferences, self.actions_by_id.keys, self)
        dialog.accepted.connect(self._preferences_chosen)
        dialog.layout_forgotten.connect(self.forget_layout)
        self._dialog = dialog
        dialog.open()

    def _preferences_chosen(self) -> None:
        if isinstance(self._dialog, PreferencesDialog):
            self.settings.preferences = self._dialog.chosen
            self.settings.keys = self._dialog.keys.chosen
            self._take_preferences()
            self._show_state(self.workspace.state)

    # Events

    def changeEvent(self, event: QEvent) -> None:
        """Keep the mark of the full screen right, whoever changed it."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.WindowStateChange:
            self.actions_by_id["toggle_full_screen"].setChecked(self.isFullScreen())

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Take a file of this computer."""
        if any(url.isLocalFile() for url in event.mimeData().urls()):
            event.acceptProposedAction()
            self.empty.show_drop(hovered=True)

    def dragLeaveEvent(self, _: QDragLeaveEvent) -> None:
        """It went away again."""
        self.empty.show_drop(hovered=False)

    def dropEvent(self, event: QDropEvent) -> None:
        """Open the file that was dropped."""
        self.empty.show_drop(hovered=False)
        paths = [Path(url.toLocalFile()) for url in event.mimeData().urls() if url.isLocalFile()]
        event.acceptProposedAction()
        if len(paths) > 1:
            self.say(Message(f"One take at a time: {paths[0].name} is opened."))
        self.open_path(paths[0])

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask before work is left, if it was the musician who closed the window; end everything else first."""
        if event.spontaneous() and self.workspace.state.at:
            event.ignore()
            self.quit_window()
            return
        self._remember_layout()
        self.strip.stop()
        self.hand_over.stop()
        self.workspace.stop()
        super().closeEvent(event)
