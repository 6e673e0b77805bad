"""Reading a corpus folder; the layout is the one its own README gives."""

import csv
from fractions import Fraction

import pytest

from core.errors import InputError, MetreError
from tests.bench.corpus import default_corpus, read_corpus, signature_of

HEADER = "time_s,kind,time_signature,beats_per_bar\n"


def write(folder, text, name="take"):
    (folder / f"{name}.mid").touch()
    (folder / f"{name}.beats.csv").write_text(HEADER + text)
    return folder


def test_bar_lines_metre_changes_pickup_and_unsettled_beats_are_read(tmp_path):
    write(
        tmp_path,
        "0.5,b,6/8,2\n1.0,db,6/8,2\n2.0,b,6/8,2\n3.0,db,3/8,3\n4.0,bR,3/8,3\n5.0,b,3/8,3\n6.0,db,6/8,2\n7.0,b,6/8,2\n",
    )
    (take,) = read_corpus(tmp_path)
    assert take.bars.tolist() == [1.0, 3.0, 6.0]
    assert [(bar, str(signature), signature.groups) for bar, signature in take.metre.changes] == [
        (1, "6/8", (3, 3)),
        (2, "3/8", (1, 1, 1)),
        (3, "6/8", (3, 3)),
    ]
    assert take.metre.pickup == Fraction(3, 2)
    assert take.unsettled == pytest.approx(1 / 8)


@pytest.mark.parametrize(
    ("text", "beats", "groups"),
    [("3/8", 3, (1, 1, 1)), ("6/8", 2, (3, 3)), ("12/16", 4, (3, 3, 3, 3)), ("4/8", 4, (1, 1, 1, 1))],
)
def test_a_bar_beats_as_the_truth_counts(text, beats, groups):
    assert signature_of(text, beats).groups == groups


def test_a_bar_that_does_not_divide_is_refused():
    with pytest.raises(MetreError, match="3/4"):
        signature_of("3/4", 2)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("1.0,db,4/4,4\n", "two are the least"),
        ("1.0,db,4/4,4\nx,b,4/4,4\n", "line 3"),
        ("1.0,db,4/4,4\n2.0,down,4/4,4\n", "line 3"),
        ("2.0,db,4/4,4\n1.0,db,4/4,4\n", "goes back"),
        ("1.0,db,4/4,4\n2.0,db,4/4,3\n", "bar 2"),
        ("1.0,db,4/4,4\n2.0,db,4/4,\n", "bar 2"),
    ],
)
def test_a_truth_that_cannot_be_used_is_named(tmp_path, text, says):
    with pytest.raises(InputError, match=says):
        read_corpus(write(tmp_path, text))


def test_a_folder_without_truth_or_takes_is_refused(tmp_path):
    with pytest.raises(InputError, match="no corpus folder"):
        read_corpus(tmp_path / "none")
    with pytest.raises(InputError, match="holds no"):
        read_corpus(tmp_path)
    write(tmp_path, "1.0,db,4/4,4\n2.0,db,4/4,4\n")
    with pytest.raises(InputError, match="Not in the folder"):
        read_corpus(tmp_path, only=["other"])
    (tmp_path / "take.mid").unlink()
    with pytest.raises(InputError, match=r"no take\.mid"):
        read_corpus(tmp_path)


def test_the_choice_of_takes(tmp_path):
    for name in "abcde":
        write(tmp_path, "1.0,db,4/4,4\n2.0,db,4/4,4\n", name)
    assert [take.name for take in read_corpus(tmp_path, every=2)] == ["a", "c", "e"]
    assert [take.name for take in read_corpus(tmp_path, only=["d", "b"])] == ["b", "d"]


def test_the_corpus_reads_as_its_index_counts_it():
    # Bars, share of bR and bar_to_bar_change of all takes: index.csv of the corpus, made from the ASAP data.
    folder = default_corpus()
    if not (folder / "index.csv").is_file():
        pytest.skip(f"no corpus with an index in {folder}; say where it is with BARWRIGHT_CORPUS")
    with (folder / "index.csv").open(newline="", encoding="utf-8") as file:
        index = {row["name"]: row for row in csv.DictReader(file)}
    takes = read_corpus(folder)
    assert {take.name for take in takes} == set(index)
    for take in takes:
        row = index[take.name]
        assert len(take.bars) == int(row["n_bars"])
        assert take.unsettled == pytest.approx(int(row["n_bR"]) / int(row["n_beats"]))
        assert take.bar_to_bar_change == pytest.approx(float(row["bar_to_bar_change"]), abs=6e-4), take.name
