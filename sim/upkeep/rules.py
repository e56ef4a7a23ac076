"""When a task is due: by what was read, or by what failed. Pure decisions over numbers."""


def reading_due(
    drop_pa: float,
    drop_above_pa: float | None,
    uv_fraction: float,
    uv_below: float | None,
    precharge_short_pa: float,
    precharge_off_pa: float | None,
) -> bool:
    """Return whether a reading calls for the task.

    Parameters
    ----------
    drop_pa : float
        Drop over the stage as read [Pa].
    drop_above_pa : float or None
        Limit [Pa], or None when the rule does not look at it.
    uv_fraction : float
        UV reading over new and clean.
    uv_below : float or None
        Limit, or None.
    precharge_short_pa : float
        Precharge missing against its setting, as read [Pa].
    precharge_off_pa : float or None
        Limit [Pa], or None.

    Returns
    -------
    bool
        True when the one signal the rule looks at is past its limit.

    Examples
    --------
    >>> reading_due(7e4, 6.9e4, 1.0, None, 0.0, None)
    True
    """
    if drop_above_pa is not None:
        return drop_pa > drop_above_pa
    if uv_below is not None:
        return uv_fraction < uv_below
    return precharge_off_pa is not None and precharge_short_pa > precharge_off_pa


def failure_due(
    effect: str, alarm: bool, dark: bool, wiped_in_vain: bool, broken: bool, starving: bool
) -> bool:
    """Return whether something a household notices calls for what a task leaves behind.

    Parameters
    ----------
    effect : str
        What the task leaves behind, such as "new lamp".
    alarm : bool
        UV alarm on.
    dark : bool
        Lamp has failed (the controller says so).
    wiped_in_vain : bool
        Sleeve or window was wiped less than a month ago and the alarm is on all the same.
    broken : bool
        The part the task renews is broken.
    starving : bool
        Taps ran weak and this stage takes most of the pressure, or the stage is torn and seen.

    Returns
    -------
    bool
        True when the effect answers what was noticed; False for one that nothing calls for.

    Examples
    --------
    >>> failure_due("new lamp", True, True, False, False, False)
    True
    """
    if effect in ("wiped sleeve", "wiped sensor window"):
        return alarm and not dark and not wiped_in_vain
    if effect == "new lamp":
        return dark or (alarm and wiped_in_vain)
    if effect in ("new cartridge", "rinsed cartridge"):
        return starving
    return broken and effect in ("new pump", "new pressure tank")
