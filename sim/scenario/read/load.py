"""Reading scenarios from TOML files: built-in ones by name, one's own by path."""

import copy
import hashlib
import json
import tomllib
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from sim.errors import InputError
from sim.scenario.care import check_training
from sim.scenario.climate import table
from sim.scenario.nearest import nearest
from sim.scenario.read.content import content_of, text_of
from sim.scenario.read.included import with_included
from sim.scenario.read.kept import kept
from sim.scenario.read.merge import merged
from sim.scenario.read.refusal import one_line, refusal, short
from sim.scenario.scenario import Scenario

DEMO = "family_house"  # the built-in scenario shown first
_COMMON = ("base", "procedures")  # extended by the others, no sites themselves
_DEEPEST = 8  # extends upon extends
_MOST_BYTES = 8 * 1024**2
_MOST_REMEMBERED = 200_000  # characters; what all sites extend is shorter, and is read again for each of them


def built_in() -> dict[str, Path]:
    """Return the scenarios that come with the project."""
    found = {path.stem: path for path in sorted(_folder().glob("*.toml"))}
    return {name: path for name, path in found.items() if name not in _COMMON}


def load(path_or_name: str | Path) -> Scenario:
    """Read a scenario from a file or by the name of a built-in one.

    Raises
    ------
    InputError
        One line: file, key, what was read, what is wanted.
    """
    return load_told(path_or_name)[0]


def load_told(path_or_name: str | Path) -> tuple[Scenario, dict[str, Any]]:
    """Read a scenario; also return its name, what it extends and the keys it keeps of that, as plain data.

    Raises
    ------
    InputError
        One line: file, key, what was read, what is wanted.
    """
    path = built_in().get(str(path_or_name), Path(path_or_name))
    if not path.suffix and not _is_there(path):
        raise InputError(one_line(f"{path}: no such scenario or file; {nearest(str(path), built_in())}"))
    text = _read(path, str(path))
    scenario = load_text(text, path.name, path.parent)
    if str(path_or_name) in built_in():
        return scenario, {"name": f"{path_or_name} (built in)"}
    own = _tables(text)
    told = {"name": one_line(path.name), "sha256": hashlib.sha256(text.encode()).hexdigest()}
    if "extends" not in own:
        return scenario, told
    base = _whole(f"extends = {json.dumps(own.pop('extends'))}", path.parent, ())
    name = one_line(_tables(text)["extends"])
    return scenario, {**told, "extends": name, "kept": list(kept(base, own))}


def load_text(text: str, label: str, folder: Path | None = None) -> Scenario:
    """Read a scenario from TOML text.

    Raises
    ------
    InputError
        One line: label, key, what was read, what is wanted.
    """
    return checked(tables(text, label, folder), label)


def tables(text: str, label: str, folder: Path | None = None) -> dict[str, Any]:
    """Read the tables of a scenario with those of everything it extends, values as written.

    Raises
    ------
    InputError
        One line: label, key, what was read, what is wanted.

    Examples
    --------
    >>> tables('extends = "cottage"', "mine.toml")["rain"]["climate"]
    'mediterranean'
    """
    try:
        return with_included(_whole(text, folder or Path(), ()))
    except RecursionError:
        raise InputError(one_line(f"{label}: is nested too deeply to be read")) from None
    except InputError as error:
        raise InputError(one_line(f"{label}: {error}")) from None


def checked(data: dict[str, Any], label: str) -> Scenario:
    """Make a scenario of its tables.

    Raises
    ------
    InputError
        One line: label, key, what was read, what is wanted.
    """
    try:
        scenario = Scenario.model_validate(data)
        table(scenario.rain.climate)
        check_training(scenario.people.slips)
        return scenario
    except ValidationError as error:
        message = refusal(error, data)
    except RecursionError:
        message = "is nested too deeply to be read"
    except InputError as error:
        message = str(error)
    raise InputError(one_line(f"{label}: {message}"))


def _is_there(path: Path) -> bool:
    try:
        return path.exists()
    except (OSError, ValueError):  # a name too long, a NUL: it is not the name of a scenario either
        return False


def _folder() -> Path:
    return Path(str(files("scenarios")))


def _read(path: Path, called: str) -> str:
    wanted = f"a TOML file, or one that is built in: {', '.join(built_in())}"
    return text_of(content_of(path, called, wanted, _MOST_BYTES), called)


def _whole(text: str, folder: Path, seen: tuple[Path, ...]) -> dict[str, Any]:
    """Return the tables of a text laid over those of everything it extends."""
    data = _tables(text)
    _anchor_record(data, folder)
    if "extends" not in data:
        return merged({}, data)
    path = _extended(data.pop("extends"), folder)
    if path in seen:
        raise InputError(f"extends: {path.name} comes back to itself; wanted no circle")
    if len(seen) >= _DEEPEST:
        raise InputError(f"extends: more than {_DEEPEST} scenarios upon one another; wanted fewer")
    try:
        base = _whole(_read(path, f"extends: {path}"), path.parent, (*seen, path))
    except InputError as error:
        said = str(error)
        raise InputError(said if said.startswith("extends") else f"extends: {path.name}: {said}") from None
    return merged(base, data)


def _tables(text: str) -> dict[str, Any]:
    try:
        if len(text) > _MOST_REMEMBERED:
            return tomllib.loads(text)
        return copy.deepcopy(_parsed(text))
    except ValueError as error:  # also numbers and dates that are out of range
        raise InputError(f"is not TOML: {error}") from None
    except RecursionError:
        raise InputError("is not TOML that can be read: nested too deeply") from None


@lru_cache(maxsize=8)
def _parsed(text: str) -> dict[str, Any]:
    return tomllib.loads(text)


def _extended(value: object, folder: Path) -> Path:
    if not isinstance(value, str):
        raise InputError(
            f"extends: read {short(value)}; wanted the name of a built-in scenario or a file name"
        )
    known = {**built_in(), **{name: _folder() / f"{name}.toml" for name in _COMMON}}
    if value in known:
        return known[value].resolve()
    if not value.endswith(".toml"):
        raise InputError(f"extends: no scenario {short(value)}; {nearest(value, known)}; or a .toml file")
    try:
        return (folder / value).resolve()
    except (OSError, ValueError, RuntimeError) as error:
        raise InputError(f"extends: {short(value)} cannot be read: {error}") from None


def _anchor_record(data: dict[str, Any], folder: Path) -> None:
    """Make the path of a rain record absolute, so that a variant elsewhere still finds it."""
    rain = data.get("rain")
    if isinstance(rain, dict) and isinstance(rain.get("record"), str):
        rain["record"] = str((folder / rain["record"]).absolute())
