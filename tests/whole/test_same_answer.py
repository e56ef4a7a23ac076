"""The same house gives the same answer on every seed: one recommendation, or that it cannot be told yet."""

import pytest

from sim.scenario.read.load import load
from sim.study.compare.question import CompareQuestion
from sim.study.question import Site
from sim.study.questions import ask
from sim.study.runs.means import Means

SEEDS = range(1, 11)
YEARS = 3


@pytest.mark.long
@pytest.mark.parametrize("site", ["family_house", "cottage", "training_hall"])
def test_ten_seeds_never_contradict_each_other(site):
    found = {}
    for seed in SEEDS:
        asked = Site(load(site))
        names = tuple(policy.name for policy in asked.scenario.policies)
        question = CompareQuestion(site=asked, policies=names, years=YEARS, seed=seed)
        found[seed] = one = ask(question, Means(workers=2)).comparison
        shown = {each.policy: (each.standing, round(each.cost.estimate)) for each in one.summaries}
        print(site, seed, one.best or "cannot be told yet", one.runs, shown)
    for name in (item.policy for item in found[1].summaries):
        states = {one.summary(name).standing for one in found.values()}
        assert not {"within", "over"} <= states, name
    assert len({one.best for one in found.values()} - {None}) <= 1
