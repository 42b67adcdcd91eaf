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


def test_what_stands_beside_graces_keeps_its_place() -> None:
    """The way forward and back goes only where nothing is left between."""
    grace = "<note><grace/><pitch><step>D</step><octave>5</octave></pitch><type>16th</type></note>"
    words = "<direction><direction-type><words>rit.</words></direction-type></direction>"
    tree = mended(f"<forward><duration>16</duration></forward>{grace}{words}{BACK}{note('C', 16)}")
    between = [child.tag for child in next(tree.iter("forward")).itersiblings()]
    assert between[:2] == ["direction", "backup"]


def test_figures_take_no_time() -> None:
    """W3C musicxml.xsd 4.0, figured-bass: its duration is for changes of figures under a note."""
    figures = (
        "<figured-bass><figure><figure-number>6</figure-number></figure><duration>8</duration></figured-bass>"
    )
    after = "<note><rest/><duration>4</duration><voice>1</voice></note>"
    assert len(list(mended(note("C", 4) + figures + note("D", 8) + after).iter("rest"))) == 1


def test_rests_in_a_compound_time_stay() -> None:
    """Three and two eighths are five."""
    pairs = "".join(f"<beats>{beats}</beats><beat-type>8</beat-type>" for beats in (3, 2))
    rest = "<note><rest/><duration>4</duration><voice>1</voice></note>"
    for time in (pairs, "<beats>3+2</beats><beat-type>8</beat-type>"):
        meter = f"<attributes><time>{time}</time></attributes>"
        assert len(list(mended(meter + note("C", 6) + rest).iter("rest"))) == 1
        assert not list(mended(meter + note("C", 10) + rest).iter("rest"))


def test_numbers_that_are_none() -> None:
    """They are taken for missing ones."""
    clef = "<attributes><clef><sign>G</sign><line>²</line></clef></attributes>"
    shown = "<display-step>Q</display-step><display-octave>y</display-octave>"
    rest = BAR_REST.format("1").replace("/>", f">{shown}</rest>", 1)
    tree = mended(clef + rest + BACK + note("B", 16, "2", cue="<cue/>", octave=4))
    assert next(tree.iter("rest")).findtext("display-octave") != "y"


def ties(*notes: str) -> list[str | None]:
    return [mark.get("type") for mark in mended("".join(notes)).iter("tied")]


def test_ties_of_an_arpeggio_written_out_are_held_into_its_chord() -> None:
    """W3C MusicXML 4.0, tied: arpeggios into ties; a tie that comes to no note rings on."""
    start, stop = (f"<notations><tied type='{kind}'/></notations>" for kind in ("start", "stop"))
    rolled = [note(step, 1, more=start) for step in "CEG"]
    chord = [note(step, 4, more=stop) for step in "CEG"]
    chord[1:] = [tone.replace("<note>", "<note><chord/>") for tone in chord[1:]]
    assert ties(*rolled, *chord) == ["start"] * 3 + ["stop"] * 3
    late = [note("F", 4), *chord]
    assert ties(*rolled, *late) == ["let-ring"] * 3 + ["stop"] * 3
    again = [note("C", 1, more=start), note("C", 1), note("D", 1), *chord]
    assert ties(*again)[0] == "let-ring"


def clef_after(*, rest_staff: str = "1", start_staff: str = "2", more: str = "") -> list[str]:
    """What stands before and after a clef of the upper staff where a slur comes up from a staff: the voice of each."""
    rests = f"<note><rest/><duration>8</duration><voice>1</voice><staff>{rest_staff}</staff></note>"
    clef = "<attributes><clef number='1'><sign>F</sign><line>4</line></clef></attributes>"
    slur = "<staff>{}</staff><notations><slur type='{}' number='1'/></notations>"
    rising = note("C", 4, "5", slur.format(start_staff, "start"), octave=3)
    rising += note("E", 4, "5", f"<staff>{start_staff}</staff>", octave=3)
    rising += note("G", 8, "5", slur.format("1", "stop"), octave=3)
    upper = f"{rests}{clef}<note><rest/><duration>8</duration><voice>1</voice></note>"
    bar = mended(upper + BACK + rising + more)
    found = [clef.getparent() for clef in bar.iter("clef") if clef.get("number")]
    return [near.tag if near is not None else "" for near in (found[0].getprevious(), found[0].getnext())]


