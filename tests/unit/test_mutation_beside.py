"""Which changes leave compiled code as it is."""

import pytest

from tests.mutation.validity import is_beside


@pytest.mark.parametrize(
    ("file", "beside"),
    [
        ("sim/plant/energy.py", False),  # compiled itself
        ("sim/plant/state.py", False),  # its numbers are compiled in
        ("sim/twin/history.py", True),  # a compiled module imports it, and no compiled function uses it
        ("sim/constants.py", False),
        ("sim/twin/people/technician.py", True),
        ("sim/twin/processes.py", True),
        ("sim/study/wording.py", True),
    ],
)
def test_a_file_is_beside_when_nothing_compiled_leads_to_it(file, beside):
    assert is_beside(file) is beside
