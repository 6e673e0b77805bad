"""Work away from the window: one at a time, the newest alone is answered, and nothing is left behind."""

import threading

import pytest

from app.errands import Errands


@pytest.fixture
def errands(qapp):
    made = Errands()
    made.answers = []
    made.done.connect(made.answers.append)
    yield made
    made.stop()
    assert not [thread for thread in threading.enumerate() if thread.name == "errand"]


def test_only_the_newest_is_answered(errands, qtbot):
    begun, go = threading.Event(), threading.Event()
    ran = []

    def slow():
        begun.set()
        assert go.wait(5)
        return "slow"

    def quick(name):
        return lambda: ran.append(name) or name

    errands.ask(slow)
    assert begun.wait(5)
    errands.ask(quick("second"))
    errands.ask(quick("third"))
    go.set()
    qtbot.waitUntil(lambda: errands.answers != [] and not errands.busy)
    assert (errands.answers, ran) == (["third"], ["third"])


def test_it_is_done_in_another_thread(errands, qtbot):
    errands.ask(threading.get_ident)
    qtbot.waitUntil(lambda: errands.answers != [])
    assert errands.answers != [threading.get_ident()]


def test_a_failure_is_told(errands, qtbot):
    def fail():
        raise ValueError("no")

    with qtbot.waitSignal(errands.failed) as told:
        errands.ask(fail)
    assert str(told.args[0]) == "no"
    assert errands.answers == []


def test_what_is_dropped_or_stopped_is_not_answered(errands, qtbot):
    errands.ask(lambda: "dropped")
    errands.drop()
    qtbot.waitUntil(lambda: not errands.busy)
    errands.ask(lambda: "stopped")
    errands.stop()
    errands.ask(lambda: "last")
    qtbot.waitUntil(lambda: errands.answers != [])
    assert errands.answers == ["last"]
