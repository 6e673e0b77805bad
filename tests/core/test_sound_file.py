import numpy as np
import pytest

from core.errors import TakeError
from core.read_audio import blocks, open_audio
from core.sound_file import look, pieces
from tests.core.take_files import saved, tone, write_sound

RATE = 44100

# ISO/IEC 11172-3: bit rates of MPEG-1 layer III in kbit/s by their four bits.
BIT_RATES = [0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("sound")


def swelling(seconds=12.0):
    """Soft first, then loud noise: a variable bit rate that rises."""
    noise = np.random.default_rng(2).uniform(-0.8, 0.8, round(seconds * RATE))
    return noise * np.linspace(0, 1, len(noise)) ** 4


@pytest.fixture(scope="module")
def mp3(folder):
    path = write_sound(folder / "whole.mp3", swelling(), RATE, bitrate_mode="VARIABLE")
    return path.read_bytes()


def without_header(data):
    """Leave out the first frame, which holds no sound but tells the length."""
    assert data[:2] == b"\xff\xfb"
    assert b"Xing" in data[:64] or b"Info" in data[:64]
    length = 144_000 * BIT_RATES[data[2] >> 4] // RATE + (data[2] >> 1 & 1)
    assert data[length : length + 2] == data[:2]
    return data[length:]


def tagged(data):
    """Put a large picture before the sound, as shops do (ID3v2.3)."""
    body = b"APIC" + (200_000).to_bytes(4, "big") + b"\0\0" + bytes(200_000)
    size = bytes(len(body) >> shift & 0x7F for shift in (21, 14, 7, 0))
    return b"ID3\x03\0\0" + size + body + data


class TestMp3:
    """libsndfile issue 1001: the number of frames of an MP3 file may be wrong, in both directions."""

    def test_with_a_header_has_the_length_that_was_written(self, folder, mp3):
        take = open_audio(saved(folder, mp3, "take.mp3"))
        assert take.frames == 12 * RATE

    @pytest.mark.parametrize("wrap", [bytes, tagged, lambda data: data + b"TAG" + bytes(125)])
    def test_without_a_header_is_read_to_its_end(self, folder, mp3, wrap):
        take = open_audio(saved(folder, wrap(without_header(mp3)), "bare.mp3"))
        # The header also told how much padding to leave out: at most two frames of 1152 and a decoder's delay.
        assert 12 * RATE <= take.frames <= 12 * RATE + 3 * 1152
        sound = np.concatenate(list(blocks(take)))
        assert len(sound) == take.frames
        assert np.std(sound[-RATE // 2 : -3 * 1152]) > 0.3

    def test_with_a_header_and_a_picture(self, folder, mp3):
        assert open_audio(saved(folder, tagged(mp3), "tagged.mp3")).frames == 12 * RATE

    def test_that_was_cut_is_as_long_as_can_be_heard(self, folder, mp3):
        take = open_audio(saved(folder, mp3[: len(mp3) // 2], "cut.mp3"))
        assert take.frames < 11 * RATE
        assert take.frames == sum(len(block) for block in blocks(take))

    def test_that_is_none_after_its_first_frame_is_refused(self, folder):
        # Two headers of free format (ISO/IEC 11172-3) that opening takes for MP3 and reading on does not.
        path = saved(folder, bytes.fromhex("ffff000000ffff0000"), "noise.mp3")
        with pytest.raises(TakeError, match="neither MIDI nor audio"):
            look(path)

    def test_may_be_left_half_read(self, folder, mp3):
        reading = pieces(saved(folder, without_header(mp3), "bare.mp3"))
        assert len(next(reading)) > 0
        reading.close()


class TestCutOff:
    @pytest.mark.parametrize("name", ["take.wav", "take.aiff", "take.flac"])
    def test_is_said_with_how_much_is_there(self, folder, name):
        path = write_sound(folder / name, swelling(4), RATE)
        data = path.read_bytes()
        path.write_bytes(data[: len(data) // 2])
        with pytest.raises(TakeError, match=r"ends after [123]\.\d s of the 4\.0 s it should last"):
            look(path)

    @pytest.mark.parametrize("length", [0, 0x7FFFFFFF, 0xFFFFFFFF])
    def test_not_where_a_recorder_did_not_know_the_length(self, folder, length):
        path = write_sound(folder / "stream.wav", tone(RATE, 2), RATE)
        data = bytearray(path.read_bytes())
        data[40:44] = length.to_bytes(4, "little")
        path.write_bytes(data)
        if length:
            assert open_audio(path).frames == 2 * RATE
        else:
            # libsndfile takes a length of nothing at its word.
            with pytest.raises(TakeError, match="holds no sound"):
                open_audio(path)

    def test_within_is_said_with_the_time(self, folder):
        path = write_sound(folder / "hole.flac", swelling(8), RATE)
        data = bytearray(path.read_bytes())
        at = len(data) // 2
        data[at : at + 20_000] = bytes(20_000)
        path.write_bytes(data)
        with pytest.raises(TakeError, match=r"is damaged at \d\.\d s|ends after"):
            list(pieces(path))


@pytest.mark.parametrize(
    ("data", "name"),
    [
        (b"These are words, and not a few of them: enough to fill a header.", "words.wav"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + bytes(100), "picture.flac"),
        (b"RIFF\x24\0\0\0WAVEfmt ", "head.wav"),
        (b"fLaC\0\0", "head.flac"),
        (b"OggS\0\2" + bytes(40), "head.ogg"),
        (b"FORM\0\0\0\x10AIFFCOMM", "head.aiff"),
        (b"ID3\x03\0\0\0\0\x0f\x7f" + bytes(100), "tag.mp3"),
        (bytes(1000), "nothing.raw"),
        (bytes(1000), "nothing.mp3"),
    ],
)
def test_what_is_no_sound(folder, data, name):
    with pytest.raises(TakeError, match=r"export the take as WAV"):
        look(saved(folder, data, name))


class TestRecorderThatLostItsPower:
    """RIFF 1991: both lengths of a WAV file are in its head, so they are written when the recording ends."""

    def unfinished(self, folder, sound, **how):
        data = bytearray(write_sound(folder / "whole.wav", sound, RATE, **how).read_bytes())
        at = data.index(b"data") + 4
        data[4:8] = data[at : at + 4] = bytes(4)
        return data

    @pytest.mark.parametrize("subtype", ["PCM_16", "PCM_24", "FLOAT"])
    def test_what_was_recorded_is_read(self, folder, subtype):
        sound = swelling(2.0)
        take = open_audio(saved(folder, bytes(self.unfinished(folder, sound, subtype=subtype)), "cut.wav"))
        assert take.frames == len(sound)
        np.testing.assert_allclose(np.concatenate(list(blocks(take)))[:, 0], sound, atol=1 / 32000)

    def test_half_a_sample_at_the_end_is_left_out(self, folder):
        data = bytes(self.unfinished(folder, swelling(2.0), subtype="PCM_24"))
        assert open_audio(saved(folder, data[:-2], "torn.wav")).frames == 2 * RATE - 1

    def test_an_empty_take_with_remarks_stays_empty(self, folder):
        data = write_sound(folder / "none.wav", np.zeros(0), RATE).read_bytes()
        remarks = b"LIST" + (400).to_bytes(4, "little") + bytes(400)
        data = data[:4] + (len(data) + len(remarks) - 8).to_bytes(4, "little") + data[8:] + remarks
        with pytest.raises(TakeError, match="holds no sound"):
            open_audio(saved(folder, data, "empty.wav"))
