"""How draws spread: by hand, against plain counting of a recorded flat, and as `check --draws` shows it."""

from dataclasses import asdict

import numpy as np
import pytest

from sim.cli import main
from sim.commands.check import FAILS
from sim.demand.draw_spread import by_day, spread_errors, spread_of
from tests.recorded.household import cv, household, next_day, over_mean
from tests.recorded.recorded_cases import rows

DAY_S = 86400.0


def arrays(*draws):
    """Return starts, volumes and durations of draws told as tuples."""
    return (np.array(column, dtype=float) for column in zip(*draws, strict=True))


def test_two_days_by_hand():
    """3 draws on day 0 (6, 3 and 3 L), one of 12 L on day 5; gaps of 30 s, 270 s and five days."""
    found = by_day(*arrays((100, 6, 60), (130, 3, 60), (400, 3, 30), (5 * DAY_S + 10, 12, 600)))
    spread = spread_of(found)
    assert found[:, 0].tolist() == [3, 1]
    assert spread.draws_per_day == 2.0
    assert spread.volume_m3 == 12.0
    assert spread.volume_cv == 0.0
    assert (spread.within_1_min_share, spread.within_5_min_share, spread.within_30_min_share) == (
        pytest.approx(1 / 3),
        pytest.approx(2 / 3),
        pytest.approx(2 / 3),
    )
    # Minute 2 of day 0 (120 to 180 s): 40 s of 6 L/60 s and 50 s of 3 L/60 s; day 5: 12 L in 600 s.
    assert spread.minute_flow_m3_s == pytest.approx(0.5 * ((4.0 + 2.5) / 60.0 + 12.0 / 600.0))


def test_the_error_of_a_mean_is_that_of_the_textbook():
    """Leaving out one day after the other gives s/sqrt(n) with n - 1 for a mean, exactly (Efron 1982)."""
    rng = np.random.default_rng(1)
    start_s = np.sort(rng.uniform(0.0, 40 * DAY_S, 900))
    found = by_day(start_s, rng.exponential(1.0, 900), np.full(900, 30.0))
    errors = spread_errors(found)
    for error, column in ((errors.draws_per_day, 0), (errors.volume_m3, 1), (errors.minute_flow_m3_s, 3)):
        assert error == pytest.approx(found[:, column].std(ddof=1) / np.sqrt(found.shape[0]), rel=1e-9)


def test_the_error_of_a_spread_is_that_of_many_records():
    """The cv and the share of gaps of 200 records of 50 days scatter by what one of them says of itself."""
    rng, values, said = np.random.default_rng(2), [], []
    for _ in range(200):
        n = rng.poisson(rng.gamma(9.0, 2.0, 50))
        start_s = np.sort(np.repeat(np.arange(50), n) * DAY_S + rng.uniform(0.0, DAY_S, n.sum()))
        found = by_day(start_s, rng.exponential(1.0, start_s.size), np.full(start_s.size, 20.0))
        values.append(list(asdict(spread_of(found)).values()))
        said.append(list(asdict(spread_errors(found)).values()))
    scatter = np.std(values, axis=0)
    # 4 se of a standard deviation of 200 is 0.2 of it; the rest is left to chance in the errors themselves
    np.testing.assert_allclose(np.mean(said, axis=0), scatter, rtol=0.25)


def test_a_recorded_flat_counted_plainly():
    """60 days of a flat: by the csv module and loops over days."""
    kept = rows("naples_draws")
    start_s, seconds = (np.array([float(row[key]) for row in kept]) for key in ("start", "duration_s"))
    litres = seconds * np.array([float(row["flow_l_min"]) for row in kept]) / 60.0
    days = {int(at // DAY_S): 0.0 for at in start_s}
    for at, volume in zip(start_s, litres, strict=True):
        days[int(at // DAY_S)] += volume
    spread = spread_of(by_day(start_s, litres / 1000.0, seconds))
    assert spread.draws_per_day == pytest.approx(len(kept) / len(days))
    assert spread.volume_m3 * 1000.0 == pytest.approx(np.mean(list(days.values())))
    assert spread.volume_cv == pytest.approx(cv(np.array(list(days.values()))))
    assert spread.within_5_min_share == pytest.approx(np.mean(np.diff(start_s) < 300.0))


def test_two_ways_to_lay_draws_over_each_other_agree():
    """A meter of whole litres, written for the tests alone, shows the same minutes to a litre."""
    house = household(3.0, 1)
    found = by_day(house.start_s, house.litres, house.seconds)
    metered = house.minutes().reshape(-1, 1440).max(axis=1)
    assert found.shape[0] == house.n_days
    assert np.abs(found[:, 3] * 60.0 - metered).max() <= 1.0
    assert over_mean(found[:, 0]) == pytest.approx(over_mean(house.by_day()))
    assert next_day(found[:, 1]) == pytest.approx(next_day(house.by_day(house.litres)))


def write(path, house):
    lines = ["start,flow_l_min,at_psi,duration_s"]
    draws = zip(house.start_s, house.flow_l_min(), house.seconds, strict=True)
    lines += [f"{at:.3f},{flow:.6f},45,{seconds:.3f}" for at, flow, seconds in draws]
    path.write_text("\n".join(lines) + "\n")
    return path


@pytest.fixture
def shown(tmp_path, capsys):
    """Return what `check --draws` says of a household, by label."""

    def show(house, site="family_house", **other):
        words = [word for name, value in other.items() for word in (f"--{name}", value)]
        file = write(tmp_path / "draws.csv", house)
        assert main(["check", site, "--draws", str(file), *words]) == FAILS
        lines = capsys.readouterr().out.splitlines()
        return {line[2:].partition(": ")[0]: line for line in lines if ": " in line}

    return show


LABELS = (
    *("draws a day", "water a day", "spread of water a day", "highest minute of a day"),
    *(f"draws within {minutes} min of the one before" for minutes in (1, 5, 30)),
)


def test_a_household_of_the_site_is_not_marked(shown):
    found = shown(household(4.0, 1))
    assert "365" in found["days with metered draws"]
    for label in LABELS:
        assert not found[label].startswith("!"), found[label]
        assert "±" in found[label] and "household of the site" in found[label]


def test_another_household_is_marked(shown):
    found = shown(household(1.0, 1), units="si")
    marked = {label for label in LABELS if found[label].startswith("!")}
    assert {"draws a day", "water a day", "draws within 30 min of the one before"} <= marked
    assert " L ± " in found["water a day"]


def test_draws_that_come_alone_are_marked(shown):
    found = shown(household(4.0, 1, **{"house.sessions_per_person_day": 0.0}))
    assert found["draws within 5 min of the one before"].startswith("!")
    assert not found["draws a day"].startswith("!")


def test_a_few_days_are_said_to_be_too_few(shown):
    house = household(4.0, 1)
    found = shown(house.where(house.start_s < 10 * DAY_S))
    assert found["days with metered draws"].startswith("! days with metered draws: 10")
    assert not set(LABELS) & set(found)


def test_draws_years_apart_are_a_day_each(tmp_path, capsys):
    file = tmp_path / "draws.csv"
    starts = [day * DAY_S * 900 for day in range(20)]  # over the 50 years a file may reach
    file.write_text("start,flow_l_min,at_psi,duration_s\n" + "".join(f"{at},6,45,30\n" for at in starts))
    assert main(["check", "cottage", "--draws", str(file)]) == FAILS
    assert "days with metered draws: 20" in capsys.readouterr().out
