"""Others' jobs without events against the queue they stand for, a simpy resource of one."""

import numpy as np
import pytest
import simpy

from sim.twin.people.others import Others

JOB_S = 7200.0


def by_events(calls_s, visits):
    """Beginnings of visits (asked for at, lasting) when every job of others is a process of its own."""
    env, begun = simpy.Environment(), []
    crew = simpy.Resource(env, capacity=1)

    def elsewhere():
        with crew.request() as turn:
            yield turn
            yield env.timeout(JOB_S)

    def calls():
        for call_s in calls_s:
            yield env.timeout(max(call_s - env.now, 0.0))
            env.process(elsewhere())

    def visit(asked_s, lasts_s):
        yield env.timeout(asked_s)
        with crew.request() as turn:
            yield turn
            begun.append(env.now)
            yield env.timeout(lasts_s)

    env.process(calls())
    for one in visits:
        env.process(visit(*one))
    env.run()
    return begun


@pytest.mark.parametrize("gap_s", [1.1 * JOB_S, 3.0 * JOB_S, 6.0 * JOB_S])
def test_turns_come_when_the_queue_says(gap_s):
    rng = np.random.default_rng(4)
    calls_s = np.cumsum(rng.exponential(gap_s, 400)).tolist()
    asked_s = np.sort(rng.uniform(0.0, calls_s[-1], 40)).tolist()
    visits = [(asked, float(rng.uniform(0.0, 3.0 * JOB_S))) for asked in asked_s]
    others, begun = Others(calls_s, JOB_S), []
    for asked, lasts_s in visits:
        begun.append(others.turn_s(asked))
        others.free_s = begun[-1] + lasts_s
    assert begun == by_events(calls_s, visits)
    assert sum(begin > asked for begin, asked in zip(begun, asked_s, strict=True)) > 3
