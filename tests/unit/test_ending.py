"""Being asked to end is an interrupt while a question is answered, where it would have ended all."""

import os
import signal
import threading
from concurrent.futures import Future, ProcessPoolExecutor

import pytest

from sim.pool import Pool
from sim.study.runs.ending import asked_to_end


@pytest.fixture(autouse=True)
def usual():
    before = signal.signal(signal.SIGTERM, signal.SIG_DFL)
    yield
    signal.signal(signal.SIGTERM, before)


@pytest.fixture
def takes_all():
    """A thread that takes any signal, as those of arithmetic libraries do."""
    stop = threading.Event()
    thread = threading.Thread(target=stop.wait)
    thread.start()
    yield
    stop.set()
    thread.join()


def test_being_asked_to_end_is_an_interrupt_meanwhile():
    with pytest.raises(KeyboardInterrupt), asked_to_end():
        os.kill(os.getpid(), signal.SIGTERM)
        signal.pause()
    assert signal.getsignal(signal.SIGTERM) is signal.SIG_DFL


def test_what_others_wanted_of_it_stays():
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    with asked_to_end():
        assert signal.getsignal(signal.SIGTERM) is signal.SIG_IGN
    assert signal.getsignal(signal.SIGTERM) is signal.SIG_IGN


def test_a_thread_beside_the_first_leaves_it_alone():
    seen = []

    def look():
        with asked_to_end():
            seen.append(signal.getsignal(signal.SIGTERM))

    other = threading.Thread(target=look)
    other.start()
    other.join()
    assert seen == [signal.SIG_DFL]


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_worker_that_is_being_started_is_not_cut_off(monkeypatch, takes_all, number):
    steps = []

    def start_one(self, fn, /):
        os.kill(os.getpid(), number)
        for _ in range(100_000):  # time enough to hear of it
            pass
        steps.append("started")
        return Future()

    monkeypatch.setattr(ProcessPoolExecutor, "submit", start_one)
    with pytest.raises(KeyboardInterrupt), asked_to_end():
        Pool(1).submit(int)
        steps.append("went on")
    assert steps == ["started"]


def test_an_interrupt_is_heard_as_before_afterwards():
    with asked_to_end():
        assert signal.getsignal(signal.SIGINT) is not signal.default_int_handler
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
