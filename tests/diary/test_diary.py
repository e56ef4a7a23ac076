"""The diary on disk: added to and never changed, whoever writes, in whatever order and form."""

import json
import multiprocessing
import os
from datetime import date, datetime, timedelta
from random import Random

import pytest

from sim import cli, disk
from sim.diary.book import Book, Diary
from sim.diary.described import ACTS, READINGS
from sim.diary.entries import Act, Reading
from sim.diary.read.files import rows_of
from sim.errors import InputError
from sim.scenario.read.load import load

TODAY = date(2027, 6, 1)
ENTERED = datetime(2027, 6, 1, 8)
PSI = 6894.757293168361  # NIST SP 811: 1 lbf/in2
ROWS = [
    {"phenomenon_time": f"2027-0{month}-03", "observed_property": what, "result": value, "unit": unit}
    for month in (2, 3, 4)
    for what, value, unit in (
        ("UV", "81", "%"),
        ("drop over sediment", "4.5", "psi"),
        ("UV alarm", "off", ""),
        ("meter", f"{100 + 10 * month}", "m3"),
    )
]


@pytest.fixture(scope="module")
def site():
    return load("family_house")


def test_order_of_entry_and_a_late_correction_change_nothing(tmp_path, site):
    plain = Book(tmp_path / "a", site, TODAY)
    plain.add_readings(ROWS, ENTERED)
    for number in range(5):
        rows = list(ROWS)
        Random(number).shuffle(rows)
        book = Book(tmp_path / f"b{number}", site, TODAY)
        wrong = {**rows[0], "phenomenon_time": "2027-05-30"}
        mark = book.add_readings([wrong], ENTERED).marks[0]
        for row in rows[1:]:
            book.add_readings([row], ENTERED)
        book.add_readings([{**rows[0], "replaces": mark}], ENTERED + timedelta(days=1))
        assert book.read() == plain.read()
        assert len(book.lines(READINGS)) == len(ROWS) + 1  # the old line still stands


@pytest.mark.parametrize(
    ("readings", "acts"),
    [
        ((Reading(datetime(2026, 5, 2), "UV", 0.9, 0.01),), ()),
        ((), (Act(datetime(2026, 5, 2), "wipe sleeve"),)),
    ],
)
def test_a_diary_begins_with_its_first_line_of_either_kind(readings, acts):
    diary = Diary(readings, acts)
    assert diary.begun and diary.until(date(2026, 5, 2)).begun
    assert not diary.until(date(2026, 5, 1)).begun


def test_a_doubled_row_is_known(tmp_path, site):
    book = Book(tmp_path, site, TODAY)
    book.add_readings(ROWS, ENTERED)
    before = (tmp_path / READINGS).read_bytes()
    found = book.add_readings([*ROWS, ROWS[0]], ENTERED + timedelta(days=3))
    assert (found.marks, found.known) == ((), len(ROWS) + 1)
    assert (tmp_path / READINGS).read_bytes() == before


def test_a_line_that_was_changed_is_refused(tmp_path, site):
    book = Book(tmp_path, site, TODAY)
    book.add_readings(ROWS[:2], ENTERED)
    path = tmp_path / READINGS
    path.write_text(path.read_text().replace(",81,", ",91,"))
    with pytest.raises(InputError, match="line 2: was changed after it was entered"):
        book.read()


def test_a_line_can_be_taken_back(tmp_path, site):
    book = Book(tmp_path, site, TODAY)
    marks = book.add_readings(ROWS[:2], ENTERED).marks
    book.add_readings([{"replaces": marks[0]}], ENTERED)
    assert [one.observed for one in book.read().readings] == ["drop over sediment"]
    with pytest.raises(InputError, match="no line has the mark"):
        book.add_readings([{**ROWS[0], "replaces": "0" * 12}], ENTERED)


def _write(job):
    folder, number = job
    book = Book(folder, load("family_house"), TODAY)
    for day in range(1, 11):
        row = {**ROWS[0], "phenomenon_time": f"2027-01-{day:02d}T{number:02d}:00", "note": "x" * 400}
        book.add_readings([row], ENTERED)


def test_two_who_add_at_once_lose_nothing(tmp_path, site):
    with multiprocessing.get_context("spawn").Pool(2) as pool:
        pool.map(_write, [(tmp_path, number) for number in range(4)], chunksize=1)
    assert len(Book(tmp_path, site, TODAY).read().readings) == 40


