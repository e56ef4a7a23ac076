"""The site of a question: a built-in one or a file that was uploaded, with recorded rain if there is any."""

import hashlib
import tempfile
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import tomli_w

from dashboard.change.changes import Changes, applied, listed
from dashboard.change.fields import by_file_keys
from sim.errors import InputError
from sim.scenario.read import load
from sim.scenario.read.refusal import one_line, short
from sim.scenario.read.series import RainRecord, read_rain
from sim.scenario.scenario import Scenario
from sim.study import question as study
from sim.study.rain_record import check_length

LARGEST_BYTES = 5 * 1024 * 1024
_BASE = "base"


@dataclass(frozen=True)
class Site:
    """A site as the pages know it."""

    asked: study.Site  # what questions are asked about
    toml: str  # the text that says it on the command line
    uploaded: bool  # whether the text came from a visitor, so that an address alone cannot bring it back
    tables: Mapping[str, Any]  # the same as tables with the values as written, nothing extended any more
    key: str  # names the site as chosen, whatever is changed of it
    rain_uploaded: bool  # whether the rain came from a visitor
    label: str = ""  # of an uploaded file, without its ending

    @property
    def scenario(self) -> Scenario:
        """The scenario."""
        return self.asked.scenario

    @property
    def rain(self) -> RainRecord | None:
        """Recorded rain."""
        return self.asked.rain

    @property
    def digest(self) -> str:
        """What names the scenario and its rain by content."""
        return self.asked.digest


def site_of(name: str, upload: bytes | None, label: str, rain: bytes | None, rain_label: str) -> Site:
    """Return the site that was chosen.

    Raises
    ------
    InputError
        One line: file, key or line, what was read, what is wanted.
    """
    if upload is None:
        toml, called = load.built_in()[name].read_text(encoding="utf-8"), f"{name}.toml"
    else:
        toml, called = _text(upload, label), one_line(label)
    tables = by_file_keys(load.tables(toml, called))
    scenario = load.checked(tables, called)
    record = None if rain is None else _rain(rain, rain_label, scenario)
    if record is None and scenario.rain.record:
        record = read_rain(scenario.rain.record, scenario.rain)
    if record is not None:
        check_length(record, "rain record" if rain is None else one_line(rain_label))
    key = name if upload is None else hashlib.sha256(upload).hexdigest()
    stem = "" if upload is None else Path(called).stem
    return Site(study.Site(scenario, record), toml, upload is not None, tables, key, rain is not None, stem)


def changed(site: Site, changes: Changes) -> Site:
    """Return a site with what was changed of it.

    Raises
    ------
    InputError
        The one line the command line would give.
    """
    if not changes:
        return site
    tables = applied(site.tables, changes)
    scenario = load.checked(tables, "site.toml")
    head = [f"# {one_line(site.scenario.name)}, with these values changed:"]
    for change in listed(site.tables, changes, "si"):
        head.append(f"# {one_line(change.key)}: {one_line(change.now)} (was {one_line(change.was)})")
    toml = "\n".join(head) + "\n\n" + tomli_w.dumps(tables)
    return replace(site, asked=study.Site(scenario, site.rain), toml=toml, tables=tables)


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
