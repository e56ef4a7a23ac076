"""Scenarios from files: the built-in ones, variants, and text of any kind."""

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sim.demand.profile import HOURLY_SHARES
from sim.errors import InputError
from sim.scenario.odd import warnings
from sim.scenario.read.load import DEMO, built_in, load, load_text
from sim.scenario.read.merge import merged
from sim.scenario.scenario import PROFILES, Scenario
from sim.scenario.values.digest import digest
from sim.units import GALLON_M3, PSI_PA

SITES = {"cottage": 2.0, "family_house": 4.0, "forest_house": 3.0, "training_hall": 25.0}
POLICIES = [
    "by the calendar",
    "by the readings",
    "one technician visit a year",
    "as things fail",
    "nothing done",
]
HEAD = 'extends = "base"\nname = "x"\nsummary = "y"\n'


def test_built_in_sites_are_these():
    assert set(built_in()) == set(SITES)
    assert DEMO in built_in()


@pytest.mark.parametrize("name", SITES)
def test_site_loads_with_its_people_and_five_policies(name):
    scenario = load(name)
    assert scenario.house.people == SITES[name]
    assert [policy.name for policy in scenario.policies] == POLICIES


@pytest.mark.parametrize("name", SITES)
def test_all_but_nothing_done_mend_what_fails(name):
    wanted = {"replace lamp", "repair pump", "repair pressure tank", "change cartridge"}
    scenario = load(name)
    for policy in scenario.policies:
        mends = {rule.task for rule in policy.rules if rule.when == "failure"}
        assert wanted <= mends if policy.name != "nothing done" else not policy.rules
        stages = {rule.stage for rule in policy.rules if rule.task == "change cartridge"}
        assert not policy.rules or stages == {stage.name for stage in scenario.stages}


@pytest.mark.parametrize("name", SITES)
def test_site_says_that_it_is_invented(name):
    schema, first = built_in()[name].read_text(encoding="utf-8").splitlines()[:2]
    assert schema.startswith("#:schema ") and "invented" in first
    assert "Invented" in load(name).summary


def test_base_is_complete_without_being_a_site():
    path = built_in()[DEMO].with_name("base.toml")
    assert load(path).name == "base"
    assert "base" not in built_in()


def test_quantities_of_the_demo_are_si():
    scenario = load(DEMO)
    assert scenario.switch.cut_in_pa == pytest.approx(40 * PSI_PA, rel=1e-12)
    assert scenario.cistern.capacity_m3 == pytest.approx(10_000 * GALLON_M3, rel=1e-12)
    assert scenario.uv.target_j_m2 == pytest.approx(400.0, rel=1e-12)
    assert scenario.rain.wet_day_m == pytest.approx(1e-4, rel=1e-12)


def test_profile_names_are_those_of_demand():
    assert set(PROFILES) == set(HOURLY_SHARES)


def test_table_merges_key_by_key():
    plain, other = load_text(HEAD, "t"), load_text(HEAD + '[pump]\nlife = "1000 h"\n', "t")
    assert other.pump.life_s == 3.6e6
    assert other.pump.model_copy(update={"life_s": plain.pump.life_s}) == plain.pump


def test_entry_merges_by_name_and_keeps_its_place():
    scenario = load_text(HEAD + '[[stage]]\nname = "sediment"\nprice = 1.5\n', "t")
    assert [stage.name for stage in scenario.stages] == ["sediment", "carbon"]
    assert scenario.stages[0].price == 1.5
    assert scenario.stages[0].rating_m == pytest.approx(20e-6)


def test_nested_entry_merges_by_name():
    scenario = load_text(HEAD + '[[house.use]]\nname = "bath"\ndrop = true\n', "t")
    assert "bath" not in [use.name for use in scenario.house.uses]
    assert len(scenario.house.uses) == len(load(DEMO).house.uses) - 1


def test_rules_replace_whole():
    text = '[[policy]]\nname = "as things fail"\ninclude = []\n'
    text += '[[policy.rule]]\ntask = "replace lamp"\nwhen = "failure"\n'
    policy = next(p for p in load_text(HEAD + text, "t").policies if p.name == "as things fail")
    assert [rule.task for rule in policy.rules] == ["replace lamp"]


def test_spares_merge_by_part_and_new_entries_come_last():
    scenario = load_text(HEAD + '[[spare]]\npart = "lamp"\non_shelf = 9\n', "t")
    assert {spare.part: spare.on_shelf for spare in scenario.spares}["lamp"] == 9
    assert len(scenario.spares) == len(load(DEMO).spares)


def test_merged_leaves_the_base_alone():
    base = {"a": {"x": 1}, "stage": [{"name": "s", "x": 1}], "other": [1, 2]}
    over = {"a": {"y": 2}, "stage": [{"name": "s", "x": 2}, {"name": "t"}], "other": [3]}
    assert merged(base, over) == {
        "a": {"x": 1, "y": 2},
        "stage": [{"name": "s", "x": 2}, {"name": "t"}],
        "other": [3],
    }
    assert base == {"a": {"x": 1}, "stage": [{"name": "s", "x": 1}], "other": [1, 2]}


def test_variant_of_a_file_beside_it(tmp_path):
    (tmp_path / "one.toml").write_text(HEAD + "years = 2\n[rain]\nrecord = 'r.csv'\n")
    (tmp_path / "deep").mkdir()
    (tmp_path / "deep" / "two.toml").write_text('extends = "../one.toml"\nname = "two"\n')
    scenario = load(tmp_path / "deep" / "two.toml")
    assert (scenario.name, scenario.years) == ("two", 2)
    # the record stays beside the file that names it
    assert scenario.rain.record == str(tmp_path / "r.csv")


