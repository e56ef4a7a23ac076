"""Draws over what is uncertain: what is drawn, that it is drawn evenly, and what is said of it."""

import dataclasses

import numpy as np
import pandas as pd
import pytest

from sim import cli
from sim.errors import InputError
from sim.scenario.read.load import load_text
from sim.scenario.values import ranges
from sim.scenario.values.grades import SAMPLED, base_grades
from sim.scenario.values.numbers import numbers, with_values
from sim.scenario.values.variants import Site, Span, seed_of, sites, spans
from sim.study.runs import batch, pace
from sim.study.runs.means import Means
from sim.study.runs.replicate import study
from sim.study.runs.request import Design, Inputs
from sim.study.uncertain import robust_words
from sim.study.uncertain.robust import NONE, chance_correlation, robust, spread, wilson
from sim.study.uncertain.uncertain import Sampled, sampled

BASE = load_text('extends = "base"', "base")
SPANS = spans(BASE)
BY_KEY = {span.key: span for span in SPANS}
UNIT = batch.Job.unit
TWO = BASE.policies[3:]  # "as things fail" and "nothing done"


# --- what is drawn ---
def test_only_what_nobody_measured_is_drawn():
    for span in SPANS:
        kind_key = next(number.kind_key for number in numbers(BASE) if number.key == span.key)
        assert ranges.ranges()[kind_key].role == "uncertain"
        assert base_grades()[span.key].grade in SAMPLED
    assert len(SPANS) > 100


@pytest.mark.parametrize(
    "key",
    [
        "roof.coefficient",  # read in a source
        "roof.area",  # read off the site
        "prices.electricity_kwh",
        "people.owner_hour",
        "policy[by the calendar].rule[1].every",
        "pressure_switch.cut_in",
        "goals.limit_days_below_target",
        "stage[sediment].carbon_half_bed_volumes",  # no carbon in it
        "house.use[toilet].duration",  # bound by volume
    ],
)
def test_not_drawn(key):
    assert key not in BY_KEY


@pytest.mark.parametrize(
    ("key", "low", "high", "logarithmic"),
    [
        ("stage[carbon].dirt_capacity", 0.14, 0.56, True),
        ("cistern.water_mean", 10.0, 14.0, False),
        ("pressure_tank.gas_exponent", 1.0, 1.4, False),
        ("people.adherence", 0.82, 0.98, False),
        ("uv.output_at_freezing", 0.8, 1.0, False),
        ("cistern.low_level", 0.05, 0.15, False),
        ("stage[carbon].law", 0.0, 2.0, False),  # any exponent from a cake to complete blocking
        ("stage[sediment].plateau", 0.0, 0.6, False),
        ("stage[sediment].capacity_cv", 0.04, 0.16, True),
        ("pump.life_starts", 1.25e5, 2e6, True),
        ("power.saifi", 0.67, 2.68, True),
    ],
)
def test_span(key, low, high, logarithmic):
    """By hand from scenarios/ranges.csv and base.toml."""
    span = BY_KEY[key]
    assert (span.low, span.high) == pytest.approx((low, high), rel=1e-12)
    assert span.logarithmic is logarithmic


def test_a_span_is_cut_to_the_range_and_a_value_outside_it_keeps_its_own_side():
    assert spans_of("people.adherence", 0.97).high == 1.0
    beyond = spans_of("cistern.water_mean", 29.0)
    assert (beyond.low, beyond.high) == (27.0, 29.0)


def spans_of(key, value):
    return next(span for span in spans(with_values(BASE, {key: value})) if span.key == key)


def test_what_was_measured_is_kept():
    assert {s.key for s in SPANS} - {s.key for s in spans(BASE, ["people.adherence"])} == {"people.adherence"}
    with pytest.raises(InputError, match=r"'people\.adherance' .*did you mean 'people\.adherence'"):
        spans(BASE, ["people.adherance"])


def test_every_stratum_of_every_input_is_drawn_once():
    """The definition of a Latin hypercube (McKay et al. 1979)."""
    count = 20
    drawn = [site for site in sites(BASE, SPANS, count, 3) if not site.redrawn]
    assert len(drawn) == count
    for span in SPANS:
        if span.whole:
            continue
        values = np.array([site.values[span.key] for site in drawn])
        if span.logarithmic:
            shares = np.log(values / span.low) / np.log(span.high / span.low)
        else:
            shares = (values - span.low) / (span.high - span.low)
        assert sorted(np.minimum(shares * count, count - 1e-9).astype(int)) == list(range(count)), span.key


