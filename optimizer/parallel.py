"""A second process for work that does not depend on what this one does meanwhile.

In: a function without arguments.  Out: its result.  Always true: the result is the same with one process, and so are
errors, warnings and log records, for a second process counts only when it succeeds in silence; otherwise the work is
done here.
"""

import gc
import logging
import os
import pickle
import signal
import sys
import threading
import warnings
from collections.abc import Callable, Iterable
from types import TracebackType
from typing import Any, Final, Generic, NoReturn, Self, TypeVar
from weakref import WeakSet

T = TypeVar("T")

# Threads that hold no lock which engraving could need (`vouch_for`).
_harmless: Final[WeakSet[threading.Thread]] = WeakSet()


def vouch_for(threads: Iterable[threading.Thread]) -> None:
    """Say that these threads hold no lock that work in a second process needs, so that it may start beside them."""
    _harmless.update(threads)


def can_fork() -> bool:
    """Whether a second process is cheap (a copy of this one), safe, and has a processor to itself.

    On other systems a copy of a process is slow or breaks their libraries.
    """
    others = (thread for thread in threading.enumerate() if thread is not threading.current_thread())
    return (
        sys.platform == "linux" and len(os.sched_getaffinity(0)) > 1 and all(t in _harmless for t in others)
    )


class Beside(Generic[T]):
    """Work that goes on beside this process, from the making of this object to `result`; a context manager.

    `result` waits for it. Where a second process is not to be had, the work is done when the result is asked for.
    """

    def __init__(self, work: Callable[[], T]) -> None:
        self._work = work
        self._child = 0
        if can_fork():
            self._start()

    def result(self) -> T:
        """What the work came to; errors are raised here."""
        answer = self._receive() if self._child else b""
        if not answer:
            return self._work()
        # many small objects arrive at once, none of them garbage
        collecting = gc.isenabled()
        gc.disable()
        try:
            value: T = pickle.loads(answer)
        finally:
            if collecting:
                gc.enable()
        return value

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Nobody asks any more: end what goes on."""
        if self._child:
            os.kill(self._child, signal.SIGKILL)
            self._receive()

    def _start(self) -> None:
        source, sink = os.pipe()
        try:
            self._child = _fork()
        except OSError:  # no more processes allowed
            os.close(source)
            os.close(sink)
            return
        if not self._child:
            _answer(self._work, sink)
        os.close(sink)
        self._source = source

    def _receive(self) -> bytes:
        """All that the second process says, once it has ended; nothing unless it ended well."""
        with open(self._source, "rb") as source:
            answer = source.read()
        try:
            _, status = os.waitpid(self._child, 0)
        except ChildProcessError:  # somebody else has taken leave of it
            status = 1
        self._child = 0
        return b"" if status else answer


def _fork() -> int:
    with warnings.catch_warnings():
        # Python 3.12 warns of threads; those that exist have been vouched for, or belong to numeric libraries, which
        # the work does not call.
        warnings.simplefilter("ignore", DeprecationWarning)
        return os.fork()


def _answer(work: Callable[[], Any], sink: int) -> NoReturn:
    """What the second process does: the work, nothing else; it leaves without the rites of an ending program, which
    are this process's copy of somebody else's."""
    status = 1
    try:
        gc.disable()
        signal.signal(signal.SIGINT, signal.SIG_DFL)
        warnings.simplefilter("error")
        logging.setLogRecordFactory(_refuse)
        answer = pickle.dumps(work(), pickle.HIGHEST_PROTOCOL)
        with open(sink, "wb") as file:
            file.write(answer)
        status = 0
    finally:
        os._exit(status)


def _refuse(*args: object, **keywords: object) -> NoReturn:
    raise RuntimeError("not silent: to be done again where it is heard")
