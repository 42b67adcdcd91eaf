"""Work in a second process: what is asked for comes back, and whatever is not silent success happens here."""

import logging
import os
import signal
import sys
import threading
import time
import warnings
from collections.abc import Callable
from weakref import WeakSet

import pytest

from optimizer import parallel
from optimizer.errors import UsageError
from optimizer.parallel import Beside

needs_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork on this system")


@pytest.fixture
def forking(monkeypatch: pytest.MonkeyPatch) -> None:
    """Forks whatever threads the runner of the tests has: they hold nothing that these tests need."""
    monkeypatch.setattr(parallel, "can_fork", lambda: hasattr(os, "fork"))


def outcome(work: Callable[[], object]) -> object:
    with Beside(work) as beside:
        return beside.result()


@needs_fork
@pytest.mark.usefixtures("forking")
def test_large_results_come_back_from_another_process() -> None:
    identity, numbers = outcome(lambda: (os.getpid(), list(range(200_000))))  # type: ignore[misc]
    assert identity != os.getpid()
    assert numbers == list(range(200_000))


@pytest.mark.usefixtures("forking")
def test_errors_are_raised_here_with_their_type() -> None:
    def fail() -> None:
        raise UsageError("one line")

    with Beside(fail) as beside, pytest.raises(UsageError, match="one line") as caught:
        beside.result()
    assert "fail" in {entry.name for entry in caught.traceback}


@pytest.mark.usefixtures("forking")
def test_log_records_and_warnings_are_not_lost(caplog: pytest.LogCaptureFixture) -> None:
    def speak() -> int:
        logging.getLogger("optimizer.test").warning("heard once")
        warnings.warn("so is this", UserWarning, stacklevel=1)
        return 7

    with pytest.warns(UserWarning, match="so is this"):
        assert outcome(speak) == 7
    assert [record.getMessage() for record in caplog.records] == ["heard once"]


@pytest.mark.usefixtures("forking")
def test_a_process_that_dies_does_no_harm() -> None:
    here = os.getpid()

    def die_elsewhere() -> str:
        if os.getpid() != here:
            os.kill(os.getpid(), signal.SIGKILL)
        return "done"

    assert outcome(die_elsewhere) == "done"


@needs_fork
@pytest.mark.usefixtures("forking")
def test_work_that_is_not_asked_for_ends() -> None:
    started = time.monotonic()
    with pytest.raises(KeyError), Beside(lambda: time.sleep(60)) as beside:
        raise KeyError
    assert time.monotonic() - started < 30
    assert beside._child == 0
    with pytest.raises(ChildProcessError):
        os.waitpid(-1, os.WNOHANG)  # nobody is left


def test_one_process_where_another_would_not_be_safe(monkeypatch: pytest.MonkeyPatch) -> None:
    """A thread may hold a lock for ever in the copy, unless somebody has vouched for it."""
    stop = threading.Event()
    thread = threading.Thread(target=stop.wait)
    thread.start()
    try:
        assert not parallel.can_fork()
        assert outcome(os.getpid) == os.getpid()
        monkeypatch.setattr(parallel, "_harmless", WeakSet(threading.enumerate()))
        assert parallel.can_fork() == (sys.platform == "linux" and len(os.sched_getaffinity(0)) > 1)
    finally:
        stop.set()
        thread.join()
