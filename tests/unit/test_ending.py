"""Being asked to end is an interrupt while a question is answered, where it would have ended all."""

import os
import signal
import threading

import pytest

from sim.study.runs.ending import asked_to_end


@pytest.fixture(autouse=True)
def usual():
    before = signal.signal(signal.SIGTERM, signal.SIG_DFL)
    yield
    signal.signal(signal.SIGTERM, before)


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
