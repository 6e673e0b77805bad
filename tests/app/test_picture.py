"""Reading in a thread: what comes, that it can be cancelled, and that nothing runs on."""

from pathlib import Path

import pytest
from PySide6.QtCore import QObject, Slot

from app.picture import Pictures
from core.peaks import Peaks
from core.take import AudioTake, MidiTake

EXAMPLES = Path(__file__).parent.parent.parent / "examples"


class Seen(QObject):
    """Collects what a reading says."""

    def __init__(self, pictures):
        super().__init__()
        self.takes, self.pictures, self.messages = [], [], []
        pictures.read.connect(self.take)
        pictures.pictured.connect(self.picture)
        pictures.failed.connect(self.fail)

    @Slot(object, object)
    def take(self, reading, take):
        self.takes.append(take)

    @Slot(object, object)
    def picture(self, reading, picture):
        self.pictures.append(picture)

    @Slot(object, object)
    def fail(self, reading, message):
        self.messages.append(message)


@pytest.fixture
def pictures(qapp):
    pictures = Pictures()
    yield pictures
    pictures.stop()


def test_a_midi_take_is_its_own_picture(pictures, qtbot):
    seen = Seen(pictures)
    reading = pictures.read_from(EXAMPLES / "night-ferry.mid")
    qtbot.waitUntil(lambda: bool(seen.pictures))
    assert isinstance(seen.takes[0], MidiTake)
    assert seen.pictures == seen.takes
    qtbot.waitUntil(lambda: not pictures.busy)
    assert reading.isFinished()


def test_the_picture_of_an_audio_take_grows_until_it_is_all_there(pictures, qtbot):
    seen = Seen(pictures)
    pictures.read_from(EXAMPLES / "net-mending.ogg")
    qtbot.waitUntil(lambda: not pictures.busy)
    assert isinstance(seen.takes[0], AudioTake)
    assert all(isinstance(picture, Peaks) for picture in seen.pictures)
    frames = [picture.frames for picture in seen.pictures]
    assert frames == sorted(frames)
    assert frames[-1] == seen.takes[0].frames


def test_what_cannot_be_read_is_said_once(pictures, qtbot, tmp_path):
    path = tmp_path / "noise.mid"
    path.write_bytes(b"MThd\0\0\0\6\0\1")
    seen = Seen(pictures)
    for bad in (path, tmp_path / "missing.wav", tmp_path):
        pictures.read_from(bad)
    qtbot.waitUntil(lambda: not pictures.busy)
    assert len(seen.messages) == 3
    assert all(message.warning and message.text and "\n" not in message.text for message in seen.messages)
    assert not seen.takes


def test_a_cancelled_reading_ends_early(pictures, qtbot):
    seen = Seen(pictures)
    readings = [pictures.read_from(EXAMPLES / "net-mending.ogg") for _ in range(3)]
    for reading in readings:
        reading.cancel()
    assert all(reading.wait(5000) for reading in readings)
    qtbot.waitUntil(lambda: not pictures.busy)
    assert not seen.messages
    assert not any(picture.frames == picture.take.frames for picture in seen.pictures)
