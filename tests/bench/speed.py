"""How long a household-year takes against bare SimPy timeouts: python tests/bench/speed.py."""

import heapq
import resource
import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

import simpy

from sim.outcome.measures import row
from sim.scenario.read.load import DEMO, load
from sim.study.runs.batch import Job, Unit, run_batch
from sim.study.runs.means import Means
from sim.study.runs.replicate import study
from sim.study.runs.request import Design, Inputs
from sim.twin.processes import Care
from sim.twin.run import common_inputs, run
from sim.twin.world import World

YEARS, ROUNDS = 5, 7


def _time(work):
    start = time.perf_counter()
    found = work()
    return time.perf_counter() - start, found


def all_in(scenario, policy, replication, years):
    """Seconds for inputs, run and row, and the history."""

    def work():
        history = run(scenario, policy, common_inputs(scenario, replication, 1, years))
        row(history)
        return history

    return _time(work)


def bare_timeouts(times_s):
    """Seconds SimPy takes to fire one timeout at each of these times, and nothing else."""
    env = simpy.Environment()

    def clock():
        for at in times_s:
            yield env.timeout(at - env.now)

    env.process(clock())
    return _time(env.run)[0]


def event_times(history):
    """Starts and ends of draws, starts and stops of the pump, in order."""
    got = history.draws
    starts = got["start_s"][got["start_s"] < history.n_days * 86400.0]
    ends = starts + got["seconds"][: starts.size]
    runs = history.pump_runs_s
    return list(heapq.merge(starts.tolist(), sorted(ends.tolist()), runs[:, 0].tolist(), runs[:, 1].tolist()))


def household_year(scenario, policy):
    """Print a household-year against bare timeouts."""
    all_in(scenario, policy, 0, YEARS)  # compiles
    found = [all_in(scenario, policy, i, YEARS) for i in range(ROUNDS)]
    ours = statistics.median(seconds for seconds, _ in found) / YEARS
    times = event_times(found[0][1])
    bare = statistics.median(bare_timeouts(times) for _ in range(ROUNDS)) / YEARS
    print(f"household-year all-in      {ours * 1e3:8.1f} ms (median of {ROUNDS})")
    print(f"bare SimPy timeouts        {bare * 1e3:8.1f} ms for {len(times) / YEARS:,.0f} events a year")
    print(f"ratio                      {ours / bare:8.2f}")


def beside_others(scenario, designs=6, years=3):
    """Print a household-year in a batch of designs that meet the same fate, against each by itself."""
    policies = scenario.policies[:2]
    batch = [Unit(design, (0, 1), 0) for design in range(designs)]
    job = Job(((scenario, policies, 1),) * designs, years, None, None)
    run_batch(job, batch[:1])  # loads what is loaded once

    def alone():
        return [all_in(scenario, policy, 0, years) for _ in batch for policy in policies]

    pairs = [(_time(lambda: run_batch(job, batch))[0], _time(alone)[0]) for _ in range(3)]
    ratio = statistics.median(one / other for one, other in pairs)
    print(f"a design beside others     {ratio:8.2f} of the time of a design by itself")


def long_run(scenario, policy):
    """Print what year 20 of one run takes against its year 1 (medians of neighbouring years)."""
    common = common_inputs(scenario, 0, 1, 20)
    env = simpy.Environment()
    Care(World(env, scenario, policy, common, trace=False))
    years = [_time(lambda k=k: env.run(until=(k + 1) * 365 * 86400.0))[0] for k in range(20)]
    first, last = statistics.median(years[:5]), statistics.median(years[15:])
    print(f"year 20 against year 1     {last / first:8.2f} ({last * 1e3:.1f} ms / {first * 1e3:.1f} ms)")


def workers(scenario, replications=40):
    """Print what two workers gain over one; both pay for their start."""

    def work(count):
        design = Design("demo", scenario, scenario.policies)
        return study(design, Inputs(1, YEARS), replications, Means(count))

    (one, rows), (two, again) = _time(lambda: work(1)), _time(lambda: work(2))
    same = rows.rows.to_csv() == again.rows.to_csv()
    print(
        f"2 workers against 1        {one / two:8.2f} times as fast ({one:.1f} s / {two:.1f} s), same: {same}"
    )


def main():
    """Run all measurements."""
    scenario = load(DEMO)
    policy = next(p for p in scenario.policies if p.name == "by the calendar")
    household_year(scenario, policy)
    beside_others(scenario)
    long_run(scenario, policy)
    workers(scenario)
    child = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"peak memory of a worker    {child:8.0f} MiB (the greatest)")


if __name__ == "__main__":
    main()
