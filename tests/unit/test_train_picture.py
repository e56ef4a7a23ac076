"""The picture of a train: well formed, made of the site's own parts, told in words as well."""

import re
import xml.etree.ElementTree as ElementTree
from datetime import date

import pytest

from sim.report.train.lines import dots, lines_html
from sim.report.train.picture import NARROW, Shown, States, picture, said
from sim.report.train.shapes import bar
from sim.report.train.states import due_words, left_of, state_of
from sim.scenario.read.load import built_in, load
from sim.study.dates import brief
from sim.study.today.parts import PartToday, Range, When

TODAY = date(2027, 5, 1)
SVG = re.compile(r"<svg.*</svg>", re.DOTALL)


def states_of(site, **more):
    parts = [
        Shown(stage.name, "drop 4 psi", (0.2, 0.4, 0.6), "plan", "plan: by 2 June") for stage in site.stages
    ]
    whole = {
        "roof": Shown("Roof, first flush"),
        "cistern": Shown("Cistern", "", (0.5, 0.6, 0.7), "none", "", "full"),
        "pump": Shown("Pump"), "tank": Shown("Pressure tank"), "stages": tuple(parts),
        "uv": Shown("UV unit", "reads 71 %", (0.1, 0.3, 0.4), "act", "act now"), "taps": Shown("Taps"),
    }  # fmt: skip
    return States(**{**whole, **more})


@pytest.mark.parametrize("width", [1160, NARROW - 1])
@pytest.mark.parametrize("name", sorted(built_in()))
def test_every_site_has_a_picture_that_is_well_formed_and_inside_its_box(name, width):
    site = load(name)
    root = ElementTree.fromstring(picture(site, states_of(site), width).replace("&nbsp;", " "))
    left, top, wide, high = map(float, root.get("viewBox").split())
    texts = [one for one in root.iter() if one.tag.endswith("text")]
    for one in texts:
        moved = any(one in list(parent) and parent.get("transform") for parent in root.iter())
        if not moved:
            assert left <= float(one.get("x")) <= left + wide
            assert top <= float(one.get("y")) <= top + high
    words = " ".join("".join(one.itertext()) for one in texts)
    assert all(stage.name.split()[0] in words for stage in site.stages)
    assert words.count("plan: by") == len(site.stages)
    assert root.get("role") == "img" and root.get("aria-labelledby")


def test_who_hears_it_is_told_all_that_is_seen():
    site = load("family_house")
    words = said(site, states_of(site))
    assert words.startswith("Water runs from the roof into the cistern;")
    assert "The bypass is shut." in words
    assert "sediment: drop 4 psi; 40 % left (20 to 60); plan: by 2 June." in words
    assert "Cistern: 60 % full (50 to 70)." in words
    assert "Pump: nothing told." in words


def test_a_fitting_the_train_lacks_is_neither_drawn_nor_named():
    site = load("family_house")
    bare = site.model_copy(update={"fittings": ()})
    assert "bypass" in picture(site, states_of(site), 1160)
    assert "bypass" not in picture(bare, states_of(bare), 1160)
    assert "bypass" not in said(bare, states_of(bare))


@pytest.mark.parametrize("width", [1160, NARROW - 1])
def test_a_restrictor_is_drawn_and_told_where_there_is_one(width):
    site = load("family_house")
    unit = site.uv.model_copy(update={"restrictor_m3_s": 4e-4})
    held = site.model_copy(update={"uv": unit})
    more = len(picture(held, states_of(held), width)) - len(picture(site, states_of(site), width))
    assert more > 100
    assert "2 housings and a restrictor and the UV chamber" in said(held, states_of(held))
    assert "restrictor" not in said(site, states_of(site))


def test_a_pump_that_holds_its_pressure_is_drawn_and_told_as_one():
    site = load("family_house")
    held = site.model_copy(update={"pump": site.pump.model_copy(update={"speed": "constant pressure"})})
    for width in (1160, NARROW - 1):
        assert len(picture(held, states_of(held), width)) > len(picture(site, states_of(site), width)) + 100
    assert "the pump, whose speed holds the pressure, lifts it" in said(held, states_of(held))
    assert "speed" not in said(site, states_of(site))


