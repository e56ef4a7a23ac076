"""What `today` says of readings that are wanted and of its own forecasts, word by word."""

from types import SimpleNamespace

from sim.diary.score import LEAST_TOLD
from sim.study.today.words import score_words, wish_line


def test_a_reading_that_is_wanted_says_how_only_where_that_matters():
    wish = SimpleNamespace(reading="drop sediment", how="", about="sediment", narrower_share=0.25)
    said = "Read drop sediment: the range of the date of sediment would be 25 % narrower."
    assert wish_line(wish) == said
    wish.how, wish.about = "at the flow of a bath tap", "dose"
    said = "Read drop sediment (at the flow of a bath tap): the range of the dose would be 25 % narrower."
    assert wish_line(wish) == said


def _score(count, open_count=0, skill=None):
    eighty = SimpleNamespace(named_share=0.8, count=count, hits=count - 1, low=0.5, high=0.99)
    return SimpleNamespace(
        count=count, open_count=open_count, coverage=[eighty], late_share=0.25,
        skill={} if skill is None else {"calendar": (skill, 0.0, 0.0)},
    )  # fmt: skip


def test_few_forecasts_are_not_judged():
    few = score_words(_score(LEAST_TOLD - 1, open_count=3))
    assert few == "Forecasts that came due: 7, too few to say how good they are; 3 still open."
    assert score_words(_score(2)) == "Forecasts that came due: 2, too few to say how good they are."


def test_enough_forecasts_are_judged_against_the_calendar_where_there_is_one():
    said = score_words(_score(LEAST_TOLD))
    assert said == (
        "Of 8 forecasts 7 fell in their 80 % range (between 50 % and 99 % would over many); 25 % came before "
        "the date advised."
    )
    assert "30 % closer than the calendar" in score_words(_score(9, skill=0.3))
    assert "30 % farther off than the calendar" in score_words(_score(9, skill=-0.3))