def test_a_clef_goes_ahead_of_a_slur_that_comes_up_from_the_other_staff() -> None:
    """By eye: at the place of its first note the slur would be drawn through it."""
    assert clef_after() == ["attributes", "note"]
    assert clef_after(start_staff="1") == ["note", "note"]
    assert clef_after(rest_staff="2") == ["note", "note"]
    sounding = BACK + note("C", 8, "2", "<staff>1</staff>")
    assert clef_after(more=sounding) == ["note", "note"]


def keys(*changes: tuple[str, int]) -> list[str]:
    """Of keys for one staff, or "" for all, those that are printed."""
    content = "".join(
        f"<attributes><key{f' number={staff!r}' if staff else ''}><fifths>{fifths}</fifths></key></attributes>"
        for staff, fifths in changes
    )
    return [key.findtext("fifths", "") for key in mended(content).iter("key")]


def test_keys_that_already_hold_are_not_drawn_again() -> None:
    assert keys(("", 2), ("", 2), ("1", 2)) == ["2"]
    assert keys(("", 2), ("2", -1), ("", 2)) == ["2", "-1", "2"]
    assert keys(("1", 2), ("2", 2), ("", 2)) == ["2", "2"]


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


def test_graces_on_two_staves_have_flags() -> None:
    """The library draws no beam between them: stems alone would not say how long they are."""

    def graces(*staves: int) -> int:
        pitch = "<pitch><step>C</step><octave>4</octave></pitch><voice>1</voice><type>32nd</type>"
        text = "".join(
            f"<note><grace/>{pitch}<staff>{staff}</staff><beam number='1'>{beam}</beam></note>"
            for staff, beam in zip(staves, ("begin", "end"), strict=True)
        )
        return len(list(mended(text + note("C", 16)).iter("beam")))

    assert graces(2, 1) == 0
    assert graces(1, 1) == 2


def test_a_bar_rest_that_would_overfill_its_bar_is_cut() -> None:
    (rest,) = mended(note("C", 8) + BAR_REST.format("1")).iter("rest")
    rest_note = rest.getparent()
    assert rest.get("measure") is None
    assert (rest_note.findtext("duration"), rest_note.findtext("type")) == ("8", "half")


def test_a_bar_rest_clear_of_cues_stays() -> None:
    low = note("F", 16, "2", "<stem>up</stem>", "<cue/>", octave=3)
    assert next(mended(BAR_REST.format("1") + BACK + low).iter("rest")).find("display-step") is None


def tuplet(voice: str, beamed: bool, stem: str = "up") -> str:
    """Three notes in the time of four 16ths; the bracket is asked for."""
    change = (
        "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes></time-modification>"
    )
    kinds = (("begin", "start"), ("continue", ""), ("end", "stop"))
    text = ""
    for beam, mark in kinds:
        beams = f'<beam number="1">{beam}</beam>' if beamed else ""
        marks = (
            f"<notations><tuplet type='{mark}' bracket='yes' placement='above'/></notations>" if mark else ""
        )
        text += note("C", 4, voice, f"<type>eighth</type>{change}<stem>{stem}</stem>{beams}{marks}")
    return text


def shown(content: str) -> list[tuple[str | None, str | None]]:
    starts = (mark for mark in mended(content).iter("tuplet") if mark.get("type") == "start")
    return [(mark.get("bracket"), mark.get("show-number")) for mark in starts]


def test_a_beamed_tuplet_needs_no_bracket() -> None:
    """Common practice, no source."""
    assert shown(tuplet("1", beamed=True)) == [("no", None)]
    assert shown(tuplet("1", beamed=False)) == [("yes", None)]


