"""Work in a second process: what is asked for comes back, and whatever is not silent success happens here."""

import gc
import logging
import os
import signal
import sys
import threading
import warnings
from collections.abc import Iterator
from weakref import WeakSet

import pytest

from optimizer import parallel
from optimizer.errors import UsageError
from optimizer.parallel import Partner

needs_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork on this system")


@pytest.fixture
def forking(monkeypatch: pytest.MonkeyPatch) -> None:
    """Forks whatever threads the runner of the tests has: they hold nothing that these tests need."""
    monkeypatch.setattr(parallel, "can_fork", lambda: hasattr(os, "fork"))


HERE = os.getpid()


class Desk:
    """Something to be made and worked on, which knows where that happens."""

    def __init__(self, log: str = "") -> None:
        self.made_in, self.log = os.getpid(), log

    def write(self, text: str) -> tuple[int, str]:
        self.log += text
        return os.getpid(), self.log

    def count(self, most: int) -> list[int]:
        return list(range(most))

    def fail(self) -> None:
        raise UsageError("one line")

    def speak(self) -> int:
        logging.getLogger("optimizer.test").warning("heard once")
        warnings.warn("so is this", UserWarning, stacklevel=1)
        return 7

    def die_elsewhere(self) -> str:
        if os.getpid() != HERE:
            os.kill(os.getpid(), signal.SIGKILL)
        return "done"


@pytest.fixture
def desk(forking: None) -> Iterator[Partner[Desk]]:
    partner = Partner(Desk)
    yield partner
    partner.close()


@needs_fork
def test_an_object_is_made_and_kept_in_another_process(desk: Partner[Desk]) -> None:
    assert desk.here().made_in != HERE
    first, second = desk.begin(Desk.write, "a")(), desk.begin(Desk.write, "b")()
    assert first[0] == second[0] == desk.here().made_in
    assert (first[1], second[1], desk.here().log) == ("a", "ab", "")


@needs_fork
def test_large_results_come_back(desk: Partner[Desk]) -> None:
    assert desk.begin(Desk.count, 200_000)() == list(range(200_000))
    assert desk.beside


def test_errors_are_raised_here_with_their_type(desk: Partner[Desk]) -> None:
    failing = desk.begin(Desk.fail)
    with pytest.raises(UsageError, match="one line") as caught:
        failing()
    assert "fail" in {entry.name for entry in caught.traceback}
    assert not desk.beside


@pytest.mark.usefixtures("forking")
def test_errors_of_making_are_raised_here() -> None:
    def make() -> Desk:
        raise UsageError("cannot be made")

    partner = Partner(make)
    with pytest.raises(UsageError, match="cannot be made"):
        partner.here()


def test_log_records_and_warnings_are_not_lost(desk: Partner[Desk], caplog: pytest.LogCaptureFixture) -> None:
    speaking = desk.begin(Desk.speak)
    with pytest.warns(UserWarning, match="so is this"):
        assert speaking() == 7
    assert [record.getMessage() for record in caplog.records] == ["heard once"]


def test_a_process_that_dies_does_no_harm(desk: Partner[Desk]) -> None:
    assert desk.begin(Desk.die_elsewhere)() == "done"
    assert desk.begin(Desk.write, "still here")() == (HERE, "still here")


@needs_fork
def test_an_answer_that_nobody_took_is_not_taken_for_the_next(desk: Partner[Desk]) -> None:
    desk.begin(Desk.write, "forgotten")
    assert desk.begin(Desk.count, 2)() == [0, 1]


@needs_fork
@pytest.mark.usefixtures("forking")
def test_the_process_ends_with_its_partner() -> None:
    partner = Partner(Desk)
    child = partner.here().made_in
    del partner
    gc.collect()
    with pytest.raises(ProcessLookupError):
        os.kill(child, 0)


@needs_fork
def test_a_copy_of_the_owner_does_not_end_it(desk: Partner[Desk]) -> None:
    """A process that another library starts holds a copy of every object, and lets go of it."""
    child = desk.here().made_in
    copy = parallel._fork()
    if not copy:
        desk.close()
        os._exit(0)
    os.waitpid(copy, 0)
    assert desk.begin(Desk.write, "x")() == (child, "x")


def test_one_process_where_another_would_not_be_safe(monkeypatch: pytest.MonkeyPatch) -> None:
    """A thread may hold a lock for ever in the copy, unless somebody has vouched for it."""
    stop = threading.Event()
    thread = threading.Thread(target=stop.wait)
    thread.start()
    try:
        assert not parallel.can_fork()
        assert Partner(Desk).here().made_in == os.getpid()
        monkeypatch.setattr(parallel, "_harmless", WeakSet(threading.enumerate()))
        assert parallel.can_fork() == (sys.platform == "linux" and len(os.sched_getaffinity(0)) > 1)
    finally:
        stop.set()
        thread.join()


class Counter:
    """Gives one thing after the other; in another process only some of them."""

    def upto(self, most: int, ends_at: int) -> Iterator[tuple[int, bool]]:
        for number in range(most):
            if number == ends_at and os.getpid() != HERE:
                os._exit(1)
            yield number, os.getpid() == HERE


@needs_fork
@pytest.mark.usefixtures("forking")
@pytest.mark.parametrize("ends_at", [0, 2, 5])
def test_a_stream_goes_on_here_where_it_ends_too_early(ends_at: int) -> None:
    partner = Partner(Counter)
    assert list(partner.stream(Counter.upto, 4, ends_at)) == [(n, n >= ends_at) for n in range(4)]
    assert partner.beside == (ends_at == 5)
    assert list(partner.stream(Counter.upto, 2, 9)) == [(n, ends_at != 5) for n in range(2)]
    partner.close()


@needs_fork
@pytest.mark.usefixtures("forking")
def test_the_rest_of_a_stream_that_nobody_took_is_not_taken_for_the_next() -> None:
    partner = Partner(Counter)
    assert next(partner.stream(Counter.upto, 4, 9)) == (0, False)
    assert list(partner.stream(Counter.upto, 1, 9)) == [(0, True)]
    partner.close()
