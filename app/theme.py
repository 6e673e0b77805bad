"""The look of every widget of Qt, from the window's own colours, following the system live."""

from __future__ import annotations

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QColor, QGuiApplication, QPalette
from PySide6.QtWidgets import QApplication

from app.colours import DARK, LIGHT, Colours
from app.icon import app_icon


def _mixed(one: QColor, other: QColor, share: float) -> QColor:
    pairs = ((one.red(), other.red()), (one.green(), other.green()), (one.blue(), other.blue()))
    return QColor(*(round(a + (b - a) * share) for a, b in pairs))


def palette_for(colours: Colours) -> QPalette:
    """Qt's palette from one set of colours."""
    role = QPalette.ColorRole
    raised = _mixed(colours.ground, QColor("white"), 0.07 if colours.dark else 0.6)
    chosen = _mixed(colours.note, colours.lane, 0.45) if colours.dark else colours.note
    palette = QPalette()
    for key, colour in {
        role.Window: colours.ground,
        role.WindowText: colours.text,
        role.Base: colours.lane,
        role.AlternateBase: colours.lane_odd,
        role.Text: colours.text,
        role.PlaceholderText: colours.faint,
        role.Button: raised,
        role.ButtonText: colours.text,
        role.BrightText: colours.warning,
        role.ToolTipBase: raised,
        role.ToolTipText: colours.text,
        role.Highlight: chosen,
        role.HighlightedText: QColor("white"),
        role.Accent: colours.note,
        role.Link: colours.note,
        role.LinkVisited: colours.note,
        role.Light: _mixed(colours.ground, QColor("white"), 0.05 if colours.dark else 0.8),
        role.Midlight: _mixed(colours.ground, QColor("white"), 0.03 if colours.dark else 0.4),
        role.Mid: colours.edge,
        role.Dark: _mixed(colours.edge, QColor("black"), 0.25),
        role.Shadow: _mixed(colours.ground, QColor("black"), 0.6),
    }.items():
        palette.setColor(key, colour)
    dull = _mixed(colours.faint, colours.ground, 0.35)
    for key in (role.WindowText, role.Text, role.ButtonText):
        palette.setColor(QPalette.ColorGroup.Disabled, key, dull)
    palette.setColor(QPalette.ColorGroup.Disabled, role.Highlight, colours.edge)
    return palette


class Theme(QObject):
    """Gives the app its colours, and again whenever the system or the musician chooses others."""

    changed = Signal(object)
    """The `Colours` in use from now on."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.appearance = "system"
        self.colours = LIGHT
        QGuiApplication.styleHints().colorSchemeChanged.connect(self._follow)

    def choose(self, appearance: str) -> None:
        """Take one of `app.settings.APPEARANCES`.

        Parameters
        ----------
        appearance : str
            ``"system"``, ``"light"`` or ``"dark"``.
        """
        self.appearance = appearance
        scheme = {"light": Qt.ColorScheme.Light, "dark": Qt.ColorScheme.Dark}.get(appearance)
        hints = QGuiApplication.styleHints()
        if scheme is None:
            hints.unsetColorScheme()
        else:
            # Frames and dialogs that the system draws itself go along with it where they can.
            hints.setColorScheme(scheme)
        self._follow()

    def _follow(self) -> None:
        system_is_dark = QGuiApplication.styleHints().colorScheme() == Qt.ColorScheme.Dark
        dark = self.appearance == "dark" or (self.appearance == "system" and system_is_dark)
        self.colours = DARK if dark else LIGHT
        palette = palette_for(self.colours)
        QApplication.setPalette(palette)
        # Fusion draws the box of a check mark, and its edge, a shade darker than these two: on a dark window
        # neither could be seen.
        boxes = QPalette(palette)
        boxes.setColor(QPalette.ColorRole.Window, self.colours.faint)
        boxes.setColor(QPalette.ColorRole.Base, self.colours.edge if self.colours.dark else self.colours.lane)
        for kind in ("QCheckBox", "QRadioButton"):
            # Its annotation says bytes, but it takes words alone.
            QApplication.setPalette(boxes, kind)  # type: ignore[arg-type]
        QApplication.setWindowIcon(app_icon(dark=dark))
        self.changed.emit(self.colours)
