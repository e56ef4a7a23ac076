"""The slow side between hand-overs, compiled: what water carries, what stages catch, how the UV dims."""

import math

from sim.compiled import lean
from sim.constants import GRAVITY_M_S2, TRICKLE_M3_S
from sim.plant import bypass, carbon, cartridge, cause, gravity, lamp, train, uv, water
from sim.supply import cistern, roof
from sim.twin.water.house import CLASSES, COLOUR, IN, LAMP, REMOVED, SECOND, SPILLED, TO_HOUSE


@lean
def roof_day(rain_m, day_s, h):
    """Let one day's rain fall: build-up, first flush, wash-off, mixing and overflow in the cistern."""
    s, w, c = h.state, h.water, h.site
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
        up = cistern.resuspended_kg(w.sludge_kg[k], inflow, c.stir_up_per_m3, c.calming)
        w.sludge_kg[k] -= up
        w.solids_kg[k], spilled = cistern.mix_in(
            w.solids_kg[k] + up, s.cistern_m3, inflow, mass * c.fractions[k], c.capacity_m3
        )
        w.ledger[k, IN] += mass * c.fractions[k]
        w.ledger[k, SPILLED] += spilled
    w.colour, spilled = cistern.mix_in(w.colour, s.cistern_m3, inflow, colour, c.capacity_m3)
    w.ledger[COLOUR, IN] += colour
    w.ledger[COLOUR, SPILLED] += spilled
    s.cistern_m3, over = cistern.fill(s.cistern_m3, inflow, c.capacity_m3)
    w.overflow_m3 += over
    w.inflow_m3 += inflow


@lean
def carry(dt_s, before_m3, pumped_m3, mains_m3, h):
    """Carry solids and colour with the water that was pumped since the last hand-over, through the stages.

    What goes round the train through an open bypass meets no stage. Mains water brings neither, stirs nothing
    up, and thins what is there at an even rate.

    Parameters
    ----------
    before_m3, pumped_m3, mains_m3 : float
        Water in the cistern at the last hand-over, water pumped and mains water let in since [m3].
    """
    w, c, share = h.water, h.site, h.faults.share
    usable = max(c.capacity_m3 - c.intake_m3, 1e-9)
    level = max(before_m3 - c.intake_m3, 0.0) / usable
    for k in range(CLASSES):
        w.solids_kg[k], mass, settled = cistern.draw_and_settle(
            w.solids_kg[k], before_m3, pumped_m3, w.settling_m_s[k] * c.floor_m2, dt_s, mains_m3
        )
        w.sludge_kg[k] += settled
        drawn = cistern.entrained_kg(w.sludge_kg[k], pumped_m3, level, c.low_draw_per_m3, c.low_level)
        w.sludge_kg[k] -= drawn
        mass += drawn
        past = (1.0 - share) * mass
        mass *= share
        for i in range(c.stage_count):
            if not h.stages[i].torn:
                caught = h.stages[i].catch[k] * mass
                h.stages[i].load_kg[k] += caught
                mass -= caught
        w.ledger[k, TO_HOUSE] += mass + past
    w.colour, lost = cistern.decayed(w.colour, c.colour_decay_per_s, dt_s)
    w.ledger[COLOUR, REMOVED] += lost
    w.colour, tint, _ = cistern.draw_and_settle(w.colour, before_m3, pumped_m3, 0.0, dt_s, mains_m3)
    past = (1.0 - share) * tint
    tint *= share
    for i in range(c.stage_count):
        if h.stages[i].bed_m3 > 0.0 and not h.stages[i].torn:
            taken = tint * _colour_removal(h.stages[i])
            w.ledger[COLOUR, REMOVED] += taken
            tint -= taken
        h.stages[i].passed_m3 += share * pumped_m3
    w.ledger[COLOUR, TO_HOUSE] += tint + past


@lean
def _colour_removal(stage):
    volumes = stage.passed_m3 / stage.bed_m3
    return carbon.removal_fraction(
        volumes, stage.initial, stage.floor, stage.half_bed_volumes, stage.steepness
    )


