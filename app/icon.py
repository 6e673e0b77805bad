"""Icons: one SVG a file, drawn in one colour that the text of the window decides."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from PySide6.QtCore import QByteArray, QRectF, Qt
from PySide6.QtGui import QColor, QIcon, QPainter, QPixmap
from PySide6.QtSvg import QSvgRenderer

from app.colours import Colours

SIZES = (16, 20, 24, 32, 40, 48, 64)
"""Pixels; twice a logical size is among them for screens of high density."""


@lru_cache(maxsize=1)
def folder() -> Path:
    """Where the icons are: inside the package when installed, beside it in a checkout."""
    inside = Path(__file__).with_name("icons")
    return inside if inside.is_dir() else Path(__file__).parent.parent / "icons"


def _rendered(data: bytes, size: int) -> QPixmap:
    pixmap = QPixmap(size, size)
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    QSvgRenderer(QByteArray(data)).render(painter, QRectF(0, 0, size, size))
    painter.end()
    return pixmap


def _in_colour(name: str, colour: QColor) -> bytes:
    source = (folder() / f"{name}.svg").read_bytes()
    return source.replace(b"currentColor", colour.name().encode())


def icon(name: str, colours: Colours) -> QIcon:
    """An icon in the colour of the text, fainter where it is disabled.

    Parameters
    ----------
    name : str
        File name without its ending.
    colours : Colours
        The set in use; ask again when it changes.
    """
    return _icon(name, colours.text.name(), colours.edge.name())


@lru_cache(maxsize=256)
def _icon(name: str, text: str, disabled: str) -> QIcon:
    made = QIcon()
    for mode, colour in ((QIcon.Mode.Normal, text), (QIcon.Mode.Disabled, disabled)):
        data = _in_colour(name, QColor(colour))
        for size in SIZES:
            made.addPixmap(_rendered(data, size), mode)
    return made


def pixmap(name: str, colour: QColor, size: int, ratio: float) -> QPixmap:
    """One icon in a colour of its own, `size` logical pixels wide on a screen of that pixel ratio."""
    made = _rendered(_in_colour(name, colour), round(size * ratio))
    made.setDevicePixelRatio(ratio)
    return made


def app_icon(*, dark: bool) -> QIcon:
    """The sign of the app itself."""
    data = (folder() / f"barwright-{'dark' if dark else 'light'}.svg").read_bytes()
    made = QIcon()
    for size in (*SIZES, 128, 256):
        made.addPixmap(_rendered(data, size))
    return made
