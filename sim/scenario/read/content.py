"""The bytes of a file people named: a regular file of bearable size, opened once and read once."""

import os
import stat
from pathlib import Path

from sim.errors import InputError
from sim.scenario.read.refusal import one_line

MOST_BYTES = 64 * 1024**2  # some five years of draws are 5 MB


def content_of(path: Path, called: str, wanted: str, most_bytes: int = MOST_BYTES) -> bytes:
    """Return what a file holds.

    Refused in one line, without waiting, when it is missing, a folder, a pipe, a device or too large.

    Parameters
    ----------
    called : str
        What messages call it.
    wanted : str
        What it is meant to be, such as "a CSV file".
    """
    try:
        # A pipe nobody writes to would be waited for when it is opened.
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        try:
            content = _read(handle, called, wanted, most_bytes)
        finally:
            os.close(handle)
    except FileNotFoundError:
        raise _refused(f"{called}: no such file; wanted {wanted}") from None
    except (OSError, ValueError) as error:  # ValueError: a NUL in the path
        raise _refused(f"{called}: cannot be read: {error}") from None
    if len(content) > most_bytes:
        raise _refused(f"{called}: is larger than {most_bytes // 1024**2} MB; wanted a smaller file")
    return content


def text_of(content: bytes, called: str) -> str:
    """Return the text of a file; refused when it is not UTF-8, with the line."""
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise _refused(f"{called}: line {line}: is not UTF-8; wanted a UTF-8 text file") from None


def _read(handle: int, called: str, wanted: str, most_bytes: int) -> bytes:
    kind = os.fstat(handle).st_mode
    if stat.S_ISDIR(kind):
        raise _refused(f"{called}: is a folder; wanted {wanted}")
    if not stat.S_ISREG(kind):
        raise _refused(f"{called}: is a pipe or a device; wanted {wanted} on disk")
    with open(handle, "rb", closefd=False) as file:
        return file.read(most_bytes + 1)


def _refused(message: str) -> InputError:
    return InputError(one_line(message))
