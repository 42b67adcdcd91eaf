"""What is told of parts that were planned together: who turns at once, how it would be otherwise, and what
that costs.

In: `Ensemble`s of the parts as planned and as they would be had each been planned alone, the joint plan's report (costs
in hundredths of a point), words.  Out: sentences, for
ensemble.pdf and the terminal; empty where there is nothing to say.
"""

from collections.abc import Callable, Iterator
from functools import partial

from optimizer.layout.joint import JointReport
from optimizer.parts.timeline import AT_ONCE_S, Ensemble
from optimizer.press.ensemble_words import EnsembleWords

Telling = Callable[..., str]  # a sentence with gaps


def together_words(
    together: Ensemble, apart: Ensemble, report: JointReport, said: EnsembleWords
) -> Iterator[str]:
    """Who turns at once; what planning together gains and what it costs, where it changes anything."""
    gains = tuple(_gains(together, apart, report, said))
    cost = cost_words(report, said) if gains else ""
    yield from filter(None, (at_once_words(together, said), *gains, cost))


def _gains(together: Ensemble, apart: Ensemble, report: JointReport, said: EnsembleWords) -> Iterator[str]:
    """Who would turn at once otherwise; where as many would, how it is easier on them. What the limits count is finer
    than how many turn: who turns with ease counts half, who has a long rest not at all."""
    if instead := instead_words(together, apart, said):
        yield instead
    elif report.apart is None and not report.broken:
        yield said.gain_never
    else:
        for what, cost in report.limits_apart.items():
            if report.limits_together.get(what, 0) < cost:
                yield said.gain(what)


def cost_words(report: JointReport, said: EnsembleWords) -> str:
    """What the plans cost the parts more than plans of their own would, in whole points. Nothing is said where a limit
    is broken that never should be: that is in the objective too."""
    if report.broken:
        return ""
    more = report.objective - sum(report.limits_together.values()) - report.own_apart
    return said.costs(points=said.points_more(max(1, round(more / 100)))) if more else said.costs_nothing


def shared_words(ensemble: Ensemble, said: EnsembleWords) -> str:
    """How many play a part and from how many copies, where all of these are shared, and what that means for its
    grades: of an odd number one turns alone."""
    sections = [
        said.section(part=lane.name, players=said.players(lane.players), copies=said.copies(lane.copies))
        for lane in ensemble.lanes
        if lane.players % 2 == 0
    ]
    return said.shared_copies(who=f" ({'; '.join(sections)})") if sections else ""


def proof_words(report: JointReport, said: EnsembleWords) -> str:
    """How good the joint plan is: proven to be the best, or how far from it at most."""
    if report.status == "optimal":
        return said.proven
    if report.bound <= 0:
        return said.not_proven
    return said.near_best(percent=max(1, -(-100 * (report.objective - report.bound) // report.bound)))


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
