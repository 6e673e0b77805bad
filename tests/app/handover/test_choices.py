"""What was chosen outlives the page as plain values, and damaged values do no harm."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from app.handover.choices import Choices
from core.handover_settings import Settings
from tests.app.handover.desk import guitar, piano


def test_the_usual_choices_are_the_name_and_folder_of_the_take(tmp_path):
    choices = Choices.usual(piano(tmp_path).take)
    assert (choices.settings, choices.folder) == (Settings(name="evening"), tmp_path)


def test_a_name_that_no_file_can_have_is_replaced(tmp_path):
    assert Choices.usual(piano(tmp_path, name=".mid").take).settings.name == "take"


def test_choices_kept_as_json_are_the_same(tmp_path):
    take = piano(tmp_path).take
    settings = Settings(
        name="dusk", knots="fewest", tolerance=0.02, lead_in=3, division=480, key="F#m", click=True
    )
    for chosen in (settings, replace(settings, lead_in="none", key=None, notes=True, beats=False)):
        choices = Choices(chosen, Path("/music"))
        assert Choices.kept(json.loads(json.dumps(choices.plain())), take) == choices


@pytest.mark.parametrize(
    "damage",
    [
        {"division": 24},
        {"division": "many"},
        {"knots": 3},
        {"name": "a/b"},
        {"name": None},
        {"tolerance": "wide"},
        {"lead_in": [1]},
        {"lead_in": None},
        {"key": 7},
        {"click": "yes"},
    ],
)
def test_damaged_values_give_the_usual_choices(damage, tmp_path):
    take = guitar(tmp_path).take
    assert Choices.kept({**Choices.usual(take).plain(), **damage}, take) == Choices.usual(take)


def test_values_of_another_version_are_passed_over(tmp_path):
    take = guitar(tmp_path).take
    kept = Choices.kept({"swing": 0.6, "click": True}, take)
    assert kept == Choices(Settings(name="guitar", click=True), tmp_path)
