"""The pages say which inputs lie outside their ranges, and nothing when none do."""

import pytest
from streamlit.testing.v1 import AppTest


@pytest.mark.parametrize(
    ("rows", "said"),
    [(["", "roof.area", "roof.area; uv.alarm"], "roof\\.area\\, uv\\.alarm are outside"), ([""], "")],
)
def test_a_page_says_it(rows, said):
    def script(rows):
        from dashboard.words import extrapolated  # noqa: PLC0415  runs on its own, as a page does

        extrapolated(rows)

    page = AppTest.from_function(script, args=(rows,)).run()
    assert not page.exception
    assert [said in warning.value for warning in page.warning] == [True] * bool(said)
