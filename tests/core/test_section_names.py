"""Default names of sections."""

import pytest

from core.section_looks import looks_of
from core.section_names import letters, names_again, new_name


def test_letters_go_on_after_the_last():
    assert [letters(i) for i in (0, 1, 25, 26, 27, 52, 702)] == ["A", "B", "Z", "AA", "AB", "BA", "AAA"]


@pytest.mark.parametrize(
    ("names", "new"),
    [("", "A"), ("A", "B"), ("A A2", "B"), ("A B A2 C", "D"), ("B", "A"), ("a' Storm", "B"), ("A2", "B")],
)
def test_new_music_gets_the_first_letter_that_is_free(names, new):
    assert new_name(names.split()) == new


@pytest.mark.parametrize(
    ("names", "again"),
    [
        ((), ()),
        (("A",), (("A", "A2"),)),
        (("A", "B", "A2", "A4"), (("A", "A3"), ("B", "B2"))),
        # As it is called without a number where only a later one has that name.
        (("A2",), (("A", "A"),)),
        (("Storm", "Quiet sea", "Storm 2"), (("Storm", "Storm 3"), ("Quiet sea", "Quiet sea 2"))),
    ],
)
def test_music_that_comes_again_gets_the_next_number(names, again):
    assert names_again(names) == again


class Named:
    look = None

    def __init__(self, name):
        self.name = name


def test_what_comes_again_looks_the_same():
    names = ["Storm", "B", "Quiet sea"]
    more = [name for _, name in names_again(names)]
    looks = looks_of([Named(name) for name in names + more])
    assert looks[:3] == looks[3:]
