"""The site of a question: a built-in one or a file that was uploaded, with recorded rain if there is any."""

import tempfile
import tomllib
from dataclasses import dataclass
from pathlib import Path

from sim.errors import InputError
from sim.scenario import load
from sim.scenario.digest import digest
from sim.scenario.refusal import one_line, short
from sim.scenario.scenario import Scenario
from sim.scenario.series import RainRecord, read_rain

LARGEST_BYTES = 5 * 1024 * 1024
_BASE = "base"


@dataclass(frozen=True)
class Site:
    """A site as the pages know it.

    Attributes
    ----------
    scenario : Scenario
        The site.
    toml : str
        The text that says it on the command line.
    rain : RainRecord or None
        Recorded rain.
    digest : str
        Names the scenario and its rain by content.
    uploaded : bool
        Whether the text came from a visitor, so that an address alone cannot bring it back.
    """

    scenario: Scenario
    toml: str
    rain: RainRecord | None
    digest: str
    uploaded: bool


def site_of(name: str, upload: bytes | None, label: str, rain: bytes | None, rain_label: str) -> Site:
    """Return the site that was chosen.

    Parameters
    ----------
    name : str
        Name of a built-in site, read when nothing was uploaded.
    upload : bytes or None
        A site file.
    label : str
        What messages call the site file.
    rain : bytes or None
        A CSV of daily rain.
    rain_label : str
        What messages call the rain file.

    Returns
    -------
    Site
        Checked.

    Raises
    ------
    InputError
        One line: file, key or line, what was read, what is wanted.
    """
    if upload is None:
        scenario = load.load(name)
        toml = load.built_in()[name].read_text(encoding="utf-8")
    else:
        toml = _text(upload, label)
        scenario = load.load_text(toml, one_line(label))
    record = None if rain is None else _rain(rain, rain_label, scenario)
    if record is None and scenario.rain.record:
        record = read_rain(scenario.rain.record, scenario.rain)
    named = digest(scenario, *([record.digest] if record else []))
    return Site(scenario, toml, record, named, upload is not None)


def _text(upload: bytes, label: str) -> str:
    """Return an uploaded text that reaches for no file of this machine."""
    called = one_line(label)
    if len(upload) > LARGEST_BYTES:
        raise InputError(f"{called}: is larger than {LARGEST_BYTES // 1024**2} MB; wanted a smaller file")
    try:
        text = upload.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(f"{called}: byte {error.start} is not UTF-8; wanted a UTF-8 text file") from None
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError):
        return text  # the reader says what is wrong with it
    known = [_BASE, *load.built_in()]
    if "extends" in data and data["extends"] not in known:
        raise InputError(
            f"{called}: extends: read {short(data['extends'])}; wanted one of {', '.join(known)}: "
            "an uploaded site cannot name files"
        )
    rain = data.get("rain")
    if isinstance(rain, dict) and "record" in rain:
        raise InputError(
            f"{called}: rain.record: read {short(rain['record'])}; wanted none: upload the rain file instead"
        )
    return text


def _rain(content: bytes, label: str, scenario: Scenario) -> RainRecord:
    called = one_line(label)
    if len(content) > LARGEST_BYTES:
        raise InputError(f"{called}: is larger than {LARGEST_BYTES // 1024**2} MB; wanted a smaller file")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "rain.csv"  # never the name a visitor gave
        path.write_bytes(content)
        try:
            return read_rain(path, scenario.rain)
        except InputError as error:
            said = str(error).replace(str(path), called).replace(path.name, called)
            raise InputError(one_line(said)) from None
