"""Houses with something amiss in their diary: a unit, swapped gauges, work that nobody noted. Is it named?

Run as a module with a count of each kind, a root of chance, a file for the rows and a folder for paths.
"""

import csv
import dataclasses
import sys
from datetime import timedelta
from pathlib import Path

import numpy as np

from sim.diary import paths
from sim.diary.book import Diary
from sim.diary.doubt import doubts
from sim.diary.evidence import begin_of, evidence_of
from sim.diary.fit import misfits
from sim.diary.infer import infer, parts_of
from sim.scenario.read.load import load
from tests.diary import planted

KINDS = ("unit", "backwards", "swapped", "not noted", "nothing")
COLUMNS = ("house", "kind", "named", "told", "asked", "where")


def plan():
    return planted.Plan(misreads=0.0)


def diary_with(kind, house, until_day, rng):
    """Return a diary with one thing amiss, the part it is about and the reading, where it is one.

    None where a house has no room for it.
    """
    made = planted.diary(house, until_day, rng, plan())
    drops = [one for one in made.readings if one.stage]
    if kind == "nothing":
        return made, "", None
    if kind == "unit":
        able = [one for one in drops if one.value >= 2.0 * planted.PSI]
        if not able:
            return None
        one = able[int(rng.integers(len(able)))]
        changed = dataclasses.replace(one, value=round(one.value / planted.PSI * 6.894757) * planted.PSI)
        told = tuple(sorted(changed if r == one else r for r in made.readings))
        return Diary(told, made.acts), one.stage, changed
    if kind == "backwards":
        able = [one for one in drops if one.value >= 2.0 * planted.PSI]
        if not able:
            return None
        first = able[int(rng.integers(len(able)))]
        told = [
            dataclasses.replace(r, value=-r.value) if r.stage == first.stage and r.at >= first.at else r
            for r in made.readings
        ]
        return Diary(tuple(sorted(told)), made.acts), first.stage, None
    if kind == "swapped":
        names = list(house.site.stage_names)
        other = {names[0]: names[1], names[1]: names[0]}
        apart = [
            abs(a.value - b.value)
            for a in drops
            for b in drops
            if a.at == b.at and (a.stage, b.stage) == tuple(names[:2])
        ]
        if sum(gap > 3.0 * planted.PSI for gap in apart) < 2:
            return None
        told = [
            dataclasses.replace(r, observed=f"drop over {other[r.stage]}") if r.stage in other else r
            for r in made.readings
        ]
        return Diary(tuple(sorted(told)), made.acts), names[0], None
    return _without_an_act(made, drops, rng)


def _without_an_act(made, drops, rng):
    """Leave out a change of a cartridge that had risen by 4 psi and fell by as much."""
    able = []
    for act in made.acts:
        if act.task != "change cartridge" or act.at == made.acts[0].at:
            continue
        before = [r.value for r in drops if r.stage == act.stage and r.at <= act.at][-1:]
        after = [r.value for r in drops if r.stage == act.stage and r.at > act.at][:2]
        if len(after) == 2 and before and before[0] - max(after) > 4.0 * planted.PSI:
            able.append(act)
    if not able:
        return None
    gone = able[int(rng.integers(len(able)))]
    return Diary(made.readings, tuple(act for act in made.acts if act != gone)), gone.stage, None


def main(count, root, out, folder):
    scenario = load("family_house")
    parts = parts_of(scenario)
    start = scenario.start
    today = start + timedelta(days=3 * 365)
    water = paths.known_water(scenario, begin_of(Diary((), ()), start), today, (), None)
    made = paths.paths(scenario, water, today, Path(folder), 2)
    left = dict.fromkeys(KINDS, count)
    with Path(out).open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        batch = 0
        while any(left.values()) and batch < 40:
            for number, house in enumerate(planted.truths(scenario, 10, root + batch, 3)):
                rng = np.random.default_rng((root, batch, number))
                until = float(rng.uniform(300.0, 700.0))
                for kind in KINDS:
                    found = diary_with(kind, house, until, rng) if left[kind] else None
                    if found is None:
                        continue
                    left[kind] -= 1
                    writer.writerow(row_of(batch * 10 + number, kind, *found, scenario, parts, made))
                    file.flush()
            batch += 1


def row_of(number, kind, diary, part, odd, scenario, parts, made):
    """Return what was said of a diary; the question that answers the entry of a number names a unit too."""
    evidence = evidence_of(scenario, diary, made)
    told = misfits(parts, made, evidence, infer(parts, made, evidence))
    asked = any(
        one.reading == odd and "did you mean" in one.question for one in doubts(diary.readings, scenario)
    )
    also = ("fell",) if kind == "not noted" else ()
    named = asked or any(one.kind in (kind, *also) and one.part == part for one in told)
    words = ";".join(sorted({f"{one.kind} {one.part}" for one in told}))
    return number, kind, int(named), words, int(asked), part


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3], sys.argv[4])