@lean
def dim(lit_s, h):
    """Age the lamp and grow the films on sleeve and sensor window while the lamp is lit."""
    w, c = h.water, h.site
    w.lamp_lit_s += lit_s
    w.sleeve_film += c.sleeve_film_per_s * lit_s
    w.window_film += c.window_film_per_s * lit_s


@lean
def _absorbance_after_per_m(h):
    """Return the absorbance of the water that reaches the UV unit, or the taps past it [1/m]."""
    w, cistern_m3, share = h.water, h.state.cistern_m3, h.faults.share
    if cistern_m3 <= 0.0:
        return w.absorbance_per_m
    dirt = 0.0
    for k in range(CLASSES):
        left = w.solids_kg[k] / cistern_m3
        past = (1.0 - share) * left
        left *= share
        for i in range(h.site.stage_count):
            if not h.stages[i].torn:
                left *= 1.0 - h.stages[i].catch[k]
        dirt += left + past
    tint = w.colour / cistern_m3
    past = (1.0 - share) * tint
    tint *= share
    for i in range(h.site.stage_count):
        if h.stages[i].bed_m3 > 0.0 and not h.stages[i].torn:
            tint *= 1.0 - _colour_removal(h.stages[i])
    return tint + past + dirt * h.site.solids_absorbance_m2_kg


@lean
def _dark(h):
    """Return how many lamps have failed."""
    return h.parts[LAMP].broken + h.parts[SECOND].broken


@lean
def _resist(h):
    """Set what the train takes of the pressure, and the flow at which people read it."""
    s, p, w, c = h.state, h.plant, h.water, h.site
    p.density_kg_m3 = water.density_kg_m3(w.water_c)
    p.air_head_m = (p.atmosphere_pa - water.vapour_pressure_pa(w.water_c)) / (p.density_kg_m3 * GRAVITY_M_S2)
    thicker = water.viscosity_pa_s(w.water_c) / water.viscosity_pa_s(20.0)
    linear, quadratic = c.uv_linear, c.pipe_quadratic + c.uv_quadratic
    for i in range(c.stage_count):
        stage = h.stages[i]
        x = stage.load_kg.sum() / stage.capacity_kg
        grown = 1.0
        if not stage.torn:
            grown = cartridge.resistance_ratio(x, stage.exponent, stage.growth, stage.plateau_share)
        drop = train.drop_pa(h.faults.share * s.peak_flow_m3_s, stage.resistance, stage.quadratic)
        stage.resistance = stage.linear * thicker * grown
        stage.worst_pa = max(stage.worst_pa, drop)
        linear += stage.resistance
        quadratic += stage.quadratic
    if _dark(h) == 1:
        linear += c.uv_shut_linear
        quadratic += c.uv_shut_quadratic
    s.peak_flow_m3_s = 0.0
    p.linear_pa_s_m3, p.quadratic_pa_s2_m6 = linear, quadratic
    p.static_pa = p.density_kg_m3 * GRAVITY_M_S2 * c.lift_m
    p.most_m3_s = c.most_m3_s
    if p.gravity:
        p.cut_in_pa = max(gravity.gauge_pa(s.cistern_m3, p), 1.0)  # the pressure there is to read drops at
    most = min(train.flow_m3_s(p.cut_in_pa - p.static_pa, linear, quadratic), p.most_m3_s)
    if p.gravity:
        most = max(most, TRICKLE_M3_S)
    w.drop_flow_m3_s = min(c.reading_flow_m3_s, most)  # a clogged train does not let the reading flow through


@lean
def _open_bypass(h):
    """Let water go round the train: every litre at the taps holds some of it."""
    p, w, c, f = h.plant, h.water, h.site, h.faults
    past = c.bypass_quadratic_m4 * p.density_kg_m3
    inside = p.quadratic_pa_s2_m6 - c.pipe_quadratic
    f.share = 0.0
    if not f.train_shut:
        f.share = bypass.train_share(w.drop_flow_m3_s, p.linear_pa_s_m3, inside, past)
        f.share = min(f.share, c.most_m3_s / w.drop_flow_m3_s)
    p.most_m3_s = math.inf  # the bypass leads round the restrictor
    p.linear_pa_s_m3 = 0.0
    p.quadratic_pa_s2_m6 = c.pipe_quadratic + past * (1.0 - f.share) * (1.0 - f.share)