@pytest.mark.parametrize(
    ("files", "said"),
    [
        ({"a": "b.toml", "b": "a.toml"}, "comes back to itself"),
        ({"a": "a.toml"}, "comes back to itself"),
        ({"a": "b.toml"}, "no such file"),
        ({"a": "bass"}, "did you mean 'base'?"),
        ({f"{chr(97 + i)}": f"{chr(98 + i)}.toml" for i in range(12)}, "more than 8"),
    ],
)
def test_extends_that_cannot_be(tmp_path, files, said):
    for stem, target in files.items():
        (tmp_path / f"{stem}.toml").write_text(f'extends = "{target}"\n')
    with pytest.raises(InputError) as caught:
        load(tmp_path / "a.toml")
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


def test_digest_knows_content_and_not_place(tmp_path):
    texts = {"a": "", "b": "years = 4\n"}
    plain, other = (load_text(HEAD + text, "t") for text in texts.values())
    assert digest(plain) == digest(load_text(HEAD, "elsewhere", tmp_path))
    assert digest(plain) != digest(other)
    assert digest(plain) != digest(plain, "f00")
    record = "[rain]\nrecord = 'r.csv'\n"
    here, there = (load_text(HEAD + record, "t", tmp_path / d) for d in ("x", "y"))
    assert digest(here) == digest(there) != digest(plain)


def test_digest_does_not_depend_on_order_or_unit_spelling():
    one = load_text(HEAD + "years = 4\n[goals]\nbelow_target_volume = '2 L'\n", "t")
    two = load_text(
        HEAD.replace('summary = "y"\n', "") + 'years = 4\nsummary = "y"\n'
        "[goals]\nbelow_target_volume = '0.002 m3'\n",
        "t",
    )
    assert digest(one) == digest(two)


def test_warning_when_the_tank_is_charged_above_cut_in():
    scenario = load_text(HEAD + '[pressure_tank]\nprecharge = "45 psi"\n', "t")
    assert any("precharge: 45.0 psi is above cut_in" in line for line in warnings(scenario))
    assert not any("precharge" in line for line in warnings(load(DEMO)))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[pressure_tank]\nprecharge = "12 psi"\n', "less than half of cut_in"),
        ('[pressure_switch]\ncut_out = "85 psi"\n[pump]\nshutoff_head = "260 ft"\n', "reducing valve"),
        ('[house]\nlift = "25 m"\n', "house.lift: at cut_in"),
        ('[uv]\nrated_flow = "5 gpm"\n', "uv.rated_flow: below pump.best_flow"),
        ('[uv]\ndose_at_rating = "30 mJ/cm2"\n', "uv.dose_at_rating: below uv.target"),
        ("years = 2\n", "'clean cistern' every 1096 d is never due in 2 yr"),
        ('[[spare]]\npart = "sock"\non_shelf = 1\nlead = "1 d"\n', "spare[sock]"),
    ],
)
def test_what_is_odd_runs_with_a_warning(text, said):
    assert any(said in line for line in warnings(load_text(HEAD + text, "t")))


def test_alarm_that_sounds_late_is_told():
    # 40/0.80 x 0.60 = 30.0 mJ/cm2; an alarm at 85 % sounds at 42.5 and is in time
    at_end = HEAD + '[uv]\nrated_at = "end of lamp life"\n'
    late, early = load_text(at_end, "t"), load_text(at_end + "alarm = 0.85\n", "t")
    assert any("30.0 mJ/cm2" in line for line in warnings(late))
    assert not any("uv.alarm" in line for line in warnings(early))


def _reads_or_refuses(text: str) -> None:
    try:
        assert isinstance(load_text(text, "t"), Scenario)
    except InputError as error:
        said = str(error)
        assert said.startswith("t: ")
        assert said.isprintable()
        assert len(said) < 1500


@given(st.text(max_size=200))
@settings(max_examples=200, deadline=None)
def test_any_text_is_read_or_refused_in_one_line(text):
    _reads_or_refuses(text)


_BASE = tomllib.loads(built_in()[DEMO].with_name("base.toml").read_text(encoding="utf-8"))
_TABLES = sorted(key for key, value in _BASE.items() if isinstance(value, dict))
_VALUES = st.one_of(
    st.text(
        st.characters(codec="ascii", exclude_characters="'\r\n", min_codepoint=32, max_codepoint=126)
    ).map(lambda s: f"'{s}'"),
    st.integers().map(str),
    st.floats().map(repr),
    st.sampled_from(
        [
            "true",
            "[]",
            "[1]",
            "{}",
            "[{}]",
            "{name = 1}",
            "[[{name = []}]]",
            "2021-02-30",
            "07:30:00",
            "'-1 psi'",
            "1" * 5000,
            "0x" + "f" * 6000,
            "1e400",
            "'1e999 psi'",
            "'9 gal'",
            "[" * 3000 + "]" * 3000,
        ]
    ),
)


@given(st.sampled_from(_TABLES), st.data(), _VALUES)
@settings(max_examples=250, deadline=None)
def test_any_value_of_any_key_is_read_or_refused_in_one_line(table, data, value):
    key = data.draw(st.sampled_from(sorted(_BASE[table])))
    _reads_or_refuses(HEAD + f"[{table}]\n{key} = {value}\n")


@given(st.sampled_from(sorted(_BASE)), _VALUES)
@settings(max_examples=100, deadline=None)
def test_any_value_in_place_of_a_part_is_read_or_refused(key, value):
    head = "" if key in ("name", "summary") else HEAD
    _reads_or_refuses(head + f"{key} = {value}\n")
