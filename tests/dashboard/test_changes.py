"""Changes of a site: laid over it, listed, put back, and written so that the command line reads the same."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dashboard.change.changes import NOT_THERE, Changes, applied, listed, policies_of, settled
from dashboard.change.rule_edits import SIGNALS, fitted, rule_line, ways_of, with_rules
from dashboard.site import changed, site_of
from sim.errors import InputError
from sim.scenario.care import Policy, Rule
from sim.scenario.read import load
from sim.scenario.rule_checks import check_policy
from sim.scenario.values.digest import digest

SITE = site_of(load.DEMO, None, "", None, "")
POLICIES = policies_of(SITE.tables)
CALENDAR = "by the calendar"
STAGES = ["sediment", "carbon"]
WAYS = ways_of(SITE.tables["task"])
CAPACITY = ("cistern", "capacity")


def test_a_value_is_laid_over_the_site_and_the_site_is_left_alone():
    before = str(SITE.tables)
    got = changed(SITE, Changes({CAPACITY: "20 m3", ("stage", "carbon", "price"): 70.0}))
    assert got.scenario.cistern.capacity_m3 == 20.0
    assert [stage.price for stage in got.scenario.stages] == [18.0, 70.0]
    assert got.digest != SITE.digest
    assert str(SITE.tables) == before


def test_saying_the_same_in_another_unit_is_no_change():
    assert settled(SITE.tables, Changes({CAPACITY: "37.85411784 m3"})) == Changes()
    assert settled(SITE.tables, Changes({CAPACITY: "37.9 m3"})) != Changes()
    same = {**POLICIES[CALENDAR], "bundle": "0 h"}  # as when it is left out
    assert settled(SITE.tables, Changes({}, {CALENDAR: same})) == Changes()
    assert changed(SITE, Changes()) is SITE


def test_a_change_says_what_it_was_and_is():
    changes = Changes({CAPACITY: "20 m3", ("uv", "shutoff_valve"): True})
    found = listed(SITE.tables, changes, "si")
    assert [(c.key, c.was, c.now) for c in found] == [
        ("cistern.capacity", "37854.1 L", "20000 L"),
        ("uv.shutoff_valve", "no", "yes"),
    ]
    assert found[0].back == Changes({("uv", "shutoff_valve"): True})


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ({("pressure_switch", "cut_in"): "70 psi"}, "pressure_switch: cut_in is not below cut_out"),
        ({("people", "adherence"): "140 %"}, "people.adherence: read '140 %'; wanted at most 1"),
        ({("cistern", "capacity"): "0 gal"}, "cistern.capacity: read '0 gal'; wanted above 0 m3"),
        ({("cistern", "capacity"): "9 psi"}, "cistern.capacity: read '9 psi', which is pressure"),
        ({("pump", "shutoff_head"): "20 ft"}, "pump.shutoff_head: reaches"),
    ],
)
def test_what_is_refused_says_the_line_of_the_command_line(value, said):
    with pytest.raises(InputError) as caught:
        changed(SITE, Changes(value))
    with pytest.raises(InputError) as read:  # the same values in a file
        load.checked(applied(SITE.tables, Changes(value)), "site.toml")
    assert str(caught.value) == str(read.value)
    assert str(caught.value).startswith(f"site.toml: {said}")


def test_policies_can_be_copied_removed_and_changed():
    copy = {**POLICIES[CALENDAR], "name": "mine", "reading_every": "7 d", "heeds_alarm": False}
    short = with_rules(POLICIES[CALENDAR], POLICIES[CALENDAR]["rule"][1:])
    changes = Changes({}, {"mine": copy, "nothing done": None, CALENDAR: short})
    names = [policy.name for policy in changed(SITE, changes).scenario.policies]
    assert names == [*(name for name in POLICIES if name != "nothing done"), "mine"]
    found = {c.key: c for c in listed(SITE.tables, changes, "us")}
    assert (found["policy[mine]"].was, found["policy[mine]"].now) == (NOT_THERE, "16 rules")
    assert found["policy[nothing done]"].now == NOT_THERE
    gone = found["policy[by the calendar].rule[1]"]
    assert (gone.was, gone.now) == (
        "change cartridge (sediment): every 4 months, by owner", NOT_THERE,
    )  # fmt: skip
    assert settled(SITE.tables, gone.back).policies.keys() == {"mine", "nothing done"}


def test_no_policy_left_is_refused():
    with pytest.raises(InputError, match="policy"):
        changed(SITE, Changes({}, dict.fromkeys(POLICIES)))


RULE = st.fixed_dictionaries(
    {"task": st.sampled_from(list(WAYS)),
     "when": st.sampled_from(["calendar", "reading", "failure"])},
    optional={"by": st.sampled_from(["owner", "technician"]), "every": st.sampled_from(["5 d", "3 yr"]),
              "stage": st.sampled_from(STAGES)},
)  # fmt: skip


@given(RULE)
def test_parts_of_a_rule_are_made_to_go_together(rule):
    got = fitted(rule, STAGES, WAYS)
    alone = Policy.model_validate({"name": "it", "reading_every": "14 d", "rule": [got]})
    check_policy(alone, SITE.scenario.tasks, STAGES)  # refuses what does not go together
    ways = WAYS[rule["task"]]
    assert got["task"] == rule["task"]
    assert got["when"] == (rule["when"] if rule["when"] in ways.whens else "calendar")
    assert fitted(got, STAGES, WAYS) == got
    assert rule_line(got, "us").startswith(rule["task"])


def test_every_reading_a_rule_can_go_by_is_offered():
    signals = {(field.alias or name) for name, field in Rule.model_fields.items() if field.default is None}
    assert set(SIGNALS) == signals - {"stage"}
    assert {name for ways in WAYS.values() for name in ways.readings} == set(SIGNALS)
    assert WAYS["change cartridge"].readings[0] == "drop_above"
    assert WAYS["wipe sleeve"].readings == ("uv_below",)
    assert WAYS["restore precharge"].readings == ("precharge_off",)


def test_what_can_never_fall_due_is_not_offered():
    """A house shows a dark lamp and a broken pump; no sign of it calls for clean gutters or a sample."""
    assert {name for name, ways in WAYS.items() if "failure" not in ways.whens} == {
        "restore precharge", "clear gutters and diverter", "clean cistern", "take sample",
    }  # fmt: skip
    assert {name for name, ways in WAYS.items() if "reading" not in ways.whens} == {"repair pump"}


STEPS = st.lists(st.tuples(st.integers(0, 40), st.one_of(st.none(), RULE), st.booleans()), max_size=6)


def after(steps, name=CALENDAR):
    rules = [dict(rule) for rule in POLICIES[name]["rule"]]
    for place, rule, insert in steps:
        at = place % (len(rules) + 1)
        rules[at : at + (not insert)] = [] if rule is None else [fitted(rule, STAGES, WAYS)]
    meant = [Rule.model_validate(rule) for rule in rules]  # the same rule twice is refused
    return with_rules(POLICIES[name], [rule for n, rule in enumerate(rules) if meant.index(meant[n]) == n])


@settings(max_examples=60, deadline=None)
@given(STEPS, st.data())
def test_putting_back_one_after_another_comes_to_the_site_as_chosen(steps, data):
    changes = settled(SITE.tables, Changes({CAPACITY: "20 m3"}, {CALENDAR: after(steps)}))
    for _ in range(200):
        found = listed(SITE.tables, changes, "us")
        assert bool(found) == bool(changes)
        if not found:
            break
        changes = settled(SITE.tables, data.draw(st.sampled_from(found)).back)
    assert changes == Changes()


@settings(max_examples=40, deadline=None)
@given(STEPS, st.floats(1.0, 1e4), st.booleans(), st.sampled_from(['"] #', "mine", "\u00e9 \\ ]"]))
def test_the_file_says_the_changed_site(steps, litres, valve, name):
    values = {("roof", "area"): f"{litres!r} m2", ("uv", "shutoff_valve"): valve}
    policies = {CALENDAR: after(steps), name: {"name": name, "rule": []}}
    got = changed(SITE, settled(SITE.tables, Changes(values, policies)))
    again = load.load_text(got.toml, "site.toml")
    assert again == got.scenario
    assert digest(again) == got.digest


def test_an_uploaded_site_under_names_of_fields_can_be_changed():
    site = site_of("", b'extends = "cottage"\n[people]\ndelay_s = "2 d"\n', "mine.toml", None, "")
    assert site.scenario.people.delay_s == 2 * 86400.0
    got = changed(site, Changes({("people", "delay"): "3 d"}))
    assert got.uploaded
    assert load.load_text(got.toml, "x").people.delay_s == 3 * 86400.0
