"""Many answers in a row in one session leave the server about as large as it was."""

import dataclasses
import re
from pathlib import Path

import pytest

from dashboard import frame
from dashboard.jobs.job_table import key_of
from dashboard.site import site_of
from sim.scenario.read import load
from sim.study.compare.question import CompareQuestion
from sim.study.questions import ask
from tests.dashboard.driving import opened

STATUS = Path("/proc/self/status")
RUNS, WARM = 4, 3
MOST_GROWTH_MB = 2.0  # an answer, on average


def resident_mb():
    return int(re.search(r"VmRSS:\s+(\d+) kB", STATUS.read_text())[1]) / 1024


@pytest.mark.skipif(not STATUS.exists(), reason="reads memory by /proc")
@pytest.mark.parametrize("studies", [20, pytest.param(50, marks=pytest.mark.long)])
def test_many_answers_in_a_row_leave_memory_bounded(studies):
    site = site_of(load.DEMO, None, "", None, "")
    names = tuple(policy.name for policy in site.scenario.policies)
    question = CompareQuestion(site=site.asked, policies=names, years=1, replications=RUNS)
    answer = ask(question)
    at = opened("views/compare.py", years="1", runs=str(RUNS), seed="100")
    for number in range(WARM + studies):
        asked = dataclasses.replace(question, seed=1000 + number)
        frame.jobs()._store.keep(key_of(asked), answer, 1.0)
        at.number_input(key="seed").set_value(1000 + number).run()
        assert not at.exception
        assert at.header[0].value == "The answer"
        if number == WARM - 1:
            before_mb = resident_mb()
    assert resident_mb() - before_mb <= MOST_GROWTH_MB * studies
