"""The slow side between hand-overs, compiled: what water carries, what stages catch, how the UV dims."""

import math

import numpy as np

from sim.compiled import compiled
from sim.constants import GRAVITY_M_S2
from sim.plant import carbon, cartridge, lamp, train, uv, water
from sim.supply import cistern, roof

CLASSES = 4  # size classes of solids; row 4 of the ledger is colour
COLOUR = 4
TRICKLE_M3_S = 1e-3 / 60.0  # a tap that gives less than 1 L/min counts as off [A]
# Ledger columns: start + in = stored + house + spilled + removed, for every row.
IN, HOUSE, SPILLED, REMOVED = range(4)

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
    ]
)

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
        ("uv_linear", "f8"),
        ("uv_quadratic", "f8"),
        ("lift_m", "f8"),
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
        ("passed_m3", "f8"),
        ("torn", "i8"),
        ("resistance", "f8"),  # now, viscosity included [Pa s/m3]
        ("worst_pa", "f8"),
        ("scatter", "f8"),  # capacity of these cartridges over that of the usual ones
    ]
)


@compiled
def roof_day(rain_m, day_s, s, w, c, fractions, solids, sludge, ledger):
    """Let one day's rain fall: build-up, first flush, wash-off, mixing and overflow in the cistern.

    Parameters
    ----------
    fractions : ndarray
        Share of each size class in the roof's dirt, shape (4,).
    solids, sludge : ndarray
        Mass in the water and in the sludge by class [kg], shape (4,).
    """
    w.neglect = 1.0 - (1.0 - w.neglect) * math.exp(-c.gutter_decay_per_s * day_s)
    w.dust_kg_m2 = roof.dust_after(w.dust_kg_m2, day_s, c.dust_limit_kg_m2, c.dust_time_s)
    w.roof_colour = roof.dust_after(w.roof_colour, day_s, c.colour_limit, c.dust_time_s)
    depth = roof.runoff_depth_m(rain_m, c.wetting_loss_m, c.coefficient)
    if depth <= 0.0:
        w.dry_s += day_s
        return
    if w.dry_s >= c.first_flush_reset_s:
        w.diverted_m = 0.0
    w.dry_s = 0.0
    lost = roof.diverted_depth_m(depth, w.diverted_m, c.first_flush_m * (1.0 - w.neglect))
    w.diverted_m += lost
    kept = depth - lost
    dirtier = 1.0 + (c.gutter_dirt_factor - 1.0) * w.neglect
    w.dust_kg_m2 -= roof.washed(w.dust_kg_m2, lost, c.washoff_per_m)
    w.roof_colour -= roof.washed(w.roof_colour, lost, c.washoff_per_m)
    dust = roof.washed(w.dust_kg_m2, kept, c.washoff_per_m)
    tint = roof.washed(w.roof_colour, kept, c.washoff_per_m)
    w.dust_kg_m2 -= dust
    w.roof_colour -= tint
    inflow = kept * c.area_m2
    mass = c.area_m2 * (dust + c.dust_base_kg_m3 * kept) * dirtier
    colour = c.area_m2 * (tint + c.colour_base_per_m * kept)
    for k in range(CLASSES):
        up = cistern.resuspended_kg(sludge[k], inflow, c.stir_up_per_m3, c.calming)
        sludge[k] -= up
        solids[k], spilled = cistern.mix_in(
            solids[k] + up, s.cistern_m3, inflow, mass * fractions[k], c.capacity_m3
        )
        ledger[k, IN] += mass * fractions[k]
        ledger[k, SPILLED] += spilled
    w.colour, spilled = cistern.mix_in(w.colour, s.cistern_m3, inflow, colour, c.capacity_m3)
    ledger[COLOUR, IN] += colour
    ledger[COLOUR, SPILLED] += spilled
    s.cistern_m3, over = cistern.fill(s.cistern_m3, inflow, c.capacity_m3)
    w.overflow_m3 += over
    w.inflow_m3 += inflow


@compiled
def carry(dt_s, before_m3, pumped_m3, s, w, c, settling_m_s, catch, stages, loads, solids, sludge, ledger):
    """Carry solids and colour with the water that was pumped since the last hand-over, through the stages.

    Parameters
    ----------
    settling_m_s : ndarray
        Settling velocity by class, shape (4,).
    catch : ndarray
        Capture efficiency by stage and class, shape (n, 4).
    stages : ndarray
        Stage records, shape (n,).
    loads : ndarray
        Caught mass by stage and class [kg], shape (n, 4).
    """
    usable = max(c.capacity_m3 - c.intake_m3, 1e-9)
    level = max(before_m3 - c.intake_m3, 0.0) / usable
    for k in range(CLASSES):
        solids[k], mass, settled = cistern.draw_and_settle(
            solids[k], before_m3, pumped_m3, settling_m_s[k] * c.floor_m2, dt_s
        )
        sludge[k] += settled
        drawn = cistern.entrained_kg(sludge[k], pumped_m3, level, c.low_draw_per_m3, c.low_level)
        sludge[k] -= drawn
        mass += drawn
        for i in range(stages.size):
            if not stages[i].torn:
                caught = catch[i, k] * mass
                loads[i, k] += caught
                mass -= caught
        ledger[k, HOUSE] += mass
    w.colour, lost = cistern.decayed(w.colour, c.colour_decay_per_s, dt_s)
    ledger[COLOUR, REMOVED] += lost
    w.colour, tint, _ = cistern.draw_and_settle(w.colour, before_m3, pumped_m3, 0.0, dt_s)
    for i in range(stages.size):
        if stages[i].bed_m3 > 0.0 and not stages[i].torn:
            taken = tint * _colour_removal(stages[i])
            ledger[COLOUR, REMOVED] += taken
            tint -= taken
        stages[i].passed_m3 += pumped_m3
    ledger[COLOUR, HOUSE] += tint


