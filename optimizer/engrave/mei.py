"""The engraving library's own MEI text with breaks of ours.

In and out: MEI as the library writes it.  Always true: breaks that were in it are gone, and what is played is not
touched.
"""

import re
from collections.abc import Collection, Iterator, Sequence
from itertools import pairwise
from typing import Final

from optimizer.score.technique import TECHNIQUE
from optimizer.score.tempo_words import tempo_wish

_BREAK: Final = re.compile(r"<[sp]b\b[^>]*?/>")
_MEASURE: Final = "<measure"
_MEASURE_END: Final = "</measure>"
_SCORE_DEF: Final = "<scoreDef"
_FIRST_SCORE_DEF: Final = re.compile(r"(?s)<scoreDef\b.*?</scoreDef>")
_STAFF_NUMBER: Final = re.compile(r'<staffDef\b[^>]* n="(\d+)"')
_OPENED_ENDING: Final = re.compile(r"<ending\b[^>]*>\s*$")
_LOWER_STAFF: Final = re.compile(r'<staffDef(?=[^>]* n="(?!1")\d+")')
_METER: Final = re.compile(r"(?s)<meterSigGrp\b.*?</meterSigGrp>|<meterSig\b[^>]*/>")
_FINAL: Final = re.compile(r'[^>]*\bright="end"')
_HEAVY: Final = re.compile(r'[^>]*\bright="(?:end|rptend|dbl)"')
_NUMBER: Final = re.compile(r'[^>]*\bn="(\d+)"')
_WIDENING: Final = re.compile(r"<(?:tempo|dir|repeatMark|scoreDef|staffDef)\b|<dynam\b[^>]*>[^<]{4}")
_LAYER: Final = re.compile(r"(?s)(<layer\b[^>]*?)(?:/>|>(.*?)</layer>)")
_LAYER_NUMBER: Final = re.compile(r'(<layer\b[^>]*? n=)"(\d+)"')
_STAFF: Final = "<staff "
_RESTING: Final = re.compile(r"(?s)<(m?Rest|m?Space|rest|space)\b[^>]*?(?:/>|>.*?</\1>)")
_WORDS: Final = re.compile(r'(?s)<dir\b(?=[^>]*\bplace="above")[^>]*>(?P<said>.*?)</dir>')
_TAG: Final = re.compile(r"<[^>]*>")
_ALIGNED: Final = re.compile(r' vgrp="\d+"')

# A measure of this type is engraved as a system of its own and not printed (its class in the SVG says so).
APART: Final = "apart"


def count_measures(mei: str) -> int:
    """How many measures there are."""
    return mei.count(_MEASURE_END)


def with_layers_in_order(mei: str) -> str:
    """Layers of each staff numbered from 1 in every measure: the library points the stems of odd ones up and of even
    ones down, but numbers them as the file names its voices, which may count on from the staff above."""
    return _STAFF.join(map(_in_order, mei.split(_STAFF)))


def _in_order(staff: str) -> str:
    if staff.count("<layer ") < 2:
        return staff
    numbers = sorted({int(number) for _, number in _LAYER_NUMBER.findall(staff)})
    return _LAYER_NUMBER.sub(lambda layer: f'{layer[1]}"{numbers.index(int(layer[2])) + 1}"', staff)


def with_technique_inside(mei: str) -> str:
    """Words of technique over a staff stand next to it, tempo words above them: the library stacks words over one
    another in their order, and those of a system that it aligns above everything that any of them stands over."""
    return _MEASURE_END.join(map(_technique_first, mei.split(_MEASURE_END)))


def _technique_first(measure: str) -> str:
    words = list(_WORDS.finditer(measure))
    inside = [found for found in words if _is_technique(found["said"])]
    if not inside or len(words) == 1:
        return measure
    others = _WORDS.sub(lambda found: "" if _is_technique(found["said"]) else found[0], measure)
    start = words[0].start()  # behind the staves: nothing that is taken out stands before it
    return f"{others[:start]}{''.join(_ALIGNED.sub('', found[0]) for found in inside)}{others[start:]}"


def _is_technique(said: str) -> bool:
    text = " ".join(_TAG.sub(" ", said).split())
    return bool(TECHNIQUE.search(text)) and tempo_wish(text) is None


def with_multiple_rests(mei: str, counts: Sequence[int]) -> str:
    """Measures that stand for several bars of rest (`counts`: how many), drawn as what they are.

    The library would read them itself, but without the words and marks over them.
    """
    head, *measures = mei.split(_MEASURE)
    drawn = (
        _multiple_rest(measure, count) if count > 1 else measure
        for measure, count in zip(measures, counts, strict=True)
    )
    return _MEASURE.join([head, *drawn])


def _multiple_rest(measure: str, count: int) -> str:
    """In the first layer of every staff; another would have nothing to say."""
    before, *staves = measure.split(_STAFF)
    return _STAFF.join(
        [before, *(_LAYER.sub(lambda layer: _resting(layer, count), staff, count=1) for staff in staves)]
    )


def _resting(layer: re.Match[str], count: int) -> str:
    other = _RESTING.sub("", layer[2] or "").strip()
    return f'{layer[1]}>{other}<multiRest num="{count}"/></layer>'


