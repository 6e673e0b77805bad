"""The engine on a fake card: what the card is given, what is said of time, and what happens to a playing."""

import numpy as np
import pytest

from app.sound.clicks import BAR, BEAT, Clicks, CountIn
from app.sound.engine import _REST, AHEAD
from app.sound.messages import Anchor, Devices, Ended, Failed, Load, Look, Play, SetClicks, SetMix, Stop
from app.sound.mix import QUIETEST, Mix
from app.sound.output import GONE
from core.errors import TakeError
from tests.app.sound.fake_card import LATENCY, Studio
from tests.app.sound.waves import frequency_of, tone, wave_take

RATE = 48000


@pytest.fixture
def studio(monkeypatch):
    return Studio(monkeypatch)


@pytest.fixture
def steady(tmp_path):
    return wave_take(tmp_path / "take.wav", np.full((5 * RATE, 2), 0.25))


def play(number=1, stretches=((1.0, 2.0),), speed=1.0, loop=False, **more):
    return Play(number, stretches, speed, loop, more.pop("count_in", None), "", **more)


def begin(studio, take, *, mix=None, **order):
    studio.engine.do(Load(take))
    studio.engine.do(SetMix(mix or Mix(take=0.0, clicking=False)))
    studio.engine.do(play(**order))


def sounds(rows):
    """First and last sample that is not silent."""
    loud = np.flatnonzero(np.abs(rows).max(axis=1) > 1e-6)
    return int(loud[0]), int(loud[-1])


def test_a_stretch_is_played_once_and_its_end_is_said(studio, steady):
    begin(studio, steady)
    rows = studio.run(3.0)
    first, last = sounds(rows)
    assert last - first == pytest.approx(RATE, abs=0.02 * RATE)
    assert [news.number for news in studio.of(Ended)] == [1]
    assert not np.isnan(rows).any()
    assert studio.of(Anchor)[-1].missed == 0


def test_what_is_said_of_time_is_when_it_is_heard(studio, steady):
    studio.engine.do(SetMix(Mix(take=0.0, click=0.0)))
    studio.engine.do(SetClicks(Clicks.of([1.5], [BAR])))
    studio.engine.do(Load(steady))
    studio.engine.do(play(bare=Clicks.of([0.5], [BAR]), stretches=((0.0, 1.0),)))
    start = studio.cards.time
    rows = studio.run(2.5)
    at = int(np.argmax(np.abs(rows[:, 0]) > 1e-6)) - 1
    heard = start + at / RATE + LATENCY
    anchor = studio.of(Anchor)[-1]
    # Frame 0 of the course, and the lead in which a take would come in.
    zero = anchor.moment - anchor.frame / anchor.rate
    assert heard - zero == pytest.approx(0.5 + 0.012, abs=2e-5)


def test_the_end_is_said_when_it_is_heard_and_not_when_it_is_sent(studio, steady):
    begin(studio, steady)
    start = studio.cards.time
    while not studio.of(Ended):
        studio.run(0.01)
        assert studio.cards.time < start + 5
    anchor = studio.of(Anchor)[-1]
    assert anchor.frame / RATE == pytest.approx(1.012, abs=0.06)


def test_stop_fades_out_at_once(studio, steady):
    begin(studio, steady, stretches=((0.0, 5.0),))
    studio.run(1.0)
    studio.engine.do(Stop())
    rows = studio.run(0.5)[:, 0]
    _, last = sounds(rows[:, None])
    assert last < 0.05 * RATE
    assert np.abs(np.diff(rows)).max() < 0.25 / 200
    assert not studio.of(Ended)


def test_the_take_begins_quietly(studio, steady):
    begin(studio, steady)
    rows = studio.run(1.0)[:, 0]
    assert np.abs(np.diff(rows)).max() < 0.25 / 200


def test_a_louder_take_comes_without_a_step(studio, steady):
    begin(studio, steady, stretches=((0.0, 5.0),), mix=Mix(take=-20.0, clicking=False))
    studio.run(1.0)
    studio.engine.do(SetMix(Mix(take=0.0, clicking=False)))
    rows = studio.run(0.5)[:, 0]
    assert rows[-1] == pytest.approx(0.25)
    assert np.abs(np.diff(rows)).max() < 0.25 / 200
    # Heard well before what was rendered ahead would have run out.
    assert np.argmax(rows > 0.24) < 0.1 * RATE < AHEAD * RATE