@compiled
def _colour_removal(stage):
    volumes = stage.passed_m3 / stage.bed_m3
    return carbon.removal_fraction(
        volumes, stage.initial, stage.floor, stage.half_bed_volumes, stage.steepness
    )


@compiled
def dim(lit_s, w, c):
    """Age the lamp and grow the films on sleeve and sensor window while the lamp is lit."""
    w.lamp_lit_s += lit_s
    w.sleeve_film += c.sleeve_film_per_s * lit_s
    w.window_film += c.window_film_per_s * lit_s


@compiled
def absorbance_after_per_m(cistern_m3, w, c, catch, stages, solids):
    """Return the absorbance of the water that reaches the UV unit.

    Parameters
    ----------
    catch : ndarray
        Capture efficiency by stage and class, shape (n, 4).
    solids : ndarray
        Mass in the water by class [kg], shape (4,).

    Returns
    -------
    float
        Decadic absorbance [1/m].
    """
    if cistern_m3 <= 0.0:
        return w.absorbance_per_m
    tint, dirt = w.colour / cistern_m3, 0.0
    for k in range(CLASSES):
        left = solids[k] / cistern_m3
        for i in range(stages.size):
            if not stages[i].torn:
                left *= 1.0 - catch[i, k]
        dirt += left
    for i in range(stages.size):
        if stages[i].bed_m3 > 0.0 and not stages[i].torn:
            tint *= 1.0 - _colour_removal(stages[i])
    return tint + dirt * c.solids_absorbance_m2_kg


@compiled
def refresh(s, p, w, c, catch, stages, loads, solids, dark):
    """Give the plant record what wear and water have made of it."""
    p.density_kg_m3 = water.density_kg_m3(w.water_c)
    thicker = water.viscosity_pa_s(w.water_c) / water.viscosity_pa_s(20.0)
    linear, quadratic = c.uv_linear, c.pipe_quadratic + c.uv_quadratic
    for i in range(stages.size):
        x = loads[i].sum() / stages[i].capacity_kg
        grown = 1.0
        if not stages[i].torn:
            grown = cartridge.resistance_ratio(
                x, stages[i].exponent, stages[i].growth, stages[i].plateau_share
            )
        drop = train.drop_pa(s.peak_flow_m3_s, stages[i].resistance, stages[i].quadratic)
        stages[i].resistance = stages[i].linear * thicker * grown
        stages[i].worst_pa = max(stages[i].worst_pa, drop)
        linear += stages[i].resistance
        quadratic += stages[i].quadratic
    s.peak_flow_m3_s = 0.0
    p.linear_pa_s_m3, p.quadratic_pa_s2_m6 = linear, quadratic
    p.static_pa = p.density_kg_m3 * GRAVITY_M_S2 * c.lift_m
    most = train.flow_m3_s(p.cut_in_pa - p.static_pa, linear, quadratic)
    w.drop_flow_m3_s = min(c.reading_flow_m3_s, most)  # a clogged train does not let the reading flow through
    p.trickle_pa = p.static_pa + train.drop_pa(TRICKLE_M3_S, linear, quadratic)
    w.absorbance_per_m = absorbance_after_per_m(s.cistern_m3, w, c, catch, stages, solids)
    output = lamp.output(w.lamp_lit_s, c.lamp_tau_s, c.burn_in_s, c.burn_in_loss)
    cold = lamp.temperature_factor(w.water_c, c.optimum_c, c.output_at_freezing)
    sleeve = uv.film_transmittance(w.sleeve_film + w.sleeve_fixed)
    window = uv.film_transmittance(w.window_film + w.window_fixed)
    p.dose_flow = c.rated_flow_m3_s * uv.dose_j_m2(
        c.rated_flow_m3_s,
        c.rated_flow_m3_s,
        c.dose_new_j_m2,
        w.absorbance_per_m,
        c.rated_absorbance_per_m,
        c.gap_m,
        output * sleeve * cold,
    )
    w.reading = 0.0
    if not dark:
        w.reading = uv.sensor_fraction(
            output, sleeve, window, cold, w.absorbance_per_m, c.reference_absorbance_per_m, c.sensor_path_m
        )
    p.alarm = w.reading < c.alarm
