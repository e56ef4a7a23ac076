"""Stories of skipped work say only what their two histories hold, whatever site, task, month and seed."""

import re
from dataclasses import replace
from functools import cache

import pytest

from sim.scenario.read import load
from sim.study.skip.skip_words import by_month
from sim.study.skip.skipping import labels, moment_s, skipping
from sim.study.skip.story import tell
from sim.twin.run import common_inputs, run
from tests.stories.truth import ORIGIN, Told

YEARS = 2
SITES = ("family_house", "cottage", "training_hall")


@cache
def kept_run(site, policy, seed):
    scenario = load.load(site)
    common = common_inputs(scenario, 0, seed, YEARS)
    return scenario, common, run(scenario, scenario.policies[policy], common)


def told(site, policy, tasks, begin, seed, units="us", end=None):
    """Tell one story."""
    scenario, common, kept = kept_run(site, policy, seed)
    from_s = moment_s(begin, scenario.start, YEARS, "--from")
    until_s = None if end is None else moment_s(end, scenario.start, YEARS, "--until")
    left = skipping(scenario.policies[policy], tasks, from_s, until_s)
    skipped = run(scenario, left, common)
    story = tell(kept, skipped, left, units)
    return Told(skipped, kept, story, by_month(story), tasks, int(from_s // 86400.0))


FEW = [
    ("family_house", 0, ["wipe sleeve"], "month 3", 1, "us", None),
    ("family_house", 0, ["wipe sleeve", "wipe sensor window"], "2021-03-01", 1, "si", "2021-10-01"),
    ("family_house", 0, ["change cartridge: sediment"], "60 d", 1, "us", None),
    ("family_house", 0, ["restore precharge"], "month 1", 1, "us", None),
    ("family_house", 0, ["everything"], "month 1", 1, "si", None),
    ("family_house", 0, ["take sample"], "month 2", 1, "us", None),
    ("cottage", 0, ["change cartridge: carbon"], "month 1", 3, "si", None),
    ("cottage", 0, ["clean cistern", "clear gutters and diverter"], "month 1", 3, "us", None),
    ("cottage", 0, ["everything"], "month 5", 3, "us", None),
    ("training_hall", 0, ["replace lamp"], "month 14", 2, "us", None),
    ("training_hall", 0, ["change cartridge"], "month 2", 2, "si", None),
    ("training_hall", 0, ["wipe sleeve"], "month 4", 2, "us", "month 9"),
]


@pytest.mark.parametrize("case", FEW, ids=[f"{one[0]}, {' and '.join(one[2])}" for one in FEW])
def test_every_sentence_stands_in_the_histories(case):
    told(*case).check()


def changed(line):
    """Return a line again and again, each time with another of its numbers or origins changed."""
    for number in re.finditer(r"\d[\d,.]*\d|\d", line):
        more = str(round(1.1 * float(number[0].replace(",", "")) + 1))
        if not line[number.end() :].startswith((" hours or more", " January")):
            yield line[: number.start()] + more + line[number.end() :]
    for origin in ORIGIN:
        if origin in line:
            yield line.replace(
                origin, "from a broken pump" if "pump" not in origin else "from an old lamp", 1
            )


@pytest.mark.parametrize("case", FEW[::4], ids=[one[0] for one in FEW[::4]])
def test_no_sentence_could_say_anything_else(case):
    """Each number and each cause of the summary, changed by itself, is seen to be wrong."""
    right = told(*case)
    lines, tried = list(right.story.summary), 0
    for at, line in enumerate(lines):
        for other in changed(line):
            right.story = replace(right.story, summary=(*lines[:at], other, *lines[at + 1 :]))
            right.seen.clear()
            with pytest.raises((AssertionError, ValueError, IndexError)):
                right.check()
            tried += 1
    assert tried > 20


def many():
    """Return the cases of all sites, tasks, two ways of care, months and seeds."""
    return [
        (site, policy, [task], begin, seed, "us" if seed % 2 else "si")
        for site in SITES
        for policy in (0, 1)
        for seed in (1, 2)
        for task in labels(load.load(site).policies[policy])
        for begin in ("month 2", "month 9")
    ]


@pytest.mark.long
@pytest.mark.parametrize("site", SITES)
def test_every_sentence_of_many_stories(site):
    cases = many()
    assert len(cases) >= 300
    wrong = []
    for case in cases:
        if case[0] == site:
            try:
                told(*case).check()
            except (AssertionError, ValueError, IndexError) as error:
                wrong.append((case, str(error)[:300]))
    assert wrong == []
