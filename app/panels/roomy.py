"""How the rows of all lists look that are no tables."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QSize
from PySide6.QtWidgets import QStyledItemDelegate, QStyleOptionViewItem

Index = QModelIndex | QPersistentModelIndex


class Roomy(QStyledItemDelegate):
    """Rows with room around their words."""

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """As wide as it comes, a little higher."""
        usual = super().sizeHint(option, index)
        return QSize(usual.width(), option.fontMetrics.height() + 8)

    def initStyleOption(self, option: QStyleOptionViewItem, index: Index) -> None:
        """Let the words begin where the heading does."""
        super().initStyleOption(option, index)
        option.decorationSize = QSize(6, 1)
        option.features |= QStyleOptionViewItem.ViewItemFeature.HasDecoration
