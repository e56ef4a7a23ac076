"""Files that appear whole or not at all, and lines that are added and never lost."""

import os
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

from sim.errors import InputError


def prepare(folder: Path) -> Path:
    """Make sure results can be written to a folder, before long work begins.

    Raises
    ------
    InputError
        When it is a file or cannot be written to.
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

    Raises
    ------
    InputError
        When they cannot be written, such as when the disk is full; earlier files are then left alone.
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
