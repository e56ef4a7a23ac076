"""What a search over intervals found as tables to keep."""

import pandas as pd

from sim.study.compare.comparison_tables import flat
from sim.study.tune.tune import TuneStudy
from sim.study.tune.tune_words import setting
from sim.units import Units


def curve_frame(study: TuneStudy, units: Units) -> pd.DataFrame:
    """Return one row a level of a dial, all other dials as chosen."""
    return pd.DataFrame(
        [
            {"what": curve.dial.name, "level": value, "said": curve.dial.said(at, units)}
            | {"now": at == curve.dial.own, "chosen": at == curve.level}
            | {"flat": curve.flat[0] <= at <= curve.flat[1]}
            | flat("cost_less_choice", curve.cost[at])
            | flat("days_below_target", curve.days[at])
            for curve in study.curves
            for at, value in enumerate(curve.dial.levels)
        ]
    )


def hard_frame(study: TuneStudy, units: Units) -> pd.DataFrame:
    """Return one row for each setting run in a house that fouls as the upper tenth does."""
    return pd.DataFrame(
        [
            {"name": line.name, "setting": setting(study, line.point, units)}
            | flat("cost", line.cost)
            | flat("days_below_target_hard", line.days)
            | {"holds": line.holds, "robust_choice": line.point == study.robust}
            for line in study.hard
        ]
    )
