"""What the tests of the whole window share; a file that needs another window makes its own."""

import pytest

from tests.app.shell import window_of
from tests.app.takes import play_midi


@pytest.fixture(scope="module")
def shared(qapp, tmp_path_factory):
    """A window for all tests of a file."""
    with window_of(tmp_path_factory.mktemp("home")) as window:
        yield window


@pytest.fixture(scope="module")
def played(tmp_path_factory):
    """A short take, to be copied before it is worked on."""
    return play_midi(tmp_path_factory.mktemp("takes") / "evening.mid", phrases=2).path
