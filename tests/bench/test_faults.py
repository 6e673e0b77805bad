"""The benches of bad input and faults find what is wrong, and a small part of each finds nothing here."""

import json
import random
from contextlib import suppress

import pytest

from core.errors import HandoverError, InputError
from tests.bench import faults_loops, fuzz_child, fuzz_targets
from tests.bench.faults_fuzz import run as fuzz
from tests.bench.faults_loops import JOBS, Job, loop
from tests.bench.fuzz_damage import damage
from tests.bench.fuzz_targets import TARGETS, Target


def test_damage_is_the_same_for_the_same_dice_and_of_many_kinds():
    seeds = [b"MThd" + bytes(range(200)), b'{"a": 1.5, "b": [2, 3]}']
    made = [damage(seeds[i % 2], seeds, random.Random(i)) for i in range(300)]
    assert made == [damage(seeds[i % 2], seeds, random.Random(i)) for i in range(300)]
    assert len(set(made)) > 250
    assert any(len(data) > 10_000 for data in made)


@pytest.mark.parametrize("name", sorted(TARGETS))
def test_whole_files_are_read(tmp_path, name):
    seeds = TARGETS[name].seeds(None)
    if not seeds:
        pytest.skip("the package that writes such files is not installed")
    for data in seeds:
        path = tmp_path / f"whole{TARGETS[name].ending}"
        path.write_bytes(data)
        # Not every list has bar lines, and a document is no edit.
        with suppress(*(InputError,) if name in ("csv", "edit") else ()):
            TARGETS[name].read(path)


class TestFeeder:
    @pytest.fixture
    def feeder(self, tmp_path, monkeypatch):
        def read(path):
            data = path.read_bytes()
            if data == b"fault":
                raise KeyError("fault")
            if data == b"words":
                raise InputError("no sentence")
            if data == b"large":
                bytearray(40 << 20)
            raise InputError(f"{path} is refused.")

        monkeypatch.setitem(fuzz_targets.TARGETS, "poor", Target(read, lambda _: [b"x"], ".bin"))
        monkeypatch.setattr(fuzz_child, "MEGABYTES", 20.0)
        return fuzz_child.Feeder("poor", tmp_path)

    def found(self, folder):
        lines = (folder / "findings.jsonl").read_text().splitlines()
        return [json.loads(line)["kind"] for line in lines]

    def test_what_is_no_refusal_is_kept_with_its_file(self, feeder, tmp_path):
        assert feeder.feed(b"good").startswith("InputError FILE is refused")
        for _ in range(2):
            feeder.feed(b"fault")
        feeder.feed(b"words")
        assert self.found(tmp_path) == ["crash", "sentence"]
        assert (tmp_path / next(tmp_path.glob("crash-*.bin")).name).read_bytes() == b"fault"
        assert feeder.stats["executions"] == 4

    @pytest.mark.skipif(not fuzz_child._memory(), reason="the memory of one file is only known on Linux")
    def test_too_much_memory_is_kept(self, feeder, tmp_path):
        feeder.feed(b"large")
        assert self.found(tmp_path) == ["memory"]


def test_a_process_that_dies_is_seen_and_started_again(tmp_path):
    figures = fuzz(seconds=1.0, only=["csv"], guided=False, keep=tmp_path)
    assert figures["executions"] > 20
    assert (figures["crashes"], figures["hangs"], figures["findings"]) == (0, 0, [])
    assert json.dumps(figures)


@pytest.mark.parametrize("name", ["a new project", "a project again", "a hand-over again", "a list of beats"])
def test_no_step_that_fails_costs_anything(tmp_path, name):
    count = loop(JOBS[name], tmp_path.resolve() / "loop")
    assert count.wrong == []
    assert count.faults > 40


def test_no_file_grows_beyond_what_the_system_lets_it(tmp_path):
    assert faults_loops.too_large(tmp_path / "loop").wrong == []


def test_a_poor_writer_is_found_out(tmp_path):
    def poor(folder):
        try:
            with (folder / "a.txt").open("w") as file:
                file.write("new work")
        except OSError as error:
            raise HandoverError("It failed") from error

    def loads(folder):
        assert (folder / "a.txt").read_text() == "old work"

    count = loop(Job(lambda folder: (folder / "a.txt").write_text("old work"), poor, loads), tmp_path / "loop")
    assert any("left" in wrong for wrong in count.wrong) or any("afterwards" in wrong for wrong in count.wrong)
    assert any("says only It failed" in wrong for wrong in count.wrong)
