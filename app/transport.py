"""The strip that plays: begin and stop, loop, speed, click, levels, and what is heard."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QAction, QActionGroup, QPainter, QPaintEvent
from PySide6.QtWidgets import QComboBox, QFrame, QHBoxLayout, QLabel, QMenu, QSlider, QToolButton, QWidget

from app.action_set import ActionSet
from app.colours import LIGHT, Colours
from app.icon import icon, pixmap
from app.message_strip import ElidedLabel
from app.meter import Meter
from app.sound.choices import COUNTED, PARTS, PITCHES, SPEEDS, SoundChoices
from app.sound.mix import QUIETEST

BUTTONS = ("play_stop", "hear_bar", "hear_doubtful", "toggle_loop", "toggle_click")
"""Commands with a button here, from left to right."""

LOUDEST = 6
"""Decibels to which the click can be raised above full scale of the take."""


class Transport(QFrame):
    """Shows choices and sends them; `app.listening` does the playing."""

    chosen = Signal(object)
    """SoundChoices, after one of them was changed here."""

    def __init__(self, actions: ActionSet, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._colours: Colours = LIGHT
        self._choices = SoundChoices()
        self.setObjectName("transport")
        self.setAccessibleName("Playing")
        row = QHBoxLayout(self)
        row.setContentsMargins(12, 3, 12, 3)
        row.setSpacing(6)
        self.buttons = {name: self._button(actions, name) for name in BUTTONS}
        self.place = QLabel()
        self.place.setAccessibleName("Where it plays")
        self.place.setMinimumWidth(self.place.fontMetrics().horizontalAdvance("Bar 0000.00  00:00.0") + 8)
        self.speed = QComboBox()
        self.speed.setToolTip("Speed; the pitch stays")
        self.speed.setAccessibleName("Speed")
        for speed in SPEEDS:
            self.speed.addItem(f"{speed} %", speed)
        self.take = self._slider("Take", 0)
        self.click = self._slider("Click", LOUDEST)
        self.more = QToolButton()
        self.more.setToolTip("Where the click is, what is counted in, and on which side")
        self.more.setAccessibleName("Click and count-in")
        self.more.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.more.setMenu(self._menu(actions))
        self.meter = Meter()
        self.sign = QLabel()
        self.device = ElidedLabel()
        self.take_sign = QLabel()
        named = self.buttons
        groups: tuple[tuple[QWidget, ...], ...] = (
            (named["play_stop"], self.place, named["hear_bar"], named["hear_doubtful"]),
            (named["toggle_loop"], self.speed),
            (named["toggle_click"], self.click, self.more),
            (self.take_sign, self.take, self.meter),
        )
        for group in groups:
            for widget in group:
                row.addWidget(widget)
            row.addSpacing(10)
        row.addWidget(self.sign)
        row.addWidget(self.device, 1)
        for button in (*self.buttons.values(), self.more):
            button.setAutoRaise(True)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.setIconSize(QSize(18, 18))
        self.speed.currentIndexChanged.connect(self._choose)
        self.take.valueChanged.connect(self._choose)
        self.click.valueChanged.connect(self._choose)
        for choice in self._groups.values():
            choice.triggered.connect(self._choose)
        self.show_choices(self._choices)
        self.show_place("")
        self.show_silent("")

    def show_choices(self, choices: SoundChoices) -> None:
        """Show what is chosen, without sending it back."""
        self._choices = choices
        for widget in (self.speed, self.take, self.click):
            widget.blockSignals(True)
        self.speed.setCurrentIndex(self.speed.findData(choices.speed))
        self.take.setValue(choices.take)
        self.click.setValue(choices.click)
        for widget in (self.speed, self.take, self.click):
            widget.blockSignals(False)
        for name, group in self._groups.items():
            for action in group.actions():
                action.setChecked(action.data() == getattr(choices, name))
        self._name_levels()

    def show_place(self, words: str) -> None:
        """Say where it plays."""
        self.place.setText(words)

    def show_playing(self, *, playing: bool) -> None:
        """Show that it plays, or not."""
        self.buttons["play_stop"].setIcon(icon("stop" if playing else "play", self._colours))
        if not playing:
            self.meter.clear()

    def show_silent(self, why: str) -> None:
        """Say why nothing is heard; an empty text where something is."""
        self.device.say(why)
        self.device.setVisible(True)
        self._show_sign()

    def recolour(self, colours: Colours) -> None:
        """Take other colours."""
        self._colours = colours
        self.more.setIcon(icon("more", colours))
        self._show_sign()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Set the strip apart by a line."""
        super().paintEvent(event)
        painter = QPainter(self)
        painter.setPen(self._colours.edge)
        painter.drawLine(0, 0, self.width(), 0)
        painter.end()

    def _button(self, actions: ActionSet, name: str) -> QToolButton:
        button = QToolButton()
        button.setDefaultAction(actions[name])
        button.setAccessibleName(actions.commands[name].plain)
        return button

    def _slider(self, name: str, most: int) -> QSlider:
        slider = QSlider(Qt.Orientation.Horizontal)
        slider.setRange(int(QUIETEST), most)
        slider.setPageStep(6)
        slider.setFixedWidth(84)
        slider.setAccessibleName(f"Level of the {name.lower()}")
        return slider

    def _menu(self, actions: ActionSet) -> QMenu:
        menu = QMenu(self)
        self._groups: dict[str, QActionGroup] = {}
        for name, texts in (("parts", PARTS), ("counted", COUNTED), ("pitch", PITCHES)):
            group = self._groups[name] = QActionGroup(self)
            for value, text in texts.items():
                action = QAction(text, group, checkable=True)
                action.setData(value)
                menu.addAction(action)
            menu.addSeparator()
        menu.addAction(actions["toggle_apart"])
        return menu

    def _choose(self) -> None:
        choices = self._choices
        ticked = {name: group.checkedAction().data() for name, group in self._groups.items()}
        self._choices = SoundChoices(
            speed=int(self.speed.currentData()),
            loop=choices.loop,
            follow=choices.follow,
            clicking=choices.clicking,
            parts=ticked["parts"],
            counted=ticked["counted"],
            pitch=ticked["pitch"],
            apart=choices.apart,
            take=self.take.value(),
            click=self.click.value(),
        )
        self._name_levels()
        self.chosen.emit(self._choices)

    def _name_levels(self) -> None:
        for slider, name in ((self.take, "Take"), (self.click, "Click")):
            level = slider.value()
            words = "off" if level <= QUIETEST else f"{level:+d} dB".replace("-", "\N{MINUS SIGN}")
            slider.setToolTip(f"{name}: {words}")

    def _show_sign(self) -> None:
        ratio = self.devicePixelRatioF()
        self.take_sign.setPixmap(pixmap("sound", self._colours.text, 18, ratio))
        self.take_sign.setToolTip("How loud the take is")
        silent = bool(self.device.whole())
        self.sign.setVisible(silent)
        if silent:
            self.sign.setPixmap(pixmap("silent", self._colours.warning, 16, ratio))
