"""A cistern that feeds the house by its level: how it empties, what a run says of it, what is refused."""

import dataclasses
import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from sim.diary.followed import check_followed
from sim.errors import InputError
from sim.outcome.measures import row
from sim.plant import cause, state
from sim.scenario.odd import LEFT_OUT, warnings
from sim.scenario.read.load import load_text
from sim.scenario.values.ranges import outside
from sim.scenario.values.variants import spans
from sim.study.check.criteria import judged
from sim.study.check.site_check import figures
from sim.study.close_up.question import CloseUpQuestion
from sim.study.question import Site
from sim.study.runs.batch import Job
from sim.study.runs.sent import packed, unpacked
from sim.study.size.question import SizeQuestion
from sim.study.skip.question import SkipQuestion
from sim.study.visits.question import VisitsQuestion
from sim.twin.run import run

GRAVITY, DENSITY = 9.80665, 999.0
DEMO = 'extends = "family_house"\n'
FED = 'gravity_feed = true\n[pump]\nheight = "-8 m"\n[house]\nlift = "2 m"\n'


def house(lines="", more=""):
    return load_text(f"{DEMO}[cistern]\n{lines}{FED}{more}", "fed.toml")


def bare(plant, **over):
    """A cistern of 2 m2 whose floor stands 6 m above the gauge, 3 m of water over the floor; no pump."""
    values = {
        "gravity": 1, "pump_works": 0, "floor_m2": 2.0, "height_m": -6.0, "intake_m3": 0.2, "restart_m3": 0.2,
        "mains_below_m3": -1.0, "static_pa": 3e4, "leak_coefficient": 0.0, "linear_pa_s_m3": 0.0,
    }  # fmt: skip
    found = plant(**{**values, **over})
    found.s["cistern_m3"], found.s["water_m3"] = 6.0, 0.0
    return found


def drive_pa(volume_m3, static_pa=3e4, above_m=6.0):
    return DENSITY * GRAVITY * (volume_m3 / 2.0 + above_m) - static_pa


@pytest.mark.parametrize("above_m", [6.0, 60.0])
def test_it_empties_through_a_square_law_as_torricelli_has_it(plant, tap, above_m):
    # Q = sqrt(dp/K) and A dh = -Q dt, so the root of the drive falls evenly: sqrt(p) = sqrt(p0) - rho g t /
    # (2 A sqrt(K)), textbooks of fluid mechanics on the emptying of a tank through an orifice
    k = tap(8.0)
    house_of = bare(plant, height_m=-above_m).draw([[0.0, k, 36000.0, math.inf]])
    resistance = float(house_of.p["quadratic_pa_s2_m6"][0]) + k**-2
    fall = DENSITY * GRAVITY / (2.0 * 2.0 * math.sqrt(resistance))
    for seconds in (600.0, 3600.0, 9000.0):
        house_of.run(seconds)
        root = math.sqrt(drive_pa(6.0, above_m=above_m)) - fall * seconds
        level_m3 = 2.0 * ((root**2 + 3e4) / (DENSITY * GRAVITY) - above_m)
        assert float(house_of.s["cistern_m3"][0]) == pytest.approx(level_m3, abs=1e-8)
        assert float(house_of.s["house_m3"][0]) == pytest.approx(6.0 - level_m3, abs=1e-8)


def test_it_stops_at_the_intake_at_the_time_of_the_closed_form(plant, tap):
    k = tap(8.0)
    found = bare(plant, intake_m3=4.0, restart_m3=4.0).draw([[0.0, k, 80000.0, math.inf]]).run(80000.0)
    resistance = float(found.p["quadratic_pa_s2_m6"][0]) + k**-2
    fall = DENSITY * GRAVITY / (4.0 * math.sqrt(resistance))
    end_s = (math.sqrt(drive_pa(6.0)) - math.sqrt(drive_pa(4.0))) / fall
    assert float(found.s["cistern_m3"][0]) == pytest.approx(4.0, abs=1e-9)
    flowing = found.steps[found.steps[:, 2] > 0.0]
    assert flowing[-1, 0] == pytest.approx(end_s, rel=1e-6)
    assert found.causes[0, cause.CISTERN_EMPTY, cause.OFF] == pytest.approx(80000.0 - end_s, rel=1e-6)


def test_with_linear_resistance_it_follows_the_differential_equation(plant, tap):
    k, linear = tap(8.0), 2e8
    found = bare(plant, linear_pa_s_m3=linear).draw([[0.0, k, 20000.0, math.inf]]).run(20000.0)
    square = float(found.p["quadratic_pa_s2_m6"][0]) + k**-2

    def change(_, volume):
        drive = drive_pa(volume[0])
        return [-(-linear + math.sqrt(linear**2 + 4.0 * square * drive)) / (2.0 * square)]

    exact = solve_ivp(change, (0.0, 20000.0), [6.0], method="DOP853", rtol=1e-12, atol=1e-14)
    assert float(found.s["cistern_m3"][0]) == pytest.approx(exact.y[0, -1], abs=1e-8)


