"""What is said to be going on."""

from PySide6.QtCore import QTimer

from app.stages import Stages


def collected(stages):
    said = []
    stages.said.connect(lambda words, share: said.append((words, share)))
    return said


def test_a_file_that_is_read_comes_first_and_nothing_is_said_twice(qapp):
    stages = Stages()
    said = collected(stages)
    stages.reach("Trying metres", 0.0)
    stages.read("take.wav")
    stages.reach("Finding the bars", 0.5)
    stages.read("")
    stages.reach("Finding the bars", 0.5)
    stages.rest()
    stages.rest()
    assert said == [("Trying metres", 0.0), ("Reading take.wav", 0.0), ("Finding the bars", 0.5), ("", 0.0)]


def test_quick_suggestions_are_not_worth_a_word_and_slow_ones_are(qtbot):
    stages = Stages()
    said = collected(stages)
    stages.suggest()
    stages.rest()
    assert said == []
    assert not any(timer.isActive() for timer in stages.findChildren(QTimer))
    stages.suggest()
    qtbot.waitUntil(lambda: said == [("Finding the bars", 0.0)])
    stages.rest()
    assert said[-1] == ("", 0.0)
