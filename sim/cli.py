"""The command line: reads arguments, calls a command, turns errors into one line and an exit code.

Exit codes: 0 done, 1 our fault, 2 the input's fault, 3 a design fails a criterion, 130 interrupted (what was
finished is kept and shown).
Commands that load physics are imported only when called, so that `--help` answers at once.
"""

import argparse
import atexit
import gc
import io
import os
import signal
import sys
from collections.abc import Callable, Sequence
from importlib import import_module

from sim import __version__
from sim.commands.dashboard import APP
from sim.commands.options import COMMANDS, NOT_YET, QUOTES, RAIN, RECORDS, word
from sim.errors import InputError, Interrupted, TwinError

DONE, OUR_FAULT, INPUT_FAULT, INTERRUPTED = 0, 1, 2, 130
SELDOM = 100_000  # new objects between two looks for garbage: at 700 a tenth of a short command goes on them


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command."""
    _show_what_cannot_be_encoded()
    gc.set_threshold(SELDOM)
    atexit.register(gc.freeze)  # else all that was loaded is looked through for garbage as the process ends
    try:
        return _done(arguments)
    except InputError as error:
        return _say(str(error), INPUT_FAULT)
    except Interrupted as error:
        return _say(str(error), INTERRUPTED)
    except KeyboardInterrupt:
        return _say("interrupted", INTERRUPTED)
    except TwinError as error:
        return _say(f"fault in this program, please report it: {error}", OUR_FAULT)
    except OSError as error:
        return _not_written(error)


def _not_written(error: OSError) -> int:
    """Keep the interpreter from writing once more at its exit, and complaining; say what could not be."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    if isinstance(error, BrokenPipeError):  # the reader of our output left, such as `| head`
        return DONE
    what = error.filename or "what is printed"
    return _say(f"{what} cannot be written or read: {error.strerror or error}", INPUT_FAULT)


def _done(arguments: Sequence[str] | None) -> int:
    """Run one command; what it printed has left this process, help as well."""
    try:
        options = parser().parse_args(arguments)
        return int(_command(options.command)(options))
    finally:
        if sys.stdout is not None:
            sys.stdout.flush()


def _say(message: str, code: int) -> int:
    print(f"cisterntwin: {_one_line(message)}", file=sys.stderr)
    return code


def _one_line(message: str) -> str:
    return " ".join("".join(c if c.isprintable() else " " for c in message).split())


def _show_what_cannot_be_encoded() -> None:
    """Show what the screen's encoding does not have by its code rather than end the program."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _command(name: str) -> Callable[[argparse.Namespace], int]:
    # Imported here, one by one: physics and tables take seconds to load, and help needs neither.
    heard = signal.getsignal(signal.SIGINT) is signal.default_int_handler
    if heard:
        signal.signal(signal.SIGINT, _end)
    try:
        command: Callable[[argparse.Namespace], int] = getattr(import_module(f"sim.commands.{name}"), name)
    finally:
        if heard:
            signal.signal(signal.SIGINT, signal.default_int_handler)
    return command


def _end(number: int, frame: object) -> None:
    """End at once: there is nothing to lose yet, and the interpreter swallows exceptions in an import."""
    del number, frame
    os._exit(_say("interrupted", INTERRUPTED))


class _Parser(argparse.ArgumentParser):
    """Says what is wrong in one line."""

    def error(self, message: str) -> "None":  # type: ignore[override]
        self.exit(INPUT_FAULT, f"cisterntwin: {_one_line(message)}\n")


def parser() -> argparse.ArgumentParser:
    """Return the parser of all commands."""
    top = _Parser(prog="cisterntwin", description="Compare ways of looking after a house on rainwater.")
    top.add_argument("--version", action="version", version=f"cisterntwin {__version__}")
    commands = top.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name, (words, options) in COMMANDS.items():
        if name == "dashboard" and not APP.exists():
            continue
        command = commands.add_parser(
            name, help=words, epilog=_epilog(name, RAIN in options),
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )  # fmt: skip
        for names, settings in options:
            if not {"type", "choices", "action"} & settings.keys() or settings.get("action") == "append":
                settings = {"type": word, **settings}  # noqa: PLW2901
            command.add_argument(*names, **settings)
    return top


def _epilog(name: str, rain: bool) -> str:
    quotes = QUOTES if name == "size" else ""
    return (RECORDS if rain else "") + quotes + (NOT_YET if name in ("check", "size") else "")


if __name__ == "__main__":
    sys.exit(main())