def test_an_edited_grid_is_heard_before_the_next_bar(studio):
    studio.engine.do(SetMix(Mix(click=0.0)))
    studio.engine.do(SetClicks(Clicks.of(np.arange(0.0, 9.0, 0.5), np.full(18, BEAT))))
    studio.engine.do(play(stretches=((0.0, 8.0),)))
    studio.run(2.0)
    studio.engine.do(SetClicks(Clicks.of(np.arange(0.25, 9.0, 0.5), np.full(18, BEAT))))
    anchor = studio.of(Anchor)[-1]
    played = anchor.frame / RATE + LATENCY
    rows = np.abs(studio.run(2.0)[:, 0]) > 1e-3
    begins = np.flatnonzero(rows[1:] & ~rows[:-1])
    times = played + begins[np.diff(begins, prepend=-RATE) > RATE // 4] / RATE
    late = (times[1:] - 0.25) % 0.5
    assert np.minimum(late, 0.5 - late).max() < 0.05


def test_bars_are_counted_before_the_take_comes_in(studio, steady):
    counted = CountIn(Clicks.of([0.0, 0.5], [BAR, BEAT]), 1.0)
    begin(studio, steady, mix=Mix(take=0.0, click=0.0), count_in=counted)
    rows = np.abs(studio.run(3.5)[:, 0])
    first, _ = sounds(rows[:, None])
    come_in = np.argmax(np.convolve(rows > 0.2, np.ones(480), "valid") > 479)
    assert come_in - first == pytest.approx(RATE, abs=0.02 * RATE)


def test_another_playing_takes_over_without_a_step_or_a_gap(studio, steady):
    begin(studio, steady, stretches=((0.0, 5.0),))
    studio.run(1.0)
    studio.engine.do(play(number=2, stretches=((3.0, 4.0),)))
    rows = studio.run(2.0)[:, 0]
    assert np.abs(np.diff(rows)).max() < 0.25 / 100
    assert [news.number for news in studio.of(Ended)] == [2]
    assert {news.number for news in studio.of(Anchor)} == {1, 2}


def test_a_card_that_plays_another_rate_only_hears_the_same_take(monkeypatch, tmp_path):
    studio = Studio(monkeypatch, rates=(44100,))
    take = wave_take(tmp_path / "take.wav", np.repeat(tone(1000.0, 3.0)[:, None], 2, axis=1))
    begin(studio, take, stretches=((0.5, 2.5),))
    rows = studio.run(1.5)
    assert studio.of(Anchor)[0].rate == 44100
    assert frequency_of(rows[30000:60000, 0], 44100) == pytest.approx(1000.0, abs=0.1)


def test_no_card_is_said_and_the_next_playing_tries_again(studio, steady):
    studio.cards.none = "There is no card."
    begin(studio, steady)
    assert [(news.number, news.sentence) for news in studio.of(Failed)] == [(1, "There is no card.")]
    studio.cards.none = ""
    studio.engine.do(play(number=2))
    studio.run(2.0)
    assert [news.number for news in studio.of(Ended)] == [2]


def test_a_card_that_vanishes_is_said_once(studio, steady):
    begin(studio, steady, stretches=((0.0, 5.0),))
    studio.run(1.0)
    studio.cards.stream.gone = True
    studio.engine.tick()
    studio.engine.tick()
    assert len(studio.of(Failed)) == 1
    assert not studio.engine.busy


def test_a_card_that_falls_silent_is_taken_for_gone(studio, steady):
    begin(studio, steady, stretches=((0.0, 5.0),))
    studio.run(1.0)
    studio.engine.tick()
    studio.cards.time += GONE + 0.1
    studio.engine.tick()
    assert len(studio.of(Failed)) == 1


def test_a_take_that_goes_away_is_said_and_not_fatal(studio, steady, monkeypatch):
    begin(studio, steady, stretches=((0.0, 5.0),))
    studio.run(0.4)

    def gone(*_):
        raise TakeError("The take has gone.")

    monkeypatch.setattr("app.sound.sources.Recording.read", gone)
    studio.run(2.0)
    assert [news.sentence for news in studio.of(Failed)] == ["The take has gone."]
    assert not studio.engine.busy


def test_a_card_is_let_go_after_a_while_of_silence_and_taken_again(studio, steady):
    begin(studio, steady)
    studio.run(3.0)
    studio.cards.time += _REST
    studio.engine.tick()
    assert not studio.cards.stream.running
    assert not studio.engine.busy
    studio.engine.do(play(number=2))
    studio.run(3.0)
    assert [news.number for news in studio.of(Ended)] == [1, 2]


def test_levels_are_those_of_what_is_heard(studio, steady):
    begin(studio, steady)
    studio.run(3.0)
    peaks = [news.left for news in studio.of(Anchor)]
    assert max(peaks) == pytest.approx(0.25, abs=1e-4)
    assert peaks[0] == pytest.approx(0.0, abs=1e-6)


def test_devices_are_named(studio):
    studio.engine.do(Look())
    assert studio.of(Devices) == [Devices(("a fake card",))]


def test_a_silent_take_level_leaves_the_click(studio, steady):
    studio.engine.do(SetClicks(Clicks.of([1.5], [BAR])))
    begin(studio, steady, mix=Mix(take=QUIETEST, click=0.0))
    first, last = sounds(studio.run(2.0))
    assert last - first < 0.06 * RATE
