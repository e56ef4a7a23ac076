"""Do ranges cover what comes? Planted houses at a moment tied to nothing, one inference each, kept by house.

Rows stand in a file that names the code they are of: what was begun goes on. Run as a module with a name of
`GROUPS`, to fill its file ahead of the tests.
"""

import csv
import sys
from datetime import timedelta

import numpy as np
import pandas as pd
from scipy.stats import binomtest

from sim.diary import outlook, paths
from sim.diary.book import Diary
from sim.diary.evidence import begin_of, evidence_of
from sim.diary.infer import infer, parts_of
from sim.scenario.read.load import load
from sim.twin.due_drop import due_drop_pa
from tests.diary import planted, trial
from tests.evidence.measure import PIECES, source

ROOT = 90_101
COLUMNS = (
    "house", "exponent", "plateau", "event", "now", "truth_days", "crps", "in80", "in90", "late",
    "size", "dose_in80", "dose_in90",
)  # fmt: skip
EXPONENTS, PLATEAUS = (0.0, 0.5, 1.0, 1.5, 2.0), (0.0, 0.3, 0.5)
SOON, LATER = (7.0, 75.0), (20.0, 300.0)  # days since somebody last came; UV units are seldom left so long
GROUPS = {"soon": (100, SOON), "later": (100, LATER), "other laws": (150, LATER)}


def with_law(site, number):
    """Let all cartridges of a site clog by one of fifteen laws, in turn."""
    exponent, plateau = EXPONENTS[number % 5], PLATEAUS[number // 5 % 3]
    stages = [one.model_copy(update={"exponent": exponent, "plateau": plateau}) for one in site.stages]
    return site.model_copy(update={"stages": type(site.stages)(stages)})


def known_paths(scenario):
    """Return the paths all planted houses are weighed along, from disk where they were made before."""
    today = scenario.start + timedelta(days=3 * 365)
    water = paths.known_water(scenario, begin_of(Diary((), ()), scenario.start), today, (), None)
    return paths.paths(scenario, water, today, PIECES, 1)


def rows(group, most=None):
    """Return the rows of a group, of its first houses where not all are wanted."""
    scenario = load("family_house")
    file = PIECES / f"cover-{group.replace(' ', '-')}-{source('cover')}.csv"
    PIECES.mkdir(exist_ok=True)
    there = pd.read_csv(file) if file.exists() else pd.DataFrame(columns=COLUMNS)
    begun = int(there["house"].max()) + 1 if len(there) else 0
    whole, window = GROUPS[group]
    count = whole if most is None else most
    if begun < count:
        change = with_law if group == "other laws" else None
        kept, parts = known_paths(scenario), parts_of(scenario)
        houses = planted.truths(scenario, whole, ROOT + len(group), 5, change)
        with file.open("a", newline="") as out:
            writer = csv.writer(out, lineterminator="\n")
            if not begun:
                writer.writerow(COLUMNS)
            for number, house in enumerate(houses):
                if begun <= number < count:
                    writer.writerows(of_house(number, house, window, scenario, parts, kept))
                    out.flush()
    found = pd.read_csv(file)
    return found[found["house"] < count]


def of_house(number, house, window, scenario, parts, kept):
    """Yield a row for each part that has not failed by the moment."""
    rng = np.random.default_rng((ROOT, number))
    left = int(np.ceil(house.left_day))
    now = left + float(rng.uniform(*window))
    diary = planted.diary(house, now, rng, planted.Plan())
    today = now + (house.site.start - kept.begin).days
    evidence = evidence_of(scenario, diary, kept)
    found = infer(parts, kept, evidence)
    law = house.site.stages[0]
    about = (number, law.exponent, law.plateau)
    for k, part in enumerate(parts.stages):
        limit = due_drop_pa(scenario, part.number)
        came = planted.event_day(house.drops_pa[:, k], lambda x, m=limit: x > m, left)
        end = trial.other_stops(house, parts, scenario, "stage", k, left)
        if now < min(came or np.inf, end, house.light.size - outlook.HORIZON_DAYS):
            days = trial.drop_days(part, found.stages[k], kept, evidence, today, limit)
            yield (*about, *judged(part.name, days, came, end, now, rng), found.stages[k].size, "", "")
    came = planted.event_day(house.light, lambda x: x < scenario.uv.alarm, left)
    end = trial.other_stops(house, parts, scenario, "uv", 0, left)
    if now < min(came or np.inf, end, house.light.size - outlook.HORIZON_DAYS):
        seen = outlook.uv_outlook(scenario, parts.uv, found.uv, kept, evidence, today)
        low, early, late, high = np.quantile(seen.dose_j_m2[:, 0], [0.05, 0.1, 0.9, 0.95])
        dose = house.dose_j_m2[int(now) - 1]
        inside = int(early <= dose <= late), int(low <= dose <= high)
        yield (*about, *judged("UV", seen.alarm_days, came, end, now, rng), found.uv.size, *inside)


def judged(event, days, came, end, now, rng):
    """Return what came of a forecast: a part is watched until another stops the water, two years at most.

    Where the watch ended first, all that is later than its end is alike: the place of the truth among the
    members is drawn by chance (randomised PIT; Czado, Gneiting & Held 2009, Biometrics 65:1254, from memory).
    """
    most = np.ceil(min(end - now, outlook.HORIZON_DAYS))
    truth = min(np.ceil((came or np.inf) - now), most)
    days = np.minimum(days, most)
    place = np.mean(days < truth) + rng.random() * np.mean(days == truth)
    advised = np.quantile(days, 0.1)
    inside = int(0.1 <= place <= 0.9), int(0.05 <= place <= 0.95)
    return event, round(now, 1), truth, trial.crps(days, truth), *inside, int(truth < advised)


def share(rows, column):
    """Return hits, count and the exact 95 % interval of their share."""
    values = rows[column].dropna()
    exact = binomtest(int(values.sum()), len(values)).proportion_ci(0.95, "exact")
    return int(values.sum()), len(values), exact.low, exact.high


def told(rows, column):
    """Return a share in words."""
    hits, count, low, high = share(rows, column)
    return f"{hits} of {count} ({hits / count:.2f}; 95 % exact: {low:.2f} to {high:.2f})"


if __name__ == "__main__":
    print(rows(sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else None).groupby("event").mean())
