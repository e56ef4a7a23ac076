"""The drop from which a cartridge is due: by the site's rule, else by its data sheet where it is read."""

import pytest

from sim.scenario.read.load import load
from sim.twin.due_drop import clean_drop_pa, due_drop_pa, reading_flow_m3_s


def house(rules, **stage):
    """Return the demo with one rule for drops or none, its first stage with other values."""
    site = load("family_house")
    first = site.stages[0].model_copy(
        update={"linear_pa_s_m3": 1e7, "quadratic_pa_s2_m6": 2e10, "housings": 1, **stage}
    )
    policies = tuple(
        policy.model_copy(update={"rules": tuple(
            rule.model_copy(update={"drop_above_pa": rules}) if rule.drop_above_pa is not None else rule
            for rule in policy.rules
        )})
        for policy in site.policies
    )  # fmt: skip
    return site.model_copy(update={"stages": (first, *site.stages[1:]), "policies": policies})


def test_a_rule_of_the_site_goes_before_the_data_sheet():
    assert due_drop_pa(house(40_000.0), 0) == 40_000.0


def test_a_data_sheet_counts_at_the_flow_at_which_the_drop_is_read():
    """Due at a rise of 70 kPa at 10 gpm, read at 5 gpm: half the rise, on top of the clean drop there."""
    site = house(None, terminal_rise_pa=70_000.0, rated_flow_m3_s=6.309e-4)
    gauge = site.gauge.model_copy(update={"reading_flow_m3_s": 3.1545e-4})
    site = site.model_copy(update={"gauge": gauge})
    clean = 1e7 * 3.1545e-4 + 2e10 * 3.1545e-4**2
    assert clean_drop_pa(site, 0) == pytest.approx(clean)
    assert due_drop_pa(site, 0) == pytest.approx(clean + 35_000.0)


def test_a_restrictor_lets_no_more_through_to_read_by():
    site = house(None)
    held = site.model_copy(update={"uv": site.uv.model_copy(update={"restrictor_m3_s": 1e-4})})
    assert reading_flow_m3_s(held) == pytest.approx(1e-4)
    assert reading_flow_m3_s(site) == site.gauge.reading_flow_m3_s
    assert due_drop_pa(held, 0) < due_drop_pa(site, 0)


def test_each_stage_has_the_limit_of_its_own_rule():
    """The demo's second stage is given half the limit of its first."""
    site = house(40_000.0)
    second = site.stages[1].name
    policies = tuple(
        policy.model_copy(update={"rules": tuple(
            rule.model_copy(update={"drop_above_pa": 20_000.0})
            if rule.stage == second and rule.drop_above_pa is not None else rule
            for rule in policy.rules
        )})
        for policy in site.policies
    )  # fmt: skip
    site = site.model_copy(update={"policies": policies})
    assert [due_drop_pa(site, at) for at in (0, 1)] == [40_000.0, 20_000.0]
