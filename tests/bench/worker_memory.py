"""The most memory a worker has: its own word, as what its parent is told is of both; run by speed.py.

Loads what a worker loads and nothing else.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

import sim.study.runs.worker  # noqa: F401  what a worker begins with
from sim.scenario.read.load import DEMO, load
from sim.study.runs.batch import Job, Unit, run_batch

YEARS, REPLICATIONS = 5, 6


def main():
    """Run as a worker would and print the high-water mark."""
    scenario = load(DEMO)
    job = Job(((scenario, scenario.policies, 1),), YEARS, None, None)
    for number in range(REPLICATIONS):
        run_batch(job, (Unit(0, tuple(range(len(scenario.policies))), number),))
    lines = Path("/proc/self/status").read_text().splitlines()
    most_kib = next(int(line.split()[1]) for line in lines if line.startswith("VmHWM"))
    print(f"a worker has at most {most_kib / 1024:.0f} MiB")


if __name__ == "__main__":
    main()
