"""The pictures of the window: made, of the size asked for, and with something on them."""

from PySide6.QtGui import QImage

from tests import shots


def test_an_audio_take_is_pictured(qapp, tmp_path):
    home = tmp_path / "home"
    home.mkdir()
    studio = shots.studio(home, tmp_path, "audio")
    try:
        shots.take_audio(studio)
    finally:
        studio.close()
    assert [path.stem for path in studio.made] == ["audio-whole-take", "audio-take", "audio-bar-stack"]
    images = [QImage(str(path)) for path in studio.made]
    for image in images:
        assert (image.width(), image.height()) == shots.USUAL
        assert len({image.pixel(x, image.height() // 2) for x in range(image.width())}) > 3
    assert images[0] != images[1] != images[2]


def test_a_folder_that_cannot_be_made_is_refused(tmp_path, capsys):
    (tmp_path / "taken").write_bytes(b"")
    assert shots.main([str(tmp_path / "taken")]) == 2
    assert "taken" in capsys.readouterr().err