def test_draws_lie_within_ranges_and_are_what_the_site_holds():
    for site in sites(BASE, SPANS, 10, 1):
        assert ranges.outside(site.scenario) == ()
        held = {number.key: number.value for number in numbers(site.scenario)}
        for span in SPANS:
            assert held[span.key] == site.values[span.key]
            assert span.low <= held[span.key] <= span.high


def test_the_same_seed_draws_the_same_and_another_another():
    first, again, other = (sites(BASE, SPANS, 4, seed) for seed in (1, 1, 2))
    assert [site.values for site in first] == [site.values for site in again]
    assert first[0].values != other[0].values
    assert len({seed_of(1, number) for number in range(500)} | {1}) == 501


def test_values_that_do_not_go_together_are_drawn_anew():
    """A floor of carbon above its start is refused by the site; half of the square is."""
    two = tuple(
        Span(f"stage[carbon].{key}", 0.0, 0.4, "fraction") for key in ("carbon_initial", "carbon_floor")
    )
    drawn = sites(BASE, two, 40, 1)
    assert 5 < sum(site.redrawn > 0 for site in drawn) < 35
    for site in drawn:
        assert site.values[two[1].key] <= site.values[two[0].key]


# --- running ---
@pytest.fixture(scope="module")
def found():
    """Three draws of two short runs."""
    return sampled(BASE, TWO, Inputs(1, 1), 2, 3)


def test_rows_are_those_of_each_draw_in_order(found):
    assert list(found.rows["draw"]) == [0] * 4 + [1] * 4 + [2] * 4
    assert list(found.rows["replication"]) == [0, 1] * 6
    assert found.rows.groupby("draw")["supplied_m3"].first().nunique() == 3


def test_any_number_of_workers_gives_the_same_rows(found):
    two = sampled(BASE, TWO, Inputs(1, 1), 2, 3, means=Means(2))
    pd.testing.assert_frame_equal(two.rows, found.rows, check_exact=True)


def stop_at(monkeypatch, draw):
    """Let the user stop the study in a draw; batches hold one replication."""
    original = batch.Job.unit

    def unit(self, asked):
        if asked.design == draw:
            raise KeyboardInterrupt
        return original(self, asked)

    monkeypatch.setattr(batch.Job, "unit", unit)
    monkeypatch.setattr(pace, "LEAST_S", 0.0)
    monkeypatch.setattr(pace, "WANTED_S", 0.0)


def test_an_interrupt_keeps_the_finished_draws(monkeypatch, found):
    stop_at(monkeypatch, 2)
    left = sampled(BASE, TWO, Inputs(1, 1), 2, 5)
    assert left.interrupted
    assert (len(left.sites), left.wanted, sorted(set(left.rows["draw"]))) == (2, 5, [0, 1])
    assert "2 draws of 5 asked for, as the study was interrupted" in robust_words.sentences(
        robust(left, BASE.goals), "USD"
    )


def test_a_draw_is_its_site_run_by_itself(found):
    site = found.sites[1]
    alone = study(Design("draw", site.scenario, TWO), Inputs(seed_of(1, 1), 1), 2).rows
    rows = found.rows[found.rows["draw"] == 1].drop(columns="draw").reset_index(drop=True)
    pd.testing.assert_frame_equal(rows, alone, check_exact=True)


def test_finished_draws_are_kept_in_a_folder_and_not_run_again(monkeypatch, tmp_path, found):
    kept = Means(folder=tmp_path)
    with monkeypatch.context() as patched:
        stop_at(patched, 2)
        assert sampled(BASE, TWO, Inputs(1, 1), 2, 3, means=kept).interrupted
        units = []
        patched.setattr(batch.Job, "unit", lambda self, unit: units.append(unit) or UNIT(self, unit))
        again = sampled(BASE, TWO, Inputs(1, 1), 2, 3, means=kept)
    assert {unit.design for unit in units} == {2}
    pd.testing.assert_frame_equal(again.rows, found.rows, check_exact=True)


@pytest.mark.parametrize(("count", "runs"), [(1, 4), (10, 1)])
def test_too_few_are_refused(count, runs):
    with pytest.raises(InputError, match="wanted 2 or more"):
        sampled(BASE, TWO, Inputs(1, 1), runs, count)


