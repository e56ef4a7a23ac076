"""What a study leaves behind: tables, JSON and a manifest as bytes."""

import io
import json
import platform
from collections.abc import Mapping, Sequence
from importlib.metadata import PackageNotFoundError, version
from typing import Any

import pandas as pd

from sim import __version__
from sim.disk import as_text
from sim.outcome.package import PACKAGE, of_rows

PACKAGES = ("numpy", "scipy", "pandas", "numba", "simpy", "pydantic", "pyarrow", "plotly")


def table_files(name: str, table: pd.DataFrame) -> dict[str, bytes]:
    """Return a table as CSV and as Parquet."""
    buffer = io.BytesIO()
    table.to_parquet(buffer, index=False)
    return {f"{name}.csv": csv_bytes(table), f"{name}.parquet": buffer.getvalue()}


def rows_files(rows: pd.DataFrame) -> dict[str, bytes]:
    """Return the rows of runs as CSV and Parquet, with what their columns are."""
    kinds = {str(name): getattr(kind, "kind", "O") for name, kind in rows.dtypes.items()}
    return {**table_files("rows", rows), PACKAGE: of_rows(kinds)}


def csv_bytes(table: pd.DataFrame) -> bytes:
    """Return a table as CSV that reads back to the same numbers on any system."""
    words = [name for name, kind in table.dtypes.items() if not hasattr(kind, "kind") or kind.kind in "OU"]
    shown = table.assign(**{str(name): table[name].map(_as_text) for name in words})
    return str(shown.rename(columns=_as_text).to_csv(index=False, lineterminator="\n")).encode()


def _as_text(cell: Any) -> Any:
    return as_text(cell) if isinstance(cell, str) else cell


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
        **program(),
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


def program() -> dict[str, Any]:
    """Return what the manifest says of this program."""
    return {"program": "cisterntwin", "version": __version__}


def json_bytes(values: Mapping[str, Any]) -> bytes:
    """Return values as JSON a person can read."""
    return (json.dumps(values, indent=2, ensure_ascii=False) + "\n").encode()


def _version(package: str) -> str:
    try:
        return version(package)
    except PackageNotFoundError:
        return "not installed"