def test_it_comes_to_rest_at_the_height_of_the_taps(plant, tap):
    high_pa = DENSITY * GRAVITY * (6.0 + 2.0)  # taps as high as 2 m of water over the floor
    found = bare(plant, static_pa=high_pa).draw([[0.0, tap(9.0), 80000.0, math.inf]]).run(80000.0)
    assert float(found.s["cistern_m3"][0]) == pytest.approx(4.0, abs=1e-5)


def test_a_draw_by_volume_has_just_its_volume_and_a_restrictor_holds_the_flow(plant, tap):
    found = bare(plant).draw([[0.0, tap(4.0), math.inf, 0.08]]).run(3600.0)
    assert float(found.s["house_m3"][0]) == pytest.approx(0.08, rel=2e-9)
    most = 1e-4
    held = bare(plant, most_m3_s=most).draw([[0.0, tap(9.0), 3600.0, math.inf]]).run(3600.0)
    assert float(held.s["house_m3"][0]) == pytest.approx(most * 3600.0, rel=1e-9)


def test_mains_raise_it_towards_where_what_comes_in_goes_out(plant, tap):
    k, came_m3_s = tap(8.0), 2e-4
    found = bare(plant, mains_m3_s=came_m3_s, mains_below_m3=5.9, mains_until_m3=8.0)
    found.s["cistern_m3"] = 1.0
    square = float(found.p["quadratic_pa_s2_m6"][0]) + k**-2
    found.draw([[0.0, k, 80000.0, math.inf]]).run(80000.0)

    def change(_, volume):
        return [came_m3_s - math.sqrt(drive_pa(volume[0]) / square)]

    exact = solve_ivp(change, (0.0, 80000.0), [1.0], method="DOP853", rtol=1e-12, atol=1e-14)
    taken, came, level = (float(found.s[name][0]) for name in ("house_m3", "mains_m3", "cistern_m3"))
    assert level == pytest.approx(exact.y[0, -1], abs=1e-8) and level > 1.5
    assert came == pytest.approx(came_m3_s * 80000.0, rel=1e-12)
    assert 1.0 + came - taken == pytest.approx(level, abs=1e-11)


def test_what_mains_bring_over_the_intake_runs_on(plant, tap):
    low = {"intake_m3": 2.0, "restart_m3": 2.0, "mains_below_m3": 2.5, "mains_until_m3": 4.0}
    found = bare(plant, mains_m3_s=1e-5, **low)
    found.s["cistern_m3"] = 2.0
    found.draw([[0.0, tap(8.0), 40000.0, math.inf]]).run(40000.0)
    assert float(found.s["house_m3"][0]) == pytest.approx(0.4, abs=2e-3)  # of what came, 0.4 m3


@pytest.fixture(scope="module")
def history(tiny, short):
    site = tiny(
        cistern={"gravity_feed": True, "start_fill": 1.0}, pump={"height": "-9 m"}, house={"lift": "2 m"},
        power={"saifi": 0.0},
    )  # fmt: skip
    return run(site, site.policies[0], short(site, 120))


def test_a_run_closes_its_ledger_and_knows_no_pump(history):
    assert max(one.error for one in history.balances) < 1e-9
    found = row(history)
    assert found["pump_starts"] == found["pump_kwh"] == found["pump_failures"] == 0.0
    assert len(history.pump_runs_s) == 0
    assert history.days[:, state.SUPPLIED].sum() > 1.0
    depth_m = 5.0 / 3.0  # capacity over floor
    most_pa = history.days[:, state.TANK_MAX].max()
    assert most_pa == pytest.approx(999.7 * GRAVITY * (9.0 + depth_m), rel=2e-3)


def test_a_power_cut_lets_water_run_undosed_unless_a_valve_shuts(tiny, short):
    def below_m3(valve):
        site = tiny(
            cistern={"gravity_feed": True, "start_fill": 1.0}, pump={"height": "-9 m"},
            house={"lift": "2 m"}, uv={"shutoff_valve": valve},
        )  # fmt: skip
        common = dataclasses.replace(short(site, 10), cuts_s=np.array([[2.0, 6.0]]) * 86400.0)
        got = run(site, site.policies[-1], common)
        return got.days[2:6, state.BELOW_TARGET].sum(), got.days[2:6, state.SUPPLIED].sum(), got

    below, supplied, got = below_m3(valve=False)
    assert below > 0.9 * supplied > 0.0
    assert got.causes[2:6, cause.POWER_CUT, cause.LITRES].sum() == pytest.approx(below, rel=1e-9)
    held, nothing, _ = below_m3(valve=True)
    assert held == nothing == 0.0


