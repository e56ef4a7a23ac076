"""What can be asked: shell, page, another process, test, each hands `ask` a question and gets its answer.

A question is a room under `sim/study/`, with its answer in `question.py` there; a new one has a line here.
"""

import hashlib
import json
from dataclasses import fields
from importlib import import_module
from pathlib import Path
from typing import Any, get_type_hints

from sim.study.plain import to_plain
from sim.study.plain_files import as_files, from_files
from sim.study.question import Answer_co, Question
from sim.study.runs.ending import asked_to_end
from sim.study.runs.means import ALONE, Means

KINDS = {  # what a question is called, and where it stands; read when it is asked, as physics load slowly
    "compare": ("sim.study.compare.question", "CompareQuestion"),
    "uncertain": ("sim.study.uncertain.question", "UncertainQuestion"),
    "run": ("sim.study.one_run.question", "RunQuestion"),
    "close-up": ("sim.study.close_up.question", "CloseUpQuestion"),
    "skip": ("sim.study.skip.question", "SkipQuestion"),
    "size": ("sim.study.size.question", "SizeQuestion"),
    "tune": ("sim.study.tune.question", "TuneQuestion"),
    "visits": ("sim.study.visits.question", "VisitsQuestion"),
    "check": ("sim.study.check.question", "CheckQuestion"),
    "sheet": ("sim.study.sheet.question", "SheetQuestion"),
    "today": ("sim.study.today.question", "TodayQuestion"),
    "check-first": ("sim.study.check_first.question", "CheckFirstQuestion"),
}
# Answers that are no question's own, but hand on what is known before it is answered.
ROUGH = {"so far": ("sim.study.search.so_far", "SoFar")}
QUESTION, ANSWER = "question", "answer"


def ask(question: Question[Answer_co], means: Means = ALONE) -> Answer_co:
    """Answer a question.

    Raises
    ------
    InputError
        One line, when it cannot be answered as it is asked.
    Interrupted
        When the user stopped it before there was anything to say.
    """
    question.check()
    with asked_to_end():
        return question.answer(means)


def question_type(kind: str) -> type:
    """Return the class of questions of a kind."""
    return _named(*KINDS[kind])


def _named(module: str, name: str) -> type:
    found: type = getattr(import_module(module), name)
    return found


def answer_type(kind: str) -> type:
    """Return the class of answers to questions of a kind, or of rough ones."""
    if kind in ROUGH:
        return _named(*ROUGH[kind])
    found: type = get_type_hints(question_type(kind).answer)["return"]  # type: ignore[attr-defined]
    return found


def content_of(question: Question[Any]) -> str:
    """Return what names a question by its content."""
    asked = {one.name: getattr(question, one.name) for one in fields(question) if one.name != "site"}  # type: ignore[arg-type]
    plain = [question.kind, question.site.digest, to_plain(asked, {})]
    return hashlib.sha256(json.dumps(plain, sort_keys=True).encode()).hexdigest()


def question_files(question: Question[Any], more: dict[str, Any]) -> dict[str, bytes]:
    """Return a question as files, for another process."""
    return as_files(question, QUESTION, {**more, "kind": question.kind})


def read_question(folder: Path) -> Question[Any]:
    """Read a question from its files."""
    found: Question[Any] = from_files(folder, QUESTION, lambda about: question_type(about["kind"]))
    return found


def answer_files(answer: Any, more: dict[str, Any]) -> dict[str, bytes]:
    """Return an answer as files, for another process or for later."""
    return as_files(answer, ANSWER, {**more, "kind": answer.kind})


def read_answer(folder: Path) -> Any:
    """Read an answer from its files."""
    return from_files(folder, ANSWER, lambda about: answer_type(about["kind"]))
