"""Files beside the map: chosen by hand, remembered, and only where the take has what they need."""

import numpy as np
import pytest
import soundfile
from PySide6.QtCore import Qt

from app.handover.more_files import MoreFiles
from app.handover_page import HandoverPage
from app.state import State
from core.document import Document, Section
from core.handover_settings import Settings
from core.metre import Metre
from core.read_audio import open_audio
from tests.app.handover.desk import Desk
from tests.core.free_grids import FOUR, grid_of, rubato

RATE = 8000
GRID = grid_of(Metre.steady(FOUR), rubato(16), start=1.0)


@pytest.fixture
def more(qtbot):
    widget = MoreFiles()
    qtbot.addWidget(widget)
    widget.show()
    return widget


ALL = Settings(
    name="a",
    sound=True,
    loops=True,
    count_in=2,
    click_sound=True,
    steady=True,
    form="flac",
    peak=-6.0,
    marks="bars",
    played=True,
    strength=0.5,
    unit="1/8t",
    steady_notes=True,
    steady_tempo=72.5,
    report=True,
    manifest=True,
)


@pytest.mark.parametrize("settings", [Settings(name="a"), ALL])
def test_what_was_chosen_comes_back(more, settings):
    more.show_settings(settings, has_notes=True)
    assert Settings(name="a", **more.values()) == settings


def test_only_what_the_take_has_can_be_ticked(more):
    more.show_settings(ALL, has_notes=True)
    assert all(box.isEnabled() and box.isChecked() for box in more._boxes().values())
    assert "piano" in more.sound.accessibleDescription()
    more.show_settings(ALL, has_notes=False)
    assert not any(box.isEnabled() or box.isChecked() for box in (more.played, more.steady_notes))
    assert more.sound.isChecked()
    assert "very start" in more.sound.accessibleDescription()


def test_numbers_show_where_they_count(more, qtbot):
    more.show_settings(Settings(name="a"), has_notes=True)
    said = []
    more.changed.connect(lambda: said.append(more.values()))
    assert not more.count_in.isVisible()
    for box in (more.loops, more.played):
        qtbot.mouseClick(box, Qt.MouseButton.LeftButton, pos=box.rect().center() - box.rect().center() / 1.2)
    assert said[-1]["loops"]
    assert said[-1]["played"]
    assert more.count_in.isVisible()
    assert not more.unit.isVisible()
    more.strength.setFocus()
    qtbot.keyClick(more.strength, Qt.Key.Key_Up)
    assert more.unit.isVisible()
    assert said[-1]["strength"] == 0.01
    assert not more.tempo.isVisible()
    more.tempo_kind.setFocus()
    qtbot.keyClick(more.tempo_kind, Qt.Key.Key_Down)
    assert more.tempo.isVisible()
    assert said[-1]["steady_tempo"] == 100.0


@pytest.fixture
def page(qtbot, tmp_path):
    path = tmp_path / "guitar.wav"
    seconds = np.arange(int(GRID.bar_times[-1] + 1) * RATE) / RATE
    soundfile.write(path, 0.5 * np.sin(2 * np.pi * 220 * seconds), RATE)
    document = Document(metre=GRID.metre, sections=(Section(1, "A"), Section(3, "B")))
    desk = Desk(State(take=open_audio(path), grid=GRID, document=document))
    page = HandoverPage(desk)
    page.desk = desk
    qtbot.addWidget(page)
    page.resize(1200, 900)
    page.show()
    qtbot.waitExposed(page)
    yield page
    page.stop()


def test_the_page_writes_them_and_tells_how_it_goes(page, qtbot, tmp_path):
    said = []
    page._writing.told.connect(lambda words, share: said.append(words))
    page.settings = {"sound": True, "loops": True, "click_sound": True, "report": True, "manifest": True}
    qtbot.waitUntil(lambda: page.plan is not None)
    names = [file.name for file in page.plan.files]
    assert "guitar.section-2-B.wav" in names
    with qtbot.waitSignal(page._writing.wrote, timeout=20_000):
        qtbot.mouseClick(page.footer.write, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: page.footer.text.text().startswith("Wrote 9 files"))
    assert {path.name for path in tmp_path.iterdir()} == {*names, "guitar.wav"}
    assert "Writing guitar.take.wav" in said
    assert not page.footer.stop.isVisible()
    shown = [(name.whole, size.text()) for name, size, _ in page.sheet.files.rows if name.isVisible()]
    assert [name for name, _ in shown] == names
    assert all(text for _, text in shown)
    assert page.settings["sound"]
    assert "turned down by 6.0 dB, so that it peaks at -12 dBFS" in page.sheet.result.proof.text()


def test_it_can_be_stopped_and_nothing_has_changed(page, qtbot, tmp_path, monkeypatch):
    page.settings = {"sound": True, "steady": True}
    qtbot.waitUntil(lambda: page.plan is not None)
    page._writing.told.connect(lambda words, share: page.footer.stop.click())
    with qtbot.waitSignal(page._writing.stopped, timeout=20_000):
        qtbot.mouseClick(page.footer.write, Qt.MouseButton.LeftButton)
    assert page.footer.text.text().startswith("Stopped")
    assert [path.name for path in tmp_path.iterdir()] == ["guitar.wav"]
    assert page.footer.write.isEnabled()
