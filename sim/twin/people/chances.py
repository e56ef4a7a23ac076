"""Chances that a piece of work leaves something wrong, known before it is seen whether it does."""

from collections.abc import Container, Sequence

CHECKED = ("unit dark", "bypass open")  # effects that let water through without its dose


def missed_too(probability: float) -> float:
    """Return the chance that who missed a step misses a later one that would show it.

    Notes
    -----
    (1 + 6 P)/7: moderate dependence.

    References
    ----------
    NUREG/CR-1278 equation 10-16 (from memory).
    """
    return (1.0 + 6.0 * probability) / 7.0


def left_chance(
    slips: Sequence[tuple[int, float]], finders: Container[int], probability: float, last: int
) -> float:
    """Return the chance that a slip is made in a piece of work and no later step of it brings it to light.

    Parameters
    ----------
    slips : sequence of tuple
        Column and chance of each step that leads to the slip [-].
    finders : container of int
        Columns of the steps that bring it to light.
    probability : float
        Chance that this person misses a step [-].
    last : int
        Last column.

    Returns
    -------
    float
        Chance, 0 to 1.

    Notes
    -----
    From the last step backwards: `alive` is the chance that every finder so far is missed and nothing left.
    One uniform number decides of each step whether it is missed, and whether it finds.

    Examples
    --------
    One step with a slip, one later step that finds it:

    >>> left_chance([(0, 0.01)], {1}, 0.01, 1)
    0.0015
    """
    made, alive, misses = dict(slips), 1.0, missed_too(probability)
    left = 0.0
    for column in range(last, -1, -1):
        here = min(made.get(column, 0.0), 1.0)
        left += alive * here
        alive *= max(misses - here, 0.0) if column in finders else 1.0 - here
    return left
