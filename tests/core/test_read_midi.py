import io
from itertools import pairwise

import mido
import numpy as np
import pretty_midi
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import TakeError
from core.read_midi import read_midi
from core.take import MidiTake
from tests.bench.corpus import default_corpus
from tests.core.take_files import END, EXAMPLE_0, EXAMPLE_1, damaged, midi, saved

TWO_NOTES = "00 903C40 60 803C40 00 904040 60 804040"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("midi")


def read(folder, data):
    return read_midi(saved(folder, data))


def held(take):
    notes = take.notes
    return [
        (round(start, 9), round(end, 9), pitch)
        for start, end, pitch in zip(notes.start.tolist(), notes.end.tolist(), notes.pitch.tolist(), strict=True)
    ]


class TestStandard:
    @pytest.mark.parametrize("example", [EXAMPLE_0, EXAMPLE_1], ids=["format 0", "format 1"])
    def test_its_examples(self, folder, example):
        # RP-001: C and C below at 0, G after a quarter, E after two, all to the end of the bar; 120 a minute.
        take = read(folder, example)
        assert held(take) == [(0, 2, 0x30), (0, 2, 0x3C), (0.5, 2, 0x43), (1, 2, 0x4C)]
        assert take.notes.velocity.tolist() == [96, 96, 64, 32]
        assert take.notes.channel.tolist() == [2, 2, 1, 0]
        assert take.duration == 2.0
        assert [message.data for message in take.messages] == [b"\xc0\x05", b"\xc1\x2e", b"\xc2\x46"]

    def test_its_example_of_a_length(self, folder):
        # RP-001, MTC: 6144 ticks of 96 a quarter at 500000 microseconds are 32000 ms (192 of them in the notes).
        assert read(folder, midi(TWO_NOTES + "AE40 FF2F00")).duration == 32.0

    @pytest.mark.parametrize(
        ("division", "second"),
        [("E728", 1000), ("E250", 2400), ("E850", 1920), ("E364", 100 * 30000 / 1001)],
        ids=["25 x 40", "30 x 80", "24 x 80", "29.97 x 100"],
    )
    def test_time_code(self, folder, division, second):
        # RP-001: -24, -25, -29 or -30 frames a second, then ticks a frame; 25 x 40 is a millisecond a tick.
        take = read(folder, midi("00 FF51030F4240" + TWO_NOTES + END, division=division))
        np.testing.assert_allclose(take.notes.start, [0, 96 / second])

    def test_120_where_no_tempo_is_given(self, folder):
        assert held(read(folder, midi(TWO_NOTES + END))) == [(0, 0.5, 0x3C), (0.5, 1, 0x40)]

    def test_notes_in_a_riff_file(self, folder):
        # RP-029 "Bundling SMF and DLS data in an RMID file": RIFF, RMID, then the file in a data chunk.
        data = EXAMPLE_0
        inside = b"RMIDdata" + len(data).to_bytes(4, "little") + data
        assert len(read(folder, b"RIFF" + len(inside).to_bytes(4, "little") + inside).notes) == 4


class TestTempi:
    def test_of_every_track_hold_for_all(self, folder):
        # A quarter at 60, a quarter at 120 set by a third track, a quarter at 30 set by the notes' own.
        take = read(
            folder,
            midi(
                "00 FF51030F4240" + END,
                "00 903C40 60 803C40 00 903E40 60 803E40 00 FF51031E8480 00 904040 60 804040" + END,
                "60 FF510307A120" + END,
            ),
        )
        assert held(take) == [(0, 1, 0x3C), (1, 1.5, 0x3E), (1.5, 3.5, 0x40)]

    @settings(max_examples=60, deadline=None)
    @given(data=st.data())
    def test_as_mido_has_them(self, folder, data):
        kinds = st.sampled_from(["note_on", "set_tempo", "control_change", "marker"])
        events = st.lists(st.tuples(st.integers(0, 2000), kinds, st.integers(1, 127)), min_size=1, max_size=12)
        division = data.draw(st.integers(1, 32767))
        file = mido.MidiFile(type=1, ticks_per_beat=division)
        for channel in range(data.draw(st.integers(1, 4))):
            track = file.add_track()
            for delta, kind, number in data.draw(events):
                if kind == "set_tempo":
                    track.append(mido.MetaMessage(kind, tempo=number * 9999, time=delta))
                elif kind == "marker":
                    track.append(mido.MetaMessage(kind, text="A", time=delta))
                elif kind == "note_on":
                    track.append(mido.Message(kind, note=number, velocity=number, channel=channel, time=delta))
                else:
                    track.append(mido.Message(kind, control=64, value=number, channel=channel, time=delta))
        out = io.BytesIO()
        file.save(file=out)
        wanted, elapsed = [], 0.0
        for message in file:
            elapsed += message.time
            if message.type == "note_on":
                wanted.append((elapsed, message.note, message.channel))
        if len({time for time, _, _ in wanted}) < 2:
            with pytest.raises(TakeError):
                read(folder, out.getvalue())
            return
        take = read(folder, out.getvalue())
        notes = take.notes
        got = zip(notes.start.tolist(), notes.pitch.tolist(), notes.channel.tolist(), strict=True)
        np.testing.assert_allclose(sorted(got), sorted(wanted), rtol=1e-9)
        assert take.duration == pytest.approx(file.length, rel=1e-9)


