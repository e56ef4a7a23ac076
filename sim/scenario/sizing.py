"""What a site says about sizes: alternatives to try, and what its own equipment costs and lasts."""

from typing import Literal

from pydantic import Field

from sim.scenario.values.quantity import Part, Time, positive

Given = str | bool | int | float


class Alternative(Part):
    """Values to try for one key of the scenario, such as "stage.sediment.size"."""

    key: str = Field(min_length=1)
    values: tuple[Given, ...] = Field(min_length=1)


class Equipment(Part):
    """What a piece of equipment of this site cost and how long it lasts, in place of the table of sizes."""

    part: Literal["cistern", "pump", "pressure tank", "uv", "housing"]
    price: float = Field(ge=0, le=1e9)
    life_s: Time = positive("life")
