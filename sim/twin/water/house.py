"""The house as one record: all that the compiled side reads and writes, handed over as an array of one.

A new field stands in the record it belongs to, is filled in `sim/twin/water/unpack.py`, and is read wherever
the house is at hand: no call changes.
"""

import numpy as np

from sim.plant.state import PLANT, STATE
from sim.scenario.scenario import MOST_STAGES

CLASSES = 4  # size classes of solids; row 4 of the ledger is colour
COLOUR = 4
# Ledger columns: start + in = stored + house + spilled + removed, for every row.
IN, TO_HOUSE, SPILLED, REMOVED = range(4)
PARTS = ("lamp", "pump", "bladder", "second lamp")  # the last lives for ever where there is one UV unit
LAMP, PUMP, BLADDER, SECOND = range(len(PARTS))

# What water carries and what it leaves behind.
WATER = np.dtype(
    [
        ("colour", "f8"),  # absorbance times volume in the cistern [m2]
        ("dust_kg_m2", "f8"),
        ("roof_colour", "f8"),  # absorbance times depth on the roof
        ("diverted_m", "f8"),
        ("dry_s", "f8"),
        ("neglect", "f8"),  # of gutters and diverter, 0 to 1
        ("overflow_m3", "f8"),
        ("inflow_m3", "f8"),
        ("sleeve_film", "f8"),
        ("sleeve_fixed", "f8"),
        ("window_film", "f8"),
        ("window_fixed", "f8"),
        ("lamp_lit_s", "f8"),
        ("water_c", "f8"),
        ("absorbance_per_m", "f8"),
        ("reading", "f8"),
        ("drop_flow_m3_s", "f8"),  # flow at which drops are read today
        ("solids_kg", "f8", (CLASSES,)),  # in the cistern's water
        ("sludge_kg", "f8", (CLASSES,)),
        ("settling_m_s", "f8", (CLASSES,)),  # today
        ("ledger", "f8", (CLASSES + 1, 4)),
    ]
)

# What stays the same about roof, cistern and UV unit.
SITE = np.dtype(
    [
        ("area_m2", "f8"),
        ("coefficient", "f8"),
        ("wetting_loss_m", "f8"),
        ("first_flush_m", "f8"),
        ("first_flush_reset_s", "f8"),
        ("dust_limit_kg_m2", "f8"),
        ("dust_time_s", "f8"),
        ("dust_base_kg_m3", "f8"),
        ("washoff_per_m", "f8"),
        ("colour_limit", "f8"),
        ("colour_base_per_m", "f8"),
        ("gutter_decay_per_s", "f8"),
        ("gutter_dirt_factor", "f8"),
        ("capacity_m3", "f8"),
        ("floor_m2", "f8"),
        ("intake_m3", "f8"),
        ("grain_kg_m3", "f8"),
        ("calming", "f8"),
        ("stir_up_per_m3", "f8"),
        ("low_draw_per_m3", "f8"),
        ("low_level", "f8"),
        ("colour_decay_per_s", "f8"),
        ("sleeve_film_per_s", "f8"),
        ("window_film_per_s", "f8"),
        ("lamp_tau_s", "f8"),
        ("burn_in_s", "f8"),
        ("burn_in_loss", "f8"),
        ("optimum_c", "f8"),
        ("output_at_freezing", "f8"),
        ("dose_new_j_m2", "f8"),
        ("rated_flow_m3_s", "f8"),
        ("rated_absorbance_per_m", "f8"),
        ("reference_absorbance_per_m", "f8"),
        ("gap_m", "f8"),
        ("sensor_path_m", "f8"),
        ("solids_absorbance_m2_kg", "f8"),
        ("alarm", "f8"),
        ("reading_flow_m3_s", "f8"),
        ("water_mean_c", "f8"),
        ("water_swing_c", "f8"),
        ("warmest_day", "f8"),
        ("pipe_quadratic", "f8"),
        ("bypass_quadratic_m4", "f8"),  # over the density of the water
        ("uv_units", "i8"),
        ("uv_left", "f8"),  # share of the dose that one of two units gives all water when the other is dark
        ("uv_least_m3_s", "f8"),  # least tested flow of the train, all units lit, and with one dark
        ("uv_least_left_m3_s", "f8"),
        ("uv_linear", "f8"),  # of all units
        ("uv_quadratic", "f8"),  # of all units and a restrictor before them
        ("uv_shut_linear", "f8"),  # what the valve of a dark unit adds, as the other takes all water
        ("uv_shut_quadratic", "f8"),
        ("most_m3_s", "f8"),  # held by a constant-flow restrictor; infinite without one
        ("lift_m", "f8"),
        ("diameters_m", "f8", (CLASSES,)),
        ("fractions", "f8", (CLASSES,)),  # of the roof's dirt
        ("stage_count", "i8"),
    ]
)

