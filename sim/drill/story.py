"""How a house works, told to those who have not seen it before, and what each look shows."""

from sim.drill.sight import CHECKS
from sim.scenario.scenario import Scenario
from sim.study.wording import listed


def story(scenario: Scenario) -> list[str]:
    """Return in lines the way of the water, and where it is looked at."""
    names = listed(scenario.stage_names)
    return [
        "Rain runs off the roof into the cistern; the pump draws from it at the intake.",
        "The pump starts at a low pressure and stops at a high one; between the two the air in the pressure "
        "tank pushes the water out.",
        f"The water then passes the cartridges ({names}), each in its housing, and the UV lamp in a glass "
        "sleeve, which is to disinfect it. A bypass leads round them; it is shut in use.",
        "Through a small window a sensor sees the lamp's light, and the display shows what it sees: a dirty "
        "window or sleeve, tea in the water and a lamp of many hours all lower it.",
    ]


def looks() -> list[str]:
    """Return in lines what each look shows."""
    return [f"{name}: {check.shows}" for name, check in CHECKS.items()]
