"""Which keys of a base a site's file leaves as they are; entries of lists go by their names."""

import pytest

from sim.scenario.read.kept import kept

BASE = {"stage": [{"name": "coarse", "price": 1, "size": "a"}, {"name": "fine", "price": 2}], "uv": {"x": 1}}


@pytest.mark.parametrize(
    ("own", "left"),
    [
        ({}, ["stage", "uv"]),
        ({"stage": []}, ["stage[coarse]", "stage[fine]", "uv"]),
        ({"stage": [{"name": "coarse", "price": 3}]}, ["stage[coarse].size", "stage[fine]", "uv"]),
        ({"stage": [{"name": "fine", "drop": True}], "uv": {"x": 2}}, ["stage[coarse]"]),
        ({"stage": [{"name": "other"}], "uv": {}}, ["stage[coarse]", "stage[fine]", "uv.x"]),
    ],
)
def test_what_is_left_of_entries_is_named_by_them(own, left):
    assert list(kept(BASE, own)) == left
