"""The same run twice, with other policies beside it, and with recorded draws and rain."""

import dataclasses
import hashlib
import math
import pickle

import numpy as np
import pandas as pd
import pytest
from vega_datasets import data

from sim.outcome.frames import frames
from sim.outcome.measures import row
from sim.scenario.catchment import RainSource
from sim.scenario.read.load import load
from sim.scenario.read.series import read_rain
from sim.study.runs.replicate import study
from sim.study.runs.request import Design, Inputs
from sim.twin.run import common_inputs, run

GPM, PSI, GALLON = 6.30901964e-5, 6894.757293168361, 3.785411784e-3


def _bytes(rows):
    return pd.DataFrame(rows).to_csv(index=False).encode()


def _rows(scenario, policies, seed=1, replication=0):
    common = common_inputs(scenario, replication, seed, 1)
    return [row(run(scenario, policy, common)) for policy in policies]


def test_same_seed_same_bytes_and_another_seed_differs(tiny):
    scenario = tiny()
    first, again = (_bytes(_rows(scenario, scenario.policies)) for _ in range(2))
    assert first == again
    assert first != _bytes(_rows(scenario, scenario.policies, seed=2))
    assert first != _bytes(_rows(scenario, scenario.policies, replication=1))


def test_other_policies_change_nothing_for_one(tiny):
    scenario = tiny()
    whole = _rows(scenario, scenario.policies)
    for left_out in range(len(scenario.policies)):
        fewer = [policy for i, policy in enumerate(scenario.policies) if i != left_out]
        assert _bytes(_rows(scenario, fewer)) == _bytes([r for i, r in enumerate(whole) if i != left_out])
    assert _bytes(_rows(scenario, scenario.policies[::-1])) == _bytes(whole[::-1])


def test_a_study_gives_the_rows_of_its_runs(tiny):
    scenario = tiny()
    found = study(Design("tiny", scenario, scenario.policies[:2]), Inputs(1, 1), 2)
    single = [
        r for policy in scenario.policies[:2] for n in range(2) for r in _rows(scenario, [policy], 1, n)
    ]
    assert _bytes(found.rows) == _bytes(single)


def _hashes(common):
    return {
        field.name: hashlib.sha256(pickle.dumps(getattr(common, field.name))).hexdigest()
        for field in dataclasses.fields(common)
    }


def test_every_policy_meets_the_same_fate_and_changes_nothing_of_it(tiny):
    scenario = tiny()
    common = common_inputs(scenario, 0, 3, 1)
    before = _hashes(common)
    assert before == _hashes(common_inputs(scenario, 0, 3, 1))
    found = []
    for policy in scenario.policies:
        found.append(run(scenario, policy, common))
        assert _hashes(common) == before
    for other in found[1:]:
        np.testing.assert_array_equal(other.rain_m, found[0].rain_m)
        for name in ("start_s", "coefficient", "duration_s", "volume_m3", "patience_s"):
            np.testing.assert_array_equal(other.draws[name], found[0].draws[name])
        assert (
            other.parts["bladder"].number > 0
            or other.parts["bladder"].life_s == found[0].parts["bladder"].life_s
        )


def test_a_metered_draw_by_hand(tiny, short, metered):
    # One tap known to give 2 gpm at 45 psi, opened for 30 s at 06:00 of the second day, and 4 gal of a washer
    # at 07:00. K = 2 gpm/sqrt(45 psi). The flow that it got must satisfy the orifice law at the pressure it
    # got.
    nan = math.nan
    scenario = tiny(house={"leak": "0 L/d"}, power={"cuts_per_year": 0.0})
    asked = metered(
        [[108000.0, 2 * GPM, 30.0, nan], [111600.0, 3 * GPM, nan, 4 * GALLON]], reference_pa=45 * PSI
    )
    common = short(scenario, 3, draws=asked)
    history = run(scenario, scenario.policies[-1], common)
    k = 2 * 6.30901964e-5 / math.sqrt(45 * 6894.757293)
    assert common.draws.coefficient[0] == pytest.approx(k, rel=1e-9)
    table = frames(history)["draws"]
    assert table["use"].tolist() == ["metered", "metered"]
    assert str(table["time"].iloc[0]) == "2021-01-02 06:00:00"
    assert table["seconds"].iloc[0] == pytest.approx(30.0, abs=1e-6)
    assert table["volume_m3"].iloc[1] == pytest.approx(4 * GALLON, rel=1e-9)
    assert table["flow_m3_s"].iloc[0] == pytest.approx(
        k * math.sqrt(table["tap_pressure_min_pa"].iloc[0]), rel=0.02
    )
    assert table["flow_m3_s"].iloc[0] >= k * math.sqrt(table["tap_pressure_min_pa"].iloc[0]) * (1 - 1e-9)
    assert history.days[:, 0].sum() == pytest.approx(table["volume_m3"].sum(), rel=1e-9)


@pytest.fixture(scope="module")
def seattle(tmp_path_factory):
    """Daily rain at Seattle 2012-2015 (NOAA, as kept in vega_datasets), as three files that say the same."""
    frame = data.seattle_weather()[["date", "precipitation"]]
    folder = tmp_path_factory.mktemp("seattle")
    frame.to_csv(folder / "mm.csv", index=False)
    inches = pd.DataFrame(
        {"Day": frame["date"].dt.strftime("%d.%m.%Y"), "Rain": (frame["precipitation"] / 25.4).round(6)}
    )
    inches.to_csv(folder / "in.csv", index=False)
    return (
        read_rain(folder / "mm.csv", RainSource()),
        read_rain(
            folder / "in.csv",
            RainSource(date_column="Day", depth_column="Rain", date_format="%d.%m.%Y", depth_unit="in"),
        ),
    )


def test_seattle_record_whole(seattle):
    # vega_datasets: 1,461 days and 4,426.0 mm in all, counted with pandas on the file itself.
    mm, inches = seattle
    assert mm.depth_m.size == inches.depth_m.size == 1461
    assert mm.depth_m.sum() == pytest.approx(4.426, rel=1e-12)
    np.testing.assert_array_equal(mm.dates, inches.dates)
    np.testing.assert_allclose(mm.depth_m, inches.depth_m, atol=0.5e-6 * 0.0254 * 1.001)


def test_seattle_in_inches_gives_the_same_year(seattle):
    scenario = load("family_house")
    found = [
        row(run(scenario, scenario.policies[0], common_inputs(scenario, 0, 1, 1, rain_record=record)))
        for record in seattle
    ]
    assert found[0].keys() == found[1].keys()
    for name, value in found[0].items():
        if isinstance(value, str) or name == "ledger_error":
            continue
        # Depths are rounded to 1e-6 in: about 1e-6 of the year's rain, and less of anything else.
        assert found[1][name] == pytest.approx(value, rel=1e-4, abs=1e-9, nan_ok=True), name
