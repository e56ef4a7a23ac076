"""What days below the dose target came of, as a sentence says it."""

from sim.study.compare.policy_summary import PolicySummary
from sim.study.wording import percent

TOLD_SHARE = 0.05  # of the days; rarer causes are left to the table
ORIGINS = {  # as they stand after a share
    "power cut": "from power cuts",
    "lamp died": "from lamps that died",
    "service": "from work at the train",
    "unplugged unit": "from a UV unit left unplugged",
    "forgotten valve": "from a valve that stayed shut",
    "open bypass": "from a bypass left open",
    "other missed step": "from other missed steps",
    "put off or late": "from tasks put off or late",
    "film": "from film on the sleeve",
    "lamp age": "from an old lamp",
    "coloured or dirty water": "from coloured or dirty water",
    "flow above rating": "from flow above the unit's rating",
    "cistern empty": "from an empty cistern",
    "clogged": "from clogged cartridges",
    "pump broken": "from a broken pump",
    "other": "from something else",
}


def origins(summary: PolicySummary) -> list[str]:
    """Return the shares of the causes told, most first; rarer ones together, so that nothing is left out."""
    whole = sum(summary.causes.values())
    if not whole > 0:
        return []
    told = [(name, days) for name, days in summary.causes.items() if days >= TOLD_SHARE * whole]
    rest = whole - sum(days for _, days in told)
    said = [f"{percent(days / whole)} {ORIGINS[name]}" for name, days in told]
    return [*said, f"{percent(rest / whole)} from rarer causes"] if rest > 0.01 * whole else said
