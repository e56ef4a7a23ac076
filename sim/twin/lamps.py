"""The lamps of a train with one UV unit or two alike: each fails by itself, both are replaced together."""

from sim.twin.changeable import Changeable

SECOND = "second lamp"
NAMES = ("lamp", SECOND)


def dark(world: Changeable) -> int:
    """Return how many lamps have failed."""
    return sum(int(world.parts[name]["broken"]) for name in NAMES)


def one_dark(world: Changeable) -> bool:
    """Return whether one of two lamps has failed and the other burns."""
    return 0 < dark(world) < world.scenario.uv.units


def work(world: Changeable) -> int:
    """Return 1 while a lamp of the train is good, else 0."""
    return int(dark(world) < world.scenario.uv.units)


def over_chance(world: Changeable) -> float:
    """Return how many lamps have come to their end, less how often lamps used as much do.

    Of mean 0 whoever replaces lamps and when, as long as they do not know how long these would have lived:
    the cumulative hazard of a life is what its use is expected to fail, up to the failure.

    Returns
    -------
    float
        Over the lamps of the train, 1 or 0 less (use/scale)^shape of the Weibull law, use counted up to the
        end of its life [-].
    """
    unit = world.scenario.uv
    used_s = float(world.parts["lamp"]["used_s"]) + float(world.s["lamp_starts"]) * unit.start_wear_s
    found = 0.0
    for name in NAMES[: unit.units]:
        life_s = float(world.parts[name]["life_s"])
        expected = (min(used_s, life_s) / unit.lamp_life_s) ** unit.lamp_life_shape
        found += float(used_s >= life_s) - expected
    return found
