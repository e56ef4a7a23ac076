"""Changes in an address: there and back, and whatever a stranger writes is refused in one line."""

import base64
import json
import zlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dashboard.change.address import LONGEST, decoded, encoded
from dashboard.change.changes import Changes, policies_of
from dashboard.change.value_groups import paths_of
from dashboard.site import site_of
from sim.errors import InputError
from sim.scenario.read import load

SITE = site_of(load.DEMO, None, "", None, "")
KNOWN = paths_of(SITE.tables)
POLICY = policies_of(SITE.tables)["by the readings"]
CHANGES = Changes(
    {("cistern", "capacity"): "20 m3", ("uv", "shutoff_valve"): True, ("house", "people"): 5.5},
    {"mine <b>": {**POLICY, "name": "mine <b>"}, "nothing done": None},
)
ON_NO_STAGE = {"task": "change cartridge", "when": "failure"}
CODE = encoded(CHANGES, SITE.digest)


def packed(content):
    said = content if isinstance(content, bytes) else json.dumps(content).encode()
    return base64.urlsafe_b64encode(zlib.compress(said, 9)).decode().rstrip("=")


def test_there_and_back():
    assert decoded(CODE, KNOWN, SITE.scenario) == (CHANGES, SITE.digest[:8])
    assert set(CODE) <= set("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_")


def test_a_dozen_values_and_two_policies_fit():
    values = dict.fromkeys(sorted(KNOWN)[:12], "12.34 m3")
    two = {name: {**POLICY, "name": name, "bundle": "9 d"} for name in ("one of mine", "another")}
    assert len(encoded(Changes(values, two), SITE.digest)) <= LONGEST


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("", "damaged"),
        ("x" * (LONGEST + 1), "wanted at most"),
        (CODE[:-6], "damaged"),
        ("\u00e9\u00e9", "damaged"),
        (packed(b"\x80"), "damaged"),
        (packed(b"[" * 60000), "damaged"),
        (packed(b" " * 10**6 + b"[1]"), "damaged"),  # small as written, large when unpacked
        (packed([2, "", [], {}]), "another form"),
        (packed({}), "another form"),
        (packed([1, 5, [], {}]), "damaged"),
        (packed([1, "", ["x"], {}]), "damaged"),
        (packed([1, "", [[["rain", "record"], "/etc/passwd"]], {}]), "cannot be changed here"),
        (packed([1, "", [[["extends"], "x.toml"]], {}]), "cannot be changed here"),
        (packed([1, "", [[["house", "people"], "five"]], {}]), "another kind"),
        (packed([1, "", [[["house", "people"], True]], {}]), "another kind"),
        (packed([1, "", [[["uv", "shutoff_valve"], 1]], {}]), "another kind"),
        (packed([1, "", [[["rain", "climate"], "moon"]], {}]), "another kind"),
        (packed([1, "", [[["cistern", "capacity"], 5]], {}]), "another kind"),
        (packed(b'[1,"",[[["house","people"],NaN]],{}]'), "more than changes"),
        (packed([1, "", [[["house", "people"], 1]] * 300, {}]), "more than changes"),
        (packed([1, "", [[["cistern", "capacity"], "1" * 300]], {}]), "more than changes"),
        (packed([1, "", [], {"x": {"name": "\ud800"}}]), "more than changes"),
        (packed([1, "", [], {"x": {"name": "y"}}]), "another name"),
        (packed([1, "", [], {"": None}]), "policy"),
        (packed([1, "", [], {"x": {"name": "x", "reading_every": None}}]), "another name"),
        (packed([1, "", [], {"x": {"name": "x", "drop": True}}]), "not a known key"),
        (packed([1, "", [], {"x": {"name": "x", "rule": "all"}}]), "policy[x].rule"),
        (packed([1, "", [], {"x": {"name": "x", "rule": [{"task": "dance", "when": "failure"}]}}]), "dance"),
        (packed([1, "", [], {"x": {"name": "x", "rule": [ON_NO_STAGE]}}]), "rule[1].stage: is missing"),
        (packed([1, "", [], {"x\n<script>": 5}]), "policy[x <script>]"),
    ],
)
def test_what_cannot_be_read_is_refused_in_one_line(code, said):
    with pytest.raises(InputError) as caught:
        decoded(code, KNOWN, SITE.scenario)
    assert str(caught.value).startswith("address: edits: ")
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


@settings(max_examples=300)
@given(st.integers(0, len(CODE) - 1), st.characters(), st.booleans())
def test_a_damaged_address_never_does_more_than_be_refused(at, sign, cut):
    code = CODE[:at] + sign + ("" if cut else CODE[at + 1 :])
    try:
        found, _ = decoded(code, KNOWN, SITE.scenario)
    except InputError:
        return
    assert set(found.values) <= KNOWN  # a sign that stands for nothing, such as in the last bits


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=9),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=9), inner, max_size=3),
)


@settings(max_examples=300)
@given(
    st.lists(st.tuples(st.sampled_from(sorted(KNOWN)), JSON), max_size=3), st.dictionaries(st.text(), JSON)
)
def test_well_formed_nonsense_never_does_more_than_be_refused(values, policies):
    try:
        decoded(
            packed([1, "", [[list(path), value] for path, value in values], policies]), KNOWN, SITE.scenario
        )
    except InputError as error:
        assert "\n" not in str(error)
