"""Which values matter when people decide, and under which question; all else is the schema's to say."""

from collections.abc import Iterator, Mapping
from typing import Any

from dashboard.change.fields import Path, read

EACH = "*"  # every entry of a list of tables
_OF_ENTRY = "{name}: "

# Key as in a file, and words for it. Units, limits and choices are read from the schema.
QUESTIONS: dict[str, dict[str, str]] = {
    "How much rain is caught and kept?": {
        "rain.climate": "Kind of climate the rain is drawn from",
        "roof.area": "Roof area, seen from above",
        "roof.coefficient": "Share of the rain that runs off the roof",
        "roof.first_flush": "First flush, depth of rain diverted",
        "cistern.capacity": "Cistern capacity",
        "cistern.floor": "Cistern floor area",
        "cistern.start_fill": "Cistern fill on the first day",
        "cistern.calmed_inlet": "Calmed inlet",
        "cistern.top_up_below": "A tanker is ordered below this fill",
        "cistern.top_up": "Water one tanker brings",
        "cistern.top_up_lead": "Wait for the tanker",
        "cistern.mains_flow": "Mains behind the rain, flow through the air gap",
        "cistern.mains_below": "Mains come in from this fill",
        "cistern.mains_until": "Mains stop at this fill",
    },
    "Who lives here, and how is water used?": {
        "house.people": "People",
        "house.guest_days_per_year": "Days with guests a year",
        "house.guests": "Guests on such a day",
        "house.away_spans_per_year": "Times away a year",
        "house.away": "Length of a time away",
        "house.lift": "Highest fixture above the gauge",
        "house.lowest_tap": "Lowest cold tap above the housings",
        "house.leak": "Leak",
        "house.use[*].events_per_person_day": "times a day for each person",
        "power.saifi": "Power cuts a year, over five minutes (SAIFI)",
        "power.saidi": "Time without power a year (SAIDI)",
    },
    "Which pump, switch and pressure tank?": {
        "cistern.gravity_feed": "Fed by gravity from a cistern above, no pump",
        "pump.shutoff_head": "Pump, shut-off head",
        "pump.best_flow": "Pump, flow of best efficiency",
        "pump.height": "Pump and gauge above the cistern floor (under it: minus)",
        "pump.life_age": "Pump life by age alone",
        "pump.life_starts": "Pump life by starts alone",
        "pump.life": "Pump life by running alone",
        "pump.speed": "Pump, fixed speed or constant pressure",
        "pump.least_flow": "Pump stops below this flow",
        "pump.stop_delay": "Pump stops after so long below it",
        "pump.drive_efficiency": "Drive of the pump, efficiency",
        "pump.standby": "A second pump stands by",
        "pump.standby_after": "Wait before the second pump takes over",
        "pressure_switch.cut_in": "Pressure switch, cut-in",
        "pressure_switch.cut_out": "Pressure switch, cut-out",
        "pressure_tank.volume": "Pressure tank, volume",
        "pressure_tank.precharge": "Pressure tank, precharge",
        "pressure_tank.precharge_loss": "Precharge lost a year",
        "gauge.reading_sd": "Gauge, usual error of a reading",
    },
    "Which filters?": {
        "stage[*].rating": "pore rating",
        "stage[*].efficiency_at_rating": "share caught at that size",
        "stage[*].housings": "housings side by side",
        "stage[*].dirt_capacity": "dirt it can hold",
        "stage[*].terminal_rise": "rise in drop when full",
        "stage[*].rated_flow": "flow that rise is stated at",
        "stage[*].clean_linear": "resistance when clean",
        "stage[*].law": "how it clogs, 0 for a cake to 2 for pores that close",
        "stage[*].plateau": "share of that dirt taken before the drop rises",
        "stage[*].age_limit": "age limit",
        "stage[*].price": "price of a cartridge",
    },
    "Which UV unit, and when does it warn?": {
        "uv.units": "UV units, alike",
        "uv.arranged": "Two UV units, in series or in parallel",
        "uv.dose_at_rating": "Dose at rated flow, as rated",
        "uv.rated_at": "State of the unit that dose holds at",
        "uv.rated_flow": "Rated flow",
        "uv.least_tested_share": "Least flow it was tested at, over the rated flow",
        "uv.rated_transmittance": "Transmittance it is rated at, for each cm",
        "uv.target": "Dose target",
        "uv.restrictor": "Restrictor before the unit, its flow",
        "uv.restrictor_kind": "Restrictor, how it holds the flow",
        "uv.restrictor_drop": "Restrictor, drop at its flow",
        "uv.alarm": "Alarm below this reading",
        "uv.shutoff_valve": "Shut-off valve closes at the alarm",
        "uv.rated_life": "Rated lamp life",
        "uv.output_at_end": "Lamp output at the end of that life",
        "uv.sleeve_film": "Film on the sleeve, growth",
        "uv.window_film": "Film on the sensor window, growth",
        "uv.warm_up": "Warm-up",
        "uv.power": "Power",
    },
    "Who does the work, and how soon?": {
        "people.adherence": "Share of due tasks that are done at all",
        "people.delay": "Usual wait before the owner gets round to it",
        "people.repair_delay": "Wait before a failure is acted on",
        "people.technician_lead": "Wait for a technician",
        "people.technicians": "Technicians",
        "spare[*].on_shelf": "spares on the shelf",
        "spare[*].lead": "wait for a new one",
    },
    "What does it cost?": {
        "people.owner_hour": "An hour of the owner",
        "people.technician_fee": "Call-out of a technician",
        "people.technician_hour": "An hour of the technician",
        "task[*].part_price": "part",
        "prices.electricity_kwh": "Electricity, a kWh",
        "prices.tanker_load": "A tanker, for coming",
        "prices.tanker_m3": "Tanker water, a m3",
        "prices.mains_m3": "Mains water, a m3",
    },
    "What counts as good enough?": {
        "goals.limit_days_below_target": "Most days a year below the dose target",
        "goals.limit_water_off_h": "Most water-off hours a year",
        "goals.limit_alarm_h": "Most alarm hours a year",
        "goals.days_that_matter": "Fewest days a year between two ways that matter to you",
        "goals.below_target_volume": "A day counts from this volume below target",
        "goals.cleaning_loss": "Water lost when the cistern is cleaned",
    },
}

