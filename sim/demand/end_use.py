"""What a household uses water for: one record for each kind of use."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from sim.errors import InputError

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class EndUse:
    """One kind of use, with its habits and its fixture."""

    name: str  # name people read
    # "volume" when a use ends at a volume (toilet, washers, bath), "time" when at a time (shower, tap)
    bound: Literal["volume", "time"]
    events_per_person_day: float  # mean number of uses [1/d], >= 0
    volume_m3: float  # mean volume of one use [m3]; of a volume-bound use > 0, else not read
    duration_s: float  # mean duration of one use [s]; of a time-bound use > 0, else not read
    flow_m3_s: float  # mean flow at the reference pressure [m3/s], > 0
    reference_pa: float  # gauge pressure at which the flow is stated [Pa], > 0
    flow_cv: float  # coefficient of variation of the flow [-], >= 0
    size_cv: float  # coefficient of variation of the volume or duration [-], >= 0
    fills_per_event: float  # mean number of draws that make up one use [-], >= 1
    fill_gap_s: float  # from the start of one such draw to the start of the next [s], >= 0
    patience_s: float  # time after its start at which an unfinished volume-bound draw is given up [s], > 0
    weekday_profile: Floats  # share of uses that begin in each hour of a weekday, float64[24]
    weekend_profile: Floats  # the same for Saturday and Sunday, float64[24]
    # coefficient of variation from day to day of one person's number of uses, beyond chance and beyond busy
    # and quiet days of the house [-], >= 0
    day_cv: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what no draw can be made from."""
        if self.bound not in {"volume", "time"}:
            raise InputError(f'end use {self.name!r}: bound is {self.bound!r}; wanted "volume" or "time"')
        above_zero = {
            "flow_m3_s": self.flow_m3_s,
            "reference_pa": self.reference_pa,
            "patience_s": self.patience_s,
        }
        above_zero |= {"volume_m3": self.volume_m3} if self.volume_bound else {"duration_s": self.duration_s}
        not_negative = {
            "events_per_person_day": self.events_per_person_day,
            "flow_cv": self.flow_cv,
            "size_cv": self.size_cv,
            "day_cv": self.day_cv,
            "fill_gap_s": self.fill_gap_s,
            "fills_per_event less 1": self.fills_per_event - 1.0,
        }
        for field, value in above_zero.items():
            if not value > 0.0:
                raise InputError(f"end use {self.name!r}: {field} is {value}; wanted above 0")
        for field, value in not_negative.items():
            if not value >= 0.0:
                raise InputError(f"end use {self.name!r}: {field} is {value}; wanted 0 or more")
        for profile in (self.weekday_profile, self.weekend_profile):
            if profile.shape != (24,) or not (np.all(profile >= 0.0) and profile.sum() > 0.0):
                raise InputError(f"end use {self.name!r}: a profile needs 24 shares of 0 or more, not all 0")

    @property
    def volume_bound(self) -> bool:
        """Whether a use ends at a volume, not at a time."""
        return self.bound == "volume"

    @property
    def coefficient(self) -> float:
        """Mean fixture coefficient K of Q = K sqrt(p) [m3/s/Pa^0.5]."""
        return self.flow_m3_s / float(np.sqrt(self.reference_pa))

    @property
    def occupied_s(self) -> float:
        """Mean time one use keeps its fixture running at the mean flow [s]."""
        return self.volume_m3 / self.flow_m3_s if self.volume_bound else self.duration_s
