"""How the page looks, from the window's colours alone."""

from __future__ import annotations

from PySide6.QtGui import QFont

from app.colours import Colours


def style_for(colours: Colours, font: QFont) -> str:
    """Style of the page and all in it.

    Parameters
    ----------
    colours : Colours
        The set in use.
    font : QFont
        Of the page; the sizes follow from it.
    """
    size = font.pointSizeF()
    primary = colours.note.darker(160) if colours.dark else colours.note
    return f"""
        QLabel[role="help"] {{ color: {colours.faint.name()}; font-size: {0.92 * size:.1f}pt; }}
        QLabel[role="title"] {{ font-weight: 600; }}
        QLabel[role="heading"] {{ font-weight: 600; font-size: {1.1 * size:.1f}pt; }}
        QLabel[role="warning"] {{ color: {colours.warning.name()}; }}
        QFrame#card, QFrame#pane {{
            background: {colours.lane.name()}; border: 1px solid {colours.edge.name()}; border-radius: 6px;
        }}
        QFrame#footer {{ border-top: 1px solid {colours.edge.name()}; }}
        QFrame#formEdge {{ border: none; border-right: 1px solid {colours.edge.name()}; }}
        QFrame#fileHandle {{
            background: {colours.ground.name()}; border: 1px dashed {colours.faint.name()}; border-radius: 6px;
        }}
        QFrame#fileHandle:focus, QFrame#fileHandle:hover {{ border: 1px solid {colours.note.name()}; }}
        QListWidget#cautions {{ background: transparent; }}
        QListWidget#cautions::item {{ padding: 3px 0; }}
        QListWidget#cautions::item:hover, QListWidget#cautions::item:selected {{
            background: {colours.edge.name()}; color: {colours.text.name()};
        }}
        QPushButton[role="primary"] {{
            background: {primary.name()}; color: white; font-weight: 600;
            border: 1px solid {primary.name()}; border-radius: 4px; padding: 7px 20px;
        }}
        QPushButton[role="primary"]:hover {{ background: {primary.lighter(115).name()}; }}
        QPushButton[role="primary"]:pressed {{ background: {primary.darker(115).name()}; }}
        QPushButton[role="primary"]:focus {{ border: 2px solid {colours.text.name()}; padding: 6px 19px; }}
        QPushButton[role="primary"]:disabled {{
            background: {colours.edge.name()}; color: {colours.faint.name()}; border-color: {colours.edge.name()};
        }}
    """