# What is of no use without another, which stands before it: that key, and what it is when there is none.
_GOES_WITH: dict[str, tuple[str, object]] = {
    "cistern.mains_below": ("cistern.mains_flow", None),
    "cistern.mains_until": ("cistern.mains_flow", None),
    "prices.mains_m3": ("cistern.mains_flow", None),
    "pump.least_flow": ("pump.speed", "fixed"),
    "pump.stop_delay": ("pump.speed", "fixed"),
    "pump.drive_efficiency": ("pump.speed", "fixed"),
    "pump.standby_after": ("pump.standby", False),
    "uv.arranged": ("uv.units", 1),
    "uv.restrictor_kind": ("uv.restrictor", None),
    "uv.restrictor_drop": ("uv.restrictor", None),
}


_OF_PUMP = ("pump", "pressure_switch", "pressure_tank")


def of_use(tables: Mapping[str, Any], path: Path) -> bool:
    """Return whether a value means something for the house as it is."""
    fed = read(tables, ("cistern", "gravity_feed")) is True
    if fed and path[0] in _OF_PUMP and path != ("pump", "height"):
        return False
    key, without = _GOES_WITH.get(".".join(path), ("", None))
    return not key or read(tables, tuple(key.split("."))) not in (None, without)


def offered(tables: Mapping[str, Any]) -> dict[str, dict[Path, str]]:
    """Return the values of a site that can be changed, with words for each, by question."""
    return {
        question: {
            path: (_OF_ENTRY.format(name=name) + words if name else words)
            for key, words in keys.items()
            for path, name in _paths(key, tables)
        }
        for question, keys in QUESTIONS.items()
    }


def paths_of(tables: Mapping[str, Any]) -> set[Path]:
    """Return every path of a site that can be changed."""
    return {path for keys in offered(tables).values() for path in keys}


def _paths(key: str, tables: Mapping[str, Any]) -> Iterator[tuple[Path, str]]:
    head, bracket, tail = key.partition(f"[{EACH}].")
    steps = tuple(head.split("."))
    if not bracket:
        yield steps, ""
        return
    for entry in read(tables, steps) or []:
        name = entry.get("name") or entry.get("part")
        if head != "task" or entry.get("part_price"):  # a task without a part has no price of one
            yield (*steps, name, *tail.split(".")), name
