"""Which works in a diary bear on the light: the lamp, the wipes, and the carbon that takes out colour."""

from datetime import datetime, timedelta

from sim.diary.entries import Act
from sim.diary.evidence import _services
from sim.diary.parts import uv
from sim.scenario.read.load import load

SITE = load("family_house")
BEGIN = datetime(2027, 1, 1)


def services(*works):
    acts = [Act(BEGIN + timedelta(days=day), task, stage) for day, task, stage in works]
    return list(_services(SITE, acts, BEGIN.date()))


def test_works_on_the_unit_count_on_their_days():
    found = services((1, "replace lamp", ""), (2.5, "wipe sleeve", ""), (4, "wipe sensor window", ""))
    assert found == [(1.0, uv.LAMP), (2.5, uv.WIPE_SLEEVE), (4.0, uv.WIPE_WINDOW)]


def test_of_cartridges_only_that_of_the_carbon_bears_on_the_light():
    found = services((3, "change cartridge", "sediment"), (5, "change cartridge", "carbon"))
    assert found == [(5.0, uv.CARBON)]


def test_what_leaves_nothing_at_the_unit_does_not_count():
    assert services((1, "restore precharge", ""), (2, "clear gutters and diverter", "")) == []
