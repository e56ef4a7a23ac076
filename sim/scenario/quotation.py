"""A quotation: one real item, what it costs and what its sheet says; nothing of it is scaled."""

from dataclasses import dataclass

# Without these the criteria they decide are not known.
DECIDES = {
    "cartridge": {
        "rated_flow": ("cartridge flow", "highest tap"), "drops": ("clean loss", "highest tap"),
        "most_pressure": ("dead head",), "rating": ("order",),
    },
    "pump": {
        "curve": ("peak flow", "dead head", "UV flow", "UV dose", "starts an hour", "run"),
        "npsh_required": ("suction",), "most_starts_per_hour": (),
    },
    "pressure tank": {
        "volume": ("starts an hour", "starts a day", "run", "off"), "most_pressure": ("dead head",),
    },
    "uv": {
        "rated_flow": ("UV flow", "UV dose"), "dose_at_rating": ("UV dose",), "rated_at": ("UV dose",),
        "rated_transmittance": ("UV water", "UV dose"), "tested_as": ("UV class",),
        "most_pressure": ("dead head",),
    },
}  # fmt: skip


@dataclass(frozen=True)
class Item:
    """One row of a table of quotations."""

    name: str
    part: str  # "cartridge", "pump", "pressure tank" or "uv"
    stage: str  # the stage a cartridge is for; empty for others
    price: float
    currency: str
    date: str  # of the quotation, year-month-day
    life: str  # with its unit; empty when it is not known
    values: dict[str, str]  # what its sheet says, by key
    place: str = ""  # file and line it stands in, for messages

    @property
    def key(self) -> str:
        """What it is chosen for, as an alternative is named."""
        return f"item.{self.stage or self.part}"

    @property
    def missing(self) -> tuple[str, ...]:
        """Keys that its sheet does not say, of those that decide a criterion or how long it lasts."""
        wanted = [*DECIDES[self.part], *(["dirt_capacity"] if self.part == "cartridge" else [])]
        return tuple(key for key in wanted if key not in self.values)

    @property
    def undecided(self) -> frozenset[str]:
        """Keys of criteria that are not known for what its sheet does not say."""
        return frozenset(one for key in self.missing for one in DECIDES[self.part].get(key, ()))
