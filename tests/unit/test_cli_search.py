"""`size` and `tune` refuse what cannot be used before long work begins, in one line, with exit code 2."""

import pytest

from sim import cli

SIZE = ["size", "--years", "1"]
TUNE = ["tune", "--years", "1"]
TRY = ["--try", "uv.rated_flow=6 gpm,8 gpm"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (SIZE, "nothing to choose between"),
        ([*SIZE, "--try", "uv.rated_flow=6 psi,8 gpm"], "which is pressure"),
        ([*SIZE, *TRY, "--worth", "0"], "worth is 0; wanted an amount of money above 0"),
        ([*SIZE, *TRY, "--replications", "1"], "replications is 1; wanted 2 or more"),
        ([*SIZE, *TRY, "--policy", "by the calender"], "did you mean 'by the calendar'?"),
        ([*SIZE, *TRY, "--limit-tap", "20 gpm"], "limit-tap: read '20 gpm'"),
        ([*SIZE, *TRY, "--limit-tap", "90 psi"], "limit-tap is 90"),
        (
            [*SIZE, *TRY, "--with-intervals", "wipe"],
            "with-intervals: UV 6 gpm: no interval or threshold is called 'wipe'",
        ),
        (
            [*SIZE, *TRY, "--try", "stage.carbon=with,without", "--with-intervals", "replace lamp"],
            "with-intervals",
        ),
        ([*SIZE, *TRY, *TRY], "uv.rated_flow stands twice"),
        ([*SIZE, "no_such_site", *TRY], "no such scenario or file"),
        ([*TUNE, "--policy", "nothing done"], "no interval and no threshold"),
        ([*TUNE, "--only", "wipe sleve and window"], "did you mean 'wipe sleeve and window'?"),
        ([*TUNE, "--limit-days", "400"], "limit-days is 400; wanted 0 to 366"),
    ],
)
def test_bad_input_is_refused_in_one_line(words, said, tmp_path, capsys):
    assert cli.main([*words, "--out", str(tmp_path / "out")]) == 2
    shown = capsys.readouterr()
    assert said in shown.err
    assert shown.err.count("\n") == 1
    assert shown.out == ""
    assert not list(tmp_path.glob("out/*"))
