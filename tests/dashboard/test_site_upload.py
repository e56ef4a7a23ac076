"""Uploaded files: one line of refusal, no reach for a file of the machine."""

from datetime import date, timedelta

import pytest

from dashboard.site import LARGEST_BYTES, site_of
from dashboard.words import plain
from sim.commands.dashboard import server_command
from sim.errors import InputError
from tests.dashboard.driving import begun

FIRST = date(2021, 1, 1)
DAYS = "".join(f"{FIRST + timedelta(at)},{at % 31 + 1}.0\n" for at in range(730))  # two years


def asked(text=None, rain=None, label="mine.toml", rain_label="r.csv"):
    return site_of("family_house", text, label, rain, rain_label)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (b'extends = "../../secret.toml"', "extends: read '../../secret.toml'; wanted one of base"),
        (b'extends = "cottage.toml"', "cannot name files"),
        (b'extends = "cottage"\n[rain]\nrecord = "../x.csv"', "upload the rain file instead"),
        (b"extends = [", "is not TOML"),
        (b"\xff\xfe", "is not UTF-8"),
        (b" " * (LARGEST_BYTES + 1), "larger than 5 MB"),
    ],
)
def test_a_site_that_cannot_be_used_is_refused_in_one_line(text, said):
    with pytest.raises(InputError) as caught:
        asked(text)
    assert str(caught.value).startswith("mine.toml: ")
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_site_of_ones_own_is_read():
    site = asked(b'extends = "cottage"\nname = "<script>alert(1)</script>"\n')
    assert site.uploaded
    assert site.scenario.name == "<script>alert(1)</script>"
    assert plain(site.scenario.name).startswith("\\<script\\>")


def test_rain_is_read_and_counts_in_the_digest():
    site = asked(rain=f"date,precipitation\n{DAYS}".encode())
    assert site.rain is not None
    assert len(site.rain.depth_m) == 730
    assert site.rain.depth_m[9] == pytest.approx(0.010)
    assert site.digest != asked().digest


def test_one_year_of_rain_is_refused_under_the_name_it_was_given():
    days = "".join(f"{FIRST + timedelta(at)},1\n" for at in range(400))
    with pytest.raises(InputError, match=r"^r\.csv: holds one complete calendar year, 2021, .* wanted two"):
        asked(rain=f"date,precipitation\n{days}".encode())


def test_rain_with_a_gap_is_refused_under_the_name_it_was_given():
    with pytest.raises(InputError) as caught:
        asked(rain=b"date,precipitation\n2021-01-01,1\n2021-01-03,1\n", rain_label="../x.csv")
    assert str(caught.value).startswith("../x.csv")
    assert "2021-01-02 is missing" in str(caught.value)


@pytest.mark.parametrize("address", ["0.0.0.0", "192.168.1.2", "", "::", "example.org"])
def test_only_this_machine_is_served(address):
    with pytest.raises(InputError, match="this machine only"):
        server_command(address, 8501)


def test_the_address_is_a_flag_so_that_the_environment_cannot_change_it():
    words = server_command("127.0.0.1", 8600)
    assert words[words.index("--server.address") + 1] == "127.0.0.1"
    assert words[words.index("--server.port") + 1] == "8600"


def test_of_a_file_that_changes_a_house_it_is_not_said_what_that_house_is():
    at = begun("views/house.py")
    own = b'extends = "family_house"\nname = "Small house"\n[house]\npeople = 2\n'
    at.file_uploader(key="toml").set_value(("own.toml", own, "application/toml")).run()
    assert any(one.value == "From your file: **Small house**." for one in at.markdown)
    assert not any("Four people" in one.value for one in (*at.markdown, *at.caption))
