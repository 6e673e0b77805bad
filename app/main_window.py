"""The window: puts its parts together, opens takes, and keeps what is shown in step with the workspace."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QCloseEvent, QKeyEvent, QKeySequence, QStatusTipEvent
from PySide6.QtWidgets import QMainWindow, QVBoxLayout, QWidget

from app.action_set import ActionSet, shown
from app.actions import CONTEXT
from app.bar_stack import BarStack
from app.colours import Colours
from app.corrections import Corrections
from app.counting import Counting
from app.curve import Curve
from app.cutting.room import CuttingRoom
from app.drop_in import DropIn
from app.empty_state import EmptyState, example_folder
from app.handover_page import HandoverPage
from app.hearing import Hearing
from app.listening import Listening
from app.message_strip import MessageStrip
from app.metre_question import MetreQuestion
from app.navigation import Navigation
from app.notes.hand import Notes
from app.opening import Opening
from app.pointer import Pointer
from app.readout import Readout
from app.recent_menu import RecentMenu
from app.recovery import Recovery
from app.saving import Saving
from app.sections.room import SectionsRoom
from app.settings import Settings
from app.sheets import Sheets
from app.side_panel import SidePanel
from app.sound.player import Player
from app.span import Span
from app.state import Message, State
from app.tapping.tapping import Tapping
from app.theme import Theme
from app.timeline.timeline import Timeline
from app.toolbar import Toolbar
from app.transport import Transport
from app.views import Views
from app.workspace import Workspace


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
        self.curve = Curve(self.workspace, self)
        self.strip = MessageStrip()
        self.question = MetreQuestion()
        self.pointer = Pointer(self.workspace, self.span, self)
        self.pointer.watch(self.timeline.stage)
        self.cutting = CuttingRoom(self.workspace, self.pointer, self.timeline.stage, self.span, self)
        self.notes = Notes(self.workspace, self.timeline.stage, self.span, self)
        self.sections = SectionsRoom(self.workspace, self.timeline.sections, self)
        self.side_panel = SidePanel(self.cutting.panel, self.sections.table)
        self.readout = Readout(self.workspace, self)
        self.drop_in = DropIn(self)
        self.corrections = Corrections(self.workspace, self.pointer, self)
        self.counting = Counting(self.workspace, self.pointer, self)
        self.navigation = Navigation(self.workspace, self.timeline, self.span, self)
        self.saving = Saving(self.workspace, self.hand_over, settings, self)
        self.opening = Opening(self.workspace, self.saving, settings, self)
        self.recovery = Recovery(self.workspace, self.opening, self.saving, self.hand_over, settings, self)
        self.player = Player(self)
        self.listening = Listening(self.workspace, self.player, self.timeline, self.bar_stack, settings, self)
        hearing = Hearing(self.listening)
        self.sheets = Sheets(settings, theme, self.strip, self)
        self.tapping = Tapping(
            self.workspace, self.player, self.listening, self.timeline.stage, self.span, settings, self
        )
        self.views = Views(
            self,
            pages=(self.timeline, self.bar_stack, self.cutting.page, self.hand_over),
            over=(self.recovery.offer, self.question, self.tapping.bar),
            side_panel=self.side_panel,
            parts={"panel-parts": self.side_panel.splitter, "lanes": self.timeline.splitter},
            settings=settings,
        )
        hands = (
            self.corrections,
            self.counting,
            self.cutting.hand,
            self.sections.hand,
            self.notes,
            self.navigation,
            self.listening,
            hearing,
            self.opening,
            self.saving,
            self.sheets,
            self.tapping,
        )
        self.actions_by_id = ActionSet(self, [*hands, self.views, self.workspace, self])
        self.sheets.actions = self.actions_by_id
        self.empty = EmptyState(self.actions_by_id["open_take"], self.actions_by_id["open_example"])
        self.views.begin(self.empty, self.actions_by_id)
        self._busy = False

        self.setMinimumSize(780, 480)
        self._lay_out()
        self._make_menus()
        self._connect()
        self.views.restore()
        self._recolour(theme.colours)
        self._take_preferences()
        self._show_recent()
        self.empty.open.setFocus()

    # Parts

    def _lay_out(self) -> None:
        # First the tools, then the page: Tab goes through them in the order in which they came.
        self.tools = Toolbar(self.actions_by_id)
        self.segments = self.tools.segments
        self.addToolBar(self.tools)
        self.transport = Transport(self.actions_by_id)
        self.listening.begin(self.transport, self.actions_by_id)
        whole = QWidget()
        column = QVBoxLayout(whole)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        for widget, share in ((self.views.splitter, 1), (self.transport, 0), (self.strip, 0)):
            column.addWidget(widget, share)
        self.setCentralWidget(whole)

    def _make_menus(self) -> None:
        menus = self.actions_by_id.fill(self.menuBar())
        self.recent_menu = RecentMenu(self)
        menus["&Take"].insertMenu(self.actions_by_id["open_example"], self.recent_menu)
        self.context_menu = self.actions_by_id.menu(CONTEXT, self)

    def _connect(self) -> None:
        self.workspace.changed.connect(self._changed)
        self.workspace.selected.connect(self._selected)
        self.workspace.message.connect(self.say)
        self.cutting.said.connect(self.say)
        self.notes.wanted.connect(self.views.show_timeline)
        self.notes.editing.connect(self.actions_by_id["edit_notes"].setChecked)
        self.cutting.panel.went_to.connect(self._show_moment)
        self.sections.suggested.connect(self._judge)
        self.sections.table.went_to.connect(self._go_in_timeline)
        self.sections.table.loop_wanted.connect(self._loop_section)
        self.tapping.wanted.connect(self.views.show_timeline)
        self.workspace.working.connect(self._working)
        self.pointer.moved.connect(self.readout.show)
        self.readout.said.connect(self.strip.locate)
        self.timeline.menu_wanted.connect(self._show_context_menu)
        self.timeline.rename_wanted.connect(self.counting.ask_name)
        self.bar_stack.menu_wanted.connect(self._show_context_menu)
        self.bar_stack.went_to.connect(self._go_in_timeline)
        self.hand_over.went_to.connect(self._go_in_timeline)
        self.hand_over.planned.connect(self.curve.take_plan)
        self.curve.fitted.connect(self.timeline.set_fit)
        self.side_panel.look_first.wanted.connect(self.navigation.go_to_place)
        self.side_panel.done.wanted.connect(self.workspace.go_to)
        self.side_panel.this_bar.wanted.connect(self.corrections.take_alternative)
        self.strip.cancelled.connect(self.workspace.cancel)
        self.strip.list_wanted.connect(self.sheets.show_messages)
        self.question.chosen.connect(self.counting.change_metre_throughout)
        self.question.other_wanted.connect(self.counting.ask_metre_throughout)
        self.empty.wanted.connect(self.opening.open_path)
        self.recent_menu.wanted.connect(self.opening.open_path)
        self.drop_in.hovered.connect(self.empty.show_drop)
        self.drop_in.dropped.connect(self.opening.open_path)
        self.drop_in.said.connect(self.say)
        self.saving.changed.connect(self._show_name)
        self.opening.recent_changed.connect(self._show_recent)
        self.sheets.preferences_changed.connect(self._take_preferences)
        self.sheets.layout_forgotten.connect(self.views.forget_layout)
        self.sheets.outputs_wanted.connect(self.player.look)
        self.player.devices_changed.connect(self._show_outputs)
        self.player.message.connect(self.say)
        self.views.page_changed.connect(self._turn)
        self.theme.changed.connect(self._recolour)

    # What is remembered

    def _take_preferences(self) -> None:
        preferences = self.settings.preferences
        if self.theme.appearance != preferences.appearance:
            self.theme.choose(preferences.appearance)
        self.corrections.preferences = preferences
        self.player.set_device(preferences.output)
        self.timeline.stage.set_snapping(preferences.snap)
        self.bar_stack.set_snapping(preferences.snap)
        self.actions_by_id.rebind(self.settings.keys)
        keys = shown(self.actions_by_id.keys["name_section"][:1]) or "the right button"
        self.timeline.sections.hint = (
            f"No sections yet: select a bar line and name one with {keys}, or let “Suggest sections” find some"
        )
        self._show_state(self.workspace.state)

    # What is shown

    def _changed(self, old: State, new: State) -> None:
        self.question.show_change(old, new)
        if old.document is not None and new.document is not old.document:
            self.strip.forgive()
        self._show_state(new)
        if new.take is not None and new.take is not old.take:
            self.opening.remember(self.saving.path or new.take.path)
            self.timeline.stage.setFocus()

    def _selected(self, _: object) -> None:
        self._show_selection()
        self._judge()

    def _show_state(self, state: State) -> None:
        self._show_name()
        self.views.show(taken=state.take is not None)
        self.transport.setVisible(state.take is not None)
        self._attend()
        self.strip.count(state)
        self.side_panel.show_state(state, self.settings.preferences.doubtful)
        self.cutting.show_state(state)
        self.sections.show_state(state)
        self.notes.show_state(state)
        self._show_selection()
        self._judge()

    def _show_name(self) -> None:
        """Name the work in the title, with the system's mark while some of it is not saved."""
        name = self.saving.title
        self.setWindowTitle(f"{name}[*] \N{EM DASH} Barwright" if name else "Barwright")
        self.setWindowModified(bool(name) and self.saving.unsaved)

    def _show_selection(self) -> None:
        self.side_panel.show_selection(self.corrections.moment, self.corrections.alternatives)

    def _show_recent(self) -> None:
        recent = self.settings.recent
        self.empty.show_recent(recent)
        self.recent_menu.show_recent(recent)
        self._judge()

    def _judge(self) -> None:
        moment = replace(
            self.corrections.moment,
            example=example_folder() is not None,
            recent=bool(self.settings.recent),
            busy=self._busy,
            suggested=self.sections.hand.sections,
            away=self.views.page in (self.cutting.page, self.hand_over),
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
        self.recovery.offer.recolour(colours)
        self.question.recolour(colours)
        self.tapping.bar.recolour(colours)
        self.empty.recolour(colours)
        self.segments.recolour(colours)
        self.transport.recolour(colours)
        self.transport.show_playing(playing=self.player.playing)

    def _turn(self) -> None:
        self._attend()
        self._judge()

    def _attend(self) -> None:
        """Have that played which the page in use shows."""
        page = self.cutting.page
        if self.views.page is page:
            self.listening.attend(page.space, page.timeline)
        else:
            self.listening.attend(self.workspace, self.timeline)

    def _show_outputs(self) -> None:
        self.sheets.show_outputs(self.player.devices)

    def say(self, message: Message) -> None:
        """Say something quietly in the strip."""
        self.strip.say(message)

    def event(self, event: QEvent) -> bool:
        """Show the tip of a command in the strip while the pointer is on it."""
        if event.type() == QEvent.Type.StatusTip and isinstance(event, QStatusTipEvent):
            self.strip.hint(event.tip())
            return True
        return super().event(event)

    def _show_moment(self, time: float) -> None:
        self.views.show_timeline()
        self.span.centre(time)

    def _go_in_timeline(self, bar: int) -> None:
        self.views.show_timeline()
        self.navigation.go_to_place((bar, 1))

    def _loop_section(self, bar: int) -> None:
        self._go_in_timeline(bar)
        self.actions_by_id["loop_section"].trigger()

    def _show_context_menu(self, target: object, place: object) -> None:
        self.pointer.fixed = getattr(target, "time", None)
        self.context_menu.popup(place)  # type: ignore[arg-type]

    # Commands

    def toggle_full_screen(self) -> None:
        """Use the whole screen, or the window again."""
        self.setWindowState(self.windowState() ^ Qt.WindowState.WindowFullScreen)

    def open_path(self, path: Path) -> None:
        """Open a file, after asking where work would be left."""
        self.opening.open_path(path)

    # Events

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Say why the command of a key that nobody took cannot be done."""
        reason = self.actions_by_id.refusal(QKeySequence(event.keyCombination()))
        if reason and not event.isAutoRepeat():
            self.say(Message(reason))
        super().keyPressEvent(event)

    def changeEvent(self, event: QEvent) -> None:
        """Keep the mark of the full screen right, and pass on colours to what would not notice."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.WindowStateChange:
            self.actions_by_id["toggle_full_screen"].setChecked(self.isFullScreen())
        elif event.type() == QEvent.Type.PaletteChange:
            self.hand_over.recolour()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask before work is left, if it was the musician who closed the window; end everything else first."""
        if event.spontaneous() and self.saving.unsaved:
            event.ignore()
            self.opening.quit_window()
            return
        self.views.remember()
        self.settings.save()
        self.tapping.stop()
        self.cutting.stop()
        self.sections.stop()
        self.strip.stop()
        self.listening.stop()
        self.player.close()
        self.opening.stop()
        self.recovery.stop()
        self.saving.stop()
        self.hand_over.stop()
        self.workspace.stop()
        super().closeEvent(event)
