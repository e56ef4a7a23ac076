"""Compiled equations give what their plain source gives."""

import pytest

from sim.plant import bypass, carbon, cartridge, fixture, lamp, pipe, pump, pump_life, tank, train, uv, water

CASES = [
    (water.density_kg_m3, (13.7,)),
    (water.viscosity_pa_s, (13.7,)),
    (water.vapour_pressure_pa, (13.7,)),
    (tank.pressure_pa, (0.07, 0.2, 260e3, 98e3, 1.25)),
    (tank.water_m3, (330e3, 0.2, 260e3, 98e3, 1.25)),
    (tank.drawdown_m3, (0.2, 260e3, 276e3, 414e3, 98e3, 1.25)),
    (tank.atmosphere_at_pa, (1234.0,)),
    (pump.head_m, (5e-4, 55.0, 3.4e7)),
    (pump.flow_m3_s, (3e5, 2.0, 55.0, 3.4e7, 4e6, 999.0)),
    (pump.speed_ratio, (9e-4, 38.88, 60.0, 12e6)),
    (pump.efficiency, (5e-4, 6e-4, 0.3)),
    (pump.electrical_power_w, (5e-4, 45.0, 999.0, 0.3)),
    (pump.worst_starts_per_hour, (6e-4, 0.04)),
    (pump.npsh_available_m, (101e3, 1.5e3, 999.0, 2.0, 0.5)),
    (pipe.friction_factor, (1500.0, 1e-4)),
    (pipe.friction_factor, (3100.0, 1e-4)),
    (pipe.friction_factor, (31_000.0, 1e-4)),
    (pipe.friction_factor_haaland, (31_000.0, 1e-4)),
    (pipe.quadratic_pa_s2_m6, (5e-4, 12.0, 0.02, 1.5e-6, 6.0, 999.0, 1.2e-3)),
    (fixture.coefficient, (1.5e-4, 3e5)),
    (fixture.flow_m3_s, (2e-7, 3e5)),
    (train.flow_m3_s, (3e5, 4e8, 9e11)),
    (train.drop_pa, (5e-4, 4e8, 9e11)),
    (train.linear_of, (4e8, 2.0)),
    (train.quadratic_of, (9e11, 2.0)),
    *((cartridge.resistance_ratio, (0.6, n, 0.8, 0.1)) for n in (0.0, 0.9, 1.0, 1.5, 2.0)),
    *((cartridge.growth_for, (n, 12.0)) for n in (0.0, 0.9, 1.0, 1.5, 2.0)),
    (cartridge.capacity_factor, (-0.7, 0.08, 2.0)),
    (bypass.train_share, (3e-4, 1.5e8, 2e11, 4e10)),
    (cartridge.efficiency_half_size_m, (5e-6, 0.85, 2.5)),
    (cartridge.capture_efficiency, (7e-6, 3e-6, 2.5)),
    (carbon.removal_fraction, (2500.0, 0.3, 0.05, 3000.0, 4.0)),
    (carbon.contact_time_s, (6e-4, 4e-4)),
    (uv.water_factor, (4.5, 0.0235)),
    (uv.water_factor, (0.0, 0.0235)),
    (uv.new_dose_j_m2, (400.0, 0.7)),
    (uv.dose_j_m2, (3e-4, 4e-4, 571.0, 5.0, 2.2, 0.0235, 0.6)),
    (uv.dose_j_m2, (3e-5, 4e-4, 571.0, 5.0, 2.2, 0.0235, 0.6, 1e-4)),
    (uv.sensor_fraction, (0.8, 0.9, 0.95, 0.98, 5.0, 2.2, 0.0235)),
    (uv.absorbance_per_m, (0.87,)),
    (uv.transmittance_per_cm, (5.0,)),
    (uv.film_transmittance, (0.3,)),
    (uv.film_after_wipe, (0.3, 0.02, 0.95, 0.2)),
    (uv.least_protecting_dose_j_m2, (400.0, 0.6)),
    (uv.alarm_protects, (571.0, 400.0, 0.6)),
    (lamp.output, (1e7, 8e7, 3.6e5, 0.05)),
    (lamp.time_constant_from, (0.7, 3e7)),
    (lamp.temperature_factor, (6.0, 15.0, 0.8)),
    (lamp.weibull_life_s, (0.37, 4e7, 3.0)),
    (pump_life.equivalent_age_s, (3e8, 4e6, 2e4, 5e8, 2e7, 3e5, 2.5)),
    (pump_life.counted_starts, (1200.0, 80.0, 2.0)),
]


@pytest.mark.parametrize(("function", "arguments"), CASES, ids=lambda x: getattr(x, "__name__", ""))
def test_compiled_gives_what_the_source_gives(function, arguments):
    # the compiler's pow, exp and log may differ from the interpreter's in the last bits
    assert function(*arguments) == pytest.approx(function.py_func(*arguments), rel=1e-14)


def test_every_public_equation_of_these_modules_is_compared():
    modules = (water, tank, pump, pump_life, pipe, fixture, train, cartridge, carbon, uv, lamp, bypass)
    public = {
        f"{m.__name__}.{name}"
        for m in modules
        for name, value in vars(m).items()
        if hasattr(value, "py_func") and not name.startswith("_") and value.__module__ == m.__name__
    }
    assert public == {f"{f.__module__}.{f.__name__}" for f, _ in CASES}
