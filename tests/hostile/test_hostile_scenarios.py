"""Damaged sites are read, or refused in one line that names the file; those that are read can be run."""

import dataclasses
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sim.outcome.frames import frames
from sim.outcome.measures import row
from sim.scenario.read.load import load
from sim.study.check.site_check import figures
from sim.twin.run import common_inputs, run
from tests.hostile import attack

pytestmark = pytest.mark.filterwarnings("ignore:Generating overly large repr")
DAMAGED = st.one_of(
    attack.damaged_tables().map(lambda text: text.encode("utf-8", "surrogatepass")),
    attack.damaged_text((attack.SITES / "base.toml").read_text("utf-8"), attack.SNIPPETS),
    attack.damaged_text((attack.SITES / "cottage.toml").read_text("utf-8"), attack.SNIPPETS),
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("hostile")


@pytest.fixture(scope="module", autouse=True)
def compiled():
    """Compile before any clock runs."""
    scenario = load("family_house")
    run(scenario, scenario.policies[0], common_inputs(scenario, 0, 1, 1))


def read(folder, content):
    path = folder / "me.toml"
    path.write_bytes(content)
    return attack.outcome(lambda: load(path), "me.toml")


@settings(max_examples=300, **attack.FULL)
@given(content=DAMAGED)
def test_a_damaged_site_is_read_or_refused(folder, content):
    read(folder, content)


@pytest.mark.long
@pytest.mark.parametrize("part", range(20))
def test_ten_thousand_damaged_sites(folder, part, record_property):
    tried = attack.many(500, part, lambda content: read(folder, content), content=DAMAGED)
    record_property("damaged sites", tried)
    assert tried == 500


def endless(history):
    """Figures that are no numbers, but for pressure and dose of water that nobody drew."""
    drawn = history.draws["got_m3"] > 0.0
    served = drawn & (history.draws["unmet"] == 0)
    may = {"least_dose_j_m2", "unusable_from_day"}
    may |= set() if drawn.any() else {"tap_p5_pa"}
    may |= set() if served.any() else {"tap_least_pa"}
    numbers = {name: value for name, value in row(history).items() if not isinstance(value, str)}
    return [name for name, value in numbers.items() if name not in may and not abs(value) < float("inf")]


def live(scenario, days):
    """Check a site on paper and run two of its policies; a ledger that does not close is not forgiven."""
    figures(scenario, "us")
    common = common_inputs(scenario, 0, 1, 1)
    n = min(days, common.n_days)
    cut = {"n_days": n, "rain_m": common.rain_m[:n], "reading_noise": common.reading_noise[:n]}
    for policy in scenario.policies[:2]:
        history = run(scenario, policy, dataclasses.replace(common, **cut))
        assert endless(history) == []
        frames(history)


def read_and_live(folder, text, days):
    scenario = read(folder, text.encode("utf-8", "surrogatepass"))
    if scenario is not None:
        attack.outcome(lambda: live(scenario, days), "")


@settings(max_examples=60, **attack.FULL)
@given(text=attack.stretched_tables())
def test_a_stretched_site_that_is_read_can_be_run(folder, text):
    read_and_live(folder, text, 10)


STRETCHED = [(150, 20)] * 10 + [(50, 366)] * 4  # cases, days of each


@pytest.mark.long
@pytest.mark.parametrize(("part", "cases", "days"), [(100 + n, *one) for n, one in enumerate(STRETCHED)])
def test_many_stretched_sites_can_be_run(folder, part, cases, days, record_property):
    tried = attack.many(
        cases, part, lambda text: read_and_live(folder, text, days), text=attack.stretched_tables()
    )
    record_property(f"sites of extreme numbers run for {days} days", tried)
    assert tried == cases


FOUND = [
    # what once hung, filled the memory, broke the ledger or ended in a traceback
    (f"{'.'.join('a' * 4000)} = 1\n", "nested too deeply"),
    ('[[policy]]\nname = "by the readings"\nreading_every = "1e-9 d"\n', "reading_every: read '1e-9 d'"),
    ('[[policy]]\nname = "by the readings"\nreading_every = "-1 d"\n', "wanted at least 3600 s"),
    (
        '[[policy]]\nname = "p"\n[[policy.rule]]\ntask = "take sample"\nwhen = "calendar"\nevery = "1 s"\n',
        "every",
    ),
    ('[[house.use]]\nname = "toilet"\nflow = "1e12 gpm"\n', "wanted at most 1 m3/s"),
    ('[house]\npipe_roughness = "1e300 um"\n', "wanted at most 100000 m"),
    ('[house]\npipe_roughness = "11 mm"\n', "more than half of pipe_bore"),
    ('[house]\naway = "1e20 d"\n', "house.away"),
    ("start = 9990-01-01\n", "wanted a date from 1600 to 9000"),
    ('[rain]\nclimate = "polar"\n', "no built-in climate 'polar'"),
    ('[[stage]]\nname = "a\\nb"\n', "without control characters"),
    ("[uv]\nburn_in_loss = 0.3\noutput_at_end = 0.8\n", "wanted a lamp that dims"),
    ('[cistern]\nfloor = "0.1 m2"\n', "deep"),
]


@pytest.mark.parametrize(("text", "said"), FOUND)
def test_what_was_found_stays_refused(tmp_path, text, said):
    path = tmp_path / "me.toml"
    path.write_text(
        text + 'extends = "family_house"\n'
        if text.startswith(("a.", "start"))
        else f'extends = "family_house"\n{text}'
    )
    with attack.deadline(), pytest.raises(attack.InputError) as caught:
        load(path)
    attack.assert_one_line(str(caught.value), "me.toml")
    assert said in str(caught.value)


def test_a_house_in_which_nobody_draws_has_no_pressure_at_a_tap_and_else_all_figures(tiny, short):
    scenario = tiny(house={"people": 4e-30})
    history = run(scenario, scenario.policies[0], short(scenario, 20))
    assert not (history.draws["got_m3"] > 0.0).any()
    assert endless(history) == []
    assert math.isnan(row(history)["tap_least_pa"]) and math.isnan(row(history)["tap_p5_pa"])


def test_more_taps_than_can_stand_open_are_the_house_s_fault(tiny, short):
    uses = [{"name": "shower", "events_per_person_day": 20.0, "duration": "6 h"}]
    scenario = tiny(house={"people": 200.0, "use": uses})
    with pytest.raises(attack.InputError, match="house: more than 512 taps stood open at once on day"):
        run(scenario, scenario.policies[0], short(scenario, 5))


def test_more_draws_than_fit_are_refused_before_they_are_drawn(tiny):
    scenario = tiny(house={"people": 2000.0})
    with pytest.raises(attack.InputError, match=r"house: some .* million draws"):
        common_inputs(scenario, 0, 1, 5)


def test_the_bound_of_a_case_can_fail():
    with pytest.raises(attack.Hang), attack.deadline(0.05):
        while True:
            pass
    with pytest.raises(AssertionError):
        attack.assert_one_line("two\nlines of me.toml", "me.toml")
