"""Numbers without sense neither end the program nor keep it busy: without them the library crashes, for good."""

from collections.abc import Callable

import pytest

ATTRIBUTES = (
    "<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type>{time}</time>{staves}"
    "<clef><sign>G</sign><line>2</line></clef></attributes>"
)
REST = "<note><rest>{shown}</rest><duration>4</duration><voice>1</voice></note>"
END = '<barline location="right"><repeat direction="backward" times="{times}"/></barline>'


def bar(time: str = "", staves: str = "", shown: str = "", times: str = "2") -> str:
    parts = ATTRIBUTES.format(time=time, staves=staves), REST.format(shown=shown), END.format(times=times)
    return f'<measure number="1">{"".join(parts)}</measure>'


@pytest.mark.parametrize(
    ("odd", "staves"),
    [
        ({"time": "<beats>3</beats><beat-type>0</beat-type>"}, 1),
        ({"time": "<interchangeable><beats>3</beats><beat-type>x</beat-type></interchangeable>"}, 1),
        ({"staves": "<staves>0</staves>"}, 1),
        ({"staves": "<staves>5000</staves>"}, 16),
        ({"shown": "<display-step>B</display-step><display-octave>y</display-octave>"}, 1),
        ({"times": "999999999"}, 1),
    ],
)
def test_a_bar_with_an_impossible_number_is_engraved(
    engrave_text: Callable, odd: dict[str, str], staves: int
) -> None:
    sample = engrave_text(bar(**odd))
    assert len(sample.engraved.systems) == 1
    assert sample.measured.staves == staves
