import hashlib

import pytest

from core import midi_bytes
from core.errors import TakeError
from core.midi_bytes import parse
from tests.core.take_files import END, EXAMPLE_0, EXAMPLE_1, midi


def messages(data):
    return [track.messages for track in parse(data).tracks]


def test_the_examples_of_the_standard_are_what_they_should_be():
    # SHA-256 of the bytes as printed in RP-001.
    for example, digest in (
        (EXAMPLE_0, "9c512dc6fc73b8bef93a39c93142b7e828cfe51bf5340b84fe0fc87f0b8536ed"),
        (EXAMPLE_1, "83ba1f523c7d4591f9c190d76f5fc62e04c3eb0b4a87132e03067224061729c7"),
    ):
        assert hashlib.sha256(example).hexdigest() == digest


def test_running_status_goes_on_until_another_status():
    # RP-001: a data byte where a status is due repeats the last one.
    (track,) = messages(midi("00 903C40 60 3C00 00 4040 00 C105 00 06" + END))
    assert [data.hex() for _, data in track] == ["903c40", "903c00", "904040", "c105", "c106"]
    assert [tick for tick, _ in track] == [0, 96, 96, 96, 96]


def test_running_status_survives_other_events():
    # Against the standard, but written by some programs.
    (track,) = messages(midi("00 903C40 10 FF060141 10 3C00 00 F0037E09F7 10 3C41" + END))
    assert [(tick, data.hex()) for tick, data in track] == [(0, "903c40"), (32, "903c00"), (48, "903c41")]


def test_events_of_unknown_kinds_keep_their_time():
    (track,) = messages(midi("60 FF700201FF 00 903C40 60 FF60012A 60 803C40" + END))
    assert [tick for tick, _ in track] == [96, 288]


def test_long_times():
    # RP-001's table of variable-length quantities: 81 80 00 = 00004000, FF FF FF 7F = 0FFFFFFF.
    (track,) = messages(midi("818000 903C40 FFFFFF7F 803C40" + END))
    assert [tick for tick, _ in track] == [0x4000, 0x4000 + 0x0FFFFFFF]


def test_data_bytes_that_are_too_large_are_clipped():
    (track,) = messages(midi("00 903CFF 60 80FF40" + END))
    assert [data.hex() for _, data in track] == ["903c7f", "807f40"]


@pytest.mark.parametrize(
    "broken",
    ["00 90", "00 903C", "00 FF0320 4142", "FFFFFFFF 903C40", "00", "81", "00 F0FFFF"],
    ids=["no data", "half", "long text", "long time", "time only", "half a time", "long sysex"],
)
def test_what_came_before_the_damage_is_kept(broken):
    (track,) = messages(midi("00 903C40 60 803C40" + broken))
    assert [data.hex() for _, data in track] == ["903c40", "803c40"]


def test_running_status_before_any_status_is_damage():
    assert messages(midi("00 3C40" + END)) == [[]]


@pytest.mark.parametrize("size", [0, 1, 0x50, 0xFFFFFFFF])
def test_a_wrong_length_does_not_swallow_the_next_track(size):
    first, second = "00 903C40 60 803C40" + END, "00 914040 60 814040" + END
    data = midi(first, second)
    at = data.index(b"MTrk") + 4
    got = messages(data[:at] + size.to_bytes(4, "big") + data[at + 4 :])
    assert [data.hex() for _, data in got[-1]] == ["914040", "814040"]


def test_other_chunks_and_rubbish_between_tracks_are_passed_over():
    one, other = midi("00 903C40" + END)[14:], midi("00 913C40" + END)[14:]
    data = midi()[:14] + b"XFIH\0\0\0\x02ab" + one + b"\0\x01\xff" + other
    assert [track[0][1][0] for track in messages(data)] == [0x90, 0x91]


def test_a_longer_header_is_passed_over():
    # RP-001: "later versions may have more data in the header; honour the length".
    data = midi("00 903C40" + END)
    assert len(messages(data[:7] + b"\x08" + data[8:14] + b"\0\0" + data[14:])[0]) == 1


def test_tempi_of_nothing_are_passed_over():
    (track,) = parse(midi("00 FF5103000000 10 FF510107 10 FF510307A120" + END)).tracks
    assert track.tempi == [(32, 500_000)]


def test_headers_that_are_none():
    for data in (b"", b"RIFF", b"MThd\0\0\0\x06\0\x01\0"):
        with pytest.raises(TakeError):
            parse(data)


def test_too_many_events_are_refused(monkeypatch):
    monkeypatch.setattr(midi_bytes, "MOST_EVENTS", 5)
    notes = "00 903C40" + "01 3C00 01 3C40" * 2
    assert len(messages(midi(notes))[0]) == 5
    # Every event counts, whether it is kept or not.
    for tracks in ([notes + END], [notes, "00 FF510307A120"], [notes, "00 F000"]):
        with pytest.raises(TakeError, match="more than 5 events"):
            parse(midi(*tracks))


def test_tracks_that_each_claim_all_the_rest_are_not_copied():
    # Copied, sixty thousand tracks with such a length would take minutes.
    found = parse(midi()[:14] + b"MTrk\xff\xff\xff\xff\x00\xff\x2f\x00" * 60_000 + bytes(16 << 20))
    assert len(found.tracks) == 60_000


def test_no_more_is_read_than_the_header_could_count():
    assert len(parse(midi()[:14] + b"MTrk\0\0\0\4\x00\xff\x2f\x00" * 70_000).tracks) == 0xFFFF
    assert parse(midi()[:14] + b"What\0\0\0\0" * 70_000 + midi(END)[14:]).tracks == ()
