"""Figures of a skip: the run as kept and the run as skipped, on the same axes."""

import numpy as np
import pandas as pd
import plotly.graph_objects as go
from plotly.subplots import make_subplots

from dashboard.look import BLUE, INK, VERMILION, dressed
from dashboard.thinned import thinned
from sim.outcome.measures import below_target_days
from sim.study.story import Story
from sim.twin.history import History
from sim.units import SHOWN, from_si

KEPT, LEFT = "kept", "skipped"


def skip_figure(kept: History, skipped: History, story: Story, units: str) -> go.Figure:
    """Return UV reading, greatest drop and days below the dose target, kept and skipped.

    Parameters
    ----------
    kept : History
        The run in which everything was done.
    skipped : History
        The same with something left undone.
    story : Story
        Their months.
    units : str
        "us" or "si".

    Returns
    -------
    Figure
        Three panels over one time axis.
    """
    unit = SHOWN[units]["pressure"].unit
    titles = (
        "UV reading, % of new and clean",
        f"Greatest drop over a stage, {unit}",
        "Days below the dose target each month",
    )
    figure = make_subplots(
        rows=3, cols=1, shared_xaxes=True, vertical_spacing=0.09, subplot_titles=titles,
        row_heights=[0.36, 0.34, 0.3],
    )  # fmt: skip
    dates = pd.date_range(skipped.start, periods=skipped.n_days).to_numpy()
    for run, name, colour, dash in ((kept, KEPT, BLUE, "dash"), (skipped, LEFT, VERMILION, "solid")):
        drops = run.drops_pa.max(axis=1) if run.drops_pa.shape[1] else np.zeros(run.n_days)
        line = {"color": colour, "dash": dash, "width": 2}
        for row, y in (
            (1, 100.0 * run.uv_reading),
            (2, np.array([from_si(v, unit, "pressure") for v in drops])),
        ):
            x, thin = thinned(dates, y)
            figure.add_scatter(x=x, y=thin, mode="lines", name=name, line=line, row=row, col=1)
            figure.add_annotation(
                x=x[-1], y=thin[-1], text=name, showarrow=False, xanchor="left", font={"color": colour},
                yshift=8 if name == KEPT else -8, row=row, col=1,
            )  # fmt: skip
    alarm = 100.0 * skipped.scenario.uv.alarm
    figure.add_hline(y=alarm, line={"dash": "dot", "color": INK}, row=1, col=1)
    figure.add_annotation(
        x=dates[-1], y=alarm, text=f"alarm below {alarm:g} %", showarrow=False, xanchor="right",
        yanchor="top", row=1, col=1,
    )  # fmt: skip
    months = [month.first for month in story.months]
    for at, name, colour, pattern in ((1, KEPT, BLUE, "/"), (0, LEFT, VERMILION, "")):
        figure.add_bar(
            x=months, y=[month.below[at] for month in story.months], name=name, row=3, col=1,
            marker={"color": colour, "pattern": {"shape": pattern}},
        )  # fmt: skip
    return dressed(figure, 430, showlegend=False)


def skip_alt(kept: History, skipped: History) -> str:
    """Return what the figure shows.

    Parameters
    ----------
    kept : History
        The run in which everything was done.
    skipped : History
        The same with something left undone.

    Returns
    -------
    str
        One sentence.
    """
    least = [100.0 * float(run.uv_reading.min()) for run in (skipped, kept)]
    days = [int(below_target_days(run).sum()) for run in (skipped, kept)]
    return (
        f"Skipped, the UV reading falls to {least[0]:.0f} % (kept: {least[1]:.0f} %) and {days[0]} days are "
        f"below the dose target (kept: {days[1]})."
    )