def test_mains_behind_the_rain_are_drawn_and_told_where_there_are_any():
    site = load("family_house")
    fed = site.model_copy(update={"cistern": site.cistern.model_copy(update={"mains_m3_s": 2e-4})})
    for width in (1160, NARROW - 1):
        assert len(picture(fed, states_of(fed), width)) > len(picture(site, states_of(site), width)) + 100
    assert "mains water falls through an air gap" in said(fed, states_of(fed))
    assert "mains" not in said(site, states_of(site))


def test_two_pumps_are_drawn_and_told_where_one_stands_by():
    site = load("family_house")
    two = site.model_copy(update={"pump": site.pump.model_copy(update={"standby": True})})
    for width in (1160, NARROW - 1):
        assert len(picture(two, states_of(two), width)) > len(picture(site, states_of(site), width)) + 100
    assert "a second one standing by" in said(two, states_of(two))
    assert "second" not in said(site, states_of(site))


def test_a_name_is_text_and_never_markup():
    site = load("family_house").model_copy(update={"name": "<b>&"})
    drawn = picture(site, states_of(site, taps=Shown("<script>")), 1160)
    assert "<script>" not in drawn and "<b>" not in drawn
    ElementTree.fromstring(drawn)


def test_a_bar_never_leaves_its_frame():
    drawn = ElementTree.fromstring(f"<g>{bar(10, 0, 100, -0.4, 0.5, 1.7, 'fine', 'x')}</g>")
    frame, solid, hatched = (one for one in drawn if one.tag == "rect")
    assert float(solid.get("width")) == 0.0
    assert float(hatched.get("x")) + float(hatched.get("width")) <= float(frame.get("x")) + 100.0


USED = Range(0.2, 0.3, 0.5)


def part(days_by, measure="used", state=USED, tasks=("change cartridge: sediment",)):
    by = None if days_by is None else date.fromordinal(TODAY.toordinal() + days_by)
    return PartToday("sediment", measure, state, (), tasks, When(by, by, by, None), 4, 900.0)


@pytest.mark.parametrize(
    ("days", "state"), [(-3, "act"), (0, "act"), (1, "plan"), (60, "plan"), (61, "fine"), (None, "fine")]
)
def test_a_state_follows_from_the_day_to_act_by(days, state):
    assert state_of(part(days), TODAY) == state


def test_what_is_left_is_counted_to_where_one_must_act():
    site = load("family_house")
    assert left_of(site, part(9)) == pytest.approx((0.5, 0.7, 0.8))
    alarm = site.uv.alarm
    light = part(9, "reading", Range(alarm, 0.5 * (1.0 + alarm), 1.0))
    assert left_of(site, light) == pytest.approx((0.0, 0.5, 1.0))
    start_pa = site.tank.precharge_pa
    limit_pa = max(r.precharge_off_pa or 0.0 for p in site.policies for r in p.rules)
    charge = part(9, "pressure", Range(start_pa - limit_pa, start_pa - 0.5 * limit_pa, start_pa))
    assert left_of(site, charge) == pytest.approx((0.0, 0.5, 1.0))


def test_lines_stand_in_the_order_of_their_days():
    class Answer:
        as_of, begun = TODAY, True
        parts = (part(90), part(10), part(None))

    shown = re.findall(r"by <b>(.*?)</b>", lines_html(Answer, "us"))
    assert shown == ["11 May", "30 July"]


def test_dots_and_short_dates():
    assert dots([]) == ""
    assert "2 of 3 forecasts fell" in dots([True, False, True])
    assert brief(date(2028, 1, 2), TODAY) == "2 January 2028"


@pytest.mark.parametrize(("begun", "said"), [(False, "not known yet"), (True, "now")])
def test_nothing_is_overdue_where_nothing_is_known(begun, said):
    class Answer:
        as_of = TODAY
        parts = (part(0),)

    Answer.begun = begun
    shown = lines_html(Answer, "us")
    assert f"<span>{said}</span>" in shown
    assert ("late already" in shown) == begun
    assert ('class="sign act"' in shown) == begun
    assert due_words(part(0), TODAY, begun) == ("act now" if said == "now" else said)
