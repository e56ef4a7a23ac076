"""Damaged rain and draw files are read, or refused in one line that names the file."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sim.scenario.catchment import RainSource
from sim.scenario.read.draws import read_draws
from sim.scenario.read.series import read_rain
from tests.hostile import attack

pytestmark = pytest.mark.filterwarnings("ignore:Generating overly large repr")
DAYS = [date(2021, 1, 1) + timedelta(days=n) for n in range(40)]
RAIN = "date,precipitation\n" + "".join(f"{day},{n % 7}.{n % 3}\n" for n, day in enumerate(DAYS))
DRAWS = "start,use,flow_gpm,at_psi,duration_s,volume_gal\n" + "".join(
    f"{day}T07:{n:02d}:00,tap,1.5,45,{'60,' if n % 2 else ',3.2'}\n" for n, day in enumerate(DAYS)
)
SNIPPETS = [
    *(
        ",",
        ";",
        "\t",
        '"',
        '""',
        "'",
        "\n",
        "\r",
        "\r\n",
        "\x00",
        "\ufeff",
        "\x1a",
        "-",
        "--",
        "nan",
        "inf",
        "1e999",
    ),
    *(
        "1,5",
        "1.234,5",
        "1_0",
        "\u0663",
        "T",
        "trace",
        "M",
        "-1",
        "99999",
        "1e-320",
        "2021-02-30",
        "0000-01-01",
    ),
    *(
        "9999-12-31",
        "2021-01-05\n",
        "31.12.2021",
        "01/02/2021",
        "2021-01-01T25:00",
        "2021-01-01T07:00+02:00",
        "#",
    ),
    *("x" * 200_000, '"' + "y" * 140_000, "date,date\n", "\n\n\n", "é", "use", "volume_l", "at_kpa", "1e300"),
]
SOURCES = [
    RainSource(),
    RainSource(date_format="%d.%m.%Y"),
    RainSource(date_format="%q%"),
    RainSource(depth_unit="in"),
]


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return tmp_path_factory.mktemp("hostile") / "me.csv"


def read_both(path, content, source):
    path.write_bytes(content)
    attack.outcome(lambda: read_rain(path, source), "me.csv")
    attack.outcome(lambda: read_draws(path, date(2021, 1, 1), ["tap", "shower"]), "me.csv")


FILES = st.one_of(
    attack.damaged_text(RAIN, SNIPPETS), attack.damaged_text(DRAWS, SNIPPETS), st.binary(max_size=300)
)


@settings(max_examples=400, **attack.FULL)
@given(content=FILES, source=st.sampled_from(SOURCES))
def test_a_damaged_file_is_read_or_refused(path, content, source):
    read_both(path, content, source)


@pytest.mark.long
@pytest.mark.parametrize("part", range(10))
def test_ten_thousand_damaged_files(path, part, record_property):
    tried = attack.many(
        1_000,
        part,
        lambda content, source: read_both(path, content, source),
        content=FILES,
        source=st.sampled_from(SOURCES),
    )
    record_property("damaged records of rain and draws", tried)
    assert tried == 1_000


def test_the_files_are_good_before_they_are_damaged(path):
    path.write_text(RAIN)
    assert len(read_rain(path, RainSource()).depth_m) == 40
    path.write_text(DRAWS)
    assert len(read_draws(path, date(2021, 1, 1), ["tap"])["start_s"]) == 40