@lean
def _dose_flow(c, absorbance_per_m, share):
    """Return dose times flow of the lit unit, whose lamp and sleeve pass a share of what new ones do."""
    return c.rated_flow_m3_s * uv.dose_j_m2(
        c.rated_flow_m3_s,
        c.rated_flow_m3_s,
        c.dose_new_j_m2,
        absorbance_per_m,
        c.rated_absorbance_per_m,
        c.gap_m,
        share,
    )


@lean
def _why_alarm(h, output, films, cold):
    """Return why the reading is below the alarm: water, then lamp, films, and a sensor that reads low."""
    p, w, c = h.plant, h.water, h.site
    clean = uv.sensor_fraction(
        1.0, 1.0, 1.0, cold, w.absorbance_per_m, c.reference_absorbance_per_m, c.sensor_path_m
    )
    if clean < c.alarm:
        return p.why_water
    if clean * output < c.alarm:
        return p.why_lamp
    return p.why_dim if clean * output * films < c.alarm else cause.OTHER_SLIP


@lean
def _with_one_dark(h):
    """Take from the dose of two units what one that is dark leaves out."""
    p, c = h.plant, h.site
    p.least_flow_m3_s = c.uv_least_m3_s
    if _dark(h) == 1:
        p.dose_flow_lamp *= c.uv_left
        p.dose_flow *= c.uv_left
        p.least_flow_m3_s = c.uv_least_left_m3_s


@lean
def _shine(h):
    """Set dose, reading and alarm from lamp, films, water and what people left wrong."""
    p, w, c, f = h.plant, h.water, h.site, h.faults
    output = lamp.output(w.lamp_lit_s, c.lamp_tau_s, c.burn_in_s, c.burn_in_loss)
    cold = lamp.temperature_factor(w.water_c, c.optimum_c, c.output_at_freezing)
    sleeve = uv.film_transmittance(w.sleeve_film + w.sleeve_fixed)
    window = uv.film_transmittance(w.window_film + w.window_fixed)
    p.dose_flow_best = _dose_flow(c, min(w.absorbance_per_m, c.rated_absorbance_per_m), 1.0)
    p.dose_flow_water = _dose_flow(c, w.absorbance_per_m, cold)
    p.dose_flow_lamp = p.dose_flow_water * output
    p.dose_flow = _dose_flow(c, w.absorbance_per_m, output * sleeve * cold)
    if c.uv_units > 1:
        _with_one_dark(h)
    if f.bypass_open:
        p.dose_flow = 0.0  # no litre at the taps is dosed whole, so none counts as dosed
    best, dark = 0.0, _dark(h)
    if dark < c.uv_units and not f.unplugged:
        best = f.reading_left * uv.sensor_fraction(
            output, sleeve, window, cold, w.absorbance_per_m, c.reference_absorbance_per_m, c.sensor_path_m
        )
    w.reading = 0.0 if dark > 0 else best
    p.alarm = w.reading < c.alarm and not f.unplugged
    p.none_bright = best < c.alarm and not f.unplugged
    if p.alarm:
        p.why_alarm = _why_alarm(h, output, sleeve * window, cold) if p.none_bright else p.why_lamp


@lean
def refresh(h):
    """Give the plant record what wear, water and people have made of it."""
    p, w = h.plant, h.water
    _resist(h)
    w.absorbance_per_m = _absorbance_after_per_m(h)
    if h.faults.bypass_open:
        _open_bypass(h)
    p.trickle_pa = p.static_pa + train.drop_pa(TRICKLE_M3_S, p.linear_pa_s_m3, p.quadratic_pa_s2_m6)
    _shine(h)
