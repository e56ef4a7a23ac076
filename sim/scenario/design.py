"""What a designer states and no run reads: the design flow, the water that was tested, gauges to read."""

from typing import Literal

from pydantic import Field

from sim.scenario.values.quantity import Concentration, Flow, Fraction, Part, not_negative, positive

PeakMethod = Literal["statistical", "fixture units", "loading units"]


class Design(Part):
    """What criteria need beside the train; what is absent is not known."""

    peak: PeakMethod = "statistical"  # by which the design flow is taken
    continuous_m3_s: Flow = not_negative("continuous", default="0 gpm", validate_default=True)  # a hose
    flow_m3_s: Flow | None = positive("flow", default=None)  # design flow, where it is chosen by hand
    transmittance: Fraction | None = Field(default=None, gt=0, le=1)  # per cm, measured: low tenth of samples
    turbidity_ntu: float | None = Field(default=None, ge=0, le=1000)
    iron_kg_m3: Concentration | None = not_negative("iron", default=None)
    manganese_kg_m3: Concentration | None = not_negative("manganese", default=None)
    hardness_kg_m3: Concentration | None = not_negative("hardness", default=None)  # as CaCO3
    gauges: bool | None = None  # one on each side of every housing
    overflow_screened: bool | None = None  # bore no less than the inlet, trap, screen
