"""Questions and answers as files: JSON for the values, Parquet for tables and arrays, with their SHA-256."""

import hashlib
import io
import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from sim.study.plain import from_plain, to_plain


def as_files(value: Any, name: str, more: Mapping[str, Any]) -> dict[str, bytes]:
    """Return a question or an answer as files: `name`.json, with what more is said of it, and its tables."""
    parts: dict[str, Any] = {}
    plain = to_plain(value, parts)
    files = {f"{part}.parquet": _parquet(table) for part, table in parts.items()}
    sums = {part: hashlib.sha256(files[f"{part}.parquet"]).hexdigest() for part in parts}
    return {f"{name}.json": json.dumps({**more, "values": plain, "tables": sums}).encode(), **files}


def from_files(folder: Path, name: str, kind_of: Callable[[dict[str, Any]], type]) -> Any:
    """Read what `as_files` made; what is said of it tells its type.

    Raises
    ------
    Exception
        Of any kind when a file is damaged or not what it should be.
    """
    about = json.loads((folder / f"{name}.json").read_bytes())
    parts = {part: _table(folder, part, told) for part, told in about["tables"].items()}
    return from_plain(kind_of(about), about["values"], parts)


def _parquet(part: Any) -> bytes:
    table = pd.DataFrame({str(part.dtype): part}) if isinstance(part, np.ndarray) else part
    buffer = io.BytesIO()
    table.to_parquet(buffer)
    return buffer.getvalue()


def _table(folder: Path, name: str, told: str) -> pd.DataFrame:
    if not name.isidentifier():
        raise ValueError(name)
    content = (folder / f"{name}.parquet").read_bytes()
    if hashlib.sha256(content).hexdigest() != told:
        raise ValueError(name)
    return pd.read_parquet(io.BytesIO(content))
