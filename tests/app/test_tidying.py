"""Rubbish is collected in the thread of the window, whoever makes it."""

import gc
import threading
import weakref

import pytest

from app.tidying import Tidying


class Knot:
    """Holds itself: only the collector ends it."""

    def __init__(self) -> None:
        self.itself = self


@pytest.fixture
def tidying(qapp):
    tidying = Tidying()
    tidying.start()
    yield tidying
    tidying.stop()


def test_another_thread_collects_nothing_however_much_it_makes(tidying):
    ended_in = []
    weakref.finalize(Knot(), lambda: ended_in.append(threading.current_thread()))
    thread = threading.Thread(target=lambda: [Knot() for _ in range(50_000)])
    thread.start()
    thread.join()
    assert not ended_in
    tidying.tidy()
    assert ended_in == [threading.main_thread()]


def test_the_clock_collects_by_itself(qtbot, tidying):
    ended = []
    weakref.finalize(Knot(), ended.append, True)
    kept = [[] for _ in range(2 * gc.get_threshold()[0])]  # how many make it due differs from Python to Python
    qtbot.waitUntil(lambda: bool(ended), timeout=5_000)
    assert kept


def test_python_collects_again_afterwards(qapp):
    tidying = Tidying()
    tidying.start()
    assert not gc.isenabled()
    tidying.stop()
    assert gc.isenabled()
    gc.disable()
    assert gc.get_freeze_count() == 0