# --- what is said ---
@pytest.mark.parametrize(
    ("count", "trials", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_wilson(count, trials, low, high):
    """Newcombe 1998, Stat. Med. 17:857, table I, method 3 (from memory); half the last digit."""
    interval = wilson(count, trials, 0.95)
    assert (interval.low, interval.high) == pytest.approx((low, high), abs=5e-5)


@pytest.mark.parametrize(
    ("draws", "printed"), [(4, 0.950), (10, 0.632), (20, 0.444), (30, 0.361), (52, 0.273), (102, 0.195)]
)
def test_chance_correlation_of_one_input(draws, printed):
    """Critical values of the correlation coefficient, 5 % two-sided, as printed in statistics texts (M)."""
    assert chance_correlation(draws, 1) == pytest.approx(printed, abs=5e-4)


def test_three_draws_tell_nothing_of_a_correlation():
    assert chance_correlation(3, 1) == chance_correlation(2, 9) == 1.0


def test_chance_correlation_of_many_inputs_is_seldom_exceeded():
    """At most one study of twenty (Bonferroni): of 400 studies of independent inputs, 20 + 4 sd 4.4."""
    rng = np.random.default_rng(1913)
    bound, beyond = chance_correlation(40, 25), 0
    for _ in range(400):
        x, y = rng.standard_normal((40, 25)), rng.standard_normal(40)
        ranks = x.argsort(axis=0).argsort(axis=0) - 19.5
        other = y.argsort().argsort() - 19.5
        beyond += np.abs(ranks.T @ other / (other @ other)).max() > bound
    assert 4 <= beyond <= 20 + 4 * np.sqrt(400 * 0.05 * 0.95)


def test_the_two_sources_of_spread_are_told_apart():
    """Normal draws with sd 3 between and 2 within: each variance within 4 standard errors of its law."""
    rng = np.random.default_rng(77)
    draws, runs = 2000, 4
    table = 10 + 3 * rng.standard_normal((draws, 1)) + 2 * rng.standard_normal((draws, runs))
    one = spread(table)
    assert one.within**2 == pytest.approx(4.0, abs=4 * 4.0 * np.sqrt(2 / (draws * (runs - 1))))
    of_means = 9.0 + 4.0 / runs
    error = np.hypot(of_means * np.sqrt(2 / (draws - 1)), 4.0 / runs * np.sqrt(2 / (draws * (runs - 1))))
    assert one.between**2 == pytest.approx(9.0, abs=4 * error)
    assert one.mean == pytest.approx(10.0, abs=4 * np.sqrt(of_means / draws))


INPUTS = (
    Span("x", 0.0, 1.0, None),
    Span("y", 0.0, 1.0, None),
    Span("stage[s].law", 0.0, 2.0, None),
)


def toy(days_b=0.0):
    """Forty draws of three runs: b costs less than a where x is above 0.7, y and the law do nothing."""
    rng = np.random.default_rng(5)
    rows, drawn = [], []
    for number, x in enumerate(rng.permutation((np.arange(40) + 0.5) / 40)):
        values = {"x": float(x), "y": float(rng.random()), "stage[s].law": 2 * rng.random()}
        drawn.append(Site(number, values, BASE, 0))
        for run in range(3):
            noise = rng.standard_normal()
            for name, cost, days in (("a", 100.0, 0.0), ("b", 100.0 + 50 * (0.7 - x), days_b)):
                rows.append({"draw": number, "policy": name, "replication": run, "cost": cost + noise,
                             "days_below_target": days, "water_off_h": 1.0, "alarm_h": 9.0})  # fmt: skip
    return Sampled(pd.DataFrame(rows), tuple(drawn), INPUTS, 40, False)


def test_shares_and_what_moves_the_difference():
    """By construction: 12 of 40 draws have x above 0.7; the shared noise falls out of the difference."""
    said = robust(toy(), BASE.goals)
    shares = {one.policy: one.best_in for one in said.standings}
    assert shares == {"a": 28, "b": 12}
    assert (said.leader, said.rival, NONE in shares) == ("a", "b", False)
    assert said.difference.within == pytest.approx(0.0, abs=1e-9)
    assert said.influences[0].span.key == "x"
    assert said.influences[0].cost_correlation == pytest.approx(1.0)
    assert all(abs(one.cost_correlation) < said.chance_correlation for one in said.influences[1:])
    words = robust_words.sentences(said, "USD")
    assert "'a' in 28 of 40: 70 % (55 to 82)" in words
    assert "moves most with x: cost +1.00 (rank correlation;" in words
    assert "law" not in words


def test_a_policy_over_the_limit_is_never_best_and_none_may_be():
    over = dataclasses.replace(toy(days_b=100.0))
    assert {one.policy: one.best_in for one in robust(over, BASE.goals).standings} == {"a": 40, "b": 0}
    rows = over.rows.assign(water_off_h=8000.0)
    none = robust(dataclasses.replace(over, rows=rows), BASE.goals)
    assert (none.standings[-1].policy, none.standings[-1].best_in) == (NONE, 40)
    assert "none within the limits in 40 of 40" in robust_words.sentences(none, "USD")
    quiet = BASE.goals.model_copy(update={"limit_alarm_h": 8.0})  # every run has 9
    assert robust(toy(), quiet).standings[-1].policy == NONE


def test_command_shows_and_keeps_it(tmp_path, capsys):
    words = ["compare", "--years", "1", "--replications", "2", "--workers", "1", "--out", str(tmp_path)]
    words += ["--policy", "as things fail", "--policy", "nothing done", "--known", "people.adherence"]
    assert cli.main([*words, "--uncertain", "3", "--each", "2"]) == 0
    printed = " ".join(capsys.readouterr().out.split())
    assert "Cheapest with means within the limits: " in printed
    table = pd.read_csv(tmp_path / "uncertain.csv")
    assert list(table["draw"]) == [0, 0, 1, 1, 2, 2]
    assert table.groupby("draw")["best"].sum().le(1).all()
    assert "people.adherence" not in table.columns
    assert "stage[carbon].dirt_capacity [kg]" in table.columns
    inputs = pd.read_csv(tmp_path / "uncertain_inputs.csv")
    assert len(inputs) == len(SPANS) - 1
    page = (tmp_path / "report.html").read_text()
    assert "If what nobody measured were otherwise" in page
    assert '"uncertain"' in (tmp_path / "manifest.json").read_text()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--uncertain", "1"], "uncertain is 1; wanted 2 or more"),
        (["--uncertain", "5", "--each", "1"], "each is 1; wanted 2 or more"),
        (
            ["--uncertain", "5", "--known", "roof.area"],
            "known: 'roof.area' is not among the uncertain inputs",
        ),
    ],
)
def test_command_refuses_in_one_line(words, said, tmp_path, capsys):
    assert cli.main(["compare", "--replications", "1", "--years", "1", "--out", str(tmp_path), *words]) == 2
    error = capsys.readouterr().err
    assert said in error
    assert len(error.splitlines()) == 1


