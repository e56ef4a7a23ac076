"""What a search found as tables to keep."""

from collections.abc import Sequence

import pandas as pd

from sim.study.compare.comparison_tables import flat
from sim.study.search.describe import Step
from sim.study.search.sensitivity import Mover
from sim.study.size.rules_of_thumb import Rule


def step_frame(steps: Sequence[Step]) -> pd.DataFrame:
    """Return one row a step."""
    return pd.DataFrame(
        [
            {"key": step.key, "smaller": step.smaller, "larger": step.larger}
            | {k: v for name, gain in step.gains.items() for k, v in flat(name, gain).items()}
            | {"confidence_each": step.confidence}
            for step in steps
        ]
    )


def rule_frame(rules: Sequence[Rule]) -> pd.DataFrame:
    """Return one row a rule of thumb."""
    return pd.DataFrame([{"rule": one.name, "says": one.says, "runs_showed": one.here} for one in rules])


def mover_frame(movers: Sequence[Mover]) -> pd.DataFrame:
    """Return one row for each thing that moves the difference between the choice and its rival."""
    return pd.DataFrame(
        [{"what": one.name, **flat("change", one.change), "equal_at_factor": one.factor} for one in movers],
        columns=["what", "change", "change_low", "change_high", "equal_at_factor"],
    )
