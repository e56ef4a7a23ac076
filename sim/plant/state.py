"""The plant as the compiled loop sees it: a record that changes, one that holds still, the day's columns."""

import math

import numpy as np

MOST_OPEN = 512  # taps open at once that the loop can hold
# Dose histogram: volume by dose, log-spaced, first bin below 0.1 J/m2 (dark), last bin above 1e5 J/m2.
DOSE_LOW_J_M2, DOSE_BINS_PER_DECADE, DOSE_BINS = 0.1, 20, 122
DOSE_EDGES_J_M2 = np.array(  # upper edges of all but the last
    [DOSE_LOW_J_M2 * math.pow(10.0, k / DOSE_BINS_PER_DECADE) for k in range(DOSE_BINS - 1)]
)

# What changes second by second.
STATE = np.dtype(
    [
        ("time_s", "f8"),
        ("water_m3", "f8"),  # in the pressure tank
        ("cistern_m3", "f8"),
        ("phi", "f8"),  # integral of sqrt(tap pressure) since taps were last all shut [Pa^0.5 s]
        ("mains_m3", "f8"),  # into the cistern through the air gap, since the start
        ("pumped_m3", "f8"),  # out of the cistern, since the start
        ("house_m3", "f8"),  # through the train, since the start
        ("energy_j", "f8"),
        ("slow_s", "f8"),  # for how long a pump that holds its pressure has had too little to do
        ("run_s", "f8"),
        ("lit_s", "f8"),
        ("peak_flow_m3_s", "f8"),  # since the hand-over
        ("warm_at_s", "f8"),
        ("pump_from_s", "f8"),  # a standby pump takes over
        ("pump_on", "i8"),
        ("mains_on", "i8"),  # the float valve stands open
        ("dry", "i8"),  # dry-run trip
        ("power", "i8"),
        ("lamp_starts", "i8"),
        ("next_draw", "i8"),
        ("next_cut", "i8"),
        ("open_count", "i8"),
        ("pump_rows", "i8"),
        ("trace_rows", "i8"),
        ("why_cold", "i8"),  # cause of the last spell without a warm lamp (`sim.plant.cause`)
        (
            "why_low",
            "i8",
        ),  # cause for which the pump could not fill the tank, until it was full once; or none
        ("open_draw", "i8", (MOST_OPEN,)),  # numbers of the draws that stand open
        ("open_phi", "f8", (MOST_OPEN,)),  # phi at which each opened
        ("dose_m3", "f8", (DOSE_BINS,)),  # volume by dose
    ]
)

# What holds still between two hand-overs.
PLANT = np.dtype(
    [
        ("tank_m3", "f8"),
        ("precharge_pa", "f8"),
        ("atmosphere_pa", "f8"),
        ("exponent", "f8"),
        ("cut_in_pa", "f8"),
        ("cut_out_pa", "f8"),
        ("shutoff_head_m", "f8"),
        ("curve_s2_m5", "f8"),
        ("suction_s2_m5", "f8"),
        ("air_head_m", "f8"),  # of the air over the vapour of the water
        ("npsh_required_m", "f8"),
        ("height_m", "f8"),
        ("floor_m2", "f8"),
        ("intake_m3", "f8"),
        ("restart_m3", "f8"),
        ("mains_m3_s", "f8"),  # that the float valve lets in; 0 without mains
        ("mains_below_m3", "f8"),  # it opens; below any level without mains
        ("mains_until_m3", "f8"),  # it shuts
        ("best_flow_m3_s", "f8"),
        ("best_efficiency", "f8"),
        ("drive_efficiency", "f8"),  # of what sets the speed; 1 where nothing does
        ("least_pumped_m3_s", "f8"),  # below it a pump that holds its pressure stops, after a while
        ("stop_delay_s", "f8"),
        ("density_kg_m3", "f8"),
        ("linear_pa_s_m3", "f8"),
        ("quadratic_pa_s2_m6", "f8"),
        ("most_m3_s", "f8"),  # that a restrictor lets through the train; infinite where none holds it
        ("static_pa", "f8"),
        ("trickle_pa", "f8"),  # gauge pressure below which an opened tap gives less than a trickle
        ("leak_coefficient", "f8"),
        ("dose_flow", "f8"),  # dose times flow of the lit, warm unit [J/m2 m3/s]
        ("dose_flow_best", "f8"),  # the same with a new lamp, a clean sleeve and water no worse than rated
        ("dose_flow_water", "f8"),  # with the water as it is
        ("dose_flow_lamp", "f8"),  # and with the lamp as it is; the sleeve is what is left
        ("least_flow_m3_s", "f8"),  # least tested flow of the UV unit: below it no more dose is credited
        ("target_j_m2", "f8"),
        ("low_tap_pa", "f8"),
        ("served_share", "f8"),
        ("warm_up_s", "f8"),
        ("step_share", "f8"),  # largest change of the air volume in one step
        ("pump_works", "i8"),
        ("gravity", "i8"),  # the cistern feeds by its level: no pump ever runs, the tank stays empty
        ("holds", "i8"),  # the pump holds the cut-out pressure by its speed
        ("lamp_works", "i8"),  # a lamp is good and the unit plugged in
        ("alarm", "i8"),
        ("none_bright", "i8"),  # the brightest UV unit reads below the alarm too
        ("valve", "i8"),  # shut-off valve fitted
        ("shut", "i8"),  # isolation valve shut for service
        ("why_alarm", "i8"),  # causes (`sim.plant.cause`), as they would be booked now
        ("why_dark", "i8"),  # of a lamp that does not work
        ("why_shut", "i8"),
        ("why_pump", "i8"),  # of a pump that does not work
        ("why_clogged", "i8"),
        ("why_water", "i8"),
        ("why_lamp", "i8"),  # of an old lamp
        ("why_film", "i8"),  # on the sleeve
        ("why_dim", "i8"),  # of films, for a reading that is low
    ]
)

DAY_COLUMNS = (
    "supplied_m3",
    "unmet_m3",
    "unmet_draws",
    "below_target_m3",
    "dose_least_j_m2",
    "tank_pressure_min_pa",
    "tank_pressure_max_pa",
    "tap_pressure_min_pa",
    "water_off_s",
    "alarm_s",
    "low_light_s",
    "low_pressure_s",
    "pump_starts",
    "short_runs",
    "longest_run_s",
)
(
    SUPPLIED,
    UNMET,
    UNMET_DRAWS,
    BELOW_TARGET,
    DOSE_LEAST,
    TANK_MIN,
    TANK_MAX,
    TAP_MIN,
    WATER_OFF,
    ALARM,
    LOW_LIGHT,
    LOW_PRESSURE,
    STARTS,
    SHORT_RUNS,
    LONGEST_RUN,
) = range(len(DAY_COLUMNS))

SHORT_RUN_S = 60.0  # a pump run should last a minute (trade press on pressure tanks; common practice)

OK, LOG_FULL, TOO_MANY_OPEN, TOO_FAST = 0, 1, 2, 3
MOST_STEPS = 2_000_000  # in one call, at most a day; a house that is used much takes some 50,000


def new_days(n_days: int) -> np.ndarray:
    """Return the empty table of a run's days.

    Parameters
    ----------
    n_days : int
        Days of the run, above 0.

    Returns
    -------
    ndarray
        Shape (n_days, len(DAY_COLUMNS)); least values start at infinity.
    """
    days = np.zeros((n_days, len(DAY_COLUMNS)))
    days[:, [DOSE_LEAST, TANK_MIN, TAP_MIN]] = np.inf
    return days
