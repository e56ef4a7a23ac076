"""What a site says it is: a file that changes a built-in house does not say what that one says of itself."""

import pytest

from sim.cli import main
from sim.scenario.read import load
from sim.study.taken import own_summary

TWO_PEOPLE = 'extends = "family_house"\nname = "Small house"\n[house]\npeople = 2\n'
SAID = 'extends = "family_house"\nname = "Small house"\nsummary = "Two under one roof. Invented."\n'


def first_line(capsys, site):
    assert main(["check", str(site)]) in {0, 3}
    return capsys.readouterr().out.splitlines()[0]


def test_of_two_people_it_is_not_said_that_they_are_four(tmp_path, capsys):
    (tmp_path / "own.toml").write_text(TWO_PEOPLE)
    assert first_line(capsys, tmp_path / "own.toml") == "Small house"


def test_what_a_file_says_itself_is_said(tmp_path, capsys):
    (tmp_path / "own.toml").write_text(SAID)
    assert first_line(capsys, tmp_path / "own.toml") == "Small house: Two under one roof. Invented."


@pytest.mark.parametrize("name", sorted(load.built_in()))
def test_a_built_in_site_says_what_it_is(name, capsys):
    site = load.load(name)
    assert first_line(capsys, name) == f"{site.name}: {site.summary}"
    assert own_summary(site, built_in=True) == site.summary
