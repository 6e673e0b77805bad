"""Taps from a controller, with a port of the test's own."""

import time

import pytest
from mido import Message

from app.tapping.midi_in import ABSENT, NONE, REFUSED, MidiInput, Trigger, Triggers
from tests.app.tapping.fake_ports import FakePorts

# MIDI 1.0: a note on with velocity 0 is a note off; controller 64 is the sustain pedal, down from 64 on.
NOTE, SOFT, OFF = (Message("note_on", note=60, velocity=v) for v in (100, 1, 0))
PEDAL, HALF, UP = (Message("control_change", control=64, value=v) for v in (127, 80, 0))
WHEEL = Message("control_change", control=1, value=100)


@pytest.fixture
def listening(qapp):
    made = []

    def listen(ports):
        midi = MidiInput(ports)
        midi.taps = []
        midi.tapped.connect(midi.taps.append)
        midi.start()
        made.append(midi)
        return midi

    yield listen
    for midi in made:
        midi.stop()


def test_any_note_taps_whatever_its_velocity_and_nothing_else_does(qtbot, listening):
    ports = FakePorts("Pads:Pads MIDI 1 20:0")
    midi = listening(ports)
    assert midi.words == "Listening to Pads."
    before = time.monotonic()
    ports.play(NOTE, OFF, SOFT, WHEEL, PEDAL, Message("clock"))
    qtbot.waitUntil(lambda: len(midi.taps) == 2)
    qtbot.wait(20)
    assert len(midi.taps) == 2
    assert before <= midi.taps[0] <= midi.taps[1] <= time.monotonic()


def test_controllers_come_and_go(qtbot, listening):
    ports = FakePorts()
    midi = listening(ports)
    assert midi.words == NONE
    ports.there = ["Keys", "Pads"]
    midi.look()
    assert midi.words == "Listening to Keys and Pads."
    ports.there = ["Pads"]
    midi.look()
    assert midi.names == ("Pads",)
    assert len(ports.open_ones) == 1
    midi.stop()
    assert ports.open_ones == []


def test_one_that_is_held_by_another_program_is_left_alone(listening):
    ports = FakePorts("Keys", "Pads")
    ports.busy = {"Keys"}
    assert listening(ports).names == ("Pads",)


@pytest.mark.parametrize(
    ("error", "words"), [(OSError("no sequencer"), REFUSED), (ModuleNotFoundError("rtmidi"), ABSENT)]
)
def test_without_access_a_quiet_sentence_is_said(listening, error, words):
    ports = FakePorts("Pads")
    ports.error = error
    midi = listening(ports)
    assert (midi.words, midi.names) == (words, ())
    # Plugged in later, it is found when listening is begun again.
    ports.error = None
    midi.start()
    assert midi.names == ("Pads",)


def test_a_chosen_pedal_taps_each_time_it_goes_down(qtbot, listening):
    ports = FakePorts("Stage piano")
    midi = listening(ports)
    midi.learn()
    with qtbot.waitSignal(midi.learned) as learned:
        ports.play(PEDAL)
    assert learned.args == [Trigger("pedal", 64)]
    ports.play(HALF, UP, NOTE, PEDAL, HALF, UP, PEDAL)
    qtbot.waitUntil(lambda: len(midi.taps) == 2)


def test_triggers_can_be_written_down():
    assert Trigger.parse(Trigger("note", 36).words) == Trigger("note", 36)
    assert [Trigger.parse(words) for words in ("", "note", "note 128", "wheel 3", "note -1")] == [None] * 5
    assert Triggers().of(OFF) is None
