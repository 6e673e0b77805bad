"""The bytes of Standard MIDI Files, against MIDI 1.0, RP-001 "Standard MIDI Files 1.0"."""

import hashlib

import pytest

from core.errors import HandoverError, InputError
from core.metre import TimeSignature
from core.smf import Event, key_signature, smf, tempo, text, time_signature, track, variable_length
from core.units import us_per_quarter

# The specification's example: three notes at division 96, 4/4, 120 quarters a minute.
CONDUCTOR = [Event(0, time_signature(TimeSignature(4, 4))), Event(0, tempo(500_000))]


def event(tick, text):
    return Event(tick, bytes.fromhex(text))


def test_the_specifications_format_0_example_byte_for_byte():
    music = [
        *(event(0, "C0 05"), event(0, "C1 2E"), event(0, "C2 46")),
        *(event(0, "92 30 60"), event(0, "92 3C 60"), event(96, "91 43 40"), event(192, "90 4C 20")),
        # Note-offs of the example carry a release velocity of 64.
        *(event(384, "82 30 40"), event(384, "82 3C 40"), event(384, "81 43 40"), event(384, "80 4C 40")),
    ]
    written = smf([track([*CONDUCTOR, *music])], division=96, form=0)
    assert written == bytes.fromhex(
        "4D546864 00000006 0000 0001 0060 4D54726B 0000003B 00FF580404021808 00FF510307A120 00C005 00C12E 00C246"
        "00923060 003C60 60914340 60904C20 8140823040 003C40 00814340 00804C40 00FF2F00"
    )
    assert (
        hashlib.sha256(written).hexdigest() == "9c512dc6fc73b8bef93a39c93142b7e828cfe51bf5340b84fe0fc87f0b8536ed"
    )


def test_the_specifications_format_1_example_byte_for_byte():
    written = smf(
        [
            track(CONDUCTOR, end=384),
            track([event(0, "C0 05"), event(192, "90 4C 20"), event(384, "90 4C 00")]),
            track([event(0, "C1 2E"), event(96, "91 43 40"), event(384, "91 43 00")]),
            track(
                [
                    *(event(0, "C2 46"), event(0, "92 30 60"), event(0, "92 3C 60")),
                    *(event(384, "92 30 00"), event(384, "92 3C 00")),
                ]
            ),
        ],
        division=96,
    )
    assert written == bytes.fromhex(
        "4D546864 00000006 0001 0004 0060 4D54726B 00000014 00FF580404021808 00FF510307A120 8300FF2F00 4D54726B"
        "00000010 00C005 8140904C20 81404C00 00FF2F00 4D54726B 0000000F 00C12E 60914340 82204300 00FF2F00 4D54726B"
        "00000015 00C246 00923060 003C60 83003000 003C00 00FF2F00"
    )
    assert (
        hashlib.sha256(written).hexdigest() == "83ba1f523c7d4591f9c190d76f5fc62e04c3eb0b4a87132e03067224061729c7"
    )


@pytest.mark.parametrize(
    ("number", "written"),
    # The specification's own table of variable-length quantities.
    [
        (0x00000000, "00"),
        (0x00000040, "40"),
        (0x0000007F, "7F"),
        (0x00000080, "81 00"),
        (0x00002000, "C0 00"),
        (0x00003FFF, "FF 7F"),
        (0x00004000, "81 80 00"),
        (0x00100000, "C0 80 00"),
        (0x001FFFFF, "FF FF 7F"),
        (0x00200000, "81 80 80 00"),
        (0x08000000, "C0 80 80 00"),
        (0x0FFFFFFF, "FF FF FF 7F"),
    ],
)
def test_variable_length_quantities(number, written):
    assert variable_length(number) == bytes.fromhex(written)


@pytest.mark.parametrize("number", [-1, 0x10000000])
def test_a_quantity_that_does_not_fit_is_refused(number):
    with pytest.raises(HandoverError, match="cannot be written in a MIDI file"):
        variable_length(number)


@pytest.mark.parametrize(
    ("per_minute", "written"),
    # Microseconds a quarter note in 24 bits: 60 000 000 / tempo, rounded.
    [(60, "0F 42 40"), (61, "0F 02 37"), (90, "0A 2C 2B"), (120, "07 A1 20"), (132, "06 EF 91")],
)
def test_tempo_bytes(per_minute, written):
    assert tempo(round(us_per_quarter(per_minute))) == bytes.fromhex("FF 51 03" + written)


@pytest.mark.parametrize(
    ("signature", "written"),
    [
        ("4/4", "04 02 18 08"),  # the specification's example
        ("6/8", "06 03 24 08"),  # the specification's 6/8, clicking every dotted quarter (36 clocks)
        ("2/2", "02 01 30 08"),
        ("2+2+3/8", "07 03 0C 08"),  # unequal beats: the click is an eighth, 12 clocks
        ("12/16", "0C 04 12 08"),
        ("5/64", "05 06 18 08"),  # a sixty-fourth is no whole number of clocks: the click is a quarter
        ("1/1", "01 00 60 08"),
    ],
)
def test_time_signatures(signature, written):
    assert time_signature(TimeSignature.parse(signature)) == bytes.fromhex("FF 58 04" + written)


@pytest.mark.parametrize(
    ("name", "written"),
    # sf: sharps, negative for flats; mi: 1 for minor.
    [("C", "00 00"), ("Am", "00 01"), ("Eb", "FD 00"), ("F#m", "03 01"), ("Cb", "F9 00"), ("C#", "07 00")],
)
def test_key_signatures(name, written):
    assert key_signature(name) == bytes.fromhex("FF 59 02" + written)


@pytest.mark.parametrize("name", ["", "H", "G#", "Fbm", "C##", "m", "Cmajor"])
def test_what_is_no_key_is_refused(name):
    with pytest.raises(InputError, match="is no key"):
        key_signature(name)


def test_a_meta_event_ends_running_status():
    body = track([event(0, "90 3C 40"), Event(0, text(6, "A")), event(0, "90 3E 40")])[8:]
    assert body == bytes.fromhex("00 90 3C 40 00 FF 06 01 41 00 90 3E 40 00 FF 2F 00")
