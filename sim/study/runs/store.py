"""What a study leaves behind in a folder: all files or none, each under its name only when it is whole."""

import io
import json
import os
import platform
import shutil
import tempfile
from collections.abc import Mapping, Sequence
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

import pandas as pd

from sim import __version__
from sim.errors import InputError

PACKAGES = ("numpy", "scipy", "pandas", "numba", "simpy", "pydantic", "pyarrow", "plotly")


def prepare(folder: Path) -> Path:
    """Make sure results can be written to a folder, before long work begins.

    Refused when it is a file or cannot be written to.
    """
    try:
        if folder.exists() and not folder.is_dir():
            raise InputError(f"output folder {folder} is a file; wanted a folder")
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            pass
    except (OSError, ValueError) as error:  # ValueError: a NUL in the name
        said = error.strerror if isinstance(error, OSError) else error
        raise InputError(f"output folder {folder} cannot be written to: {said}") from error
    return folder


def write_all(folder: Path, contents: Mapping[str, bytes]) -> list[Path]:
    """Write files under temporary names, then rename them all.

    Refused when they cannot be written, such as when the disk is full; earlier files are then left alone.
    """
    waiting: list[tuple[Path, Path]] = []
    try:
        for name, content in contents.items():
            waiting.append((folder / f".{name}.{os.getpid()}.part", folder / name))
            waiting[-1][0].write_bytes(content)
            settle(waiting[-1][0])
        for temporary, final in waiting:
            os.replace(temporary, final)
        settle(folder)
    except OSError as error:
        raise InputError(f"output folder {folder} cannot be written to: {error.strerror}") from error
    finally:
        for temporary, _ in waiting:
            temporary.unlink(missing_ok=True)
    return [final for _, final in waiting]


def settle(path: Path) -> None:
    """Wait until a file, or the names in a folder, are on the disk and would outlast a power failure."""
    if os.name == "nt" and path.is_dir():
        return  # names there settle by themselves, and a folder cannot be opened
    handle = os.open(path, os.O_RDONLY if os.name != "nt" else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def sweep(folder: Path) -> None:
    """Clear away what a killed process left half-written."""
    for scrap in folder.glob(".*.part"):
        if scrap.is_dir():
            shutil.rmtree(scrap)
        else:
            scrap.unlink(missing_ok=True)


def discard(folder: Path) -> None:
    """Remove a folder and all in it, in one step as far as anyone who looks for it can tell."""
    scrap = folder.with_name(f".{folder.name}.{os.getpid()}.part")
    os.replace(folder, scrap)
    shutil.rmtree(scrap)


def table_files(name: str, table: pd.DataFrame) -> dict[str, bytes]:
    """Return a table as CSV and as Parquet."""
    buffer = io.BytesIO()
    table.to_parquet(buffer, index=False)
    return {f"{name}.csv": csv_bytes(table), f"{name}.parquet": buffer.getvalue()}


def csv_bytes(table: pd.DataFrame) -> bytes:
    """Return a table as CSV that reads back to the same numbers on any system."""
    return str(table.to_csv(index=False, lineterminator="\n")).encode()


def manifest(
    site: str,
    digest: str,
    policies: Sequence[str],
    seed: int,
    years: int,
    finished: int,
    wanted: int,
    stopped_because: str,
    reference: str,
) -> dict[str, Any]:
    """Return what is needed to make the same rows again; no clock time, no path, no name of a machine.

    Parameters
    ----------
    years : int
        Length of one run [year].
    """
    return {
        "program": "cisterntwin",
        "version": __version__,
        "site": site,
        "scenario_digest": digest,
        "policies": list(policies),
        "reference": reference,
        "seed": seed,
        "years": years,
        "replications_finished": finished,
        "replications_wanted": wanted,
        "stopped_because": stopped_because,
        "python": platform.python_version(),
        "packages": {name: _version(name) for name in PACKAGES},
    }


def json_bytes(values: Mapping[str, Any]) -> bytes:
    """Return values as JSON a person can read."""
    return (json.dumps(values, indent=2, ensure_ascii=False) + "\n").encode()


def _version(package: str) -> str:
    try:
        return version(package)
    except PackageNotFoundError:
        return "not installed"
