"""`drill`: a fault nobody names, played by keyboard, then revealed; or a case played again."""

import argparse
import sys
from collections.abc import Iterator
from pathlib import Path

from pydantic import ValidationError

from sim import disk
from sim.commands.inputs import write
from sim.drill.beside import beside
from sim.drill.case import LARGEST_SEED, ORDERS, Case, Move, case_text, drawn, read_case
from sim.drill.expert import expert
from sim.drill.play import UNTIL, Ended, Play, played
from sim.drill.results import read_results, standing
from sim.drill.reveal import days_frame, result_frame, words
from sim.drill.score import score
from sim.drill.sheets import blank_sheet, key_sheet
from sim.drill.sight import CHECKS, opens
from sim.drill.story import looks, story
from sim.errors import InputError
from sim.scenario.read import load
from sim.study.caution import CAUTION
from sim.study.runs import store
from sim.study.runs.quota import in_range

HELP = """What can be said, one line at a time:
  wait 7                        let days pass; "wait" alone: until something happens
  check gauges                  look at something: {checks}
  do wipe sleeve                do something; "do change cartridge at carbon" on one stage: {acts}
  readings                      what was read so far, side by side
  believe dark lamp 80          name a cause with its probability in percent: {causes}
  done                          let the rest of the case pass, and see what was true"""


def drill(options: argparse.Namespace) -> int:
    """Play a case by keyboard, or play one again, and reveal it."""
    if options.results:
        print("\n".join(standing(read_results(options.results))))
        return 0
    case = _case(options)
    folder = disk.prepare(options.out)
    if options.sheets:
        return _written(
            folder,
            {"blank.html": blank_sheet(case, options.units), "key.html": key_sheet(case, options.units)},
        )
    ended = played(case, options.units) if case.moves else _by_keyboard(case, options)
    best = expert(case)
    found = score(ended, best)
    case = case.model_copy(update={"moves": tuple(ended.log.moves), "fault": case.staged})
    lines = words(ended, best, found, options.units)
    contents = {
        "case.toml": case_text(case).encode(),
        "reveal.txt": ("\n".join(lines) + "\n").encode(),
        "days.csv": store.csv_bytes(days_frame(ended, best)),
        "result.csv": store.csv_bytes(result_frame(ended, found)),
    }
    print("\n".join(["", *lines]))
    return _written(folder, contents)


def _case(options: argparse.Namespace) -> Case:
    if options.case:
        return read_case(options.case)
    in_range("seed", options.seed, 0, LARGEST_SEED)
    return drawn(options.site or load.DEMO, options.seed, options.fault)


def _written(folder: Path, contents: dict[str, bytes]) -> int:
    print(write(folder, contents))
    return 0


def _by_keyboard(case: Case, options: argparse.Namespace) -> Ended:
    play = Play(case, options.units)
    print(CAUTION)
    print("A house you have not seen before. Noted on the day you take it over:")
    for seen in play.notes:
        print("\n".join(f"  {line}" for line in seen.words))
    works = (*story(play.scenario, options.units), *looks())
    print("\n".join(["How it works:", *(f"  {line}" for line in works)]))
    told = {"checks": ", ".join(CHECKS), "acts": ", ".join(play.acts), "causes": ", ".join(play.causes)}
    print(HELP.format(**told))
    for line in _lines(play, case):
        if line in ("done", "quit", "q"):
            break
        if line == "readings":
            print(beside(play).to_string(index=False))
            continue
        try:
            move = _move(play, line)
            print("\n".join(f"  {said}" for said in play.move(move).words))
        except ValidationError as error:
            print(f"  not understood: {error.errors()[0]['msg']}; say 'done' to end")
        except InputError as error:
            print(f"  {error}")
        if play.over:
            break
    return play.finish()


def _lines(play: Play, case: Case) -> Iterator[str]:
    """Ask for the next line until the case is over or the keyboard has no more."""
    while True:
        currency = play.scenario.prices.currency
        spent = f"{play.log.minutes:.0f} min of looking, {play.cost:.0f} {currency}"
        print(f"Day {play.day} of {case.ends}; {spent}.")
        print("> ", end="", flush=True)
        line = sys.stdin.readline()
        if not line:
            return
        if line.strip():
            yield " ".join(line.split())


def _move(play: Play, line: str) -> Move:
    verb, _, rest = line.partition(" ")
    if verb == "wait":
        if rest in ("", "until", UNTIL):
            return Move(move="wait", what=UNTIL)
        return Move.model_validate({"move": "wait", "days": int(rest) if rest.isdecimal() else rest})
    if verb == "check":
        return Move(move="check", what=rest)
    if verb == "believe":
        cause, _, percent = rest.removesuffix("%").strip().rpartition(" ")
        if not percent.isdecimal() or int(percent) > 100:
            raise InputError(f"believe: read {rest!r}; wanted a cause and its percent, such as dark lamp 80")
        return Move(move="believe", what=cause, probability=int(percent) / 100.0)
    if verb == "do":
        task, _, stage = rest.partition(" at ")
        told = {"move": "act", "what": task, "stage": stage or None, "order": _order(play, task)}
        return Move.model_validate(told)
    raise InputError(f"read {line!r}; wanted wait, check, readings, do, believe or done")


def _order(play: Play, task: str) -> str:
    """Ask in which order a train is opened, where the task opens it."""
    if play.scenario.task(task) is None or not opens(play.scenario, task):
        return ORDERS[0]
    shown = sorted(ORDERS)
    print("  In which order? " + "  ".join(f"{at} {order}" for at, order in enumerate(shown, 1)))
    print("  > ", end="", flush=True)
    said = sys.stdin.readline().strip()
    if said not in map(str, range(1, len(shown) + 1)):
        raise InputError(f"order: read {said!r}; wanted 1 to {len(shown)}; nothing was done")
    return shown[int(said) - 1]
