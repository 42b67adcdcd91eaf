"""Ties, grace notes and repeats in the order of playing, and exact time in measures."""

from collections.abc import Callable, Sequence
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from music21 import converter

from optimizer.score import ScoreFile, clock_s, load_file, played_notes, score_from, sounding_notes
from optimizer.score.events import GRACE_S
from optimizer.score.tempo import CAESURA_S

Build = Callable[..., ScoreFile]
Note = Callable[..., str]
SECOND = '<sound tempo="60"/>'  # a quarter a second
START, STOP = '<tie type="start"/>', '<tie type="stop"/>'
REPEAT = '<barline location="right"><repeat direction="backward"/></barline>'


def tied(note: Note, step: str, ticks: int, *ties: str) -> str:
    return note(step, ticks).replace("</duration>", "</duration>" + "".join(ties))


def spans(file: ScoreFile) -> list[tuple[float, float]]:
    return [(round(item.onset_s, 4), round(item.end_s, 4)) for item in played_notes(score_from(file))]


def test_ties_are_merged_across_barlines(score_file: Build, note: Note) -> None:
    bars = SECOND + tied(note, "C", 16, START), tied(note, "C", 16, STOP, START), tied(note, "C", 4, STOP)
    assert spans(score_file(*bars)) == [(0.0, 9.0)]
    (sounding,) = sounding_notes(score_from(score_file(*bars)))
    assert (sounding.onset_ql, sounding.duration_ql) == (0, 9)


def test_a_tie_needs_its_second_note(score_file: Build, note: Note) -> None:
    bars = SECOND + tied(note, "C", 4, START) + note("D", 4) + tied(note, "C", 8, STOP)
    assert spans(score_file(bars)) == [(0.0, 1.0), (1.0, 2.0), (2.0, 4.0)]


def test_ties_over_a_repeat_join_only_what_follows(score_file: Build, note: Note) -> None:
    # Bar 1 is tied into bar 2; at the repeat bar 1 comes again without a tie into it.
    bars = SECOND + tied(note, "C", 16, START), tied(note, "C", 16, STOP) + REPEAT, note("D")
    assert spans(score_file(*bars)) == [(0.0, 8.0), (8.0, 16.0), (16.0, 20.0)]


def test_a_tie_into_the_second_ending(score_file: Build, note: Note) -> None:
    first = '<barline location="left"><ending number="1" type="start"/></barline>'
    first_end = (
        '<barline location="right"><ending number="1" type="stop"/><repeat direction="backward"/></barline>'
    )
    second = '<barline location="left"><ending number="2" type="start"/></barline>'
    second_end = '<barline location="right"><ending number="2" type="stop"/></barline>'
    bars = (
        SECOND + tied(note, "C", 16, START),
        first + tied(note, "C", 16, STOP) + first_end,
        second + tied(note, "C", 16, STOP) + second_end,
    )
    assert spans(score_file(*bars)) == [(0.0, 8.0), (8.0, 16.0)]


def test_two_voices_tied_on_one_pitch(score_file: Build, note: Note) -> None:
    one, two = tied(note, "C", 8, START), tied(note, "C", 8, STOP)
    low = "<backup><duration>16</duration></backup>" + note("C", 16, voice=2).replace(
        "</duration>", "</duration>" + START
    )
    end = note("C", 4, voice=2).replace("</duration>", "</duration>" + STOP)
    assert spans(score_file(SECOND + one + two + low, end)) == [(0.0, 4.0), (0.0, 5.0)]


def test_tied_without_tie(score_file: Build, note: Note) -> None:
    mark = '<notations><tied type="{}"/></notations>'
    bars = SECOND + note("C", 16, extra=mark.format("start")), note("C", 16, extra=mark.format("stop"))
    assert spans(score_file(*bars)) == [(0.0, 8.0)]


def grace(step: str, *, chord: bool = False) -> str:
    return f"<note><grace/>{'<chord/>' if chord else ''}<pitch><step>{step}</step><octave>5</octave></pitch></note>"


def test_grace_notes_sound_just_before_their_note(score_file: Build, note: Note) -> None:
    bar = SECOND + note("C", 8) + grace("D") + grace("E") + grace("G", chord=True) + note("F", 8)
    score = score_from(score_file(bar))
    assert [item.grace_order for item in score.notes] == [0, 2, 1, 1, 0]
    expected = [
        (0.0, 2.0),
        (2 - 2 * GRACE_S, 2 - GRACE_S),
        (2 - GRACE_S, 2.0),
        (2 - GRACE_S, 2.0),
        (2.0, 4.0),
    ]
    assert spans(score_file(bar)) == [pytest.approx(span) for span in expected]


def test_grace_notes_at_the_edges(score_file: Build, note: Note) -> None:
    # At the very start there is no time before the note; after a note they take its end.
    assert spans(score_file(SECOND + grace("D") + note("C", 16)))[0] == (0.0, 0.0)
    after = SECOND + note("C", 16) + grace("D")
    assert spans(score_file(after)) == [(0.0, 4.0), (round(4 - GRACE_S, 4), 4.0)]


def test_cue_notes(score_file: Build, note: Note) -> None:
    bar = note("C", 8, before="<cue/>") + note("D", 8, extra='<type size="cue">half</type>')
    assert [item.cue for item in score_from(score_file(bar)).notes] == [True, True]


def test_notes_stop_before_a_pause(score_file: Build, note: Note) -> None:
    pause = "<notations><articulations><caesura/></articulations></notations>"
    assert spans(score_file(SECOND + note("C", 8, extra=pause) + note("D", 8))) == [
        (0.0, 2.0),
        (2 + CAESURA_S, 4 + CAESURA_S),
    ]


