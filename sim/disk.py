"""Files that appear whole or not at all, and lines that are added and never lost."""

import os
import shutil
import stat
import tempfile
from collections.abc import Mapping
from pathlib import Path

from sim.errors import InputError

DIARIES = "CISTERNTWIN_DIARIES"  # names the folder in which the pages keep diaries


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


def cache(*names: str) -> Path:
    """Return a folder of this program in the user's cache, theirs alone; see `private`."""
    base = os.environ.get("XDG_CACHE_HOME")
    folder = private((Path(base) if base else Path.home() / ".cache") / "cisterntwin")
    for name in names:
        folder = private(folder / name)
    return folder


def private(folder: Path) -> Path:
    """Make a folder that only the user can look into and write to.

    Raises
    ------
    InputError
        When it is there and another user owns it or could have written to it: what is read there may run.
    """
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        found = [folder.lstat(), folder.stat()]  # of a link, and of what it leads to
        if os.name == "posix":
            if any(one.st_uid != os.geteuid() for one in found):
                raise InputError(f"{folder} belongs to another user; wanted a folder of your own")
            if found[1].st_mode & (stat.S_IWGRP | stat.S_IWOTH):
                raise InputError(f"{folder} can be written to by others; remove it, it is made anew")
            if stat.S_IMODE(found[1].st_mode) != stat.S_IRWXU:
                folder.chmod(stat.S_IRWXU)
    except OSError as error:
        raise InputError(f"{folder} cannot be made or used: {error.strerror or error}") from error
    return folder


def as_text(cell: str) -> str:
    """Return a cell of CSV so that no spreadsheet takes it for a formula; numbers stay what they are.

    References
    ----------
    OWASP, "CSV Injection": an apostrophe before = + - @, tab and carriage return.

    Examples
    --------
    >>> as_text("=1+1"), as_text("-1.5"), as_text("carbon")
    ("'=1+1", '-1.5', 'carbon')
    """
    if not cell or (cell[0] not in "=+-@" and cell[0].isprintable()):
        return cell
    try:
        float(cell)
    except ValueError:
        return f"'{cell}"
    return cell


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


def append(path: Path, header: bytes, lines: bytes) -> None:
    """Add whole lines at the end of a file; two who add at once wait for one another.

    Parameters
    ----------
    header : bytes
        First line of a file that is not there yet, with its line break.
    lines : bytes
        Lines with their line breaks.

    Raises
    ------
    InputError
        When they cannot be written, such as when the disk is full; the file is then as it was.

    Notes
    -----
    Synced before it returns. Half a line that a killed writer left was confirmed to nobody; it is put aside
    into a file of its own beside this one.
    """
    new = not path.exists()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle = os.open(path, os.O_RDWR | os.O_CREAT | getattr(os, "O_BINARY", 0), 0o644)
        try:
            _hold(handle)
            _append(handle, path, header, lines)
        finally:
            os.close(handle)
        if new:
            settle(path.parent)
    except OSError as error:
        raise InputError(f"{path} cannot be written to: {error.strerror or error}") from error


def _append(handle: int, path: Path, header: bytes, lines: bytes) -> None:
    size = _put_aside(handle, path, os.fstat(handle).st_size)
    try:
        os.lseek(handle, size, os.SEEK_SET)
        _write(handle, lines if size else header + lines)
        os.fsync(handle)
    except OSError:
        os.ftruncate(handle, size)
        raise


def _put_aside(handle: int, path: Path, size: int) -> int:
    """Cut half a line off the end, keep it beside the file, and return what is left of the size."""
    if size == 0:
        return 0
    os.lseek(handle, 0, os.SEEK_SET)
    content = _read(handle, size)
    whole = content.rfind(b"\n") + 1
    if whole < size:
        with path.with_name(f"{path.name}.half").open("ab") as aside:
            aside.write(content[whole:] + b"\n")
        os.ftruncate(handle, whole)
    return whole


def _read(handle: int, size: int) -> bytes:
    found = b""
    while len(found) < size and (more := os.read(handle, size - len(found))):
        found += more
    return found


def _write(handle: int, content: bytes) -> None:
    left = memoryview(content)
    while left:
        left = left[os.write(handle, left) :]


def _hold(handle: int) -> None:
    """Wait until no other process holds the file; it is let go when the file is closed."""
    try:
        import fcntl  # noqa: PLC0415  not on every system
    except ImportError:
        import msvcrt  # noqa: PLC0415

        msvcrt.locking(handle, msvcrt.LK_LOCK, 1)  # type: ignore[attr-defined]
        return
    fcntl.flock(handle, fcntl.LOCK_EX)
