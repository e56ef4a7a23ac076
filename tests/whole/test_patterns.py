"""Patterns that a house on rain shows, all at once on the same runs.

The runs are of the demonstration house over three years: as kept by the calendar, by the readings, and with
nothing done. Lives of cartridges and the fall of the UV reading were set so; the evidence page counts as
independent only what no input was set to meet (`CALIBRATED` in tests/evidence/glance.py).
"""

from itertools import pairwise

import numpy as np
import pytest
from iapws import IAPWS95
from scipy import stats

from sim.outcome.measures import row
from sim.plant import state
from sim.scenario.read.load import load
from sim.twin.run import common_inputs, run

ATM, YEARS, RUNS = 101325.0, 3, 3
WATER_KG_M3, GRAVITY_M_S2, KWH_J = 998.2, 9.80665, 3.6e6
POLICIES = ("by the calendar", "by the readings", "nothing done")
MONTH_D = 30.44


@pytest.fixture(scope="module")
def house():
    return load("family_house")


@pytest.fixture(scope="module")
def histories(house):
    """Histories of each policy, one a replication."""
    commons = [common_inputs(house, number, 1, YEARS) for number in range(RUNS)]
    policies = [policy for policy in house.policies if policy.name in POLICIES]
    return {policy.name: [run(house, policy, common) for common in commons] for policy in policies}


@pytest.fixture(scope="module")
def kept(histories):
    return histories["by the calendar"]


@pytest.fixture(scope="module")
def read(histories):
    return histories["by the readings"]


@pytest.fixture(scope="module")
def left(histories):
    return histories["nothing done"]


@pytest.fixture
def told(record_property):
    """Keep a figure, or the least and the most of some, for the record."""

    def tell(name, *values, unit=""):
        low, high = (f"{end(values):.3g}" for end in (min, max))
        record_property(name, (low if low == high else f"{low} to {high}") + unit)

    return tell


def drawdown_m3(house):
    """Boyle's law at constant temperature: the air of the precharge, between cut-out and cut-in."""
    air = house.tank.volume_m3 * (house.tank.precharge_pa + ATM)
    return air * (1 / (house.switch.cut_in_pa + ATM) - 1 / (house.switch.cut_out_pa + ATM))


def test_starts_follow_the_drawdown_of_boyle(house, kept, told):
    # A start is due when one drawdown has been used. While the pump runs it feeds the taps as well, so starts
    # are fewer than volume over drawdown, and not fewer than volume over drawdown and what a run passes.
    fresh = slice(1, 60)  # before precharge and switch have drifted
    ratios = []
    for history in kept:
        used = history.days[fresh, state.SUPPLIED].sum()
        starts = history.days[fresh, state.STARTS].sum()
        longest = np.diff(history.pump_runs_s[:200], axis=1).max() * house.pump.best_flow_m3_s * 1.5
        assert used / (drawdown_m3(house) + longest) < starts < 1.02 * used / drawdown_m3(house)
        assert history.days[:, state.STARTS].max() < 300  # makers' rule for motors, as the trade quotes it
        ratios.append(starts / (used / drawdown_m3(house)))
    told("starts over volume used by drawdown", *ratios)


def test_no_hour_has_more_starts_than_a_quarter_of_the_flow_over_the_drawdown(house, kept, told):
    # Starts are most where taps draw half of what the pump gives: T = 4 V/q (the trade's rule for sizing a
    # pressure tank, as Washington DOH prints it: V = 15 q/N gallons; from memory). The pump is taken
    # at its flow at cut-in, the most it gives; one start more, as an hour can begin with one.
    fresh_s = 60 * 86400.0
    most = []
    for history in kept:
        starts = np.sort(history.pump_runs_s[:, 0])
        starts = starts[starts < fresh_s]
        in_an_hour = np.searchsorted(starts, starts + 3600.0) - np.arange(starts.size)
        flow = _flow_at_m3_s(house, house.switch.cut_in_pa)
        assert in_an_hour.max() <= 3600.0 * flow / (4.0 * drawdown_m3(house)) + 1.0
        assert in_an_hour.max() >= 2  # taps run on while the pump does: else the bound would say nothing
        most.append(in_an_hour.max())
    told("most starts in an hour", *most)
    told("of that rule", 3600.0 * flow / (4.0 * drawdown_m3(house)))