def test_repeats_play_notes_again(score_file: Build, note: Note) -> None:
    notes = played_notes(score_from(score_file(SECOND + note() + REPEAT)))
    assert [(item.note_index, item.played_index, item.onset_s) for item in notes] == [
        (0, 0, 0.0),
        (0, 1, 4.0),
    ]


def test_chords_backup_and_forward(score_file: Build, note: Note) -> None:
    # xsd 4.0: chord notes share an onset; backup and forward move the time between voices.
    bar = (
        note("C", 4)
        + note("E", 4, before="<chord/>")
        + "<forward><duration>4</duration></forward>"
        + note("G", 8)
        + "<backup><duration>12</duration></backup>"
        + note("A", 2, octave=3, voice=2, staff=2)
    )
    score = score_from(score_file(bar))
    offsets = {item.pitch.step: item.offset_ql for item in score.notes if item.pitch}
    assert offsets == {"C": 0, "E": 0, "A": 1, "G": 2}
    assert score.measures[0].length_ql == 4
    assert score.parts[0].staves == 2


def test_divisions_may_change_inside_a_measure(score_file: Build, note: Note) -> None:
    change = "<attributes><divisions>{}</divisions></attributes>"
    bar = (
        change.format(4)
        + note("C", 4)
        + change.format(3)
        + note("D", 1)
        + note("E", 2)
        + change.format("0.5")
        + note("F", 1)
    )
    score = score_from(score_file(bar))
    assert [item.offset_ql for item in score.notes] == [0, 1, Fraction(4, 3), 2]
    assert score.measures[0].length_ql == 4


def test_transposition(score_file: Build, note: Note) -> None:
    # A horn in F sounds a fifth lower; a double bass an octave (xsd 4.0, transpose). The key is the sounding
    # one.
    horn = (
        "<attributes><divisions>4</divisions><key><fifths>1</fifths><mode>major</mode></key><transpose>"
        "<diatonic>-4</diatonic><chromatic>-7</chromatic></transpose></attributes>"
    )
    bass = (
        "<attributes><divisions>4</divisions><transpose><chromatic>0</chromatic>"
        "<octave-change>-1</octave-change></transpose></attributes>"
    )
    score = score_from(score_file(parts=[[horn + note("C")], [bass + note("C")]]))
    assert [item.sounding_midi for item in score.notes] == [53, 48]
    assert str(score.key) == "C major"


def test_measure_lengths(score_file: Build, note: Note) -> None:
    # A pickup has its real length, an empty measure that of its time signature, the longest part decides.
    parts = [[note("C", 4), "", note("D", 8)], [note("C", 4), "", note("D", 16)]]
    assert [measure.length_ql for measure in score_from(score_file(parts=parts)).measures] == [1, 4, 4]


@pytest.mark.parametrize("name", ["three-lanterns", "three-lamps"])
def test_sounding_notes_are_those_of_music21(name: str, corpora: Path) -> None:
    # music21's stripTies merges the same notes (of whole chords only, so scores without half-tied chords).
    path = corpora / f"{name}.musicxml"
    theirs = []
    for part in converter.parse(str(path), forceSource=True).parts:
        for element in part.stripTies().flatten().notes:
            if not element.duration.isGrace:
                for each in getattr(element, "notes", (element,)):
                    theirs.append((float(element.offset), float(element.quarterLength), each.pitch.midi))
    written = score_from(load_file(path))
    ours = [
        (float(item.onset_ql), float(item.duration_ql), written.notes[item.note_index].pitch.midi)
        for item in sounding_notes(written)
        if not item.grace
    ]
    assert 100 < len(ours) < len(written.notes)
    assert sorted(ours) == sorted(theirs)


@settings(deadline=None)
@given(
    moves=st.lists(
        st.tuples(st.sampled_from(["note", "forward", "backup"]), st.integers(1, 24), st.integers(1, 12)),
        max_size=12,
    )
)
def test_any_walk_through_a_measure_is_exact(
    moves: Sequence[tuple[str, int, int]], score_file: Build, note: Note
) -> None:
    content, place, longest, onsets = [], Fraction(0), Fraction(0), []
    for move, ticks, divisions in moves:
        content.append(f"<attributes><divisions>{divisions}</divisions></attributes>")
        length = Fraction(ticks, divisions)
        if move == "backup":
            content.append(f"<backup><duration>{ticks}</duration></backup>")
            place = max(Fraction(0), place - length)
            continue
        if move == "note":
            content.append(note("C", ticks))
            onsets.append((place, length))
        else:
            content.append(f"<forward><duration>{ticks}</duration></forward>")
        place += length
        longest = max(longest, place)
    score = score_from(score_file("".join(content)))
    assert sorted((item.offset_ql, item.duration_ql) for item in score.notes) == sorted(onsets)
    over = longest - 4
    rounded = 0 < over < Fraction(1, 2) and all((over * parts).denominator != 1 for parts in (12, 16))
    assert score.measures[0].length_ql == (4 if longest == 0 or rounded else longest)


def test_clock_between_knots(score_file: Build, note: Note) -> None:
    score = score_from(score_file(SECOND + note("C", 8) + '<sound tempo="120"/>' + note("D", 8)))
    assert [clock_s(score.clocks[0], Fraction(step)) for step in range(5)] == [0.0, 1.0, 2.0, 2.5, 3.0]
