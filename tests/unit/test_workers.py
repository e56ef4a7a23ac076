"""What child processes start with, and that the starting process gets its own back."""

import os

import pytest

from sim.study.runs.workers import one_thread_each

LIMITS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS")


def test_children_have_one_thread_each_and_the_limits_are_put_back(monkeypatch):
    monkeypatch.setenv("OMP_NUM_THREADS", "7")
    for name in LIMITS[1:]:
        monkeypatch.delenv(name, raising=False)
    with one_thread_each():
        assert [os.environ[name] for name in LIMITS] == ["1"] * 4
    assert [os.environ.get(name) for name in LIMITS] == ["7", None, None, None]


def test_they_are_put_back_after_an_error_too(monkeypatch):
    monkeypatch.delenv("OMP_NUM_THREADS", raising=False)
    with pytest.raises(KeyError), one_thread_each():
        raise KeyError
    assert "OMP_NUM_THREADS" not in os.environ
