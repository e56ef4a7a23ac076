"""Panels, lines and notes of a figure stand where the library's own calls put them."""

import plotly.graph_objects as go
import pytest
from plotly.subplots import make_subplots

from sim.report.figures.drawing import Drawing, axis, panels

HEIGHTS = [0.22, 0.2, 0.14]


@pytest.mark.parametrize("one_x", [True, False])
def test_panels_stand_where_the_library_puts_subplots(one_x):
    ours = panels(["a", "b", "c"], 0.055, HEIGHTS, one_x).figure().layout
    theirs = make_subplots(
        rows=3, cols=1, shared_xaxes=one_x, vertical_spacing=0.055, row_heights=HEIGHTS,
        subplot_titles=["a", "b", "c"],
    ).layout  # fmt: skip
    for name in ("yaxis", "yaxis2", "yaxis3"):
        assert ours[name].domain == pytest.approx(theirs[name].domain)
        assert ours[name].anchor == theirs[name].anchor
    for name in ("xaxis", "xaxis2", "xaxis3"):
        assert ours[name].to_plotly_json() == theirs[name].to_plotly_json()
    assert [note.y for note in ours.annotations] == pytest.approx([note.y for note in theirs.annotations])


def test_panels_without_heights_are_as_high_as_each_other():
    layout = panels(["a", "b"], 0.1).figure().layout
    assert layout.yaxis.domain == pytest.approx((0.55, 1.0))
    assert layout.yaxis2.domain == pytest.approx((0.0, 0.45))


def test_a_title_is_broken_before_its_brackets_and_begins_at_the_left():
    note = panels(["Dose (a simulation, not a water test)"], 0.1).figure().layout.annotations[0]
    assert (note.text, note.x, note.xanchor) == ("Dose<br>(a simulation, not a water test)", 0.0, "left")


def test_lines_strips_and_traces_are_those_of_the_library():
    ours = panels(["a", "b"], 0.1)
    ours.add("scatter", 2, x=[1, 2], y=[3, 4])
    ours.level(3.5, {"dash": "dot"}, 2)
    ours.strip(1.5, 1.5, line={"color": "#000000"})
    ours.strip(1.2, 1.8, opacity=0.2)
    theirs = make_subplots(rows=2, cols=1, shared_xaxes=True)
    for row in (1, 2):  # the library draws lines only where something is drawn
        theirs.add_scatter(x=[1, 2], y=[3, 4], row=row, col=1)
    theirs.add_hline(y=3.5, line={"dash": "dot"}, row=2, col=1)
    theirs.add_vline(x=1.5, line={"color": "#000000"})
    theirs.add_vrect(x0=1.2, x1=1.8, opacity=0.2)
    figure = ours.figure()
    assert [s.to_plotly_json() for s in figure.layout.shapes] == [
        s.to_plotly_json() for s in theirs.layout.shapes
    ]
    assert (figure.data[0].xaxis, figure.data[0].yaxis) == (theirs.data[1].xaxis, theirs.data[1].yaxis)


def test_a_note_stands_in_its_panel_unless_it_says_otherwise():
    drawing = panels(["a", "b"], 0.1)
    drawing.note(2, x=1, y=2, text="here")
    drawing.note(2, x=1, xref="paper", y=2, text="there")
    here, there = drawing.figure().layout.annotations[2:]
    assert (here.xref, here.yref, here.showarrow) == ("x2", "y2", False)
    assert (there.xref, there.yref) == ("paper", "y2")


def test_what_is_said_of_all_axes_leaves_what_was_said_of_one():
    drawing = panels(["a", "b"], 0.1)
    drawing.axes("y", 2, title={"text": "days"}, nticks=3)
    drawing.axes("y", title={"font": {"size": 13}}, nticks=5)
    layout = drawing.figure().layout
    assert (layout.yaxis2.title.text, layout.yaxis2.title.font.size, layout.yaxis2.nticks) == ("days", 13, 5)
    assert layout.yaxis.title.text is None


def test_a_look_that_figures_share_is_not_written_into():
    look = {"font": {"size": 12}}
    one, other = Drawing(), Drawing()
    for drawing in (one, other):
        drawing.lay(legend=look)
    one.lay(legend={"font": {"size": 20}})
    assert look == {"font": {"size": 12}}
    assert other.figure().layout.legend.font.size == 12


def test_a_word_the_library_does_not_know_is_refused():
    drawing = Drawing()
    drawing.add("scatter", x=[1], y=[1], colour="red")
    with pytest.raises(ValueError, match="colour"):
        drawing.figure()
    assert isinstance(Drawing().figure(), go.Figure)


def test_the_first_axis_has_no_number():
    assert [axis("x", 1), axis("x", 2), axis("y", 3)] == ["x", "x2", "y3"]
