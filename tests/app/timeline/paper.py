"""Paper to paint on, and what is on it afterwards."""

import numpy as np
from PySide6.QtGui import QColor, QImage, QPainter


def painted(paint, width: int, height: int, *, ratio: float = 1.0, ground: QColor | str = "white") -> np.ndarray:
    """What a function paints on an image of logical pixels: (rows, columns, 3) of red, green, blue."""
    image = QImage(round(width * ratio), round(height * ratio), QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(ratio)
    image.fill(QColor(ground))
    painter = QPainter(image)
    paint(painter)
    painter.end()
    return pixels(image)


def pixels(image: QImage) -> np.ndarray:
    image = image.convertToFormat(QImage.Format.Format_RGB32)
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine() // 4, 4)
    return rows[:, : image.width(), 2::-1].astype(int)


def is_colour(cells: np.ndarray, colour: QColor, *, within: int = 3) -> np.ndarray:
    """Where an image has a colour, (rows, columns) of bool."""
    return (np.abs(cells - np.array([colour.red(), colour.green(), colour.blue()])) <= within).all(axis=-1)