class TestKeys:
    def track(self, folder, body):
        return held(read(folder, midi("00 90 2440 00 2400" + body + END)))[1:]

    def test_velocity_nothing_is_an_up(self, folder):
        assert self.track(folder, "00 903C40 60 3C00 00 3C41 60 3C00") == [(0, 0.5, 0x3C), (0.5, 1, 0x3C)]

    def test_overlapping_notes_end_in_the_order_they_began(self, folder):
        # RP-001 leaves it open; first in, first out is common practice, no source.
        body = "00 903C40 30 3C40 30 3C00 30 3C00"
        assert self.track(folder, body) == [(0, 0.5, 0x3C), (0.25, 0.75, 0x3C)]

    def test_a_lost_up_does_not_shift_the_later_ones(self, folder):
        body = "00 903C40 60 3C40 30 3C00 30 3C40 30 3C00"
        assert self.track(folder, body) == [(0, 0.5, 0x3C), (0.5, 0.75, 0x3C), (1, 1.25, 0x3C)]

    def test_an_up_after_a_stroke_at_one_moment_belongs_to_the_note_before(self, folder):
        body = "00 903C40 60 3C40 00 3C00 60 3C00 00 3E40 60 FF060141"
        assert self.track(folder, body) == [(0, 0.5, 0x3C), (0.5, 1, 0x3C), (1, 1.5, 0x3E)]

    def test_a_note_without_an_up_lasts_to_the_end_of_its_track(self, folder):
        assert self.track(folder, "60 903C40 60 FF060141") == [(0.5, 1, 0x3C)]

    def test_a_note_may_be_of_no_length(self, folder):
        assert self.track(folder, "60 903C40 00 3C00") == [(0.5, 0.5, 0x3C)]

    def test_an_up_without_a_note_is_nothing(self, folder):
        assert self.track(folder, "00 803C40 60 903C40 60 803C40") == [(0.5, 1, 0x3C)]

    def test_the_same_key_on_two_tracks_is_two_notes(self, folder):
        take = read(folder, midi("00 903C40 8140 803C40" + END, "60 903C40 10 803C40" + END))
        assert held(take) == [(0, 1, 0x3C), (0.5, pytest.approx(7 / 12), 0x3C)]


def test_pedal_and_other_messages_keep_their_order(folder):
    body = "00 B00001 00 B02002 00 C003 60 B0407F 30 B0407F 30 B04000" + TWO_NOTES + END
    take = read(folder, midi(body))
    assert [message.data[:2].hex() for message in take.messages[:3]] == ["b000", "b020", "c003"]
    down, lift = take.pedal()
    assert down.tolist() == [0.5]
    assert lift.tolist() == [1.0]


def test_arrays_cannot_be_written(folder):
    notes = read(folder, EXAMPLE_0).notes
    for array in (notes.start, notes.end, notes.pitch, notes.velocity, notes.channel):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 1


class TestFormat2:
    def test_with_one_piece_is_read_in_its_own_tempo(self, folder):
        take = read(folder, midi("00 FF51030F4240" + TWO_NOTES + END, "00 FF51031E8480" + END, form=2))
        assert held(take) == [(0, 1, 0x3C), (1, 2, 0x40)]

    def test_with_several_is_refused(self, folder):
        with pytest.raises(TakeError, match=r"take\.mid holds 2 pieces .* format 2"):
            read(folder, midi(TWO_NOTES + END, TWO_NOTES + END, form=2))