def _flow_at_m3_s(house, pressure_pa):
    """Where the pump's curve meets a pressure over the lift, without losses in the suction pipe: the most."""
    head_m = pressure_pa / (WATER_KG_M3 * GRAVITY_M_S2) + house.pump.height_m
    return np.sqrt((house.pump.shutoff_head_m - head_m) / house.pump.curve_s2_m5)


def test_a_cubic_metre_takes_the_work_of_its_pressure_over_the_efficiency(house, kept, told):
    # Power is rho g H q/eta (ISO 17769): a cubic metre takes no less than cut-in over the best efficiency,
    # and no more than cut-out, lift and suction losses over the least efficiency between the flows, of the
    # curve the pump was given. Nothing of the energy a house takes was set.
    pump, switch = house.pump, house.switch
    flows = [_flow_at_m3_s(house, pressure_pa) for pressure_pa in (switch.cut_in_pa, switch.cut_out_pa)]
    shares = [flow / pump.best_flow_m3_s for flow in flows]
    worst = pump.best_efficiency * min(share * (2.0 - share) for share in shares)
    lift_m = pump.height_m + pump.suction_s2_m5 * max(flows) ** 2
    least = switch.cut_in_pa / pump.best_efficiency
    most = (switch.cut_out_pa + WATER_KG_M3 * GRAVITY_M_S2 * lift_m) / worst
    taken = [history.pump_j / history.days[:, state.SUPPLIED].sum() for history in kept]
    told("kWh a cubic metre", *(one / KWH_J for one in taken))
    told("between", least / KWH_J, most / KWH_J)
    assert all(least < one < most for one in taken), (least, taken, most)


def _months_to(history, stage, rise_pa):
    rise = history.drops_pa[:, stage] - history.drops_pa[0, stage]
    past = np.flatnonzero(rise >= rise_pa)
    return past[0] / MONTH_D if past.size else np.inf


def test_a_sediment_cartridge_left_alone_is_due_in_three_to_six_months(house, left, told):
    # Common practice, no source: 3 to 6 months, changed at a rise of 10 to 15 psi.
    share = house.stages[0].rated_flow_m3_s / house.gauge.reading_flow_m3_s
    due = [_months_to(history, 0, house.stages[0].terminal_rise_pa / share) for history in left]
    told("due after", *due, unit=" months")
    assert 3.0 <= np.median(due) <= 6.0, due


