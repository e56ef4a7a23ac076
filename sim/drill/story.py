"""How a house works, told to those who have not seen it before, and what each look shows."""

from sim.drill.sight import BUCKET_SHARE, CHECKS, STICK_SD_M
from sim.scenario.scenario import Scenario
from sim.study.wording import listed, percent
from sim.units import Units, span, text


def story(scenario: Scenario, units: Units) -> list[str]:
    """Return in lines the way of the water, where it is looked at, how surely, and what is opened how."""
    gauge = scenario.gauge
    names = listed(scenario.stage_names)
    return [
        "Rain runs off the roof into the cistern; the pump draws from it at the intake.",
        "The pump starts at a low pressure and stops at a high one; between the two the air in the pressure "
        "tank pushes the water out.",
        f"The water then passes the cartridges ({names}), each in its housing, and the UV lamp in a glass "
        "sleeve, which is to disinfect it. A bypass leads round them and is shut in use: open, "
        "it brings undisinfected water to the taps. Nobody looks at a lit lamp.",
        "Through a small window a sensor sees the lamp's light, and the display shows what it sees: a dirty "
        "window or sleeve, water the colour of tea and a lamp of many hours all lower it.",
        f"Nothing is read exactly: readings scatter by some {percent(gauge.uv_reading_sd)} on "
        f"the display, {text(gauge.reading_sd_pa, 'pressure', units)} on a gauge, {percent(BUCKET_SHARE)} of "
        f"the bucket's time, {span(STICK_SD_M, units)} of the stick. Wear moves them too: after a first sign "
        "the fault may still be ahead.",
        "To open a housing or the UV unit: shut the valve before it, let the pressure off at a tap behind it "
        "while the unit is lit, see the gauge at zero, then unplug, and open last. Where a valve shuts with "
        "the plug, unplugging first stops the tap while the housing still stands at pressure.",
    ]


def looks() -> list[str]:
    """Return in lines what each look shows."""
    return [f"{name}: {check.shows}" for name, check in CHECKS.items()]