class TestRefused:
    @pytest.mark.parametrize(
        ("data", "says"),
        [
            (b"", "is empty"),
            (b"These are words.", "no Standard MIDI File"),
            (EXAMPLE_0[:13], "ends within its header"),
            (EXAMPLE_0[:30], "no notes"),
            (midi(END), "no notes"),
            (midi(), "no notes"),
            (midi("00 903C40 60 803C40" + END), "only one note"),
            (midi("00 903C40 00 904040 60 803C40 00 804040" + END), "a single chord"),
            (midi(TWO_NOTES + END, division="0000"), "how long its ticks last"),
            (midi(TWO_NOTES + END, division="E700"), "how long its ticks last"),
            (midi(TWO_NOTES + END, division="9940"), "how long its ticks last"),
            (midi(TWO_NOTES + "FFFFFF7F FF2F00"), "388.4 hours"),
        ],
    )
    def test_in_one_sentence(self, folder, data, says):
        with pytest.raises(TakeError, match=says) as caught:
            read(folder, data)
        words = str(caught.value)
        assert words.startswith(str(folder / "take.mid"))
        assert words.endswith(".")
        assert "\n" not in words

    def test_missing(self, folder):
        with pytest.raises(TakeError, match="does not exist"):
            read_midi(folder / "none.mid")

    def test_larger_than_any_take(self, folder):
        path = saved(folder, EXAMPLE_0, "large.mid")
        with path.open("r+b") as file:
            file.truncate(40_000_000)
        with pytest.raises(TakeError, match="larger than the 32 MB"):
            read_midi(path)


class TestDamage:
    def test_a_cut_last_track_keeps_its_notes(self, folder):
        assert len(read(folder, EXAMPLE_1[:-8]).notes) == 4

    def test_a_key_signature_that_is_none_costs_nothing(self, folder):
        # mido 1.3.3 gives up on such a file.
        take = read(folder, midi("00 FF59020900 00 FF580104 00 FF5903000000" + TWO_NOTES + END))
        assert len(take.notes) == 2

    @settings(max_examples=300, deadline=None)
    @given(data=st.one_of(damaged(EXAMPLE_0), damaged(EXAMPLE_1)))
    def test_gives_a_take_or_a_refusal(self, folder, data):
        try:
            take = read(folder, data)
        except TakeError:
            return
        notes = take.notes
        assert isinstance(take, MidiTake)
        assert len(notes) >= 2
        assert np.all(np.diff(notes.start) >= 0)
        assert np.all((notes.start >= 0) & (notes.start <= notes.end) & (notes.end <= take.duration))
        assert np.all((notes.velocity >= 1) & (notes.velocity <= 127))
        assert np.all((notes.pitch >= 0) & (notes.pitch <= 127))
        assert all(a.time <= b.time for a, b in pairwise(take.messages))
        take.pedal()


@pytest.fixture
def performances():
    files = sorted(default_corpus().glob("*.mid"))[::8]
    if not files:
        pytest.skip(f"no corpus in {default_corpus()}; say where it is with BARWRIGHT_CORPUS")
    return files


class TestCorpus:
    """Played performances: other readers find the same notes at the same seconds."""

    def test_as_pretty_midi_has_them(self, performances):
        for file in performances:
            wanted = sorted(
                (note.start, note.end, note.pitch, note.velocity)
                for instrument in pretty_midi.PrettyMIDI(str(file)).instruments
                for note in instrument.notes
            )
            notes = read_midi(file).notes
            got = sorted(zip(notes.start, notes.end, notes.pitch, notes.velocity, strict=True))
            np.testing.assert_allclose(got, wanted, atol=1e-9, err_msg=file.name)

    def test_as_mido_has_their_pedal(self, performances):
        for file in performances[:3]:
            wanted, elapsed, pressed = [], 0.0, False
            for message in mido.MidiFile(file):
                elapsed += message.time
                if message.is_cc(64):
                    if message.value >= 64 and not pressed:
                        wanted.append(elapsed)
                    pressed = message.value >= 64
            np.testing.assert_allclose(read_midi(file).pedal()[0], wanted, atol=1e-9, err_msg=file.name)
