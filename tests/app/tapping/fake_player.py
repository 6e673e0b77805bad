"""A player without sound or time: the test says which moment of the take is heard."""

from PySide6.QtCore import QObject, Signal


class FakePlayer(QObject):
    """Player and strip in one; `heard` is the take time of whatever moment is asked for."""

    playing_changed = Signal(bool)

    def __init__(self):
        super().__init__()
        self.playing = False
        self.silent = ""
        self.heard = None
        self.started = []
        self.lent = False

    def play_from(self, start, end=None):
        self.started.append((start, end))
        self.playing = True
        self.playing_changed.emit(True)

    def stop(self):
        if self.playing:
            self.playing = False
            self.playing_changed.emit(False)

    def take_time(self, moment):
        return self.heard if self.playing else None

    def lend_space(self, lent):
        self.lent = lent
