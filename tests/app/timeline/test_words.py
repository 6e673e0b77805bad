"""The words a screen reader says; the wording is the project's own."""

from app.timeline.lines import Lines
from app.timeline.words import line_words, moment, selection_words, tempo_unit
from tests.app.timeline.still_workspace import steady_grid

LINES = Lines(steady_grid(5, bar=2.0, start=31.214, placed={(1, 1), (2, 3)}, doubtful={(3, 1)}))


def test_moments_are_minutes_seconds_and_milliseconds():
    assert moment(33.214) == "0:33.214"
    assert moment(59.9996) == "1:00.000"
    assert moment(3671.5) == "61:11.500"


def test_a_line_is_named_with_its_kind_moment_and_tempo():
    assert line_words(LINES, (2, 1)) == "Bar 2, suggested, 0:33.214, 120 a minute"
    assert line_words(LINES, (1, 1)) == "Bar 1, placed, 0:31.214, 120 a minute"
    assert line_words(LINES, (3, 1)) == "Bar 3, doubtful, 0:35.214, 120 a minute"
    assert line_words(LINES, (2, 3)) == "Bar 2 beat 3, placed, 0:34.214"
    assert line_words(LINES, (5, 1)) == "Bar 5, suggested, 0:39.214"
    assert line_words(LINES, (6, 1)) == ""


def test_a_selection_says_how_many_and_which_the_keys_act_on():
    assert selection_words(LINES, frozenset(), (1, 1)) == "Nothing selected"
    assert selection_words(LINES, frozenset({(2, 1)}), None).startswith("Bar 2, suggested")
    many = selection_words(LINES, frozenset({(2, 1), (3, 1)}), (3, 1))
    assert many == "2 lines selected, 2 to 3; Bar 3, doubtful, 0:35.214, 120 a minute"


def test_what_is_counted_a_minute_is_said():
    assert tempo_unit(LINES) == "quarters a minute"
    assert tempo_unit(Lines(steady_grid(3, signature="6/8"))) == "beats a minute"
