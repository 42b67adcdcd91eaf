"""A second process that makes an object and works on it beside this one.

In: a function that makes the object; then functions to call with it.  Out: their results.  Always true: the result is
the same with one process, and so are errors, warnings and log records, for the second process counts only while it
succeeds in silence; otherwise the work is done here.
"""

import gc
import logging
import os
import pickle
import signal
import sys
import threading
import warnings
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from itertools import islice
from typing import IO, Any, Concatenate, Final, Generic, NoReturn, ParamSpec, TypeVar
from weakref import WeakSet, finalize

from optimizer.memory import no_search_for_garbage

T = TypeVar("T")
R = TypeVar("R")
P = ParamSpec("P")

_END: Final = ("end", "of a stream")  # other answers are of one item

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


@dataclass(frozen=True, slots=True)
class _Ends:
    """The owner's ends of the pipes to and from its child (process numbers)."""

    owner: int
    child: int
    asks: IO[bytes]
    answers: IO[bytes]


class Partner(Generic[T]):
    """An object made in a second process, which keeps it and works on it when asked, one thing at a time.

    It is made once here too: copied when the other has it, or made where no second process is to be had. The process
    ends with this object, or with `close`.
    """

    def __init__(self, make: Callable[[], T]) -> None:
        self._make = make
        self._made: list[T] = []
        self._owed = False
        self._ends: _Ends | None = None
        if can_fork():
            with suppress(OSError):  # no more processes allowed
                self._ends = _start(make)
        self._finalize = finalize(self, _end, self._ends) if self._ends else lambda: None

    @property
    def beside(self) -> bool:
        """Whether there is a second process."""
        return self._ends is not None

    def here(self) -> T:
        """The object in this process; errors of making it are raised here."""
        if not self._made:
            answer = self._receive()
            self._made.append(answer[0] if answer else self._make())
        return self._made[0]

    def begin(self, do: Callable[Concatenate[T, P], R], *args: P.args, **kwargs: P.kwargs) -> Callable[[], R]:
        """Start `do(object, ...)` over there, a function that has a name, as soon as the object is made; what comes
        back waits for its result and gives it. Where nobody is there to do it, it is done when it is asked for."""
        self._ask(do, args, kwargs)

        def result() -> R:
            made = self.here()
            answer = self._receive()
            self._owed = False
            return answer[0] if answer else do(made, *args, **kwargs)

        return result

    def stream(
        self, do: Callable[Concatenate[T, P], Iterable[R]], *args: P.args, **kwargs: P.kwargs
    ) -> Iterator[R]:
        """Start `do(object, ...)` over there; what it gives, one after the other, each as soon as it is there, while
        the next is made."""
        made = self.here()
        self._ask(do, args, kwargs, one_by_one=True)

        def results() -> Iterator[R]:
            taken = 0
            while answer := self._receive():
                if answer == _END:
                    self._owed = False
                    return
                taken += 1
                yield answer[0]
            yield from islice(do(made, *args, **kwargs), taken, None)

        return results()

    def _ask(self, do: object, args: object, kwargs: object, one_by_one: bool = False) -> None:
        if self._owed:  # and nobody has asked for it
            self.close()
        if self._ends:
            self._owed = True
            try:
                pickle.dump((do, args, kwargs, one_by_one), self._ends.asks)
                self._ends.asks.flush()
            except OSError:
                self.close()

    def close(self) -> None:
        """End the second process; what it has not told is done here."""
        self._ends, self._owed = None, False
        self._finalize()

    def _receive(self) -> tuple[Any, ...] | None:
        """What the other process says next; nothing when it has failed, and will say no more."""
        if not self._ends:
            return None
        try:
            with no_search_for_garbage():
                answer: tuple[Any, ...] = pickle.load(self._ends.answers)
                return answer
        except (EOFError, OSError, pickle.UnpicklingError):
            self.close()
            return None


def _start(make: Callable[[], object]) -> _Ends:
    their_asks, our_asks = os.pipe()
    try:
        our_answers, their_answers = os.pipe()
    except OSError:
        os.close(their_asks)
        os.close(our_asks)
        raise
    try:
        child = _fork()
    except OSError:
        for end in (their_asks, our_asks, our_answers, their_answers):
            os.close(end)
        raise
    if not child:
        os.close(our_asks)
        os.close(our_answers)
        _serve(make, their_asks, their_answers)
    os.close(their_asks)
    os.close(their_answers)
    return _Ends(os.getpid(), child, os.fdopen(our_asks, "wb"), os.fdopen(our_answers, "rb"))


def _end(ends: _Ends) -> None:
    """Nobody asks any more: end what goes on."""
    with suppress(OSError):
        ends.asks.close()
    ends.answers.close()
    if ends.owner != os.getpid():  # a copy of the owner, to whom the child goes on to answer
        return
    with suppress(ProcessLookupError):
        os.kill(ends.child, signal.SIGKILL)
    with suppress(ChildProcessError):  # somebody else has taken leave of it
        os.waitpid(ends.child, 0)


def _fork() -> int:
    with warnings.catch_warnings():
        # Python 3.12 warns of threads; those that exist have been vouched for, or belong to numeric libraries, which
        # the work does not call.
        warnings.simplefilter("ignore", DeprecationWarning)
        return os.fork()


def _serve(make: Callable[[], object], asks: int, answers: int) -> NoReturn:
    """What the second process does: the work, nothing else; it leaves without the rites of an ending program, which
    are this process's copy of somebody else's."""
    status = 1
    try:
        gc.disable()
        signal.signal(signal.SIGINT, signal.SIG_DFL)
        warnings.simplefilter("error")
        logging.setLogRecordFactory(_refuse)
        with os.fdopen(asks, "rb") as source, os.fdopen(answers, "wb") as sink:
            made = make()
            _say((made,), sink)
            while True:
                do, args, kwargs, one_by_one = pickle.load(source)
                answer = do(made, *args, **kwargs)
                for each in answer if one_by_one else (answer,):
                    _say((each,), sink)
                if one_by_one:
                    _say(_END, sink)
    except EOFError:
        status = 0
    finally:
        os._exit(status)


def _say(answer: tuple[object, ...], sink: IO[bytes]) -> None:
    sink.write(pickle.dumps(answer, pickle.HIGHEST_PROTOCOL))
    sink.flush()


def _refuse(*args: object, **keywords: object) -> NoReturn:
    raise RuntimeError("not silent: to be done again where it is heard")
