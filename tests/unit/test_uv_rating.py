"""What a UV rating means: the state a dose is stated for, in the equation, the sites, `check`, the answer."""

import pytest

from sim.cli import main
from sim.errors import InputError
from sim.plant import uv
from sim.scenario.read.load import built_in, load, load_text
from sim.study.check.site_check import figures
from sim.study.compare.sentences import rating_holds, rating_sentence
from sim.twin.water.unpack import site_record

# 40 mJ/cm2 carried to a new lamp: over 1, over a lamp's end at 70 %, over an alarm at 60 % (NSF/ANSI 55 class
# A as told in wcponline.com, June 2002: the dose at the alarm set point).
STATES = {"new": 40.0, "end of lamp life": 57.1, "alarm": 66.7}


def unit(**over):
    fields = {"dose_at_rating_j_m2": 400.0, "output_at_end": 0.7, "alarm": 0.6, **over}
    scenario = load("family_house")
    return scenario.model_copy(update={"uv": scenario.uv.model_copy(update=fields)})


@pytest.mark.parametrize(("state", "new_mj_cm2"), STATES.items())
def test_new_dose_by_state(state, new_mj_cm2):
    scenario = unit(rated_at=state)
    record = site_record(scenario, 1.0, 1.0)[0]
    assert record["dose_new_j_m2"] / 10.0 == pytest.approx(new_mj_cm2, abs=0.05)
    # and back: at the rated flow, in rated water, with the light of that state, the dose is the rating
    light = {"new": 1.0, "end of lamp life": 0.7, "alarm": 0.6}[state]
    dose = uv.dose_j_m2(1.0, 1.0, float(record["dose_new_j_m2"]), 12.5, 12.5, 0.0235, light)
    assert dose == pytest.approx(400.0, rel=1e-12)


@pytest.mark.parametrize("state", STATES)
def test_the_alarm_is_in_time_only_for_what_is_rated_at_it(state):
    found = next(one for one in figures(unit(rated_at=state)) if one.label == "UV alarm against the target")
    assert (found.value, found.warning) == (
        ("comes in time", False) if state == "alarm" else ("comes too late", True)
    )


def test_each_built_in_site_states_another_state():
    assert {load(site).uv.rated_at for site in built_in()} == set(STATES)


@pytest.mark.parametrize(
    ("state", "said"),
    [
        ("new", "holds for a new lamp and a clean sleeve: 24.0 mJ/cm2 at the alarm set point of 60 %"),
        (
            "end of lamp life",
            "holds at the end of lamp life, with 70 % of the light: 57.1 mJ/cm2 when new and",
        ),
        ("alarm", "holds at the alarm set point of 60 %: 66.7 mJ/cm2 when new and clean"),
    ],
)
def test_words(state, said):
    one = unit(rated_at=state)
    assert rating_holds(one.uv).startswith(said)
    assert rating_sentence(one.uv).startswith(f"As the site states it, the UV rating of 40.0 mJ/cm2 {said}")
    rating = next(found for found in figures(one) if found.label == "UV rating")
    assert (rating.value, rating.note) == ("40.0 mJ/cm2", rating_holds(one.uv))


def test_the_answer_says_it(tmp_path, capsys):
    words = ["--years", "1", "--replications", "2", "--workers", "1", "--policy", "nothing done"]
    assert main(["compare", *words, "--out", str(tmp_path / "o")]) == 0
    sentence = rating_sentence(load("family_house").uv)
    assert sentence in " ".join(capsys.readouterr().out.split())
    assert sentence in (tmp_path / "o" / "report.html").read_text(encoding="utf-8")


def test_another_state_is_refused():
    with pytest.raises(
        InputError, match=r"uv\.rated_at: read 'old'; wanted 'new', 'end of lamp life' or 'alarm'"
    ):
        load_text('extends = "family_house"\n[uv]\nrated_at = "old"\n', "t")