def _changes(history, stage):
    """Days on which a cartridge was changed."""
    subject = f"change cartridge: {stage}"
    return [int(e.time_s // 86400) for e in history.events if e.kind == "task" and e.subject == subject]


def test_carbon_changed_by_its_readings_lasts_six_to_twelve_months(house, read, told):
    # Common practice, no source: 6 to 12 months. Here by drop, taste and age as the readings show them.
    spans = np.concatenate([np.diff([0, *_changes(one, house.stages[1].name)]) for one in read]) / MONTH_D
    told("between changes", *spans, unit=" months")
    told("median", np.median(spans), unit=" months")
    assert len(spans) >= 2 * RUNS
    assert 6.0 <= np.median(spans) <= 12.0, spans


def test_cold_water_raises_the_drop_as_its_viscosity_says(house, kept, told):
    # The laminar part of the drop of a clean stage goes with viscosity: IAPWS R12-08 by the library. The load
    # of the first day is taken off by going back a day at the growth of the second (a geometric law of load),
    # which holds where neither day brought dirt from the roof.
    ratios = []
    for history in kept:
        if (history.rain_m[:2] > house.roof.wetting_loss_m).any():
            continue
        water_c = float(history.water_c[0])
        thicker = IAPWS95(T=273.15 + water_c, P=0.101325).mu / IAPWS95(T=293.15, P=0.101325).mu
        stage, flow = house.stages[0], house.gauge.reading_flow_m3_s
        linear = history.drops_pa[:2, 0] - stage.quadratic_pa_s2_m6 * flow**2
        clean = linear[0] ** 2 / linear[1]
        assert clean == pytest.approx(stage.linear_pa_s_m3 * flow * thicker, rel=0.02)
        assert thicker > 1.2  # the water of the first of January is cold
        ratios.append(clean / (stage.linear_pa_s_m3 * flow * thicker))
    assert ratios
    told("clean drop over that by viscosity", *ratios)


def test_fresh_cartridges_drop_more_in_winter_as_viscosity_does(house, kept, read, told):
    # Over the seasons: the laminar drop on the day after a change, in logarithms, against viscosity (IAPWS-95
    # with R12-08, by the library): a slope of 1. Theil and Sen's slope, as a step missed at some changes
    # leaves a few far off; its 95 % interval must hold 1, a day's load apart, and
    # keep within 0.8 and 1.2.
    flow, grid = house.gauge.reading_flow_m3_s, np.arange(1.0, 31.0)
    thickness = np.array([IAPWS95(T=273.15 + t, P=0.101325).mu for t in grid])
    for number, stage in enumerate(house.stages):
        viscosity, drop = [], []
        for history in (*kept, *read):
            linear = history.drops_pa[:, number] - stage.quadratic_pa_s2_m6 * flow**2
            # Where the stage beside it is clogged, drops are read at less than this flow: left out.
            after = [day for day in (0, *_changes(history, stage.name)) if day + 1 < history.n_days]
            days = [day for day in after if linear[day] > 0]
            viscosity += np.interp(history.water_c[days], grid, thickness).tolist()
            drop += linear[days].tolist()
        slope = stats.theilslopes(np.log(drop), np.log(viscosity))
        told(f"most over least viscosity, {stage.name}", max(viscosity) / min(viscosity))
        told(f"slope, {stage.name}", slope.slope)
        assert max(viscosity) / min(viscosity) > 1.25  # winter and summer are both there
        assert 0.8 < slope.low_slope <= 1.0 + 0.02 and 1.0 - 0.02 <= slope.high_slope < 1.2, slope


def _wipes(history):
    return sorted(
        {int(e.time_s // 86400) for e in history.events if e.kind == "task" and "wipe" in e.subject}
    )


def test_the_uv_reading_is_a_saw_tooth(kept, told):
    # Fouling between wipes and recovery at them: sleeves and sensors as described in USEPA 815-R-06-007 (from
    # memory). Colour and cold move the reading by a few points as well, so a fall is asked of most spans.
    shares = []
    for history in kept:
        reading, wipes = history.uv_reading, _wipes(history)
        spans = [(a + 1, b - 1) for a, b in pairwise(wipes) if b - a > 25]
        falls = [reading[b] < reading[a] for a, b in spans]
        rises = [reading[day] > reading[day - 1] for day in wipes if 0 < day < len(reading) - 1]
        assert len(spans) >= 5
        assert np.mean(falls) >= 0.9
        assert np.mean(rises) >= 0.8
        assert (
            reading.max() <= 1.02
        )  # new and clean is 100 %; clearer water than the reference gives little more
        shares.append(float(np.mean(falls)))
    told("spans between wipes over which it falls, share", *shares)


def _law(flow, count, chance, grid):
    """Law of the flow with everything binomial, convolved anew here on a grid."""
    law = np.ones(1)
    for q, n, p in zip(flow, count, chance, strict=True):
        kind = np.zeros(round(q / grid) * n + 1)
        for k in range(n + 1):
            kind[round(q / grid) * k] += stats.binom.pmf(k, n, p)
        law = np.convolve(law, kind)
    return law


def test_the_busy_hours_stay_near_the_zero_truncated_99th_percentile(house, kept, told):
    # Buchberger et al. 2017 (cited from memory): the 99th percentile of the flow while anything is open.
    # Shares of time open are counted from the draws of the hour that sees most; flows are the scenario's.
    uses = house.house.uses
    flow = np.array([use.flow_m3_s for use in uses])
    count = np.array([use.fixtures for use in uses])
    ratios = []
    for history in kept:
        got = history.draws
        hour = ((got["start_s"] % 86400) // 3600).astype(int)
        busiest = np.argmax(np.bincount(hour, got["got_m3"], 24))
        inside = hour == busiest
        open_s = np.bincount(history.use[inside], got["seconds"][inside], len(uses))
        chance = np.minimum(open_s / (history.n_days * 3600.0) / count, 1.0)
        law = _law(flow, count, chance, 1e-6)
        truncated = np.cumsum(law[1:]) / law[1:].sum()
        peak = (np.searchsorted(truncated, 0.99) + 1) * 1e-6
        # Flow of each moment of that hour in the run: draws laid over one another second by second.
        seconds = np.zeros(history.n_days * 3600 + 7200)
        rate = np.where(got["seconds"] > 0, got["got_m3"] / np.maximum(got["seconds"], 1e-9), 0.0)
        at = (got["start_s"] // 86400 * 3600 + got["start_s"] % 3600)[inside].astype(int)
        ends = np.minimum(at + got["seconds"][inside].astype(int), (at // 3600 + 1) * 3600)
        for begin, end, q in zip(at, ends, rate[inside], strict=True):
            seconds[begin:end] += q
        busy = seconds[seconds > 0]
        # Flows spread (cv 0.1 to 0.4) and pressure is not the reference: the percentile is met to a third.
        assert np.quantile(busy, 0.99) == pytest.approx(peak, rel=0.35)
        ratios.append(np.quantile(busy, 0.99) / peak)
    told("99th percentile in the runs over that of the law", *ratios)


CONSUMED = ("change cartridge", "wipe", "replace lamp")


def test_yearly_consumables_are_of_the_size_seen_in_the_field(kept, told):
    # US Virgin Islands, roof water with prefilters and UV: upkeep of 166 to 266 USD a year (medRxiv
    # 2022.10.18.22281228, read second-hand: what else it counts was not seen). In ours here:
    # cartridges, lamps and what wiping takes, at invented prices. Not in ours here: power (some 70), labour,
    # call-outs, samples, tanker loads, and the repair of pump and pressure tank.
    spent = [
        sum(e.cost for e in history.events if e.kind == "task" and e.subject.startswith(CONSUMED)) / YEARS
        for history in kept
    ]
    told("spent", *spent, unit=" USD a year")
    told("mean", np.mean(spent), unit=" USD a year (166 to 266 in the field)")
    assert 166.0 <= np.mean(spent) <= 266.0, spent


def test_people_are_a_leading_cause_of_bad_days_in_a_house_that_is_kept(house, kept, read, told):
    # US Virgin Islands, roof water with UV, visited monthly: what was found in tap samples often went with
    # errors of users, such as a bypass left open (medRxiv 2022.10.18.22281228, read second-hand). No share is
    # given there; a fifth or more is asked, and not all, as lamps and pumps fail by themselves too.
    more = range(RUNS, 4 * RUNS)  # missed steps are few: three runs of three years may see none
    further = [common_inputs(house, number, 1, YEARS) for number in more]
    found = {"by the calendar": kept, "by the readings": read}
    of = {
        policy.name: [
            *map(row, found[policy.name]), *(row(run(house, policy, common)) for common in further)
        ]
        for policy in house.policies[:2]
    }  # fmt: skip
    rows = [*of["by the calendar"], *of["by the readings"]]
    every, people = (
        sum(one[name] for one in rows) for name in ("days_below_target", "people_days_below_target")
    )
    told("share of days below the dose target that people caused", people / every)
    assert 0.2 <= people / every <= 0.8
    perfect = house.model_copy(
        update={
            "people": house.people.model_copy(
                update={"slips": house.people.slips.model_copy(update={"on": False})}
            )
        }
    )
    policy = next(policy for policy in perfect.policies if policy.name == "by the readings")
    numbers = range(4 * RUNS)
    without = [row(run(perfect, policy, common_inputs(perfect, number, 1, YEARS))) for number in numbers]
    with_slips = of["by the readings"]
    assert sum(one["days_below_target"] for one in without) < sum(
        one["days_below_target"] for one in with_slips
    )


def test_the_cistern_is_that_of_a_daily_balance(house, kept, told):
    # Rain on the roof less wetting, run-off share and first flush, the rest over the brim (yield
    # after spillage: Jenkins et al. 1978, from memory), written anew with what the pump took as a run says.
    roof, store = house.roof, house.cistern
    shares = []
    for history in kept:
        tanked = np.zeros(history.n_days)
        for event in history.events:
            if event.kind == "tanker":
                tanked[int(event.time_s // 86400)] += event.value
        lost = history.overflow_m3
        change = np.diff(history.cistern_m3, prepend=store.start_fill * store.capacity_m3)
        inflow = change + lost + history.days[:, state.SUPPLIED] - tanked
        runoff = roof.coefficient * np.maximum(history.rain_m - roof.wetting_loss_m, 0.0) * roof.area_m2
        assert inflow.sum() <= runoff.sum() + 1.0
        share = 1.0 - inflow.sum() / runoff.sum()  # what the diverter and cleanings took
        wet = int((history.rain_m > roof.wetting_loss_m).sum())
        most = wet * roof.first_flush_m * roof.area_m2 + 2 * house.goals.cleaning_loss_m3
        assert 0.0 < share < most / runoff.sum()
        full = lost > 0
        assert np.all(history.rain_m[full] > 0)
        shares.append(share)
    told("of the run-off lost to diverter and cleanings, share", *shares)
