"""A table on screens of any width: no number is cut off, folded or left without what it is about."""

import io
import re

import pytest
from rich.console import Console

from sim.commands.fitted import Fitted, figures, words
from sim.commands.screen import answer_console

HEADINGS = ("cost", "water\noff h", "bad\ndays", "alarm\nh")
ROWS = (
    ("by the calendar", "12,345 ± 678", "7,250", "0.01 (under 0.01 to 0.70)", "8,410"),
    ("one technician visit a year", "9 ± 1", "17", "260 (225 to 281)", "[b]5[/b]"),
)


def shown(width, title="Averages", rows=ROWS):
    out = io.StringIO()
    columns = [words("policy", 14, 18), *map(figures, HEADINGS)]
    Console(file=out, width=width).print(Fitted(title, columns, rows))
    return out.getvalue()


@pytest.mark.parametrize("width", [200, 100, 80, 66, 50, 46])
def test_every_number_is_there_whole_and_beside_its_policy(width):
    text = shown(width)
    assert max(map(len, text.splitlines())) <= width
    for row in ROWS:
        for cell in row[1:]:
            assert any(re.search(rf"(^|\s){re.escape(cell)}(\s|$)", line) for line in text.splitlines()), cell
    pieces = text.count("policy")
    assert text.count("calendar") == pieces  # each piece says again what its rows are about
    assert pieces == 1 if width >= 80 else pieces > 1
    assert "…" not in text and text.count("Averages") == 1


def test_as_many_columns_stand_side_by_side_as_there_is_room_for():
    counts = [shown(width).count("policy") for width in range(46, 130)]
    assert counts == sorted(counts, reverse=True) and counts[-1] == 1
    assert {1, 2, 3} <= set(counts)


def test_on_a_screen_too_narrow_for_two_columns_nothing_is_lost():
    text = shown(24, rows=[("calm", *ROWS[0][1:])])
    assert text.count("policy") == len(HEADINGS)
    for cell in ROWS[0][1:]:
        assert all(word in text for word in cell.split())


def test_words_of_the_house_are_no_marks_of_the_library():
    text = shown(100, "Cost in [red]")
    assert "Cost in [red]" in text and "[b]5[/b]" in text


def test_a_name_is_shown_as_it_is(capsys):
    answer_console().print(Fitted("of :house:", [words("policy"), figures("h")], [("by the :moon:", "1")]))
    answer_console().print("Choose 'by the :moon:'.", markup=False, highlight=False)
    shown = capsys.readouterr().out
    assert shown.count("by the :moon:") == 2 and "of :house:" in shown
