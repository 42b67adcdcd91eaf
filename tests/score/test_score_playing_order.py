"""The order of playing, against the MusicXML documentation, music21's expansion and by hand.

Sources: W3C musicxml.xsd 4.0 (sound, repeat, ending, time-only); the open MusicXML test suite, files 45a to
45g; music21 `repeat.Expander`. What has no source is marked.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.score import ScoreFile, read_score, score_from
from optimizer.score.marks import BarMarks, Jump, JumpKind, pass_numbers
from optimizer.score.playing_order import playing_order


def order(*bars: BarMarks) -> list[int]:
    """Bars played, counted from 1 as in print."""
    return [index + 1 for index, _ in playing_order(bars).steps]


def bar(signs: str = "", times: int = 2, movement: int = 0, **more: object) -> BarMarks:
    """`|:` and `:|` as signs; `[1` starts an ending, `]` stops one."""
    bracket = next((word for word in signs.split() if word.startswith("[")), None)
    return BarMarks(
        movement=movement,
        repeat_forward="|:" in signs,
        repeat_backward=":|" in signs,
        times=times,
        ending_start=pass_numbers(bracket) if bracket else None,
        ending_stop="]" in signs,
        **more,  # type: ignore[arg-type]
    )


def jump(kind: JumpKind, label: str = "", *times: int) -> tuple[Jump, ...]:
    return (Jump(kind, label, times),)


PLAIN = BarMarks()
DACAPO, DALSEGNO, SEGNO = (
    BarMarks(jumps=jump(kind)) for kind in (JumpKind.DACAPO, JumpKind.DALSEGNO, JumpKind.SEGNO)
)
FINE, TOCODA, CODA = (BarMarks(jumps=jump(kind)) for kind in (JumpKind.FINE, JumpKind.TOCODA, JumpKind.CODA))


def test_no_signs_play_once() -> None:
    assert order(PLAIN, PLAIN, PLAIN) == [1, 2, 3]


def test_repeat_goes_back_to_its_opening_sign() -> None:
    assert order(PLAIN, bar("|:"), bar(":|"), PLAIN) == [1, 2, 3, 2, 3, 4]


def test_repeat_without_opening_sign_goes_back_to_the_start_or_the_last_repeat() -> None:
    # Two-part form with no opening signs: A :| B :| (common practice, no source).
    assert order(PLAIN, bar(":|"), PLAIN, bar(":|")) == [1, 2, 1, 2, 3, 4, 3, 4]


def test_times_counts_how_often_the_section_is_played() -> None:
    # xsd 4.0, repeat: "the times attribute indicates the number of times the repeated section is played".
    assert order(bar("|: :|", times=5), PLAIN) == [1, 1, 1, 1, 1, 2]


def test_nested_repeats() -> None:
    # Inner repeats are taken again on every pass of the outer one (common practice, no source).
    assert order(bar("|:"), bar("|:"), bar(":|"), bar(":|"), PLAIN) == [1, 2, 3, 2, 3, 4, 1, 2, 3, 2, 3, 4, 5]


def test_endings_by_pass_number() -> None:
    # xsd 4.0, ending: "the number attribute indicates which times the ending is played"; "1,2" names two.
    bars = bar("|:"), bar("[1,2 ] :|"), bar("[3 ]"), PLAIN
    assert order(*bars) == [1, 2, 1, 2, 1, 3, 4]


def test_ranges_of_endings() -> None:
    assert pass_numbers("1, 2") == (1, 2)
    assert pass_numbers("1.-3.") == (1, 2, 3)
    assert pass_numbers("  ") == ()
    assert pass_numbers("1-99999") == tuple(range(1, 65))


def test_lone_first_ending_is_left_out_the_second_time() -> None:
    assert order(PLAIN, bar("[1 ] :|"), PLAIN) == [1, 2, 1, 3]


def test_long_first_ending_whose_bracket_is_short() -> None:
    # A real edition draws the bracket over the first of three bars only; the repeat sign closes the ending.
    assert order(bar("|:"), bar("[1 ]"), PLAIN, bar(":|"), bar("[2 ]"), PLAIN) == [1, 2, 3, 4, 1, 5, 6]


def test_repeat_sign_inside_the_second_ending_opens_a_section_of_its_own() -> None:
    bars = bar("|:"), bar("[1 ] :|"), bar("[2 |: ]"), bar(":|"), PLAIN
    assert order(*bars) == [1, 2, 1, 3, 4, 3, 4, 5]


def test_da_capo_al_fine() -> None:
    # xsd 4.0, sound: dacapo goes back to the beginning of the movement; fine follows the final note.
    assert order(PLAIN, FINE, PLAIN, DACAPO) == [1, 2, 3, 4, 1, 2]


def test_dal_segno_al_fine() -> None:
    assert order(PLAIN, SEGNO, FINE, PLAIN, DALSEGNO) == [1, 2, 3, 4, 5, 2, 3]


def test_dal_segno_al_coda() -> None:
    # xsd 4.0: dalsegno acts the first time through, tocoda the second.
    assert order(PLAIN, SEGNO, TOCODA, PLAIN, DALSEGNO, CODA, PLAIN) == [1, 2, 3, 4, 5, 2, 3, 6, 7]


def test_da_capo_al_coda() -> None:
    assert order(PLAIN, TOCODA, DACAPO, CODA) == [1, 2, 3, 1, 2, 4]


def test_labels_pair_signs() -> None:
    # xsd 4.0: "if there are multiple jumps, the value of these parameters can be used to name and distinguish
    # them".
    bars = (
        BarMarks(jumps=jump(JumpKind.SEGNO, "one")),
        BarMarks(jumps=jump(JumpKind.SEGNO, "two")),
        BarMarks(jumps=jump(JumpKind.DALSEGNO, "one")),
        BarMarks(jumps=jump(JumpKind.DALSEGNO, "two")),
    )
    assert order(*bars) == [1, 2, 3, 1, 2, 3, 4, 2, 3, 4]


def test_time_only_overrides() -> None:
    # xsd 4.0: "the time that jumps occur can be changed by using the time-only attribute".
    second = BarMarks(jumps=jump(JumpKind.DACAPO, "", 2), repeat_backward=True)
    assert order(PLAIN, second, PLAIN) == [1, 2, 1, 2, 1, 2, 3]
    coda = BarMarks(jumps=jump(JumpKind.TOCODA, "", 3), repeat_backward=True, times=4)
    assert order(coda, PLAIN, CODA) == [1, 1, 1, 3, 2]


def test_repeats_are_not_taken_again_after_a_jump() -> None:
    # Minuet and trio (common practice, no source): minuet with repeats, trio with repeats, minuet without.
    bars = bar("|: :|"), bar("|: :|", jumps=jump(JumpKind.FINE)), bar("|: :|", jumps=jump(JumpKind.DACAPO))
    assert order(*bars) == [1, 1, 2, 2, 3, 3, 1, 2]


def test_repeats_are_taken_again_where_the_file_says_so() -> None:
    # xsd 4.0, repeat: "after-jump indicates if the repeats are played after a jump due to a da capo or dal
    # segno".
    bars = bar("|: :|", after_jump=True), bar(jumps=jump(JumpKind.FINE)), DACAPO
    assert order(*bars) == [1, 1, 2, 3, 1, 1, 2]


def test_the_last_ending_is_played_after_a_jump() -> None:
    bars = bar("|:"), bar("[1 ] :|"), bar("[2 ]"), DACAPO, BarMarks()
    assert order(*bars) == [1, 2, 1, 3, 4, 1, 3, 4, 5]


def test_a_third_ending_after_dal_segno() -> None:
    # xsd 4.0, ending: the number "can also indicate whether an ending is played during a larger dal segno".
    body, second = bar("|:", jumps=jump(JumpKind.SEGNO)), bar("[2 ]", jumps=jump(JumpKind.DALSEGNO))
    assert order(body, bar("[1 ] :|"), second, bar("[3 ]")) == [1, 2, 1, 3, 1, 4]


def test_repeats_in_the_coda_are_new_and_taken() -> None:
    bars = TOCODA, DACAPO, BarMarks(jumps=jump(JumpKind.CODA), repeat_forward=True, repeat_backward=True)
    assert order(*bars) == [1, 2, 1, 3, 3]


def test_fine_without_a_jump_ends_a_repeated_form() -> None:
    # |: A Fine B :| (common practice, no source); a Fine that nothing leads back to is passed.
    assert order(bar("|:"), FINE, bar(":|")) == [1, 2, 3, 1, 2]
    assert order(PLAIN, FINE, PLAIN) == [1, 2, 3]
    assert order(bar("|:"), bar(":|", jumps=jump(JumpKind.FINE)), PLAIN) == [1, 2, 1, 2, 3]


def test_movements_are_independent() -> None:
    bars = (
        bar(),
        bar(":|"),
        bar(movement=1),
        bar(":|", movement=1),
        bar(movement=1, jumps=jump(JumpKind.DACAPO)),
    )
    assert order(*bars) == [1, 2, 1, 2, 3, 4, 3, 4, 5, 3, 4, 5]


def test_pass_numbers_count_each_bar() -> None:
    assert playing_order([bar("|:"), bar(":|"), PLAIN]).steps == ((0, 1), (1, 1), (0, 2), (1, 2), (2, 1))


def test_unreached_bars_are_played_last_with_a_warning() -> None:
    result = playing_order(
        [SEGNO, FINE, BarMarks(number="3", jumps=jump(JumpKind.DALSEGNO)), BarMarks(number="4")]
    )
    assert [index for index, _ in result.steps] == [0, 1, 2, 0, 1, 3]
    assert "never lead to bar 4;" in result.warnings[0]
    assert result.unreached == (3,)


def test_multiplying_repeats_end() -> None:
    bars = [bar("|:") for _ in range(40)] + [bar(":|", times=9) for _ in range(40)]
    result = playing_order(bars)
    assert [index for index, _ in result.steps] == list(range(80))
    assert "multiply" in result.warnings[0]


# The suite's own descriptions: 45a "repeated 5 times"; 45b "alternative endings"; 45c "can be nested" (its
# second closing sign has no opening one: back to where the last repeat ended, common practice, where music21
# goes back to bar 1); 45d "nested repeats, each with alternative endings"; 45e has an opening sign in its
# second ending (music21 goes back to bar 1 there); 45f brackets that contradict each other, so only its
# repeat sign counts; 45g never closes.
SUITE = {
    "45a-SimpleRepeat.xml": [1, 1, 1, 1, 1, 2],
    "45b-RepeatWithAlternatives.xml": [1, 2, 1, 3, 4],
    "45c-RepeatMultipleTimes.xml": [1, *[2, 3] * 5, *[4, 5, 6, 7] * 3, 8],
    "45d-Repeats-Nested-Alternatives.xml": [1, 2, 1, 3, 4, 5, 1, 6, 7, 8, 9, 1, 10, 1, 11, 12],
    "45e-Repeats-Nested-Alternatives.xml": [1, 2, 1, 3, 4, 5, 5, 6, 7, 6, 8, 9, 8, 9, 10],
    "45f-Repeats-InvalidEndings.xml": [1, 2, 3, 4, 1, 2, 3, 4, 5],
    "45g-Repeats-NotEnded.xml": [1, 2],
}


@pytest.mark.parametrize("name", SUITE)
def test_suite(name: str, shared_data: Path) -> None:
    score = read_score(shared_data / "conformance" / "xmlFiles" / name)
    assert [step.measure_index + 1 for step in score.played] == SUITE[name]
    assert bool(score.warnings) == name.startswith(("45f", "45g"))


def written(text: str = "", sound: str = "", sign: str = "") -> str:
    """A direction with words, a sign and a sound."""
    shown = f"<words>{text}</words>" if text else f"<{sign}/>"
    return f"<direction><direction-type>{shown}</direction-type>{sound and f'<sound {sound}/>'}</direction>"


@pytest.mark.parametrize(
    ("dacapo", "fine"),
    [
        (written("D.C. al Fine", 'dacapo="yes"'), written("Fine", 'fine="yes"')),
        ('<sound dacapo="yes"/>', '<sound fine="yes"/>'),
        (written("D.C. al Fine"), written("Fine")),
        (written("Da Capo al Fine"), written("FINE")),
        (written("Von vorne bis zum Schluß"), written("Schluß")),
        (written("Reprendre au début"), written("Fin")),
    ],
)
def test_da_capo_from_sounds_and_words(
    dacapo: str, fine: str, score_file: Callable[..., ScoreFile], note: Callable[..., str]
) -> None:
    score = score_from(score_file(note(), note() + fine, note() + dacapo))
    assert [step.measure_index for step in score.played] == [0, 1, 2, 0, 1]


@pytest.mark.parametrize(
    ("segno", "tocoda", "dalsegno", "coda"),
    [
        ('<sound segno="a"/>', '<sound tocoda="b"/>', '<sound dalsegno="a"/>', '<sound coda="b"/>'),
        (written(sign="segno"), written("To Coda"), written("D.S. al Coda"), written("Coda")),
        (written(sign="segno"), written(sign="coda"), written("Dal Segno"), written(sign="coda")),
        (written("Segno"), written("zur Coda"), written("Vom Zeichen"), written(sign="coda")),
    ],
)
def test_dal_segno_from_sounds_and_words(
    segno: str,
    tocoda: str,
    dalsegno: str,
    coda: str,
    score_file: Callable[..., ScoreFile],
    note: Callable[..., str],
) -> None:
    bars = note(), segno + note(), note() + tocoda, note() + dalsegno, coda + note()
    score = score_from(score_file(*bars))
    assert [step.measure_index for step in score.played] == [0, 1, 2, 3, 1, 2, 4]


def test_words_that_repeat_a_sound_do_not_jump_twice(
    score_file: Callable[..., ScoreFile], note: Callable[..., str]
) -> None:
    both = note() + '<sound dacapo="yes"/>' + written("D.C.")
    assert [step.measure_index for step in score_from(score_file(note(), both)).played] == [0, 1, 0, 1]


def test_da_capo_with_repeats_in_words(
    score_file: Callable[..., ScoreFile], note: Callable[..., str]
) -> None:
    repeat = '<barline location="right"><repeat direction="backward"/></barline>'
    score = score_from(score_file(note() + repeat, note() + written("D.C. con repetizione")))
    assert [step.measure_index for step in score.played] == [0, 0, 1, 0, 0, 1]


def test_forward_repeat_that_is_not_displayed(
    score_file: Callable[..., ScoreFile], note: Callable[..., str]
) -> None:
    # xsd 4.0, sound: forward-repeat "indicates that a forward repeat sign is implied but not displayed".
    repeat = '<barline location="right"><repeat direction="backward"/></barline>'
    score = score_from(score_file(note(), '<sound forward-repeat="yes"/>' + note(), note() + repeat))
    assert [step.measure_index for step in score.played] == [0, 1, 2, 1, 2]


def test_minuet_da_capo_without_fine(score_file: Callable[..., ScoreFile], note: Callable[..., str]) -> None:
    # As Mozart's K. 80 is encoded: "Menuetto da capo." a bar before the trio's last repeat sign, and no Fine.
    repeat = (
        '<barline location="right"><bar-style>light-heavy</bar-style><repeat direction="backward"/></barline>'
    )
    bars = note() + repeat, written("Trio.") + note(), note() + written("Menuetto da capo."), note() + repeat
    score = score_from(score_file(*bars))
    assert [step.measure_index for step in score.played] == [0, 0, 1, 2, 3, 1, 2, 3, 0]


def test_signs_in_any_part_count(score_file: Callable[..., ScoreFile], note: Callable[..., str]) -> None:
    repeat = '<barline location="right"><repeat direction="backward"/></barline>'
    score = score_from(score_file(parts=[[note(), note()], [note() + repeat, note()]]))
    assert [step.measure_index for step in score.played] == [0, 0, 1]


def test_dal_segno_in_a_minuet_of_several_movements(shared_data: Path) -> None:
    # By hand from the score: I twice two halves; II minuet 2 x 2, trio 2 x 2, minuet once to Fine; III two
    # repeats and a close; IV two halves.
    score = read_score(shared_data / "scores" / "quartet-boccherini-g213.mxl")
    spans = [(0, 36)] * 2 + [(37, 92)] * 2
    spans += [(93, 101)] * 2 + [(102, 118)] * 2 + [(119, 127)] * 2 + [(128, 148)] * 2 + [(93, 118)]
    spans += [(149, 156)] * 2 + [(157, 166)] * 2 + [(167, 178)] + [(179, 229)] * 2 + [(230, 317)] * 2
    expected = [index for first, last in spans for index in range(first, last + 1)]
    assert [step.measure_index for step in score.played] == expected


MARKS = st.builds(
    BarMarks,
    movement=st.just(0),
    repeat_forward=st.booleans(),
    repeat_backward=st.booleans(),
    times=st.integers(2, 4),
    after_jump=st.booleans(),
    ending_start=st.one_of(st.none(), st.lists(st.integers(1, 4), max_size=3).map(tuple)),
    ending_stop=st.booleans(),
    jumps=st.lists(
        st.builds(
            Jump,
            kind=st.sampled_from(JumpKind),
            label=st.sampled_from(["", "a"]),
            time_only=st.lists(st.integers(1, 3), max_size=2).map(tuple),
            with_repeats=st.booleans(),
        ),
        max_size=2,
    ).map(tuple),
)


@settings(deadline=None)
@given(st.lists(MARKS, min_size=1, max_size=12))
def test_any_marks_give_an_order_that_starts_at_the_start_and_reaches_every_bar(
    bars: Sequence[BarMarks],
) -> None:
    steps = playing_order(bars).steps
    assert steps[0] == (0, 1)
    assert {index for index, _ in steps} == set(range(len(bars)))
    for index in range(len(bars)):
        assert [count for place, count in steps if place == index] == list(
            range(1, 1 + sum(place == index for place, _ in steps))
        )


@settings(deadline=None)
@given(st.lists(MARKS, min_size=1, max_size=6), st.lists(MARKS, min_size=1, max_size=6))
def test_a_movement_is_played_the_same_whatever_stands_around_it(
    first: Sequence[BarMarks], second: Sequence[BarMarks]
) -> None:
    alone = playing_order(second).steps
    shifted = [replace(mark, movement=1) for mark in second]
    both = playing_order([*first, *shifted]).steps
    assert both[-len(alone) :] == tuple((index + len(first), count) for index, count in alone)
