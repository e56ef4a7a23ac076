"""Random streams, one for each source and replication, so that every policy meets the same fate."""

import zlib
from enum import IntEnum

import numpy as np


class Source(IntEnum):
    """Sources of randomness; the number is part of the seed, so it never changes meaning."""

    RAIN = 0
    DAYS = 1
    POWER = 2
    SITE = 3
    LIVES = 4
    READINGS = 5
    ADHERENCE = 6
    DELAY = 7
    OTHER_JOBS = 8
    SLIPS = 9
    NOTICING = 10
    SAMPLES = 11
    CARTRIDGES = 12
    DRILL = 13
    SESSIONS = 20
    USES = 100  # plus the number of the use


def stream(seed: int, replication: int, source: int) -> np.random.Generator:
    """Return the generator of one source in one replication.

    References
    ----------
    numpy documentation, SeedSequence: spawn_key.
    """
    return np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(replication, int(source))))


def of_stage(seed: int, replication: int, source: int, name: str) -> np.random.Generator:
    """Return the generator of one source for one stage of the train."""
    key = (replication, int(source), zlib.crc32(name.encode()))
    return np.random.default_rng(np.random.SeedSequence(seed, spawn_key=key))
