"""Colours stand out from the paper they are on, by the contrast of WCAG 2."""

import itertools
import re
import tomllib
from pathlib import Path

import pytest

from sim.report.figures import style
from sim.report.figures.drawing import Drawing

# W3C, Web Content Accessibility Guidelines 2.2: success criteria 1.4.3 (text) and 1.4.11 (what is drawn),
# and the definition of relative luminance; from memory.
TEXT, DRAWN = 4.5, 3.0
ROOT = Path(__file__).parents[2] / "dashboard"


def luminance(colour):
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def report_papers():
    text = (ROOT.parent / "sim/report/html/page.html.j2").read_text("utf-8")
    return dict(zip(("light", "dark"), re.findall(r"--paper: (#[0-9a-f]{6})", text), strict=False))


PAPERS = [style.LIGHT_PAPER, style.DARK_PAPER, *report_papers().values()]


def test_the_measure_is_that_of_the_guidelines():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)  # known: just fails for text
    assert len(PAPERS) == 4


@pytest.mark.parametrize("paper", PAPERS)
def test_lines_stand_out_from_every_paper(paper):
    for colour in style.LINES:
        ink = style.INK_DARK if colour == style.INK and luminance(paper) < 0.2 else colour
        assert contrast(ink, paper) >= DRAWN, (colour, paper)


@pytest.mark.parametrize("paper", PAPERS)
def test_words_can_be_read_on_every_paper(paper):
    ink = style.INK_DARK if luminance(paper) < 0.2 else style.INK
    assert contrast(ink, paper) >= TEXT


def test_lighter_fills_are_told_from_their_pattern_and_have_an_outline():
    for fill in (style.BLUE, style.SKY, style.ORANGE, style.VERMILION, style.YELLOW, style.GREEN):
        assert contrast(style.HATCH, fill) >= DRAWN, fill


def test_lines_are_told_apart_without_colour():
    assert len(set(style.DASHES)) >= len(style.LINES)
    assert len(set(style.SYMBOLS)) >= len(style.LINES)


def test_ink_and_grid_turn_with_the_scheme_and_nothing_else_does():
    css = style.scheme_css()
    assert f"light-dark({style.INK}, {style.INK_DARK})" in css
    assert "fill: rgb(26, 26, 26)" in css  # how a browser writes INK
    assert f"light-dark({style.GRID}, {style.GRID_DARK})" in css
    for colour in style.LINES[:-1]:
        assert colour not in css
    assert not [
        pair for pair in itertools.pairwise((style.INK, style.GRID, style.HATCH)) if pair[0] == pair[1]
    ]


def test_a_figure_has_no_paper_of_its_own():
    figure = style.dressed(Drawing(), 300).figure()
    assert figure.layout.paper_bgcolor == figure.layout.plot_bgcolor == style.CLEAR
    assert figure.layout.font.color == style.INK


def test_the_theme_has_the_papers_and_inks_of_the_figures():
    theme = tomllib.loads((ROOT / ".streamlit" / "config.toml").read_text("utf-8"))["theme"]
    light, dark = theme["light"], theme["dark"]
    assert (light["backgroundColor"], dark["backgroundColor"]) == (style.LIGHT_PAPER, style.DARK_PAPER)
    assert (light["textColor"], dark["textColor"]) == (style.INK, style.INK_DARK)
    for part in (light, dark):  # also words of a chosen unit and of a slider
        assert contrast(part["primaryColor"], part["backgroundColor"]) >= TEXT


def test_markup_in_the_name_of_a_policy_is_text_in_a_figure():
    name = "<b>x</b>"
    drawing = Drawing()
    drawing.add("bar", x=[1], y=[name], name="bar")
    figure = style.narrowed(style.dressed(drawing, 300), [name]).figure()
    assert figure.layout.yaxis.ticktext == ("&lt;b&gt;x&lt;/b&gt;",)
