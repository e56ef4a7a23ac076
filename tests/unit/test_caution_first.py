"""What is printed says before its first figure or step that it is no water test, and who comes first."""

import pytest

from sim import cli
from sim.study.caution import AT_WORK, CAUTION, as_text, cautioned

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


def test_an_answer_as_text_is_the_caution_the_finding_and_a_list():
    assert cautioned(["Choose a.", "It is cheap.", "It is quick."]) == (
        f"{CAUTION}\n\nChoose a.\n\n- It is cheap.\n- It is quick."
    )
    assert as_text(["One.", "Two.", "Three."], 2) == "One.\n\nTwo.\n\n- Three."
