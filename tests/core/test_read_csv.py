"""Pins and bar times from CSV files made by hand, and what is wrong with some."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import InputError, PinError
from core.grid import Pin
from core.read_csv import read_bar_times, read_pins
from tests.core.edit_strategies import check_sentence
from tests.core.take_files import damaged


@pytest.fixture
def file(tmp_path):
    def write(text, name="pins.csv"):
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return write


def test_time_alone_is_enough(file):
    assert read_pins(file("time_s\n1.5\n4\n")) == (Pin(1.5), Pin(4.0))


def test_bars_and_beats_may_be_left_open(file):
    text = "\ufeffTime_s , bar,beat, note\r\n1.25,1,1,start\r\n\r\n 2.5 ,,,\r\n3.75,2,3\r\n"
    assert read_pins(file(text)) == (Pin(1.25, 1), Pin(2.5), Pin(3.75, 2, 3))


def test_only_placed_rows_are_pins_where_the_origin_is_said(file):
    text = "time_s,bar,origin\n1,1,placed\n3,2,suggested\n5,3,Placed\n"
    assert read_pins(file(text)) == (Pin(1.0, 1), Pin(5.0, 3))


def test_a_spreadsheets_semicolons_and_decimal_commas_are_understood(file):
    assert read_pins(file("time_s;bar\r\n1,25;1\r\n2,5;2,0\r\n")) == (Pin(1.25, 1), Pin(2.5, 2))


@pytest.mark.parametrize(
    "text", ["time_s,bar\r1,1\r3,2\r", "time_s,bar\r\n1,1\r\n3,2", '"time_s","bar"\n"1","1"\n3,2\n']
)
def test_any_line_end_and_quoting(file, text):
    assert read_pins(file(text)) == (Pin(1.0, 1), Pin(3.0, 2))


def test_a_quoted_line_end_counts_as_a_line(file):
    with pytest.raises(PinError, match=r"pins\.csv, line 4: "):
        read_pins(file('time_s,section\n1,"two\nlines"\nx,\n'))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("time_s\n1\nsoon\n", r'pins\.csv, line 3: time_s is "soon", not a number; correct or remove the line'),
        ("time_s\nnan\n", r'line 2: time_s is "nan", not a number'),
        ("time_s\ninf\n", r'line 2: time_s is "inf", not a number'),
        ("time_s,bar\n,3\n", r'line 2: time_s is "", not a number'),
        ("time_s,bar\n1,one\n", r'line 2: bar is "one", not a number'),
        ("time_s,bar\n1,1.5\n", r'line 2: bar is "1.5", not a whole number'),
        ("time_s,bar,beat\n1,1,0\n", r"line 2: there is no beat 0; beats count from 1"),
        ("time_s,bar,beat\n1,1,1e99\n", r"line 2: there is no beat 1e\+99; beats count from 1"),
        ("time_s,bar\n1,-99999999999\n", r'line 2: bar is "-99999999999"; bars are numbered from -9999 to 99999'),
        ("time_s,bar\n1,1e300\n", r'line 2: bar is "1e300"; bars are numbered'),
        ("time_s\n1e30\n", r"line 2: no take lasts until 1e\+30 s; give time_s in seconds"),
        ("time_s\n1_000\n", r'line 2: time_s is "1_000", not a number'),
        ("time_s\n\u0661\n", r'line 2: time_s is "\u0661", not a number'),
        (f"time_s\n{'x' * 99}\n", r'line 2: time_s is "x{30}\.\.\.", not a number'),
        ('time_s\n"1\n2"\n', r'line 3: time_s is "1 2", not a number'),
        ("time_s\n-1\n", r"line 2: -1 s is before the take starts"),
        ("time_s\n3\n2\n", r"line 3: 2 s does not come after 3 s; put the lines in order"),
        ("time_s\n3\n3\n", r"line 3: 3 s does not come after 3 s"),
        ("time_s,bar\n1,4\n2,\n3,4\n", r"line 4: bar 4 beat 1 at 3 s cannot come after bar 4 beat 1 at 1 s"),
        ("time_s,bar\n1,4\n3,2\n", r"line 3: bar 2 beat 1 at 3 s cannot come after bar 4 beat 1"),
    ],
)
def test_a_wrong_line_is_named(file, text, words):
    with pytest.raises(PinError, match=words):
        read_pins(file(text))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "has no column time_s; its first line must name the columns, like time_s,bar,beat"),
        ("1.0,1\n2.0,2\n", "has no column time_s"),
        (b"time_s\n\xff\xfe\n", "is not a CSV file in UTF-8"),
        ('time_s\n"1', "line 2: this is not CSV"),
    ],
)
def test_what_is_no_such_file_is_said(file, text, words):
    with pytest.raises(InputError, match=words):
        read_pins(file(text))


def test_a_file_that_cannot_be_opened_is_said(tmp_path):
    with pytest.raises(InputError, match=r"none\.csv does not exist: check the name and the folder"):
        read_pins(tmp_path / "none.csv")
    with pytest.raises(InputError, match="is a folder"):
        read_pins(tmp_path)


def test_bar_times_take_the_sessions_count_where_it_is_given(file):
    assert read_bar_times(file("time_s,bar,session_bar,session_time_s\n1,1,3,5\n2,2,4,6\n")) == (
        (3, 5.0),
        (4, 6.0),
    )
    assert read_bar_times(file("time_s,bar,beat\n1,1,1\n2,1,2\n3,2,1\n")) == ((1, 1.0), (2, 3.0))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("time_s\n1\n", "has no column bar"),
        ("time_s,bar\n", "has no bar line"),
        ("time_s,bar\n1,1\n2,1\n", r"line 3: bar 1 at 2 s does not come after bar 1 at 1 s"),
        ("time_s,bar\n1,\n", r'line 2: bar is "", not a number'),
    ],
)
def test_bar_times_that_cannot_be_compared_are_refused(file, text, words):
    with pytest.raises(InputError, match=words):
        read_bar_times(file(text))


def test_a_file_without_an_end_is_refused(tmp_path, monkeypatch):
    if Path("/dev/zero").exists():
        with pytest.raises(InputError, match="is a device"):
            read_pins(Path("/dev/zero"))
    path = tmp_path / "pins.csv"
    with path.open("wb") as file:
        file.truncate(9 << 20)
    with pytest.raises(InputError, match="larger than the 8 MB that a CSV file can have"):
        read_pins(path)
    path.write_text("time_s\n1\n2\n3\n")
    monkeypatch.setattr("core.read_csv._MOST_ROWS", 2)
    with pytest.raises(InputError, match="has more than 2 lines"):
        read_pins(path)


TEXTS = ["time_s,bar,beat\n1.25,1,1\n3.75,2,1\n", "time_s;bar\r\n1,25;1\r\n2,5;2\r\n"]


@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.sampled_from(TEXTS).flatmap(lambda text: damaged(text.encode())))
def test_damage_is_a_list_or_a_sentence(tmp_path_factory, data):
    path = tmp_path_factory.getbasetemp() / "damaged.csv"
    path.write_bytes(data)
    for read in (read_pins, read_bar_times):
        try:
            read(path)
        except InputError as error:
            check_sentence(str(error).replace(str(path.parent), ""))
