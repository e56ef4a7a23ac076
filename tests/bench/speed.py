"""How long a household-year takes against bare SimPy timeouts: python tests/bench/speed.py [--keep].

As in a study: by batches, what is there already frozen, no history kept. Ratios stand beside those last kept
in results.csv; `--keep` adds today's.
"""

import csv
import heapq
import statistics
import subprocess
import sys
import time
from datetime import date
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

import simpy

from sim.scenario.read.load import DEMO, load
from sim.study.runs.batch import Job, Unit, run_batch
from sim.study.runs.means import Means
from sim.study.runs.replicate import study
from sim.study.runs.request import Design, Inputs
from sim.twin.processes import Care
from sim.twin.run import common_inputs, run
from sim.twin.world import World

YEARS, ROUNDS = 5, 7
RESULTS = Path(__file__).with_name("results.csv")


def seconds(work):
    """CPU seconds of a piece of work, which others on the machine hardly change."""
    start = time.process_time()
    work()
    return time.process_time() - start


def bare_timeouts(times_s):
    """Seconds SimPy takes to fire one timeout at each of these times, and nothing else."""
    env = simpy.Environment()

    def clock():
        for at in times_s:
            yield env.timeout(at - env.now)

    env.process(clock())
    return seconds(env.run)


def event_times(history):
    """Starts and ends of draws, starts and stops of the pump, in order."""
    got = history.draws
    starts = got["start_s"][got["start_s"] < history.n_days * 86400.0]
    ends = starts + got["seconds"][: starts.size]
    runs = history.pump_runs_s
    return list(heapq.merge(starts.tolist(), sorted(ends.tolist()), runs[:, 0].tolist(), runs[:, 1].tolist()))


def household_year(scenario):
    """Ratios of a household-year to bare timeouts: with inputs of its own, and shared by all policies."""
    policy = next(p for p in scenario.policies if p.name == "by the calendar")
    times_s = event_times(run(scenario, policy, common_inputs(scenario, 0, 1, YEARS)))
    found = {}
    for name, policies in {"own inputs": (policy,), "inputs shared by policies": scenario.policies}.items():
        pairs = [(ours, bare_timeouts(times_s)) for ours in _batches(scenario, policies)]
        found[f"household-year, {name}"] = statistics.median(ours / bare for ours, bare in pairs)
        ms = statistics.median(ours for ours, _ in pairs) / YEARS * 1e3
        print(f"household-year, {name}: {ms:.1f} ms CPU, {len(times_s) / YEARS:,.0f} events a year")
    return found


def _batches(scenario, policies):
    """Yield what a run takes in batches of one replication each."""
    job, everyone = Job(((scenario, policies, 1),), YEARS, None, None), tuple(range(len(policies)))
    run_batch(job, (Unit(0, everyone, ROUNDS),))  # loads what is loaded once
    for number in range(ROUNDS):
        yield seconds(lambda n=number: run_batch(job, (Unit(0, everyone, n),))) / len(policies)


def beside_others(scenario, designs=6, years=3):
    """Ratio of a design in a batch of designs that meet the same fate to a design by itself."""
    policies = scenario.policies[:2]
    batch = [Unit(design, (0, 1), 0) for design in range(designs)]

    def job(count):
        return Job(((scenario, policies, 1),) * count, years, None, None)

    def alone():
        for _ in batch:
            run_batch(job(1), batch[:1])

    pairs = [(seconds(lambda: run_batch(job(designs), batch)), seconds(alone)) for _ in range(3)]
    return {"a design beside others": statistics.median(one / other for one, other in pairs)}


def long_run(scenario):
    """Ratio of year 20 of one run to its year 1 (medians of neighbouring years)."""
    common = common_inputs(scenario, 0, 1, 20)
    env = simpy.Environment()
    Care(World(env, scenario, scenario.policies[0], common, trace=False))
    years = [seconds(lambda k=k: env.run(until=(k + 1) * 365 * 86400.0)) for k in range(20)]
    return {"year 20 to year 1": statistics.median(years[15:]) / statistics.median(years[:5])}


def two_workers(scenario, replications=40):
    """Ratio of the time two workers need to that of one; both pay for their start."""

    def work(count):
        start = time.perf_counter()
        design = Design("demo", scenario, scenario.policies)
        rows = study(design, Inputs(1, YEARS), replications, Means(count)).rows
        return time.perf_counter() - start, rows.to_csv()

    (one_s, rows), (two_s, again) = work(1), work(2)
    runs = replications * len(scenario.policies)
    print(f"{runs} runs of {YEARS} years: {one_s:.1f} s by one worker, {two_s:.1f} s by two")
    print(f"the same rows: {rows == again}")
    return {"two workers to one": two_s / one_s}


def beside_kept(found, keep):
    """Print ratios beside those last kept, and keep them when asked to."""
    with RESULTS.open(newline="") as file:
        kept = {line["measure"]: line for line in csv.DictReader(file)}
    print(f"{'':42}{'now':>8}{'kept':>8}")
    for name, ratio in found.items():
        before = kept.get(name, {"ratio": "-", "date": ""})
        print(f"{name:42}{ratio:8.2f}{before['ratio']:>8}  {before['date']}")
    if keep:
        with RESULTS.open("a", newline="") as file:
            lines = ((date.today().isoformat(), name, f"{ratio:.2f}") for name, ratio in found.items())
            csv.writer(file, lineterminator="\n").writerows(lines)


def main():
    """Run all measurements."""
    scenario = load(DEMO)
    subprocess.run([sys.executable, Path(__file__).with_name("worker_memory.py")], check=True)
    found = household_year(scenario) | beside_others(scenario) | long_run(scenario) | two_workers(scenario)
    beside_kept(found, "--keep" in sys.argv[1:])


if __name__ == "__main__":
    main()
