"""Houses of the second plant with a restrictor before the UV unit: constant flow, or an orifice."""

from dataclasses import replace

import numpy as np
import pytest

from tests.second import project
from tests.second.apart import BARS, apart, case_of

GPM, PSI = 6.30902e-5, 6894.757
SHORT = 2


def with_restrictor(seed, kind):
    """Return a random house with a restrictor: of 1 to 4 gpm, that needs 2 to 12 psi."""
    rng = np.random.default_rng([seed, 2])  # apart: the houses stay those drawn without one
    case = case_of(seed, SHORT)
    fitted = {
        "restrictor_m3_s": rng.uniform(1.0, 4.0) * GPM,
        "restrictor_drop_pa": rng.uniform(2.0, 12.0) * PSI,
        "restrictor_kind": kind,
    }
    unit = case.scenario.uv.model_copy(update=fitted)
    return replace(case, scenario=case.scenario.model_copy(update={"uv": unit}))


@pytest.mark.parametrize("kind", ["constant flow", "orifice"])
@pytest.mark.parametrize(
    "seed", [1, 2, 3, *(pytest.param(seed, marks=pytest.mark.long) for seed in (4, 5, 6))]
)
def test_both_plants_hold_the_flow_alike(seed, kind):
    found, second = apart(with_restrictor(seed, kind))
    over = {bar.name: value for bar, value in zip(BARS, found, strict=True) if not value <= bar.limit}
    assert over == {} and second.book.log


def test_the_restrictor_holds_the_flow_in_most_of_these_houses():
    held = 0
    for seed in range(1, 7):
        case = with_restrictor(seed, "constant flow")
        most = case.scenario.uv.restrictor_m3_s
        peak = float(project.Compiled(case).s["peak_flow_m3_s"][0])
        assert peak <= most * (1.0 + 1e-9)
        held += peak >= most * (1.0 - 1e-9)
    assert held >= 4  # of six
