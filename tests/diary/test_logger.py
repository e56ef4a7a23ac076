"""A logger's export: its rows become readings of days, its clock and its cells are not misread."""

from datetime import date, datetime

import pytest

from sim import cli
from sim.diary.book import Book
from sim.diary.read.files import rows_of
from sim.errors import InputError
from sim.scenario.read.load import load_text

TODAY = date(2027, 6, 1)
ENTERED = datetime(2027, 6, 1, 8)
LOGGER = """
extends = "family_house"
[logger]
time_column = "stamp"
separator = ";"
[[logger.column]]
column = "dP1"
observed_property = "drop over sediment"
unit = "kPa"
[[logger.column]]
column = "q"
observed_property = "flow"
unit = "L/min"
[[logger.column]]
column = "uv"
observed_property = "UV"
unit = "%"
"""


def test_a_loggers_rows_are_reduced_to_days(tmp_path):
    site = load_text(LOGGER, "mine.toml")
    path = tmp_path / "export.csv"
    lines = ["stamp;dP1;q;uv"]
    for day in (1, 2):
        for minute in range(0, 1440, 10):
            flow = 20.0 if minute % 60 < 40 else 0.5  # 20 L/min is 5.3 gpm
            lines.append(f"2027-03-0{day}T{minute // 60:02d}:{minute % 60:02d};{30 + day};{flow};{80 - day}")
    path.write_text("\n".join(lines) + "\n")
    book = Book(tmp_path / "d", site, TODAY)
    book.add_readings([cells for _, cells in rows_of(path, site).readings], ENTERED)
    found = book.read().readings
    assert [(one.observed, one.value) for one in found] == [
        ("UV", pytest.approx(0.79)), ("drop over sediment", pytest.approx(31e3)),
        ("UV", pytest.approx(0.78)), ("drop over sediment", pytest.approx(32e3)),
    ]  # fmt: skip
    assert found[1].flow_m3_s == pytest.approx(20.0 / 6e4, rel=1e-3)


def _uv_export(tmp_path, *rows, notes=None):
    """Return what is read of an export of light alone, a list of (day, result)."""
    column = '[[logger.column]]\ncolumn = "uv"\nobserved_property = "UV"\nunit = "%"\n'
    site = load_text(f'extends = "family_house"\n[logger]\ntime_column = "t"\n{column}', "mine.toml")
    path = tmp_path / "export.csv"
    path.write_text("\n".join(["t,uv", *rows]) + "\n", encoding="utf-8")
    found = [cells for _, cells in rows_of(path, site).readings]
    if notes is not None:
        notes.update(cells["note"] for cells in found)
    return [(cells["phenomenon_time"][:10], cells["result"]) for cells in found]


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("2027-10-30T23:30:00+02:00", "2027-10-31T23:30:00+01:00"),  # summer ends between them
        ("2027-10-30 23:30:00.5Z", "2027-10-31 23:30:00.5"),
        ("2027-10-30T23:30-0300", "2027-10-31T00:10-03"),
        ("2027-10-30", "2027-10-31"),  # a day alone has no offset to take off
    ],
)
def test_a_loggers_days_are_those_of_its_own_clock(tmp_path, first, second):
    found = _uv_export(tmp_path, f"{second},72", f"{first},71")
    assert found == [("2027-10-30", "71"), ("2027-10-31", "72")]


@pytest.mark.parametrize(
    ("clock", "note"),
    [
        ("Z", "from a logger, days as of UTC"),
        ("+00:00", "from a logger, days as of UTC"),
        ("+01:00", "from a logger"),
        ("", "from a logger"),
    ],
)
def test_a_day_that_a_logger_cuts_by_utc_is_noted_as_such(tmp_path, clock, note):
    notes = set()
    _uv_export(tmp_path, f"2027-10-30T23:30:00{clock},71", f"2027-10-31T23:30:00{clock},72", notes=notes)
    assert notes == {note}


def test_an_empty_cell_of_a_logger_is_nothing_read_and_a_bad_one_is_named_by_its_line(tmp_path):
    rows = ["2027-10-30T10:00:00,71", "", "2027-10-31T10:00:00,NaN", "2027-11-01T10:00:00,"]
    assert _uv_export(tmp_path, *rows) == [("2027-10-30", "71")]
    with pytest.raises(InputError, match=r"export\.csv: line 6: read '7_2' for UV; wanted a number"):
        _uv_export(tmp_path, *rows, "2027-11-02T10:00:00,7_2")
    with pytest.raises(InputError, match=r"export\.csv: line 6: read 'noon'; wanted a time like"):
        _uv_export(tmp_path, *rows, "noon,72")


@pytest.mark.parametrize(("flows", "counted"), [
    ((20.0, 20.0, 20.0, 20.0), True), ((20.0, 21.5, 20.0, 21.5), True),  # a tenth apart at most
    ((20.0, 14.0, 20.0, 14.0), False), ((2.0, 2.0, 2.0, 2.0), False), ((40.0, 40.0, 40.0, 40.0), False),
    ((20.0, 20.0, 20.0, 14.0), False),  # the first has none before it: two rows are too few
])  # fmt: skip
def test_a_drop_of_a_logger_counts_while_a_draw_of_some_size_is_steady(tmp_path, flows, counted):
    """3 to 7 gpm is 11 to 26 L/min."""
    lines = [f"2027-03-01T10:0{at}:00;{30 + at};{flow};" for at, flow in enumerate(flows)]
    path = tmp_path / "export.csv"
    path.write_text("\n".join(["stamp;dP1;q;uv", *lines]) + "\n")
    found = rows_of(path, load_text(LOGGER, "mine.toml")).readings
    assert [cells["observed_property"] for _, cells in found] == ["drop over sediment"] * counted
    if counted:  # the median of the last three, in Pa
        assert float(found[0][1]["result"]) == pytest.approx(32e3)


@pytest.mark.parametrize("clock", ["Z", "+02:00"])
def test_days_by_utc_are_told_where_they_are_added(tmp_path, capsys, clock):
    (tmp_path / "mine.toml").write_text(LOGGER)
    export = tmp_path / "export.csv"
    export.write_text(f"stamp;dP1;q;uv\n2026-03-01T10:00:00{clock};30;0;71\n")
    args = ["readings", "add", str(tmp_path / "mine.toml"), "--from", str(export)]
    assert cli.main([*args, "--diary", str(tmp_path / "diary")]) == 0
    assert ("midnight to midnight UTC" in capsys.readouterr().out) is (clock == "Z")