def test_a_tuplet_of_one_repeated_note_needs_no_bracket() -> None:
    """It would be as narrow as its number."""
    marks = "".join(f"<tuplet type='{kind}' bracket='yes'/>" for kind in ("start", "stop"))
    one = note("C", 12, "1", f"<type>quarter</type><stem>up</stem><notations>{marks}</notations>")
    assert shown(one) == [("no", None)]


def test_tuplets_alike_in_two_voices_have_one_number() -> None:
    """Common practice, no source: the number stands with the beam."""
    back = "<backup><duration>12</duration></backup>"
    both = shown(tuplet("1", beamed=False) + back + tuplet("2", beamed=True, stem="down"))
    assert both == [("no", "none"), ("no", None)]
    other_staff = tuplet("2", beamed=True).replace("</stem>", "</stem><staff>2</staff>")
    assert shown(tuplet("1", beamed=True) + back + other_staff) == [("no", None)] * 2
    later = tuplet("1", beamed=True) + tuplet("2", beamed=True)
    assert shown(later) == [("no", None)] * 2


def test_mended_beams_do_not_end_inside_a_tuplet() -> None:
    """Eleven in the time of eight, over two beats of a quarter."""
    change = (
        "<time-modification><actual-notes>11</actual-notes><normal-notes>8</normal-notes></time-modification>"
    )
    content = note("C", 4, more='<type>eighth</type><beam number="1">continue</beam>').replace(">4<", ">44<")
    for index in range(11):
        mark = {0: "start", 10: "stop"}.get(index)
        marks = f"<notations><tuplet type='{mark}'/></notations>" if mark else ""
        content += note("D", 8, more=f'<type>16th</type>{change}<beam number="1">continue</beam>{marks}')
    tree = mended("<attributes><divisions>44</divisions></attributes>" + content)
    assert [child.findtext("beam") for child in tree.iter("note")] == [
        None,
        "begin",
        *["continue"] * 9,
        "end",
    ]


def cues_left(viola: str, *, own: str = note("G", 16), said: str = "(viola)") -> tuple[int, list[str | None]]:
    """Cue notes C and E of a violin, and the words above, in a score where the viola plays something."""
    rest = "<note><rest/><duration>4</duration><voice>2</voice></note>"
    cues = note("C", 8, "2", cue="<cue/>") + note("E", 4, "2", cue="<cue/>") + rest
    words = f"<direction><direction-type><words>{said}</words></direction-type></direction>"
    names = ("P1", "Violin"), ("P2", "Viola")
    listed = "".join(
        f'<score-part id="{id}"><part-name>{name}</part-name></score-part>' for id, name in names
    )
    parts = "".join(
        f'<part id="{id}"><measure number="1">{HEAD}{content}</measure></part>'
        for id, content in (("P1", words + own + BACK + cues), ("P2", viola))
    )
    tree = etree.fromstring(f"<score-partwise><part-list>{listed}</part-list>{parts}</score-partwise>")
    mend(tree)
    lengths = [sum(int(d.text or 0) for d in tree.iterfind(f"part[{n}]//duration")) for n in (1, 2)]
    assert lengths == [48, 16]
    assert len(list(tree.iterfind("part[1]//rest"))) in (0, 1 + ("rest" in own))
    return len(list(tree.iter("cue"))), [text.text for text in tree.iter("words")]


def test_cues_among_notes_go_where_the_cued_part_is_printed() -> None:
    """Cues are for parts, not for scores (common practice, no source)."""
    viola = note("C", 8, octave=3) + note("E", 8, octave=3)
    assert cues_left(viola) == (0, [])
    assert cues_left(viola, said="dolce") == (2, ["dolce"])
    assert cues_left(viola, own=BAR_REST.format("1")) == (2, ["(viola)"])
    assert cues_left(note("C", 8) + note("F", 8)) == (2, ["(viola)"])
