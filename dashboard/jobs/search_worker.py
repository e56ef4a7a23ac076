"""Searches asked on a page: over sizes, or over the intervals of a policy."""

import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

from dashboard.jobs.worker import Question
from sim.study.runs import request
from sim.study.runs.request import Design, Runner
from sim.study.runs.runner import open_runner
from sim.study.search.alternatives import gathered
from sim.study.search.limits import Limits
from sim.study.size.sizes import SizeStudy, size_study
from sim.study.tune.tune import TuneStudy, tune_study


def answered(question: Question, tell: Callable[[int, int], None]) -> SizeStudy | TuneStudy:
    """Answer a question of kind "size" or "tune".

    Parameters
    ----------
    question : Question
        The question; `asked` holds "worth", and "try" or "limit" and "only".
    """
    scenario, worth = question.scenario, float(values(question, "worth")[0])
    inputs = request.Inputs(question.seed, question.years, question.rain, None)

    @contextmanager
    def opener(designs: Sequence[Design], name: str) -> Iterator[Runner]:
        del name
        with open_runner(designs, inputs, os.cpu_count() or 1, on_progress=tell) as runner:
            yield runner

    if question.kind == "size":
        tries = gathered(scenario, values(question, "try"))
        return size_study(
            scenario, tries, question.policies, opener, worth, question.replications, False,
            question.units, question.rain,
        )  # fmt: skip
    policy = next(one for one in scenario.policies if one.name == question.policies[0])
    limits = Limits(float(values(question, "limit")[0]), scenario.goals.limit_water_off_h)
    only = values(question, "only")
    return tune_study(scenario, policy, opener, limits, worth, question.replications, question.years, only)


def values(question: Question, name: str) -> list[str]:
    """Return what was asked under a name.

    Parameters
    ----------
    name : str
        Such as "try".

    Returns
    -------
    list of str
        Values in their order; empty when nothing was asked under it.
    """
    return [value for key, value in question.asked if key == name]
