"""What rows of readings leave open is told, and what would be passed over is refused."""

import pytest

from sim import cli
from sim.diary.described import READINGS

HEAD = "phenomenon_time,observed_property,result"


def added(path, folder):
    return cli.main(["readings", "add", "cottage", "--from", str(path), "--diary", str(folder)])


@pytest.mark.parametrize(
    ("row", "told"),
    [
        ("2026-05-01,drop over sediment,4,,", "without a unit: drop over sediment in psi."),
        ("2026-05-01,meter,4000,,", "without a unit: meter in m3."),
        ("2026-05-01,UV alarm,on,,", ""),
        ("2026-05-01,drop over sediment,4,psi,by the sink", "one tap open: 'by the sink' names no flow"),
        ("2026-05-01,drop over sediment,4,psi,5 gallons per minute", "'5 gallons per minute' names no flow"),
        ("2026-05-01,drop over sediment,4,psi,at 5 gpm", ""),
        ("2026-05-01,drop over sediment,4,psi,Two gauges", ""),
        ("2026-05-01,UV,71,%,by the display", ""),
        ("2026-05-01T23:30:00Z,UV,71,%,", "as the clock of the house shows them: 1 zone left out."),
        ("2026-05-01T23:30:00-05:00,UV,71,%,", "1 zone left out."),
        ("2026-05-01T23:30,UV,71,%,", ""),
    ],
)
def test_what_a_row_leaves_open_is_told(tmp_path, capsys, row, told):
    path = tmp_path / "r.csv"
    path.write_text(f"{HEAD},unit,procedure\n{row}\n")
    assert added(path, tmp_path / "d") == 0
    lines = [line for line in capsys.readouterr().out.splitlines() if line.startswith("Took ")]
    about = [
        line for line in lines if not line.startswith(("Took file", "Took site", "Took rain", "Took options"))
    ]
    assert [told in line for line in about] == ([True] if told else [])


def test_one_reading_without_a_unit_is_told_in_the_unit_it_was_taken_in(tmp_path, capsys):
    assert cli.main(["readings", "add", "cottage", "cistern level", "70", "--diary", str(tmp_path)]) == 0
    assert "Took numbers without a unit: cistern level in mm." in capsys.readouterr().out


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (f"{HEAD},units\n2026-05-01,drop over sediment,31,kPa", "column 4: nothing called 'units'"),
        (f"{HEAD},\n2026-05-01,UV,71,%", "column 4: nothing called ''"),
        ("date,task,minutes\n2026-05-01,wipe sleeve,5", "column 3: nothing called 'minutes'"),
        ("date,UV [%],unit\n2026-05-01,71,psi", "column 3: nothing called 'unit'"),
        ("date,UV [%],\n2026-05-01,71,4", "column 3: nothing called ''"),
        (f"{HEAD},replaces\n2026-05-01,UV,71,abc", "replaces: read 'abc'"),
    ],
)
def test_a_column_that_would_be_passed_over_is_refused(tmp_path, capsys, text, words):
    path = tmp_path / "r.csv"
    path.write_text(text + "\n")
    assert added(path, tmp_path / "d") == 2
    assert words in capsys.readouterr().err
    assert not (tmp_path / "d").exists()


def test_a_diary_without_corrections_can_be_taken_from_another(tmp_path, capsys):
    """Signed columns are known, and an empty last column does no harm."""
    assert cli.main(["readings", "add", "cottage", "UV", "71", "%", "--diary", str(tmp_path / "one")]) == 0
    theirs = tmp_path / "one" / READINGS
    theirs.write_text("\n".join(f"{line}," for line in theirs.read_text().splitlines()) + "\n")
    assert added(theirs, tmp_path / "two") == 0
    assert "Added 1 reading." in capsys.readouterr().out
