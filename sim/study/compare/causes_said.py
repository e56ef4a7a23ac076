"""What days below the dose target came of, as a sentence says it."""

from sim.study.compare.policy_summary import PolicySummary
from sim.study.wording import percent

TOLD_SHARE = 0.05  # of the days; rarer causes are left to the table
ORIGINS = {  # as they stand after a share
    "power cut": "of power cuts",
    "lamp died": "of lamps that died",
    "service": "of work at the train",
    "unplugged unit": "of a unit left without its plug",
    "forgotten valve": "of a valve that stayed shut",
    "open bypass": "of a bypass that stayed open",
    "other missed step": "of other missed steps",
    "put off or late": "of tasks put off or late",
    "film": "of film on the sleeve",
    "lamp age": "of an old lamp",
    "coloured or dirty water": "of coloured or dirty water",
    "flow above rating": "of flow above the unit's rating",
    "cistern empty": "of an empty cistern",
    "clogged": "of clogged cartridges",
    "pump broken": "of a broken pump",
    "other": "of something else",
}


def origins(summary: PolicySummary) -> list[str]:
    """Return the shares of the causes told, most first; rarer ones together, so that nothing is left out."""
    whole = sum(summary.causes.values())
    if not whole > 0:
        return []
    told = [(name, days) for name, days in summary.causes.items() if days >= TOLD_SHARE * whole]
    rest = whole - sum(days for _, days in told)
    said = [f"{percent(days / whole)} {ORIGINS[name]}" for name, days in told]
    return [*said, f"{percent(rest / whole)} of rarer things"] if rest > 0.005 * whole else said
