from core.read_take import read_take
from core.take import AudioTake, MidiTake
from tests.core.take_files import EXAMPLE_0, saved, tone, write_sound


def test_what_it_holds_decides_not_its_name(tmp_path):
    assert isinstance(read_take(saved(tmp_path, EXAMPLE_0, "take.wav")), MidiTake)
    sound = write_sound(tmp_path / "sound.wav", tone(8000, 1), 8000).rename(tmp_path / "sound.mid")
    assert isinstance(read_take(sound), AudioTake)


def test_names_with_anything_in_them(tmp_path):
    for name in ("my take.mid", "Übung №1 “frei” 🎹.MID", "take", "-o.mid", "a'b\"c;d&e.mid", "50%.mid"):
        assert len(read_take(saved(tmp_path, EXAMPLE_0, name)).notes) == 4
