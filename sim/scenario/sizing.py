"""What a site says about sizes: alternatives to try, and what its own equipment costs and lasts."""

from pydantic import Field, model_validator

from sim.scenario.nearest import nearest
from sim.scenario.values.quantity import Label, Part, Time, positive

EQUIPMENT = (
    "cistern",
    "pump",
    "pressure tank",
    "uv",
    "restrictor",
    "drive",
    "standby pump",
    "mains air gap",
    "housing",
)
HOUSING_OF = "housing of "

Given = str | bool | int | float


class Alternative(Part):
    """Values to try for one key of the scenario, such as "stage.sediment.size"."""

    key: str = Field(min_length=1)
    values: tuple[Given, ...] = Field(min_length=1)


class Equipment(Part):
    """What a piece of equipment of this site cost and how long it lasts, in place of the table of sizes."""

    part: Label  # one of EQUIPMENT, or "housing of STAGE"
    price: float = Field(ge=0, le=1e9)
    life_s: Time | None = positive("life", default=None)  # as the table of sizes has it when absent

    @model_validator(mode="after")
    def _known(self) -> "Equipment":
        if self.part not in EQUIPMENT and not self.part.startswith(HOUSING_OF):
            raise ValueError(
                f"part: read {self.part!r}; {nearest(self.part, EQUIPMENT)}, or '{HOUSING_OF}STAGE'"
            )
        return self
