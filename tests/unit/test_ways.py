"""What a way of looking after a house is, told from the rules of its policy alone."""

import pytest

from sim.scenario.read.load import load
from sim.study.compare.ways import way
from tests.plain_words import faults

SITES = ("family_house", "cottage", "training_hall", "forest_house")


@pytest.mark.parametrize("site", SITES)
def test_every_task_of_a_policy_is_told_and_no_other(site):
    house = load(site)
    for policy in house.policies:
        said = way(policy)
        assert faults(said) == []
        for task in (task.name for task in house.tasks):
            assert (task in said) is any(rule.task == task for rule in policy.rules), (policy.name, task)
        assert ("is read" in said or "are read" in said) is (policy.reading_every_s is not None)


def test_who_does_nothing_and_who_waits_are_told_apart():
    policies = {policy.name: way(policy) for policy in load("family_house").policies}
    assert policies["nothing done"] == "'nothing done': nothing is done."
    assert policies["as things fail"].startswith(
        "'as things fail': only once taps run weak, the alarm sounds or a part dies, change cartridge, wipe"
    )
    assert "a technician comes every 12 months" in policies["one technician visit a year"]
    assert policies["by the readings"].startswith(
        "'by the readings': gauges and the UV display are read every 14 days; when these say so, change"
    )
