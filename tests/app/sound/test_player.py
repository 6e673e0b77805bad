"""The player and its process, without a card: silence is said, and whatever happens the take runs on."""

import os
import signal

import numpy as np
import pytest

from app.sound import player as module
from app.sound.clock import now
from app.sound.messages import Anchor, Devices, Ended
from app.sound.player import Player
from tests.app.sound.waves import tone, wave_take

WAIT = 20_000


@pytest.fixture(scope="module")
def take(tmp_path_factory):
    return wave_take(tmp_path_factory.mktemp("take") / "take.wav", tone(440.0, 20.0))


@pytest.fixture
def player(qapp, monkeypatch, tmp_path):
    # No PulseAudio is there, whatever else this machine has.
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path))
    monkeypatch.setenv("PULSE_SERVER", f"unix:{tmp_path}/none")
    player = Player()
    player.told, player.silences = [], []
    player.message.connect(player.told.append)
    player.silent_changed.connect(player.silences.append)
    yield player
    player.close()
    assert player.pid == 0


def test_without_a_card_the_take_runs_on_in_silence(player, qtbot, take):
    player.load(take)
    player.play(1.0)
    qtbot.waitUntil(lambda: bool(player.silent) and player.take_time(now()) is not None, timeout=WAIT)
    assert player.playing
    assert "nothing is heard" in player.silent
    before = player.take_time(now())
    qtbot.wait(100)
    assert player.take_time(now()) - before == pytest.approx(0.1, abs=0.09)
    player.stop()
    assert not player.playing


def test_a_process_that_dies_is_said_and_started_again(player, qtbot, take):
    player.load(take)
    player.play(0.0)
    qtbot.waitUntil(lambda: player.take_time(now()) is not None, timeout=WAIT)
    pid = player.pid
    os.kill(pid, signal.SIGTERM)
    qtbot.waitUntil(lambda: "unexpectedly" in player.silent, timeout=WAIT)
    assert player.playing
    assert player.take_time(now()) is not None
    player.play(2.0)
    assert player.pid not in (0, pid) or player._child.runs
    qtbot.waitUntil(lambda: player.take_time(now()) is not None, timeout=WAIT)


def test_a_sound_system_that_hangs_is_given_up(player, qtbot, take, monkeypatch):
    monkeypatch.setattr(player._child, "send", lambda message: None)
    player._patience.setInterval(50)
    player.load(take)
    player.play(3.0)
    qtbot.waitUntil(lambda: "does not answer" in player.silent, timeout=WAIT)
    assert player.take_time(now()) == pytest.approx(3.0, abs=1.0)


def test_anchors_move_the_playing_onto_the_clock_of_the_card(player, take, monkeypatch):
    monkeypatch.setattr(player._child, "start", lambda: None)
    player.load(take)
    player.play(2.0, 4.0)
    number = player._playing.number
    assert player.take_time(now()) is None
    player._hear(Anchor(number, 44100, frame=44100.0, moment=500.0, left=0.1, right=0.2, missed=3))
    assert player.take_time(500.0) == pytest.approx(3.0 - 0.012, abs=1e-4)
    assert player.missed == 3
    player._hear(Anchor(number - 1, 44100, frame=0.0, moment=900.0))
    assert player.take_time(500.0) == pytest.approx(3.0 - 0.012, abs=1e-4)
    player._hear(Ended(number))
    assert not player.playing
    # A tap just before the end may come after it.
    assert player.take_time(500.5) == pytest.approx(3.488, abs=1e-4)


def test_no_output_at_all_is_shown_and_not_told(player, monkeypatch):
    player._hear(Devices((), "No sound card was found."))
    assert player.silences == ["No sound card was found."]
    assert player.told == []
    player._hear(Devices(("one",)))
    assert player.devices == ("one",)


def test_nothing_is_sent_before_the_process_is_wanted(player, take):
    player.load(take)
    assert not player._child.runs
    assert player._soon.interval() == module.SOON
    player.look()
    assert player._child.runs


def test_levels_are_sent_on(player, take, monkeypatch):
    monkeypatch.setattr(player._child, "start", lambda: None)
    got = []
    player.levels.connect(lambda *levels: got.append(levels))
    player.load(take)
    player.play(2.0)
    player._hear(Anchor(player._playing.number, 48000, 0.0, 500.0, 0.25, 0.5))
    player.stop()
    np.testing.assert_allclose(got, [(0.25, 0.5), (0.0, 0.0)])
