"""What a quotation can say; apart from what reads one, as help tells of it and is to load nothing else."""

# What a sheet can say of a part, by its key under that part in a site's file.
CARTRIDGE = (
    "size", "rating", "efficiency_at_rating", "rated_flow", "terminal_rise", "dirt_capacity", "collapse",
    "age_limit", "carbon_bed", "most_pressure", "drops", "housing_price",
)  # fmt: skip
PUMP = (
    "curve",
    "best_flow",
    "best_efficiency",
    "npsh_required",
    "motor",
    "most_starts_per_hour",
    "life_starts",
    "speed",
    "least_flow",
    "stop_delay",
    "drive_efficiency",
)
TANK = ("volume", "precharge", "most_pressure")
UV = (
    "dose_at_rating", "rated_at", "rated_flow", "rated_transmittance", "least_tested_share", "output_at_end",
    "rated_life", "power", "shutoff_valve", "tested_as", "restrictor", "restrictor_kind",
    "restrictor_drop", "most_pressure", "lamp_price",
)  # fmt: skip
KEYS = {"cartridge": CARTRIDGE, "pump": PUMP, "pressure tank": TANK, "uv": UV}
