"""Bar numbers at the start of systems."""

from lxml import etree

from optimizer.engrave.engraver import ScoreEngraver
from optimizer.engrave.model import SystemSpan, Text

NOTE = "<note><rest/><duration>4</duration></note>"
SCORE = """<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Cello</part-name></score-part>
</part-list><part id="P1">{}</part></score-partwise>"""


def test_incomplete_bars_have_no_number() -> None:
    """Common practice, no source: a bar that only completes another is not counted, whatever the file calls it."""
    start = "<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
    bars = [
        f'<measure number="{number}"{more}>{start if at == 0 else ""}{NOTE}</measure>'
        for at, (number, more) in enumerate(
            (("1", ""), ("2", ""), ("0", ""), ("3", ""), ("X1", ' implicit="yes"'))
        )
    ]
    engraver = ScoreEngraver(etree.fromstring(SCORE.format("".join(bars)).encode()))
    drawn = engraver.draw([SystemSpan(index, index, 60.0) for index in range(len(bars))])
    numbers = [
        [item.string for item in system.items if isinstance(item, Text) and item.italic]
        for system in drawn.systems
    ]
    assert numbers == [[], ["2"], [], ["3"], []]
