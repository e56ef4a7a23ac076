"""Whatever can be read weighs somewhere, or is told to have no weight."""

from datetime import date, datetime, timedelta

import numpy as np
import pytest

from sim.diary.book import Diary
from sim.diary.entries import reading_of
from sim.diary.evidence import evidence_of, unused
from sim.diary.paths import Paths
from sim.diary.properties import labels
from sim.diary.slow import precharge
from sim.scenario.read.load import load

BEGIN, TODAY = date(2025, 1, 1), date(2025, 6, 1)
HOUSE = load("family_house")
TYPED = {
    "UV alarm": ("on", "off"),
    "sample": ("found", "clear"),
    "UV": ("90", "70"),
    "cistern share": ("90", "40"),
    "cistern level": ("2500", "900"),
    "lamp hours": ("100", "900"),
}


@pytest.fixture(scope="module")
def paths():
    """Four houses that use and store unlike amounts."""
    days = 400
    pace = np.array([1.0, 2.0, 3.0, 4.0])[:, None, None]
    sums = pace * np.arange(days + 1.0)[None, :, None] * np.ones(5 + len(HOUSE.stages))
    ends = 5.0 * pace * np.ones((4, days, 5))
    return Paths(BEGIN, sums, ends, np.zeros(4), "")


def _diary(label):
    typed = TYPED.get(label, ("20", "40"))
    first = datetime(2025, 3, 1, 9)
    rows = [
        {"phenomenon_time": (first + timedelta(days=30 * k)).isoformat(), "observed_property": label,
         "result": result, "unit": ""}
        for k, result in enumerate(typed)
    ]  # fmt: skip
    return Diary(tuple(reading_of(row, HOUSE, TODAY) for row in rows), ())


def _weighs(diary, paths):
    found, bare = (evidence_of(HOUSE, one, paths) for one in (diary, Diary((), ())))
    drops = any(one.at_days.size for one in found.drops)
    slow = precharge(HOUSE, diary, TODAY, 730.0).readings > 0
    return drops or slow or found.uv.at_days.size > 0 or not np.array_equal(found.of_paths, bare.of_paths)


@pytest.mark.parametrize("label", labels(HOUSE))
def test_a_reading_weighs_or_is_told_to_have_no_weight(label, paths):
    diary = _diary(label)
    assert _weighs(diary, paths) != (unused(diary.readings) == (label,))
    assert unused(diary.readings) in {(), (label,)}


def test_of_many_that_have_no_weight_each_is_named_once():
    diary = Diary(
        (*_diary("sample").readings, *_diary("pressure at cut-in").readings, *_diary("UV").readings), ()
    )
    assert unused(diary.readings) == ("sample", "pressure at cut-in")
