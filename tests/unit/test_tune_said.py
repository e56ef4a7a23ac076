"""The table of a tuning and the figure of one dial, from made-up curves."""

from types import SimpleNamespace

from sim.commands.tune import table
from sim.report.figures.tune_figures import dial_figure
from sim.study.search.limits import Limits
from sim.study.statistics.intervals import Interval
from sim.study.tune.curves import Curve
from sim.study.tune.settings_grid import Dial

DAY = 86400.0
WIPE = Dial("wipe sleeve", "every_s", (0,), (30 * DAY, 60 * DAY, 90 * DAY), own=2)
DROP = Dial("change sediment at a drop", "drop_above_pa", (1,), (50e3, 70e3, 90e3), own=0)


def _interval(estimate, low, high):
    return Interval(estimate, low, high, 0.95, "made up", 10)


def _curve(dial, level, flat):
    costs = (_interval(-20.0, -30.0, -5.0), _interval(0.0, 0.0, 0.0), _interval(40.0, 10.0, 90.0))
    days = (_interval(1.0, -1.0, 3.0), _interval(2.0, 1.0, 4.0), _interval(9.0, 5.0, 12.0))
    return Curve(dial, level, costs, days, (False, False, True), flat)


CURVES = [_curve(WIPE, 1, (0, 1)), _curve(DROP, 2, (1, 2))]
STUDY = SimpleNamespace(curves=CURVES, worth=25.0, limits=Limits(5.0))


def test_the_table_says_of_each_dial_where_it_stands_what_is_chosen_and_how_far_that_is_flat():
    made = table(STUDY, "USD", "si")
    cells = list(zip(*made.rows, strict=True))
    assert [column.header for column in made.columns] == ["what", "now", "choice", "flat from", "to"]
    assert cells[0] == ("wipe sleeve", "change sediment at a drop")
    assert [column[0] for column in cells[1:]] == ["90 days", "60 days", "30 days", "60 days"]
    assert [column[1].split()[0] for column in cells[1:]] == ["50", "90", "70", "90"]
    assert all(column.no_wrap for column in made.columns[1:])  # a number and its unit stay together


def test_the_figure_stars_the_choice_and_draws_cost_days_their_ranges_and_the_limit():
    figure = dial_figure(CURVES[0], STUDY, "USD", "us")
    cost, days = figure.data
    assert list(cost.x) == ["30 days", "60 days", "90 days"]
    assert (list(cost.y), list(days.y)) == ([-20.0, 0.0, 40.0], [1.0, 2.0, 9.0])
    for trace in (cost, days):
        assert list(trace.marker.symbol) == ["circle", "star", "circle"]
        least, chosen, other = trace.marker.size
        assert chosen > least == other
    assert list(cost.error_y.array) == [15.0, 0.0, 50.0]
    assert list(cost.error_y.arrayminus) == [10.0, 0.0, 30.0]
    assert list(days.error_y.arrayminus) == [1.0, 1.0, 4.0]  # no range of days goes below none
    band, limit = figure.layout.shapes[0], figure.layout.shapes[-1]
    assert (band.x0, band.x1) == (-0.4, 1.4)
    assert limit.y0 == limit.y1 == 5.0
