"""Rules that several policies share: laid in, or refused in one line that names the key."""

import pytest

from sim.errors import InputError
from sim.scenario.read.included import with_included
from sim.scenario.read.load import load_text

LAMP = {"task": "replace lamp", "when": "failure"}
CALENDAR, OWN = ("[[policy]]\nname = 'by the calendar'\n", "[[policy]]\nname = 'x'\n")
WIPE = {"task": "wipe sleeve", "when": "failure"}


def test_rules_that_are_included_come_after_its_own_in_the_order_they_are_named():
    rules = [{"name": "a", "rule": [LAMP]}, {"name": "b", "rule": [WIPE]}]
    data = {"rules": rules, "policy": [{"name": "p", "include": ["b", "a"], "rule": [{"task": "own"}]}]}
    assert with_included(data) == {"policy": [{"name": "p", "rule": [{"task": "own"}, WIPE, LAMP]}]}


def test_what_two_policies_share_is_not_one_thing():
    shared = {"rules": [{"name": "a", "rule": [dict(LAMP)]}]}
    one, two = with_included(shared | {"policy": [{"name": n, "include": ["a"]} for n in "pq"]})["policy"]
    one["rule"][0]["when"] = "calendar"
    assert two["rule"] == [LAMP]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "[[policy]]\nname = 'by the calendar'\nrule = 5.0",
            "policy[by the calendar].rule: read 5.0; wanted a list",
        ),
        (
            "[[policy]]\nname = 'by the calendar'\nrule = 'x'",
            "policy[by the calendar].rule: read 'x'; wanted a list",
        ),
        (
            "[[policy]]\nname = 'x'\ninclude = [['mend']]",
            "policy[x].include: read [['mend']]; wanted a list of names",
        ),
        (
            "[[policy]]\nname = 'x'\ninclude = ['mand']",
            "policy[x].include: no [[rules]] 'mand'; did you mean 'mend'?",
        ),
        ("[[rules]]\nname = 'mend'\nrule = 7", "rules[mend].rule: read 7; wanted a list of tables"),
        ("[[rules]]\nname = 'mend'\nrulz = []", "rules[mend].rulz: is not a known key; did you mean 'rule'?"),
        ("[[rules]]\nname = ['mend']", "rules[3].name: read ['mend']; wanted what policies include them by"),
        ("[[rules]]\nname = {a = 1}", "rules[3].name: read {'a': 1}; wanted what policies include them by"),
        ("[[rules]]\nrule = []", "rules[3].name: is missing; wanted what policies include them by"),
    ],
)
def test_what_cannot_be_shared_rules_is_refused_in_one_line(text, said):
    with pytest.raises(InputError) as caught:
        load_text(f'extends = "family_house"\n{text}\n', "me.toml")
    message = str(caught.value)
    assert message.startswith(f"me.toml: {said}") and "\n" not in message
