"""Numbers without sense neither end the program nor keep it busy: without them the library crashes, for good."""

from collections.abc import Callable

import pytest

ATTRIBUTES = (
    "<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type>{time}</time>{staves}"
    "<clef><sign>G</sign><line>2</line></clef></attributes>"
)
REST = "<note><rest>{shown}</rest><duration>4</duration><voice>1</voice></note>"
WORDS = "<direction><direction-type><words>a</words></direction-type>{staff}</direction>"
CHORD = (
    "<harmony><root><root-step>C</root-step></root><kind>major</kind><degree><degree-value>{degree}</degree-value>"
    "<degree-alter>0</degree-alter><degree-type>add</degree-type></degree></harmony>"
)
ENDING = '<barline location="left"><ending type="start" number="{ending}"/></barline>'
END = '<barline location="right"><repeat direction="backward" times="{times}"/></barline>'


def bar(**odd: str) -> str:
    usual = {"time": "", "staves": "", "shown": "", "times": "2", "ending": "1", "staff": "", "degree": "7"}
    text = ATTRIBUTES + ENDING + WORDS + CHORD + REST + END
    return f'<measure number="1">{text.format(**(usual | odd))}</measure>'


@pytest.mark.parametrize(
    ("odd", "staves"),
    [
        ({"time": "<beats>3</beats><beat-type>0</beat-type>"}, 1),
        ({"time": "<interchangeable><beats>3</beats><beat-type>x</beat-type></interchangeable>"}, 1),
        ({"staves": "<staves>0</staves>"}, 1),
        ({"staves": "<staves>5000</staves>"}, 16),
        ({"shown": "<display-step>B</display-step><display-octave>y</display-octave>"}, 1),
        ({"times": "999999999"}, 1),
        ({"ending": "']"}, 1),
        ({"ending": "1," * 5000}, 1),
        ({"staff": "<staff>99999999999999</staff>"}, 1),
        ({"degree": "seventh"}, 1),
    ],
)
def test_a_bar_with_an_impossible_number_is_engraved(
    engrave_text: Callable, odd: dict[str, str], staves: int
) -> None:
    sample = engrave_text(bar(**odd))
    assert len(sample.engraved.systems) == 1
    assert sample.measured.staves == staves
