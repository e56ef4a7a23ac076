"""What dose a UV unit may be credited with: that of its tests, inside their range, and nothing outside it."""

from sim.compiled import compiled


@compiled
def credited_dose_j_m2(
    flow_m3_s: float,
    transmittance_per_cm: float,
    rated_flow_m3_s: float,
    rated_transmittance_per_cm: float,
    dose_at_rating_j_m2: float,
) -> float:
    """Return the dose a tested unit is credited with while its sensor is at or above the set point.

    Parameters
    ----------
    flow_m3_s : float
        Flow through the unit [m3/s], > 0.
    transmittance_per_cm : float
        Transmittance of the water at 254 nm over a centimetre, 0 to 1.
    rated_flow_m3_s : float
        Greatest flow of its tests [m3/s].
    rated_transmittance_per_cm : float
        Least transmittance of its tests over a centimetre, 0 to 1.
    dose_at_rating_j_m2 : float
        Dose it was tested for at both [J/m2].

    Returns
    -------
    float
        The tested dose [J/m2], or 0 outside the range: beyond it nothing was shown.

    Notes
    -----
    With one tested point nothing is interpolated: a slower flow or a clearer water is credited with no more.
    Physics, `uv.dose_j_m2`, is for simulation, not for credit.

    References
    ----------
    OENORM M 5873 practice as told by the Austrian food code, chapter B1 (dose only inside the certified range
    of irradiance, flow and transmittance).

    Examples
    --------
    >>> credited_dose_j_m2(4e-4, 0.80, 5e-4, 0.75, 400.0)
    400.0
    >>> credited_dose_j_m2(6e-4, 0.80, 5e-4, 0.75, 400.0)
    0.0
    """
    inside = flow_m3_s <= rated_flow_m3_s and transmittance_per_cm >= rated_transmittance_per_cm
    return dose_at_rating_j_m2 if inside else 0.0
