"""Planted houses put to the diary: how near is what it says to what came? A row for each event and moment.

Run as a module with a count of houses, a root of chance and a file for the rows.
"""

import csv
import sys
import zlib
from datetime import timedelta
from pathlib import Path

import numpy as np

from sim.diary import outlook, paths
from sim.diary.book import Diary
from sim.diary.evidence import begin_of, evidence_of
from sim.diary.infer import infer, parts_of
from sim.diary.parts import stage_ahead
from sim.scenario.read.load import load
from sim.twin.due_drop import due_drop_pa
from tests.diary import planted

LIVES = (0.5, 0.8)  # a moment tied to what comes; ANY is tied to nothing
ANY, LATEST_DAYS = 0.0, 300.0
LATEST_UV_DAYS = 90.0  # a reading comes down to its alarm in about a hundred days
PLAN = planted.Plan()
COLUMNS = (
    "house", "event", "life", "readings", "truth_days", "prior_crps", "crps", "line_crps", "calendar_crps",
    "in80", "in90", "late", "used", "size", "dose_in80", "dose_in90",
)  # fmt: skip


def crps(members, truth):
    """Return the CRPS of an ensemble of like members: mean |x - y| less half the mean |x - x'|."""
    x = np.sort(np.asarray(members, dtype=float))
    n = x.size
    spread = ((2 * np.arange(1, n + 1) - n - 1) * x).sum() / n**2
    return float(np.abs(x - truth).mean() - spread)


def line_days(readings, today_day, limit, rising):
    """Return the days from today until a line through readings passes a limit, at most the horizon."""
    if len(readings) < 2:
        return float(outlook.HORIZON_DAYS)
    days, values = np.array(readings).T
    slope, start = np.polyfit(days, values, 1)
    if (slope <= 0) == rising:
        return float(outlook.HORIZON_DAYS)
    return float(np.clip((limit - start) / slope - today_day, 0.0, outlook.HORIZON_DAYS))


def rows_of(number, house, scenario, kept_paths, rng, plan=PLAN, only=None):
    parts = parts_of(scenario)
    names = list(scenario.stage_names)
    events = {name: ("stage", k) for k, name in enumerate(names)} | {"UV": ("uv", 0)}
    for event, (kind, k) in events.items():
        if only is not None and event != only:
            continue
        left = int(np.ceil(house.left_day))
        if kind == "stage":
            limit = due_drop_pa(scenario, parts.stages[k].number)
            came = planted.event_day(house.drops_pa[:, k], lambda x, m=limit: x > m, left)
        else:
            came = planted.event_day(house.light, lambda x: x < scenario.uv.alarm, left)
        came = house.light.size if came is None else came
        moments = [(life, left + life * (came - left)) for life in LIVES if came - left >= 20]
        moments = [one for one in moments if came < house.light.size]
        moments.append(
            (ANY, left + float(rng.uniform(20.0, LATEST_UV_DAYS if kind == "uv" else LATEST_DAYS)))
        )
        for life, now in moments:
            if now < min(came, house.light.size - outlook.HORIZON_DAYS):
                end = other_stops(house, parts, scenario, kind, k, left)
                if now < end and (life == ANY or came < end):
                    yield row_of(
                        number, event, kind, k, life, now, min(came, end), house, scenario, kept_paths, parts,
                        rng, plan, end - now,
                    )  # fmt: skip


def other_stops(house, parts, scenario, kind, k, left):
    """Return the day on which another stage has long been clogged: from there on little water passes."""
    days = [np.inf]
    for other, part in enumerate(parts.stages):
        if kind == "uv" or other == k:
            continue
        limit = due_drop_pa(scenario, part.number)
        over = planted.event_day(house.drops_pa[:, other], lambda x, m=limit: x > m, left)
        days.append(np.inf if over is None else over + 15)
    return min(days)


def forecast(scenario, diary, kept_paths, parts, kind, k, today_day):
    found_evidence = evidence_of(scenario, diary, kept_paths)
    found = infer(parts, kept_paths, found_evidence)
    if kind == "stage":
        part, posterior = parts.stages[k], found.stages[k]
        limit = due_drop_pa(scenario, part.number)
        seen = outlook.stage_outlook(part, posterior, kept_paths, found_evidence, today_day, limit)
        # The age of a cartridge ends its life by itself; here the drop alone is put to the test.
        return drop_days(part, posterior, kept_paths, found_evidence, today_day, limit), posterior, seen
    seen = outlook.uv_outlook(scenario, parts.uv, found.uv, kept_paths, found_evidence, today_day)
    return seen.alarm_days, found.uv, seen


