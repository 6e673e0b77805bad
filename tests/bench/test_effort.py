"""The effort bench from its arguments to its figures."""

import json
import math

import pytest

from tests.bench import render
from tests.bench.corpus import SUFFIX
from tests.bench.effort import main, spread


@pytest.fixture
def corpus(tmp_path):
    """Two short takes with their truth, in the layout of the corpus; the second is mostly unsettled."""
    for name, kind in (("easy", "b"), ("unsettled", "bR")):
        notes = render.compose(45, seed=3)
        render.write_midi(tmp_path / f"{name}.mid", notes)
        rows = ["time_s,kind,time_signature,beats_per_bar"]
        rows += [f"{time:.6f},{kind if i % 4 else 'db'},4/4,4" for i, time in enumerate(notes[0][::2])]
        (tmp_path / f"{name}{SUFFIX}").write_text("\n".join(rows) + "\n")
    return tmp_path


def test_the_figures_of_a_folder_of_the_corpus_layout(corpus, capsys):
    assert main([str(corpus), "--json", "--between"]) == 0
    figures = json.loads(capsys.readouterr().out)
    assert {"median", "q1", "q3", "mean", "tolerance_s", "n", "rule_median", "takes"} <= set(figures)
    assert (figures["n"], figures["tolerance_s"], figures["left_out"]) == (1, 0.05, ["unsettled"])
    (take,) = figures["takes"]
    assert take["name"] == "easy"
    # Two gestures at least, one a bar at most.
    assert 200 / take["bars"] <= take["effort"] <= 100
    assert take["effort"] == pytest.approx(100 * take["gestures"] / take["bars"])
    # A chord on every eighth note, bars that change by 5 %: the rule snaps its way through most of them.
    assert take["rule_effort"] < take["unsnapped_rule_effort"]
    assert set(figures["other_tolerances_ms"]) == {"70", "30"}
    assert set(figures["between_pins"]) == {"2", "4", "8", "16"}


def test_the_tables_hold_every_take(corpus, capsys):
    assert main([str(corpus), "--tolerance", "0.07", "--only", "easy"]) == 0
    printed = capsys.readouterr().out
    assert "easy" in printed
    assert "tracker, 70 ms" in printed


@pytest.mark.parametrize("arguments", [["none"], ["."], [".", "--audio", "none"]])
def test_a_folder_that_cannot_be_used_is_one_sentence_and_exit_2(arguments, corpus, tmp_path, capsys, monkeypatch):
    empty = tmp_path / "empty"
    empty.mkdir()
    monkeypatch.chdir(corpus if "--audio" in arguments else empty)
    assert main(arguments) == 2
    said = capsys.readouterr().err
    assert said.startswith("effort: ")
    assert said.count("\n") == 1


def test_quartiles_leave_out_what_is_not_known():
    # numpy's default quartiles (linear between order statistics).
    assert spread([4.0, 1.0, math.nan, 2.0, 3.0]) == {"median": 2.5, "q1": 1.75, "q3": 3.25, "mean": 2.5}
    assert set(spread([math.nan]).values()) == {None}
