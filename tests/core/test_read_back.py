"""The reader that checks what was written, against files the writer had no part in."""

import struct

import mido
import numpy as np
import pytest

from core import read_back as module
from core.errors import HandoverError, InputError
from core.fit import fit_bars
from core.metre import Metre
from core.read_back import read_back, read_bar_lines
from core.session import place
from core.write_midi import map_file
from tests.core.free_grids import FOUR, grid_of

HEADER = "4D546864 00000006 0000 0001 0060 "


@pytest.fixture
def file(tmp_path):
    def write(data):
        path = tmp_path / "map.mid"
        path.write_bytes(bytes.fromhex(data) if isinstance(data, str) else data)
        return path

    return write


def test_the_specifications_examples(file):
    # RP-001's example: 384 ticks at division 96, 4/4, 120: bar lines at 0 and 2 s, in both formats.
    form_0 = file(
        HEADER + "4D54726B 0000003B 00FF580404021808 00FF510307A120 00C005 00C12E 00C246 00923060 003C60 60914340"
        "60904C20 8140823040 003C40 00814340 00804C40 00FF2F00"
    )
    assert list(read_bar_lines(form_0)) == [0.0, 2.0]
    form_1 = file(
        "4D546864 00000006 0001 0004 0060 4D54726B 00000014 00FF580404021808 00FF510307A120 8300FF2F00 4D54726B"
        "00000010 00C005 8140904C20 81404C00 00FF2F00 4D54726B 0000000F 00C12E 60914340 82204300 00FF2F00 4D54726B"
        "00000015 00C246 00923060 003C60 83003000 003C00 00FF2F00"
    )
    assert list(read_bar_lines(form_1)) == [0.0, 2.0]


def test_a_file_that_mido_wrote(tmp_path):
    tracks = [mido.MidiTrack(), mido.MidiTrack()]
    tracks[0] += [
        mido.MetaMessage("time_signature", numerator=3, denominator=4),
        mido.Message("sysex", data=(1, 2, 3)),
        mido.MetaMessage("time_signature", numerator=6, denominator=8, time=6 * 480),
        mido.Message("aftertouch", value=3, time=0),
        mido.MetaMessage("end_of_track", time=3 * 480),
    ]
    # Tempo on a later track, as occurs in the wild; it changes in the middle of a bar.
    tracks[1] += [mido.MetaMessage("set_tempo", tempo=1_000_000, time=7 * 480), mido.MetaMessage("end_of_track")]
    mido.MidiFile(type=1, ticks_per_beat=480, tracks=tracks).save(tmp_path / "map.mid")
    np.testing.assert_allclose(read_bar_lines(tmp_path / "map.mid"), [0, 1.5, 3, 5.5])


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ("", "it is no Standard MIDI File"),
        ("52494646 00000000", "it is no Standard MIDI File"),
        ("4D546864 00000006 0002 0001 0060", "only formats 0 and 1"),
        ("4D546864 00000006 0001 0001 E728", "does not count in ticks a quarter note"),
        (HEADER + "4D54726B 000000FF 00", "it ends too early"),
        (HEADER + "4D54726B 00000002 00FF", "it ends too early"),
        (HEADER + "4D54726B 00000006 0090 3C40 00F4", "no known kind"),
        (HEADER + "4D54726B 00000006 FFFFFFFFFF00", "more than four bytes"),
        (HEADER + "4D54726B 00000008 00FF580400021808", "time signature of no beats"),
        (HEADER + "4D54726B 0000000F 00FF580401061808 BFFFFF7F FF2F00", "more bars than any music"),
    ],
)
def test_damage_is_one_sentence(file, data, words):
    with pytest.raises(InputError, match=rf"map\.mid is not a tempo map that can be read: .*{words}"):
        read_bar_lines(file(data))


def test_a_missing_file_is_one_sentence(tmp_path):
    with pytest.raises(InputError, match="does not exist"):
        read_bar_lines(tmp_path / "none.mid")


def test_a_changed_file_is_found_out(tmp_path):
    grid = grid_of(Metre.steady(FOUR), [0.5] * 40, start=2.0)
    session = place(grid, fit_bars(grid))
    path = tmp_path / "map.mid"
    path.write_bytes(map_file(session).data)
    good = path.read_bytes()
    assert read_back(path, session).worst < 1e-9
    # One microsecond a quarter more over 11 bars of 4/4 is 44 us at the last bar line.
    path.write_bytes(good.replace(bytes.fromhex("FF510307A120"), bytes.fromhex("FF510307A121"), 1))
    with pytest.raises(
        HandoverError, match=r"does not read back: bar 12 is at 22\.000044 s in it, not at 22\.000000 s"
    ):
        read_back(path, session)
    path.write_bytes(good[:-4])
    with pytest.raises(HandoverError, match=r"does not read back: .* ends too early"):
        read_back(path, session)
    path.write_bytes(good[:14] + b"MTrk" + struct.pack(">I", 4) + b"\x00\xff\x2f\x00")
    with pytest.raises(HandoverError, match="it has 1 bar lines, not 12"):
        read_back(path, session)


def test_a_file_that_is_mostly_nothing_is_refused(file, monkeypatch):
    monkeypatch.setattr(module, "_MOST_EVENTS", 10)
    with pytest.raises(InputError, match="more events than any music"):
        read_bar_lines(file(HEADER + "4D54726B 00000000" * 11))
    with pytest.raises(InputError, match="more events than any music"):
        read_bar_lines(file(HEADER + "4D54726B 0000002C" + "00FF0100" * 11))
