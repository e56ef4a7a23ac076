"""What a question refuses before long work begins, at the very limits, and what its manifest names."""

import pytest

from sim.constants import MOST_YEARS
from sim.errors import InputError
from sim.scenario.read.load import load
from sim.study.compare.question import CompareQuestion
from sim.study.one_run.question import RunQuestion
from sim.study.question import Site


@pytest.fixture(scope="module")
def house():
    return Site(load("family_house"))


def run(house, **more):
    return RunQuestion(**{"site": house, "policy": "nothing done", "years": 1} | more)


@pytest.mark.parametrize(
    "more", [{"seed": 0}, {"seed": 2**31}, {"years": 1}, {"years": MOST_YEARS}, {"replication": 0}]
)
def test_what_lies_at_a_limit_is_taken(house, more):
    run(house, **more).check()


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"seed": -1}, "seed is -1; wanted 0 or more"),
        ({"years": 0}, "years is 0; wanted 1 or more"),
        ({"years": MOST_YEARS + 1}, f"years is {MOST_YEARS + 1}; wanted {MOST_YEARS} at most"),
        ({"replication": -1}, "replication is -1; wanted 0 or more"),
        ({"policy": "nothing dome"}, "policy 'nothing dome' is unknown; "),
    ],
)
def test_what_lies_beyond_is_refused_in_a_line(house, more, words):
    with pytest.raises(InputError, match=words):
        run(house, **more).check()


def test_a_manifest_names_the_reference_and_the_first_where_none_is(house):
    asked = CompareQuestion(site=house, policies=("as things fail", "nothing done"), years=2, seed=9)
    told = asked.manifest(asked.policies, 3, 8, "enough")
    assert told["reference"] == "as things fail"
    assert asked.manifest(asked.policies, 3, 8, "enough", "nothing done")["reference"] == "nothing done"
    assert (told["seed"], told["years"], told["policies"]) == (9, 2, ["as things fail", "nothing done"])
    assert "took" not in told
