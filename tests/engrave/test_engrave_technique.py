"""Words of technique stand next to their staff, tempo words above them."""

import pytest
from lxml import etree

from optimizer.engrave.engraver import ScoreEngraver
from optimizer.engrave.mei import with_technique_inside
from optimizer.engrave.model import SystemSpan, Text

START = """<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time>
<clef><sign>G</sign><line>2</line></clef></attributes>"""
NOTE = (
    "<note><pitch><step>B</step><octave>4</octave></pitch><duration>1</duration><type>quarter</type></note>"
)
SCORE = """<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Viola</part-name></score-part>
</part-list><part id="P1"><measure number="1">{}</measure></part></score-partwise>"""
TEMPO = "Largo e molto sostenuto"


def words(text: str, look: str = "", side: str = "above") -> str:
    return f'<direction placement="{side}"><direction-type><words{look}>{text}</words></direction-type></direction>'


BOLD = ' font-weight="bold"'


def baselines(content: str) -> dict[str, float]:
    """How far above the staff words stand, in spaces."""
    engraver = ScoreEngraver(etree.fromstring(SCORE.format(START + content).encode()), strict=True)
    (system,) = engraver.draw([SystemSpan(0, 0, 80.0)]).systems
    return {item.string.strip(): -item.y_sp for item in system.items if isinstance(item, Text)}


@pytest.mark.parametrize(
    "content",
    [
        words(TEMPO, BOLD) + words("arco") + NOTE * 4,
        words("arco") + words(TEMPO, BOLD) + NOTE * 4,
        words(TEMPO, BOLD) + NOTE + words("arco") + NOTE * 3,
        # the file's own heights, by which the library aligns words
        words(TEMPO, BOLD + ' default-y="30"') + words("arco", ' default-y="50"') + NOTE * 4,
    ],
)
def test_technique_stands_between_tempo_and_staff(content: str) -> None:
    above = baselines(content)
    assert 0.0 < above["arco"] < above[TEMPO] - 1.0


def test_other_words_keep_their_order() -> None:
    mei = (
        '<measure n="1"><staff n="1"/><dir place="above">dolce</dir><dynam>p</dynam>'
        '<dir place="above" vgrp="7">Allegro con sord.</dir><dir place="below">pizz.</dir></measure>'
    )
    assert with_technique_inside(mei) == mei


def test_only_what_moves_inside_is_freed_from_its_level() -> None:
    mei = '<measure n="1"><staff n="1"/>{}</measure><measure n="2"><staff n="1"/>{}</measure>'
    tempo, arco = (f'<dir place="above" vgrp="7">{text}</dir>' for text in ("<rend>Lento</rend>", "arco"))
    assert with_technique_inside(mei.format(tempo + arco, arco)) == mei.format(
        '<dir place="above">arco</dir>' + tempo, arco
    )
