"""What is told of parts that were planned together: who turns at once, and how it would be otherwise.

In: `Ensemble`s of the parts as planned and as they would be had each been planned alone, words.  Out: sentences, for
ensemble.pdf and the terminal; empty where there is nothing to say.
"""

from collections.abc import Callable
from functools import partial

from optimizer.parts.timeline import AT_ONCE_S, Ensemble
from optimizer.press.ensemble_words import EnsembleWords

Telling = Callable[..., str]  # a sentence with gaps


def at_once_words(ensemble: Ensemble, said: EnsembleWords) -> str:
    """How many parts turn at once, and how often; between movements all may, which is said where
    they do. Of one part there is nothing to say."""
    if len(ensemble.lanes) < 2:
        return ""
    but = said.not_between if ensemble.is_more_between() else ""
    told = _told(ensemble, partial(said.never_two, but=but), partial(said.at_once, but=but), said)
    return told[0].upper() + told[1:]


def instead_words(together: Ensemble, apart: Ensemble, said: EnsembleWords) -> str:
    """The same of plans made apart, where it differs."""
    if apart.at_once() == together.at_once():
        return ""
    return _told(apart, said.never_apart, said.apart, said)


def _told(ensemble: Ensemble, never: Telling, some: Telling, said: EnsembleWords) -> str:
    """In one of two sentences, the largest crowds first."""
    time, parts = f"{AT_ONCE_S:g}\u00a0s", len(ensemble.lanes)
    crowds = [
        {"times": said.times(times), "parts": said.some(count, parts)}
        for count, times in sorted(ensemble.at_once().items(), reverse=True)
    ]
    if not crowds:
        return never(time=time)
    return some(**crowds[0], time=time, more="".join(said.and_so(**crowd) for crowd in crowds[1:]))