STAGE = np.dtype(
    [
        ("linear", "f8"),  # clean, at 20 C, all housings
        ("quadratic", "f8"),
        ("capacity_kg", "f8"),
        ("growth", "f8"),
        ("exponent", "f8"),  # of the blocking law
        ("plateau_share", "f8"),
        ("bed_m3", "f8"),
        ("initial", "f8"),
        ("floor", "f8"),
        ("half_bed_volumes", "f8"),
        ("steepness", "f8"),
        ("collapse_pa", "f8"),
        ("released", "f8"),
        ("catch", "f8", (CLASSES,)),  # share caught
        # what use makes of it
        ("load_kg", "f8", (CLASSES,)),
        ("passed_m3", "f8"),
        ("torn", "i8"),
        ("resistance", "f8"),  # now, viscosity included [Pa s/m3]
        ("worst_pa", "f8"),
        ("scatter", "f8"),  # capacity of these cartridges over that of the usual ones
    ]
)

# What people left wrong, as the physics needs to know it (`sim.twin.people.faults` sets it).
FAULTS = np.dtype(
    [
        ("share", "f8"),  # of the water that goes through the train; below 1 while the bypass stands open
        ("reading_left", "f8"),  # of the UV reading
        ("unplugged", "i8"),  # nothing is lit, nothing sounds
        ("bypass_open", "i8"),
        ("train_shut", "i8"),  # all the water goes through an open bypass
    ]
)

PART = np.dtype(
    [
        ("life_s", "f8"),
        ("used_s", "f8"),
        ("broken", "i8"),
        ("number", "i8"),
        ("since_s", "f8"),  # when it was put in
        # of a pump, as of midnight: starts that count for wear; where it may cavitate, what it had run and
        # what of that counts on top
        ("start_count", "f8"),
        ("run_s", "f8"),
        ("hard_s", "f8"),
    ]
)

# How parts age from midnight to midnight.
AGEING = np.dtype(
    [
        ("precharge_pa", "f8"),  # now, of a tank whose bladder is sound
        ("precharge_kept", "f8"),  # share left after a day
        ("drift_pa", "f8"),  # of the pressure switch in a day
        ("band_pa", "f8"),  # least between cut-in and cut-out
        ("head_m", "f8"),  # shut-off head of a new pump
        ("head_wear_per_s", "f8"),
        ("lamp_start_s", "f8"),  # what a start takes of a lamp
        ("cavitates_m3", "f8"),  # volume in the cistern below which the pump has too little suction head
        ("cavitation_factor", "f8"),
        ("short_run_factor", "f8"),
        ("life_age_s", "f8"),  # of a pump: Weibull scales by age, running and starts, and their shape
        ("life_run_s", "f8"),
        ("life_start_count", "f8"),
        ("life_shape", "f8"),
    ]
)

# When the house is looked at next, and what the last look showed.
CLOCK = np.dtype(
    [
        ("due_s", "f8"),
        ("coarse", "i8"),  # looks of today are two hours apart
        ("fine", "i8"),  # those of these two hours ten minutes
        ("failed", "i8"),  # parts that came to their end, a bit each; nobody knows yet
        ("torn", "i8"),  # first stage whose cartridge tears, or -1
        ("first_day", "i8"),  # of the run in its year
        ("standby_broken", "i8"),  # one of two pumps is broken, and a controller shows it
        ("heeds", "i8"),  # the household minds alarm, weak taps and broken parts
        ("weak_s", "f8"),  # time of weak taps in a day that is minded
        ("order_m3", "f8"),  # volume in the cistern below which water is ordered
    ]
)

# How things stood at the last hand-over from loop to water.
MARK = np.dtype(
    [
        ("time_s", "f8"),
        ("cistern_m3", "f8"),
        ("pumped_m3", "f8"),
        ("mains_m3", "f8"),
        ("lit_s", "f8"),
        ("run_s", "f8"),
        ("under_way", "i8"),  # the loop has left it and not yet arrived
    ]
)

HOUSE = np.dtype(
    [
        ("state", STATE),
        ("plant", PLANT),
        ("water", WATER),
        ("site", SITE),
        ("faults", FAULTS),
        ("mark", MARK),
        ("ageing", AGEING),
        ("clock", CLOCK),
        ("parts", PART, (len(PARTS),)),
        ("stages", STAGE, (MOST_STAGES,)),
    ]
)