def test_one_policy_has_no_rival(found):
    rows = found.rows[found.rows["policy"] == TWO[0].name]
    said = robust(dataclasses.replace(found, rows=rows), BASE.goals)
    assert (said.leader, said.rival, said.influences) == (TWO[0].name, TWO[0].name, ())
    words = robust_words.sentences(said, "USD")
    assert "Cheapest with means within the limits" in words
    assert "rank correlation" not in words


def test_the_first_draw_is_part_of_no_draw_when_stopped_in_it(monkeypatch):
    stop_at(monkeypatch, 0)
    left = sampled(BASE, TWO, Inputs(1, 1), 2, 5)
    assert (left.sites, left.interrupted, len(left.rows)) == ((), True, 0)
    with pytest.raises(InputError, match="0 draws were finished"):
        robust(left, BASE.goals)


def test_command_stopped_in_the_first_draw_keeps_the_runs_and_says_so(tmp_path, capsys, monkeypatch):
    def stopped(self, asked):
        if self.designs[asked.design][2] != 1:  # a draw has a root of chance of its own
            raise KeyboardInterrupt
        return UNIT(self, asked)

    monkeypatch.setattr(batch.Job, "unit", stopped)
    words = ["compare", "--years", "1", "--replications", "2", "--workers", "1", "--out", str(tmp_path)]
    words += ["--policy", "as things fail", "--policy", "nothing done", "--uncertain", "3"]
    assert cli.main(words) == 130
    assert "Interrupted before two draws over what is uncertain" in capsys.readouterr().out
    assert (tmp_path / "rows.csv").exists()
    assert not (tmp_path / "uncertain.csv").exists()