def test_a_full_disk_leaves_the_file_as_it_was(tmp_path, site, monkeypatch):
    book = Book(tmp_path, site, TODAY)
    book.add_readings(ROWS[:3], ENTERED)
    before = (tmp_path / READINGS).read_bytes()

    def full(handle, content):
        os.write(handle, bytes(content[: len(content) // 2]))
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(disk, "_write", full)
        with pytest.raises(InputError, match="No space left"):
            book.add_readings(ROWS[3:5], ENTERED)
    assert (tmp_path / READINGS).read_bytes() == before
    assert len(book.add_readings(ROWS[3:5], ENTERED).marks) == 2


def test_half_a_line_of_a_killed_writer_is_put_aside(tmp_path, site):
    book = Book(tmp_path, site, TODAY)
    book.add_readings(ROWS[:1], ENTERED)
    with (tmp_path / READINGS).open("ab") as file:
        file.write(b"2027-05-01,UV,7")
    assert len(book.read().readings) == 1
    book.add_readings(ROWS[1:2], ENTERED)
    assert len(book.read().readings) == 2
    assert (tmp_path / f"{READINGS}.half").read_bytes() == b"2027-05-01,UV,7\n"


def test_wide_long_and_service_say_the_same(tmp_path, site):
    long = tmp_path / "long.csv"
    long.write_text(
        "phenomenon_time,observed_property,result,unit,note\n"
        "2027-03-01,UV,74,%,\n2027-03-01,drop over sediment,31,kPa,after rain\n"
    )
    wide = tmp_path / "wide.csv"
    wide.write_text("date,UV [%],drop over sediment (kPa),note\n2027-03-01,74,31,after rain\n2027-03-02,,,\n")
    # OGC 18-088, SensorThings 1.1, 9.2.2: an answer lists entities under "value"
    service = tmp_path / "service.json"
    entities = [
        {
            "phenomenonTime": "2027-03-01T09:00:00Z",
            "result": value,
            "Datastream": {
                "unitOfMeasurement": {"symbol": unit},
                "ObservedProperty": {"name": name},
            },
        }
        for name, value, unit in (("UV", 74, "%"), ("drop over sediment", 31, "kPa"))
    ]
    service.write_text(json.dumps({"value": entities}))
    found = []
    for path in (long, wide, service):
        book = Book(tmp_path / path.stem, site, TODAY)
        book.add_readings([cells for _, cells in rows_of(path, site).readings], ENTERED)
        found.append(book.read().readings)
    assert found[0] == found[1] == found[2]
    assert found[0][1].value == pytest.approx(31e3) and found[0][0].value == pytest.approx(0.74)


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ({"observed_property": "UV", "result": "high"}, "result: read 'high'; wanted a number in %"),
        ({"observed_property": "UV", "result": "71", "unit": "psi"}, "'psi' is a unit of pressure"),
        ({"observed_property": "UVV", "result": "71"}, "did you mean 'UV'"),
        ({"observed_property": "UV", "result": "71", "phenomenon_time": "2031-01-01"}, "lies ahead"),
        ({"observed_property": "UV", "result": "71", "phenomenon_time": "1.5.27"}, "wanted a day such as"),
        ({"observed_property": "drop over sediment", "result": "1e9"}, "wanted -1000 to 1000 psi"),
    ],
)
def test_what_cannot_be_read_is_refused_whole(tmp_path, site, row, words):
    book = Book(tmp_path, site, TODAY)
    with pytest.raises(InputError, match=r".") as error:
        book.add_readings([ROWS[0], {"phenomenon_time": "2027-03-01", **row}], ENTERED)
    assert words in str(error.value) and "\n" not in str(error.value)
    assert not (tmp_path / READINGS).exists()


def test_the_command_adds_lists_and_asks(tmp_path, capsys):
    where = ["--diary", str(tmp_path)]
    assert cli.main(["readings", "add", "cottage", "UV", "71%", "--at", "2026-05-14", *where]) == 0
    odd = ["readings", "add", "cottage", "drop over sediment", "44 psi", "--at", "2026-05-14", *where]
    assert cli.main(odd) == 0
    assert "did you mean 44 kPa" in capsys.readouterr().out
    done = ["readings", "done", "cottage", "change cartridge: carbon", "--at", "2026-05-01", *where]
    assert cli.main(done) == 0
    assert cli.main(["readings", "list", "cottage", *where]) == 0
    out = capsys.readouterr().out
    assert "UV 71 %" in out and "change cartridge carbon" in out
    assert (tmp_path / ACTS).is_file()


def test_a_file_with_one_bad_row_adds_none(tmp_path, capsys):
    path = tmp_path / "r.csv"
    path.write_text("phenomenon_time,observed_property,result\n2026-05-01,UV,70\n2026-05-02,UV,seventy\n")
    where = ["--diary", str(tmp_path / "d")]
    assert cli.main(["readings", "add", "cottage", "--from", str(path), *where]) == 2
    assert "r.csv: line 3: result: read 'seventy'" in capsys.readouterr().err
    assert not (tmp_path / "d").exists()
