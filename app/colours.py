"""Colours of the window, light and dark, from a palette that every kind of colour vision can tell apart.

The eight hues are those of Okabe and Ito, "Color Universal Design" (2008), lightened or darkened for contrast
with the ground. No meaning rests on colour alone: what is placed, suggested or doubtful also differs in shape and
weight.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

from PySide6.QtGui import QColor, QPalette

from core.section_looks import FILLS


@dataclass(frozen=True, slots=True)
class Colours:
    """One set of colours; every lane and page takes its own from here and from nowhere else."""

    dark: bool
    ground: QColor  # behind everything
    lane: QColor  # behind the notes or the waveform
    lane_odd: QColor  # the same, in every second bar
    edge: QColor  # thin lines between lanes
    text: QColor
    faint: QColor  # less important text; still readable
    note: QColor
    note_soft: QColor  # the softest note; velocities lie between the two
    pedal: QColor
    wave: QColor
    wave_loud: QColor  # the body of the wave, between its extremes
    onset: QColor
    beat: QColor
    suggested: QColor  # a suggested bar line
    placed: QColor  # a placed bar line
    doubtful: QColor  # a doubtful bar line
    snap: QColor  # what a dragged line has snapped to
    selection: QColor  # translucent
    tempo: QColor  # tempo at each bar
    curve: QColor  # the fitted tempo map
    playhead: QColor
    tapped: QColor  # taps, and the lines they would place
    warning: QColor
    sections: tuple[QColor, ...]  # fills of sections, as `core.section_looks` counts them; text on them is `text`


def _set(dark: bool, *names: str, sections: tuple[str, ...]) -> Colours:
    singles = [item.name for item in fields(Colours)][1:-1]
    colours = {name: QColor(code) for name, code in zip(singles, names, strict=True)}
    return Colours(dark=dark, sections=tuple(QColor(code) for code in sections), **colours)


LIGHT = _set(
    False,
    "#f4f2ec", "#fbfaf6", "#f1efe8", "#cfcabd", "#20242a", "#5e636b",
    "#0b4f7a", "#9cc0d8", "#b9b4a6", "#7fa3bb", "#2f6a91", "#8a8678",
    "#c4bfb2", "#3f5368", "#a63f00", "#7a4a78", "#d55e00", "#560072b2",
    "#3f5368", "#d55e00", "#009e73", "#00694d", "#b3261e",
    sections=FILLS,
)  # fmt: skip

DARK = _set(
    True,
    "#171b20", "#1d2228", "#21272e", "#39414b", "#e8e6e0", "#a3a8b0",
    "#7cc4ee", "#2f5670", "#59616b", "#3f6580", "#79b8de", "#6f7680",
    "#39424c", "#9fb2c6", "#ffa94d", "#d9a3c4", "#ffb000", "#5656b4e9",
    "#9fb2c6", "#ffa94d", "#3ccf9e", "#5fe0b4", "#ff8a80",
    sections=("#243a4b", "#4a3a1c", "#1e4136", "#45303d", "#40401f", "#38342d"),
)  # fmt: skip


def colours_for(palette: QPalette) -> Colours:
    """The set that goes with a palette of Qt, which follows the system."""
    return DARK if palette.color(QPalette.ColorRole.Window).lightness() < 128 else LIGHT
