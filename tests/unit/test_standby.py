"""A standby pump: it takes over when the running one fails, and both may be broken at once."""

import dataclasses

import numpy as np
import pytest

from sim.errors import InputError
from sim.outcome.measures import pump_out_days, row
from sim.plant import state
from sim.scenario.read.load import load_text
from sim.study.search.alternatives import choices, parse_try
from sim.study.search.catalogue import equipment
from sim.study.sheet.contents import inputs, tags
from sim.twin.run import run

DEMO = 'extends = "family_house"\n'
DAY_S = 86400.0


def lives_of(common, *units):
    """Let the first pumps put in have stated lives, as unit exponentials; all others never fail."""
    lives = {name: np.full(64, 1e12) for name in common.lives}
    lives["pump"][: len(units)] = units
    return dataclasses.replace(common, lives=lives)


def history_of(tiny, short, units, days=90, **pump):
    """A small house in which age alone ends a pump: a unit of life u is 10 d of age at shape 1."""
    aged = {"life_age": "10 d", "life": "9e4 yr", "life_starts": 1e12, "life_shape": 1.0}
    site = tiny(pump={**aged, **pump}, cistern={"start_fill": 1.0})
    policy = next(one for one in site.policies if any(rule.when == "failure" for rule in one.rules))
    return run(site, policy, lives_of(short(site, days), *units))


def failed(history):
    return [int(one.time_s / DAY_S) for one in history.events if one.kind == "failure"]


def works(history):
    names = {task.name for task in history.scenario.tasks if "new pump" in task.effects}
    return [one for one in history.events if one.kind == "task" and one.subject in names]


def off_s(history):
    return history.days[pump_out_days(history), state.WATER_OFF].sum()


def test_one_that_stands_by_spares_the_wait_for_the_technician(tiny, short):
    alone = history_of(tiny, short, (2.0,))
    both = history_of(tiny, short, (2.0,), standby=True, standby_after="0 s")
    assert failed(alone) == failed(both) == [20]  # two units of ten days
    assert off_s(alone) > 3600.0 and off_s(both) == 0.0
    assert row(both)["pump_failures"] == row(alone)["pump_failures"] and row(both)["pump_water_off_h"] == 0.0
    assert both.days[20:23, state.STARTS].min() > 0
    assert len(works(both)) == len(works(alone)) == 1
    assert max(one.error for one in both.balances) < 1e-9


def test_both_broken_leaves_the_house_without_water(tiny, short):
    # the second has aged as many days on the shelf as the first in use: it fails at the midnight after
    history = history_of(tiny, short, (2.0, 2.0), standby=True)
    assert failed(history) == [20, 21]
    assert off_s(history) > 3600.0 and row(history)["pump_water_off_h"] > 1.0
    assert len(works(history)) == 2  # a new pump each
    assert history.costs.parts > 0.0 and history.days[-5:, state.STARTS].sum() > 0


def test_until_it_takes_over_the_pump_stands_still(tiny, short):
    history = history_of(tiny, short, (2.0,), standby=True, standby_after="1 h")
    began = history.pump_runs_s[:, 0]
    assert not ((began > 20 * DAY_S) & (began < 20 * DAY_S + 3600.0)).any()
    assert (began > 20 * DAY_S + 3600.0).any()


def test_two_like_pumps_last_the_sum_of_their_lives_where_running_alone_wears(tiny, short):
    # Cold standby: the time to the second failure is the sum of the lives, as none is spent waiting
    # (reliability handbooks; from memory). Runs are counted, so within the day in which the last one fell.
    hard = {"life_age": "9e4 yr", "life": "1 h", "life_starts": 1e12, "life_shape": 1.0}
    site = tiny(pump={**hard, "standby": True}, cistern={"start_fill": 1.0})
    nobody = site.policies[0].model_copy(update={"rules": (), "technician_every_s": None})
    history = run(site, nobody, lives_of(short(site, 200), 1.0, 2.0))
    days = failed(history)
    assert len(days) == 2
    runs = history.pump_runs_s
    until = [float((runs[runs[:, 0] < day * DAY_S] @ [-1.0, 1.0]).sum()) for day in days]
    a_day_s = (runs @ [-1.0, 1.0]).sum() / days[1] * 4.0  # a busy day
    assert 3600.0 <= until[0] < 3600.0 + a_day_s
    assert 3 * 3600.0 <= until[1] < 3 * 3600.0 + 2.0 * a_day_s


def test_it_is_priced_searched_and_on_the_sheet():
    base, plain = load_text('extends = "base"', "base"), load_text(DEMO, "one.toml")
    two = load_text(f"{DEMO}[pump]\nstandby = true\n", "two.toml")
    parts = [{one.part: one for one in equipment(house, plain)} for house in (two, plain)]
    assert set(parts[0]) - set(parts[1]) == {"standby pump"}
    assert parts[0]["standby pump"].price == parts[0]["pump"].price
    assert tags(two, "us")[2][0] == "P1, P2 pumps"
    more = {key for key, _, _ in inputs(two, base, "us")} - {key for key, _, _ in inputs(plain, base, "us")}
    assert more == {"pump.standby", "pump.standby_after"}
    found = choices(plain, [parse_try("pump.standby=false,true")], ["by the calendar"])
    assert [one.design.scenario.pump.standby for one in found] == [False, True]


def test_what_is_no_answer_is_refused_in_a_line():
    for line in ('standby = "perhaps"', 'standby_after = "-1 s"'):
        with pytest.raises(InputError, match=r"pump\.standby") as refused:
            load_text(f"{DEMO}[pump]\n{line}\n", "two.toml")
        assert "\n" not in str(refused.value)