def test_what_serves_a_pump_alone_is_left_out():
    site = house()
    left = {effect for task in site.tasks for effect in task.effects}
    assert not left & {"new pump", "new pressure tank", "set precharge"} and "new lamp" in left
    tasks = {task.name for task in site.tasks}
    assert {rule.task for policy in site.policies for rule in policy.rules} <= tasks
    assert not {"pump", "pressure tank"} & {spare.part for spare in site.spares}
    assert not any("never used" in line or "never happens" in line for line in warnings(site))
    steps = {one for task in site.tasks for step in site.steps(task.name) for one in step.operates}
    assert not steps & {"pump switch", "tank drain", "tank valve"}
    assert not [one.key for one in spans(site, ()) if one.key.startswith(("pump.w", "pump.l", "pressure_"))]


def test_what_was_left_out_is_sent_and_read_again_as_it_is():
    site = house()
    ((got, policies, _),) = unpacked(packed(Job([(site, site.policies, 1)], 1, None, None))).designs
    assert got == site and policies == site.policies
    minutes = [task.minutes for task in got.tasks]
    assert minutes == [task.minutes for task in site.tasks]


def test_on_paper_it_has_the_pressure_of_its_level():
    site = house('capacity = "10 m3"\nfloor = "5 m2"\nintake = "0.2 m"\n')
    by_key = {one.key: one for one in judged(site, "us")}
    assert by_key["static"].value == pytest.approx(1000.0 * GRAVITY * (8.0 + 2.0), rel=1e-6)
    assert not {"dead head", "starts an hour", "starts a day", "run", "off", "suction"} & set(by_key)
    least_pa = 1000.0 * GRAVITY * 8.2
    assert by_key["highest tap"].value < least_pa - 999.0 * GRAVITY * 2.0
    said = " ".join(str(dataclasses.astuple(one)) for one in figures(site))
    said = said.replace(LEFT_OUT, "")
    assert "by gravity" in said and "pump" not in said and "cut-in" not in said
    assert LEFT_OUT in warnings(site) and LEFT_OUT not in warnings(load_text(DEMO, "one.toml"))


@pytest.mark.parametrize(
    ("lines", "more", "said"),
    [
        (
            "",
            '[uv]\nrestrictor_drop = "20 psi"\nrestrictor = "5 gpm"',
            r"uv\.restrictor_drop: .* full cistern",
        ),
        ('gravity_feed = "perhaps"\n', "", r"cistern\.gravity_feed"),
    ],
)
def test_what_cannot_be_is_refused_in_a_line(lines, more, said):
    text = f"{DEMO}[cistern]\n{lines}" if lines else f"{DEMO}[cistern]\n{FED}{more}"
    with pytest.raises(InputError, match=said) as refused:
        load_text(text, "fed.toml")
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    ("pump", "lift", "said"),
    [
        ('height = "2 m"', "2 m", r"pump\.height: the gauge stands 2 m above"),
        ('height = "-8 m"\nstandby = true', "2 m", r"pump\.standby: there is no pump"),
        ('height = "-8 m"', "14 m", r"house\.lift: the highest fixture is 14 m"),
    ],
)
def test_a_level_that_cannot_feed_is_refused_in_a_line(pump, lift, said):
    with pytest.raises(InputError, match=said) as refused:
        load_text(
            f'{DEMO}[cistern]\ngravity_feed = true\n[pump]\n{pump}\n[house]\nlift = "{lift}"\n', "fed.toml"
        )
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize("kind", [SkipQuestion, VisitsQuestion, SizeQuestion, CloseUpQuestion])
def test_questions_that_speak_of_a_pump_are_refused_in_a_line(kind):
    asked = kind.__new__(kind)
    object.__setattr__(asked, "site", Site.__new__(Site))
    object.__setattr__(asked.site, "scenario", house())
    with pytest.raises(InputError, match=r"^cistern\.gravity_feed: read true; .* take it$"):
        asked.check()


def test_a_diary_and_a_drill_are_refused():
    for what in ("a diary", "a drill"):
        with pytest.raises(InputError, match=r"^cistern\.gravity_feed"):
            check_followed(house(), what)


def test_no_fall_is_said_to_be_beyond_a_suction_lift():
    site = load_text(f"{DEMO}[cistern]\n{FED.replace('-8 m', '-90 ft')}", "fed.toml")
    assert "pump.height" not in outside(site)
