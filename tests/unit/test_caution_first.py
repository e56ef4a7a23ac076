"""What is printed says before its first figure or step that it is no water test, and who comes first."""

import pytest

from sim import cli
from sim.study.caution import AT_WORK, CAUTION

FEW = ["--years", "1", "--replications", "2", "--workers", "1"]


@pytest.mark.parametrize(
    ("words", "caution"),
    [
        (["run", "--years", "1"], CAUTION),
        (["compare", *FEW], CAUTION),
        (["skip", "--task", "wipe sleeve", *FEW], CAUTION),
        (["visits"], AT_WORK),
    ],
)
def test_the_caution_stands_first(words, caution, tmp_path, capsys):
    assert cli.main([*words, "--out", str(tmp_path)]) == 0
    assert " ".join(capsys.readouterr().out.split()).startswith(caution)
