"""What is told of parts that were planned together: who turns at once, and how it would be otherwise.

In: `Ensemble`s of the parts as planned and as they would be had each been planned alone, words.  Out: sentences, for
ensemble.pdf and the terminal; empty where there is nothing to say.
"""

from optimizer.parts.timeline import AT_ONCE_S, Ensemble
from optimizer.press.ensemble_words import EnsembleWords


def at_once_words(ensemble: Ensemble, said: EnsembleWords) -> str:
    """How many parts turn at once, and how often; between movements all may. Of one part there is nothing to say."""
    time, parts = f"{AT_ONCE_S:g}\u00a0s", len(ensemble.lanes)
    if parts < 2:
        return ""
    counts = sorted(ensemble.at_once().items(), reverse=True)
    if not counts:
        return said.never_two(time=time)
    crowds = [
        said.crowd(parts=said.all_parts if count == parts else said.parts(count), times=times)
        for count, times in counts
    ]
    return said.at_once(time=time, crowds=said.listed(crowds))


def instead_words(together: Ensemble, apart: Ensemble, said: EnsembleWords) -> str:
    """The same of plans made apart, where it differs."""
    if apart.at_once() == together.at_once():
        return ""
    return said.instead_of(at_once_words(apart, said))
