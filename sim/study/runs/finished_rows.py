"""Rows that are there, by the key of their run: a few columns of numbers instead of many rows of names."""

from bisect import bisect_right
from collections.abc import Sequence
from itertools import chain
from typing import Any

import numpy as np
import pandas as pd

from sim.study.runs.batch import Columns


class Known:
    """Rows of runs, found by key; chunk by chunk as they came."""

    def __init__(self) -> None:
        """Begin with no rows."""
        self._at: dict[str, int] = {}
        self._chunks: list[Columns] = []
        self._starts: list[int] = []
        self._size = 0

    def __contains__(self, key: str) -> bool:
        """Return whether the row of a run is there."""
        return key in self._at

    def add(self, keys: Sequence[str], columns: Columns) -> None:
        """Add rows; those that are there already stay as they are."""
        for place, key in enumerate(keys, self._size):
            self._at.setdefault(key, place)
        self._starts.append(self._size)
        self._chunks.append(columns)
        self._size += len(keys)

    def value(self, key: str, column: str) -> Any:
        """Return one value of the row of a run."""
        place = self._at[key]
        chunk = bisect_right(self._starts, place) - 1
        return self._chunks[chunk][column][place - self._starts[chunk]]

    def frame(self, keys: Sequence[str]) -> pd.DataFrame:
        """Return the rows of runs."""
        if not keys:
            return pd.DataFrame()
        self._merge()
        places = np.array([self._at[key] for key in keys])
        found = {}
        for name, column in self._chunks[0].items():
            values = column[places] if isinstance(column, np.ndarray) else [column[at] for at in places]
            found[name] = values
        return pd.DataFrame(found)

    def _merge(self) -> None:
        """Make one chunk of all."""
        if len(self._chunks) == 1:
            return
        whole: Columns = {}
        for name, first in self._chunks[0].items():
            parts: list[Any] = [chunk[name] for chunk in self._chunks]
            whole[name] = np.concatenate(parts) if isinstance(first, np.ndarray) else list(chain(*parts))
        self._chunks, self._starts = [whole], [0]