def first_score_def(mei: str) -> str:
    """Staves, their groups and names as the score begins."""
    match = _FIRST_SCORE_DEF.search(mei)
    return match[0] if match else "<scoreDef/>"


def staff_numbers(score_def: str) -> list[str]:
    """Numbers of the staves that a score definition names."""
    return _STAFF_NUMBER.findall(score_def)


def with_systems(mei: str, systems: Collection[int], pages: Collection[int]) -> str:
    """Systems and pages that begin with these measures (0-based; a page begins a system)."""
    head, *measures = _without_breaks(mei).split(_MEASURE)
    apart, movements = _apart(mei), set(_movement_ends(measures))
    text = [head]
    for index, measure in enumerate(measures):
        if not index or index in pages:
            _append_break(text, "<pb/>")
        elif index in systems:
            _append_break(text, "<sb/>")
        ends_system = index + 1 in systems or index + 1 in pages
        ends_both = ends_system and index in movements
        text.append(_MEASURE + (_end_movement(measure, apart) if ends_both else measure))
    return "".join(text)


def movement_ends(mei: str) -> list[int]:
    """Measures that end a movement and are followed by a new key or time: with a final barline, or with a repeat or
    double barline after which the numbers of the bars start again."""
    return list(_movement_ends(mei.split(_MEASURE)[1:]))


def _movement_ends(measures: Sequence[str]) -> Iterator[int]:
    counted = 0
    for index, (measure, following) in enumerate(pairwise([*measures, ""])):
        counted = max(counted, _number(measure) or 0)
        starts_again = counted > 1 and _number(following) in (0, 1)
        ends = _FINAL.match(measure) or (starts_again and _HEAVY.match(measure))
        if ends and _SCORE_DEF in measure:
            yield index
        if starts_again:
            counted = 0


def _number(measure: str) -> int | None:
    number = _NUMBER.match(measure)
    return int(number[1]) if number else None


def _end_movement(measure: str, apart: str) -> str:
    """Nothing may be announced after its end: what is to be is announced on a system that is not printed."""
    end, change, after = measure.partition(_SCORE_DEF)
    return f"{end}<sb/>{apart}{change}{after}"


def _apart(mei: str) -> str:
    staves = (
        f'<staff n="{number}"><layer n="1"><mSpace/></layer></staff>'
        for number in staff_numbers(first_score_def(mei))
    )
    return f'<measure type="{APART}">{"".join(staves)}</measure>'


def _append_break(text: list[str], mark: str) -> None:
    """A break before what comes next; before an ending that has just been opened, which is not to be split."""
    opened = _OPENED_ENDING.search(text[-1])
    if opened:
        text[-1] = text[-1][: opened.start()]
    text.append(mark + (opened[0] if opened else ""))


def with_single_bars(mei: str, bars_per_page: int, staff_distance: int) -> str:
    """Every measure a system of its own, for measuring; read with `measure.read_places`.

    An empty system ends each page and tells where the last real one ends; one follows each of `movement_ends`, to be
    left out. `staff_distance`, in half spaces, is stated
    staff by staff: the option for all of them would also put it above and below the system.
    """
    text = _LOWER_STAFF.sub(f'<staffDef spacing="{staff_distance}vu"', _without_breaks(mei))
    head, *measures = text.split(_MEASURE)
    apart, movements = _apart(mei), set(_movement_ends(measures))
    parts = [head]
    for index, measure in enumerate(measures):
        new_page = index % bars_per_page == 0
        _append_break(parts, ("<sb/><pb/>" if index else "<pb/>") if new_page else "<sb/>")
        parts.append(_MEASURE + (_end_movement(measure, apart) if index in movements else measure))
    body, end, tail = "".join(parts).rpartition(_MEASURE_END)
    return f"{body}{end}<sb/>{tail}"


def wider_at_system_end(mei: str) -> list[int]:
    """Measures that the library widens when they stand last in a system: with words, which must fit into the system,
    and before a change of key or time, which is announced."""
    measures = _without_breaks(mei).split(_MEASURE)[1:]
    return [index for index, measure in enumerate(measures) if _WIDENING.search(measure)]


def staves_alone(mei: str, indices: Sequence[int], bars_per_page: int) -> str:
    """Some measures as systems of their own, with nothing but what stands on their staves."""
    measures = mei.split(_MEASURE)[1:]
    parts = []
    for order, index in enumerate(indices):
        parts.append("<pb/>" if order % bars_per_page == 0 else "<sb/>")
        staves, end, _ = measures[index].rpartition("</staff>")
        parts.append(f"{_MEASURE}{staves}{end}{_MEASURE_END}")
    score_def = first_score_def(mei)
    return score(score_def if indices[0] == 0 else _METER.sub("", score_def), "".join(parts))


def score(score_def: str, section: str) -> str:
    """A whole document of one section."""
    return (
        '<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><music><body><mdiv><score>'
        f"{score_def}<section>{section}</section></score></mdiv></body></music></mei>"
    )


def _without_breaks(mei: str) -> str:
    """Nor with bar numbers of the library's own: they are drawn by us."""
    return _BREAK.sub("", mei).replace(_SCORE_DEF, _SCORE_DEF + ' mnum.visible="false"', 1)
