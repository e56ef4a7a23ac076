"""How often a tap sample of the demonstration house is positive, and what would make it so oftener.

    python -m tests.recorded.tap_samples RUNS          prints, and keeps for the page of evidence

The chance of each sample is averaged, not the few finds, which chance alone moves by more; samples of one run
go together, so that the error is that of the means of runs. What is changed is changed to see how far it
could reach, not because it is known.
"""

import sys
from collections.abc import Iterator

import numpy as np

from sim.scenario.care import Policy, Rule
from sim.scenario.read.load import DEMO, load
from sim.scenario.scenario import Scenario
from sim.twin.run import common_inputs, run
from sim.units import DAY_S
from tests.evidence.measure import keep

YEARS = 3
TASK = "take sample"
MONTH = "1 month"
WHAT = "Chance that a tap sample of the demonstration house is positive, and what could raise it."


def sampled(policy: Policy, every: str) -> Policy:
    """Return a policy that has a sample taken so often."""
    rest = tuple(rule for rule in policy.rules if rule.task != TASK)
    rule = Rule.model_validate({"task": TASK, "when": "calendar", "every": every})
    return policy.model_copy(update={"rules": (*rest, rule)})


def chances(house: Scenario, policy: Policy, runs: int) -> list[np.ndarray]:
    """Return the chance of a find of each sample [fraction], run by run."""
    histories = (run(house, policy, common_inputs(house, number, 1, YEARS)) for number in range(runs))
    return [np.array([e.value for e in one.events if e.kind == "sample"]) for one in histories]


def said(house: Scenario, policy: Policy, runs: int) -> str:
    """Return the mean chance with its error, and the part of it that comes of the water."""
    each = chances(house, policy, runs)
    means = np.array([one.mean() for one in each])
    error = means.std(ddof=1) / np.sqrt(means.size)
    hand = house.sample.false_positive_share if house.sample else 0.0
    water = (means.mean() - hand) / (1.0 - hand)
    count = sum(one.size for one in each)
    return f"{means.mean():.1%} +- {error:.1%} of {count} samples; of the water {water:.1%}"


def cases() -> Iterator[tuple[str, Scenario, Policy]]:
    """Yield what is tried: a name, a house and a policy."""
    house = load(DEMO)
    assert house.sample is not None
    policies = {one.name: one for one in house.policies}
    calendar = policies["by the calendar"]
    yield "as it is, a sample a year", house, calendar
    monthly = sampled(calendar, MONTH)
    yield "a sample a month", house, monthly
    for name in ("by the readings", "one technician visit a year", "as things fail", "nothing done"):
        yield f"a sample a month, {name}", house, sampled(policies[name], MONTH)
    tried = {
        "a tenth of the raw count": {"raw_count": house.sample.raw_count // 10},
        "ten times the raw count": {"raw_count": 10 * house.sample.raw_count},
        "what comes of the water, for a fortnight": {"looks_back_s": 14 * DAY_S},
        "what comes of the water, for a month": {"looks_back_s": 30 * DAY_S},
        "no find of hand and bottle": {"false_positive_share": 0.0},
        "no find acted on": {"acted_on": False},
    }
    for name, values in tried.items():
        changed = house.sample.model_copy(update=values)
        yield f"a sample a month, {name}", house.model_copy(update={"sample": changed}), monthly
    slips = house.people.slips.model_copy(update={"owner": "untrained"})
    people = house.people.model_copy(update={"slips": slips})
    untrained = house.model_copy(update={"people": people})
    yield "a sample a month, an untrained owner", untrained, monthly
    stays = house.sample.model_copy(update=tried["what comes of the water, for a month"])
    both = untrained.model_copy(update={"sample": stays})
    yield "a sample a month, an untrained owner and what comes of the water for a month", both, monthly


def main() -> None:
    """Measure every case and keep the answers."""
    runs = int(sys.argv[1])
    figures: dict[str, object] = {"runs of each": runs, "years of a run": YEARS}
    for name, house, policy in cases():
        figures[name] = said(house, policy, runs)
        print(name, figures[name], flush=True)
    keep("tap_samples", WHAT, f"python -m tests.recorded.tap_samples {runs}", figures)


if __name__ == "__main__":
    main()
