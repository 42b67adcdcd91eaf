"""Rests, cues, graces and beams are mended; onsets and lengths stay what they were."""

from lxml import etree

from optimizer.engrave.mend import mend

HEAD = (
    "<attributes><divisions>4</divisions><time><beats>4</beats><beat-type>4</beat-type></time>"
    "<clef><sign>G</sign><line>2</line></clef></attributes>"
)


def mended(content: str) -> etree._Element:
    tree = etree.fromstring(
        '<score-partwise><part-list><score-part id="P1"><part-name/></score-part></part-list><part id="P1">'
        f'<measure number="1">{HEAD}{content}</measure></part></score-partwise>'
    )
    mend(tree)
    return tree


def note(step: str, duration: int, voice: str = "1", more: str = "", cue: str = "", octave: int = 5) -> str:
    pitch = f"<pitch><step>{step}</step><octave>{octave}</octave></pitch>"
    return f"<note>{cue}{pitch}<duration>{duration}</duration><voice>{voice}</voice>{more}</note>"


BAR_REST = "<note><rest measure='yes'/><duration>16</duration><voice>{}</voice></note>"
BACK = "<backup><duration>16</duration></backup>"


def test_a_rest_for_the_whole_bar_after_notes_goes() -> None:
    tree = mended(note("C", 16) + BAR_REST.format("1"))
    assert next(tree.iter("rest"), None) is None
    assert next(mended(BAR_REST.format("1")).iter("rest"), None) is not None
    assert len(list(mended(note("C", 16) + BACK + BAR_REST.format("2")).iter("rest"))) == 1


def test_graces_without_a_voice_go_with_the_note_they_follow() -> None:
    """After the trilled whole note, not before it: the main note must stand on the first beat."""
    grace = "<note><grace/><pitch><step>D</step><octave>5</octave></pitch><type>16th</type></note>"
    main = note("C", 16, more="<type>whole</type><notations><ornaments><trill-mark/></ornaments></notations>")
    tree = mended(f"<forward><duration>16</duration></forward>{grace}{BACK}{main}")
    order = [child.findtext("pitch/step") for child in tree.iter("note")]
    assert order == ["C", "D"]
    assert {child.findtext("voice") for child in tree.iter("note")} == {"1"}
    assert next(tree.iter("backup"), None) is None


def test_a_bar_rest_makes_room_for_cues() -> None:
    tree = mended(BAR_REST.format("1") + BACK + note("B", 16, "2", cue="<cue/>", octave=4))
    rest = next(tree.iter("rest"))
    assert rest.findtext("display-step")
    assert next(mended(BAR_REST.format("1")).iter("rest")).find("display-step") is None


def beams(*kinds: str | None) -> list[str | None]:
    content = "".join(
        note("C", 1, more="<type>16th</type>" + (f'<beam number="1">{kind}</beam>' if kind else ""))
        for kind in kinds
    )
    return [child.findtext("beam") for child in mended(content).iter("note")]


def test_whole_beams_are_kept_and_broken_ones_mended() -> None:
    whole = ["begin", "continue", "continue", "end"]
    assert beams(*whole * 4) == whole * 4
    broken = beams("continue", "continue", "continue", "end", *whole * 3)
    assert broken == whole * 4
