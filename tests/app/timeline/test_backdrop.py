"""The image behind the bar lines: when it is painted anew, and what is in it."""

import numpy as np
import pytest
from PySide6.QtCore import QSize
from PySide6.QtGui import QFont

from app.colours import DARK, LIGHT
from app.span import Span
from app.timeline.backdrop import Backdrop
from app.timeline.lines import Lines
from app.timeline.picking import ONSETS
from core.document import Document
from tests.app.timeline.still_workspace import onsets_at, steady_grid

pytestmark = pytest.mark.usefixtures("qapp")


class Counted:
    def __init__(self):
        self.times = 0

    def paint(self, painter, rect, span, colours):
        self.times += 1


class View:
    def __init__(self, **news):
        self.span = Span()
        self.span.set_width(1000)
        self.span.set_duration(20.0)
        self.backdrop, self.picture = Backdrop(), Counted()
        self.given = {
            "font": QFont(),
            "span": self.span,
            "colours": LIGHT,
            "picture": self.picture,
            "lines": Lines(steady_grid(11, bar=2.0, start=0.0)),
            "onsets": onsets_at([3.0, 5.0, 15.0], 20.0),
            "document": Document(),
        } | news

    def image(self, ratio=1.0, **news):
        self.given |= news
        return self.backdrop.image(QSize(1000, 300), ratio, **self.given)

    def pixels(self):
        image = self.image().toImage()
        data = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.width(), 4)
        return data[:, :, :3].astype(int).sum(axis=2)


def test_it_is_painted_once_for_a_view():
    view = View()
    view.image()
    view.image()
    assert view.picture.times == 1


def test_it_is_painted_anew_when_anything_in_it_changes():
    view = View()
    view.image()
    view.span.scroll(0)
    view.span.show(2.0, 12.0)
    view.image()
    view.image(lines=Lines(steady_grid(5)))
    view.image(colours=DARK)
    view.image(onsets=onsets_at([1.0], 20.0))
    view.image(document=Document(holds=(3,)))
    view.image(ratio=2.0)
    assert view.picture.times == 7
    view.image(ratio=2.0, picture=Counted())
    assert view.given["picture"].times == 1


def test_it_has_a_pixel_for_each_of_a_fine_screen():
    image = View().image(ratio=2.0)
    assert (image.width(), image.height(), image.devicePixelRatio()) == (2000, 600, 2.0)


def test_onset_marks_stand_at_the_lower_edge_the_stronger_the_taller():
    edge = View().pixels()[300 - ONSETS - 1 :, :]
    ground = View(onsets=None).pixels()[300 - ONSETS - 1 :, :]
    tall = (edge != ground).sum(axis=0)
    assert np.flatnonzero(tall).tolist() == [150, 250, 750]
    assert tall[150] < tall[250] < tall[750] <= ONSETS + 1


def test_dense_onsets_are_thinned():
    dense = onsets_at(np.arange(0.0, 20.0, 0.004), 20.0)
    view = View(onsets=dense, lines=None)
    marked = (view.pixels()[298] != View(onsets=None, lines=None).pixels()[298]).sum()
    assert marked <= 340


def test_bars_without_pulse_are_hatched():
    plain, free = View().pixels(), View(document=Document(free=(4,))).pixels()
    differs = np.flatnonzero((plain != free).any(axis=0))
    assert 300 <= differs.min() <= differs.max() <= 400


def test_every_second_bar_has_the_other_tint():
    row = View(onsets=None).pixels()[150]
    assert row[50] == row[250] != row[150] == row[350]