def drop_days(part, posterior, kept_paths, found_evidence, today_day, limit):
    days = today_day + np.arange(outlook.HORIZON_DAYS + 1.0)
    k = part.number
    load = stage_ahead.load_at(
        part, posterior.draws, posterior.path, kept_paths, found_evidence.drops[k],
        found_evidence.renewals[k], days[:1],
    )[:, 0]  # fmt: skip
    over = stage_ahead.first_over(part, posterior.draws, posterior.path, kept_paths, load, days, limit)
    return np.minimum(over, outlook.HORIZON_DAYS)


def row_of(
    number, event, kind, k, life, now, came, house, scenario, kept_paths, parts, rng, plan=PLAN, end=np.inf
):  # fmt: skip
    diary = planted.diary(house, now, rng, plan)
    offset = (house.site.start - kept_paths.begin).days
    today_day = now + offset
    days, posterior, seen = forecast(scenario, diary, kept_paths, parts, kind, k, today_day)
    bare = Diary((), diary.acts)
    prior, _, _ = forecast(scenario, bare, kept_paths, parts, kind, k, today_day)
    days, prior = np.minimum(days, end), np.minimum(prior, end)
    truth = float(min(came - now, outlook.HORIZON_DAYS))
    words = "UV" if kind == "uv" else f"drop over {scenario.stage_names[k]}"
    last = max(
        [a.at for a in diary.acts if (a.stage == event if kind == "stage" else a.task.startswith("wipe"))]
    )
    since = [
        ((one.at - planted.at(house.site.start, 0.0)) / timedelta(days=1), one.value)
        for one in diary.readings
        if one.observed == words and one.at > last
    ]
    limit = scenario.uv.alarm if kind == "uv" else due_drop_pa(scenario, parts.stages[k].number)
    line = line_days(since, now, limit, kind == "stage")
    task, stage = ("wipe sleeve", None) if kind == "uv" else ("change cartridge", event)
    rule = next(
        (
            r
            for r in scenario.policies[0].rules
            if (r.task, r.stage) == (task, stage) and r.when == "calendar"
        ),
        None,
    )
    every = rule.every_s / 86400.0 if rule else 182.0
    calendar = min(max(house.left_day + every - now, 0.0), end)
    line = min(line, end)
    q = np.quantile(days, [0.05, 0.1, 0.9, 0.95])
    advised = q[1]
    dose = ("", "")
    if kind == "uv":
        d = np.quantile(seen.dose_j_m2[:, 0], [0.05, 0.1, 0.9, 0.95])
        true_dose = house.dose_j_m2[int(now) - 1]
        dose = (int(d[1] <= true_dose <= d[2]), int(d[0] <= true_dose <= d[3]))
    return (
        number, event, life, len(since), truth, crps(prior, truth), crps(days, truth), abs(line - truth),
        abs(calendar - truth), int(q[1] <= truth <= q[2]), int(q[0] <= truth <= q[3]),
        int(truth < advised - 0.5), (now - house.left_day + min(advised, truth)) / (came - house.left_day),
        posterior.size, *dose,
    )  # fmt: skip


def main(count, root, out, folder):
    scenario = load("family_house")
    kept_paths = None
    with Path(out).open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        for number, house in enumerate(planted.truths(scenario, count, root)):
            if kept_paths is None:
                start = scenario.start
                begin = begin_of(Diary((), ()), start)
                today = start + timedelta(days=3 * 365)
                water = paths.known_water(scenario, begin, today, (), None)
                kept_paths = paths.paths(scenario, water, today, Path(folder), 2)
            seed = np.random.default_rng((root, zlib.crc32(str(number).encode())))
            for row in rows_of(number, house, scenario, kept_paths, seed):
                writer.writerow([f"{x:.4g}" if isinstance(x, float) else x for x in row])
                file.flush()


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3], sys.argv[4])
