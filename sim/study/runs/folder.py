"""A folder that a study can go on from: its plan, its finished batches, and what was begun.

plan.json says what is asked; `batches/` holds finished batches, named by content, each there only
when it is whole; `started.log` has a line for each batch that was handed out. No batch is ever rewritten:
a process that is killed, a full disk or a power failure costs no more than what was under way.
"""

import contextlib
import errno
import hashlib
import os
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from sim import disk
from sim.errors import InputError
from sim.study.runs import store
from sim.study.runs.batch import Columns

BATCHES = "batches"
RUN = "run"  # the column of a batch that names its runs
_TEXT = pa.string()


class StudyFolder:
    """Batches on disk."""

    def __init__(self, path: Path, plan: Mapping[str, Any]) -> None:
        """Make the folder ready; what a killed process left half-written is cleared away."""
        self.path = path
        self.batches = path / BATCHES
        self._log = path / "started.log"
        disk.prepare(self.batches)
        for folder in (path, self.batches):
            disk.sweep(folder)
        disk.write_all(path, {"plan.json": store.json_bytes(plan)})

    def begin(self, keys: Sequence[str]) -> None:
        """Note that a batch is handed out."""
        with self._told(), self._log.open("ab", buffering=0) as log:
            log.write(f"{_name(keys)} {' '.join(keys)}\n".encode())

    def write(self, keys: Sequence[str], columns: Columns) -> None:
        """Keep a finished batch; refused when it cannot be written, such as when the disk is full.

        Notes
        -----
        Synced before it is renamed, so that after a power failure a file under its name is whole. The rename
        itself is not waited for: a batch that vanishes is run again.
        """
        table = pa.table({RUN: pa.array(keys, _TEXT), **{name: _array(c) for name, c in columns.items()}})
        waiting, name = self.batches / f".{_name(keys)}.{os.getpid()}.part", _name(keys)
        with self._told():
            try:
                waiting.write_bytes(_parquet(table))
                disk.settle(waiting)
                os.replace(waiting, self.batches / f"{name}.parquet")
            finally:
                with contextlib.suppress(OSError):
                    waiting.unlink(missing_ok=True)

    def forget(self, mine: Callable[[str], bool]) -> int:
        """Remove the batches that hold nothing else than runs of a study; and the folder, when none is left.

        All go in one step where they are all of the study: whoever is killed here leaves a study that is
        either finished or has every batch.
        """
        files = sorted(self.batches.glob("*.parquet"))
        spent = [file for file in files if _spent(file, mine)]
        if len(spent) == len(files):
            disk.discard(self.batches)
            self.remove_empty()
        else:
            for file in spent:
                file.unlink()
        return len(files) - len(spent)

    def remove_empty(self) -> None:
        """Remove the folder when there is no batch in it."""
        if any(self.batches.glob("*.parquet")):
            return
        for file in (self._log, self.path / "plan.json"):
            file.unlink(missing_ok=True)
        for folder in (self.batches, self.path):
            with contextlib.suppress(OSError):  # gone already, or someone keeps something of their own in it
                folder.rmdir()

    @contextmanager
    def _told(self) -> Iterator[None]:
        """Say in one line that the folder cannot be written to."""
        try:
            yield
        except OSError as error:
            raise InputError(
                f"{self.path} cannot be written to: {error.strerror or error}; "
                "what was finished is kept there, and the same command goes on from it"
            ) from error


def read_batches(path: Path, mine: Callable[[str], bool]) -> Iterator[tuple[list[str], Columns]]:
    """Read finished batches of a folder."""
    for file in sorted((path / BATCHES).glob("*.parquet")):
        table = _table(file)
        if table is None:
            continue
        keys = table[RUN].to_pylist()
        wanted = [mine(key) for key in keys]
        if any(wanted):
            table = table.filter(pa.array(wanted)).drop_columns(RUN)
            yield (
                [key for key, want in zip(keys, wanted, strict=True) if want],
                {name: _column(table[name]) for name in table.column_names},
            )


@contextmanager
def held(folder: Path) -> Iterator[None]:
    """Hold a folder, so that no other process works in it at the same time.

    Refused when another process holds it.

    Notes
    -----
    Where the system has no such holds it goes on without: batches are named by content and appear whole, so
    that two who work on the same question only do the same work twice.
    """
    handle = os.open(folder, os.O_RDONLY)
    place = os.fstat(handle)
    who = (place.st_dev, place.st_ino)
    try:
        if not _holds[who]:
            _lock(handle, folder)
        _holds[who] += 1
        try:
            yield
        finally:
            _holds[who] -= 1
    finally:
        os.close(handle)


_holds: Counter[tuple[int, int]] = Counter()  # folders this process holds, and how often


def _lock(handle: int, folder: Path) -> None:
    try:
        import fcntl  # noqa: PLC0415  not on every system
    except ImportError:
        return
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        if error.errno in {errno.EWOULDBLOCK, errno.EACCES}:
            raise InputError(
                f"another run is at work in {folder}; wait until it has ended, or name another folder"
            ) from None


def _spent(file: Path, mine: Callable[[str], bool]) -> bool:
    """Return whether a batch is damaged, or holds runs of one study only."""
    table = _table(file)
    return table is None or all(mine(key) for key in table[RUN].to_pylist())


def _name(keys: Sequence[str]) -> str:
    return hashlib.sha256("\n".join(keys).encode()).hexdigest()[:32]


def _parquet(table: pa.Table) -> bytes:
    buffer = pa.BufferOutputStream()
    pq.write_table(table, buffer, write_statistics=False, write_page_checksum=True)
    return bytes(buffer.getvalue())


def _array(column: Any) -> pa.Array:
    return pa.array(column) if isinstance(column, np.ndarray) else pa.array(column, _TEXT)


def _column(column: pa.ChunkedArray) -> Any:
    return column.to_pylist() if column.type == _TEXT else column.to_numpy()


def _table(file: Path) -> pa.Table | None:
    """Return a batch, None when it is damaged."""
    try:
        return pq.read_table(file, page_checksum_verification=True)
    except pa.ArrowException:
        return None
    except OSError as error:
        if error.errno is None:  # a checksum that does not hold
            return None
        raise InputError(f"{file} cannot be read: {error.strerror}") from error
