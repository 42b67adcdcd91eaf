"""The words at turns and jumps."""

from dataclasses import replace
from fractions import Fraction

import pytest

from optimizer.press.foot_words import FootWords
from optimizer.press.marks import Free, Rests, bar_range, page_marks, turn_hint
from optimizer.score.model import PlayedMeasure
from optimizer.settings import Lang
from optimizer.turns.bars import Count
from optimizer.turns.model import Grade

LEFT = {(0, 2)}


def plain(text: str) -> str:
    """With spaces at which a line may end."""
    return text.replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("before", "over", "words"),
    [
        (Free(2, 0), Free(1, 3), "turn: 2 bars + 1 over"),  # the wording asked for in needs.md
        (Free(0, 3), Free(1, 0), "turn: 3 beats + 1 bar over"),
        (Free(1, 2), Free(0, 0), "turn: 1 bar"),
        (Free(0, 0), Free(0, 1), "turn: 1 beat free overleaf"),
        (Free(0, 2), Free(0, 2), "turn: 2 beats + 2 over"),
        (Free(0, 2, Count.EIGHTH), Free(0, 4, Count.EIGHTH), "turn: 2 eighths + 4 over"),
        (Free(0, 2), Free(0, 4, Count.EIGHTH), "turn: 2 beats + 4 eighths over"),
        (Free(2, 0), Free(1, 4, Count.EIGHTH), "turn: 2 bars + 1 over"),
        (Free(0, 0), Free(0, 0), ""),
    ],
)
def test_free_time_in_words(before, over, words):
    assert plain(turn_hint(before, over, FootWords(Lang.EN))) == words


def test_whole_bars_and_beats_are_counted_from_the_barline_both_ways(make):
    notes = [make.note(0, 0, 4, 2), make.note(1, 0, 2, 2), make.note(4, 3, 1, 2), make.note(2, 0, 4, 1)]
    rests = Rests(make.score(6, notes), LEFT)
    assert rests.before(2, 3) == Free(1, 2)
    assert rests.over(2, 3) == Free(1, 3)


def test_beats_of_three_are_told_in_the_notes_they_are_written_in(make):
    """Nobody counts thirds of a beat: a rest from the 4th eighth of a bar of 6/8 is 3 eighths long, not one beat."""
    notes = [make.note(0, 0, Fraction(3, 2), 2), make.note(1, 1, 2, 2)]
    score = make.score(3, notes)
    measures = tuple(replace(m, beats=6, beat_type=8, length_ql=Fraction(3)) for m in score.measures)
    rests = Rests(replace(score, measures=measures), LEFT)
    assert rests.before(0, 1) == Free(0, 3, Count.EIGHTH)
    assert rests.over(0, 1) == Free(0, 2, Count.EIGHTH)


def test_a_held_note_is_no_rest_and_a_cue_note_is_one(make):
    held = Rests(make.score(3, [make.note(1, 0, 4, 2)]), LEFT)
    cued = Rests(make.score(3, [make.note(1, 0, 4, 2, cue=True)]), LEFT)
    assert held.before(1, 2) == Free(0, 0)
    assert cued.before(1, 2) == Free(2, 0)


def test_bars_are_counted_in_playing_order_on_the_worst_pass(make):
    """Bar 1 (with notes) is played again before bar 3 the second time, bar 2 (empty) the first time."""
    score = make.score(4, [make.note(0, 0, 4, 2)], order=[0, 1, 2, 0, 2, 3])
    assert Rests(score, LEFT).before(2, 3) == Free(1, 0)
    assert Rests(score, LEFT).before(1, 2) == Free(1, 0)
    assert Rests(score, LEFT).before(0, 2) == Free(0, 0)


@pytest.mark.parametrize(
    ("lang", "hint", "jump"),
    [
        (Lang.DE, "wenden: 2 Takte frei + 1 danach", "zurück: Takt 20, Seite 1"),
        (Lang.FR, "tourner : 2 mesures libres + 1 après", "retour : mesure 20, page 1"),
        (Lang.ES, "pasar: 2 compases libres + 1 después", "volver: compás 20, página 1"),
        (Lang.SV, "vänd: 2 takter fria + 1 efter", "tillbaka: takt 20, sida 1"),
    ],
)
def test_other_languages_say_the_same(make, lang, hint, jump):
    """Usage of musicians in these languages, from memory."""
    assert plain(turn_hint(Free(2, 0), Free(1, 3), FootWords(lang))) == hint
    case = make.case([(1, 2), (3, 4)], [make.turn(2, 3, 49)], [make.back_turn(3, 1, 59, 19)])
    (mark,) = page_marks(case.score, case.plan, make.player, lang)[3]
    assert plain(mark.words) == jump
    assert FootWords(lang).times([1, 2]) in {"1. und 2.", "1re et 2e", "1.ª y 2.ª", "1:a och 2:a"}


def test_an_open_turn_is_a_leaf_and_a_quick_one_says_so_both_with_the_hint(make):
    notes = [
        make.note(m, 0, 4, staff)
        for m in range(50)
        for staff in (1, 2)
        if (m, staff) not in ((24, 2), (25, 2))
    ]
    for grade, sign, words in (
        (Grade.OPEN, "leaf", "turn: 1 bar + 1 over"),
        (Grade.QUICK, "V.S.", "turn: 1 bar + 1 over"),
        (Grade.TIGHT, "V.S.", "turn: 1 bar + 1 over"),
        (Grade.BLOCKED, "V.S.", "turn: 1 bar + 1 over"),
    ):
        case = make.case([(1,), (2,)], [make.turn(1, 2, 24, grade)], notes=notes)
        (mark,) = page_marks(case.score, case.plan, make.player)[1]
        assert (mark.sign, plain(mark.words), mark.is_jump) == (sign, words, False)


def test_jumps_name_bar_and_page_both_ways(make):
    case = make.case(
        [(1, 2), (3, 4)],
        [make.turn(2, 3, 49), make.turn(2, 4, 44, to=80)],
        [make.back_turn(3, 1, 59, 19), make.back_turn(4, 1, 97, 19)],
    )
    marks = page_marks(case.score, case.plan, make.player)
    assert [plain(mark.words) for mark in marks[2]] == ["on to bar 81, page 4", "turn: 50 bars + 50 over"]
    assert marks[3][0].words == "back to bar 20, page 1"
    assert [mark.place for mark in (*marks[3], *marks[4])] == ["bar 60", "bar 98"]


def renumbered(score, numbers, **words):
    """The first bars with other numbers."""
    measures = [replace(m, number=n) for m, n in zip(score.measures, numbers, strict=False)]
    return replace(score, measures=(*measures, *score.measures[len(measures) :]), **words)


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        (["0"], "back to the beginning, page 1"),
        ([""], "back to the beginning, page 1"),
        (["1"], "back to bar 1, page 1"),
        (["7"], "back to bar 7, page 1, system 1"),  # there is another bar 7
    ],
)
def test_a_jump_to_the_first_bar(make, numbers, words):
    case = make.case([(1, 2), (3,)], back_turns=[make.back_turn(3, 1, 59, 0)])
    (mark,) = page_marks(renumbered(case.score, numbers), case.plan, make.player)[3]
    assert mark.words == words


def test_a_forward_jump_says_on_which_time_it_is_taken(make):
    """Bars 1 to 45 twice, on to the last bar the second time (a Fine, an ending, a coda)."""
    case = make.case([(1, 2), (3,)], [make.turn(2, 3, 44, to=74)])
    orders = {
        "last time on to bar 75, page 3": [*range(50), *range(45), 74],
        "1st and 2nd time on to bar 75, page 3": [*range(45), 74, *range(45), 74, *range(50)],
        "on to bar 75, page 3": [*range(45), 74],
    }
    for words, order in orders.items():
        passes = [PlayedMeasure(m, order[:step].count(m) + 1, 4.0 * step) for step, m in enumerate(order)]
        (mark,) = page_marks(replace(case.score, played=tuple(passes)), case.plan, make.player)[2]
        assert mark.words == words


def repeated(case, *passes):
    """The score played so: stretches of measures, each from its first to its last."""
    order = [measure for first, last in passes for measure in range(first, last + 1)]
    played = [PlayedMeasure(m, order[:step].count(m) + 1, 4.0 * step) for step, m in enumerate(order)]
    return replace(case.score, played=tuple(played))


@pytest.mark.parametrize(
    ("lang", "said"),
    [
        (Lang.EN, "first back to bar 31, page 2; last time turn: 1 bar"),
        (Lang.DE, "zuerst zurück: Takt 31, Seite 2; letztes Mal wenden: 1 Takt frei"),
        (Lang.FR, "d’abord retour : mesure 31, page 2 ; dernière fois, tourner : 1 mesure libre"),
        (Lang.ES, "primero volver: compás 31, página 2; última vez, pasar: 1 compás libre"),
        (Lang.SV, "först tillbaka: takt 31, sida 2; sista gången vänd: 1 takt fri"),
    ],
)
def test_a_page_that_ends_with_a_repeat_says_to_go_back_first(make, lang, said):
    """The repeat stays on the spread (pages 1 and 2), so that nothing else is printed for it."""
    notes = [make.note(m, 0, 4, staff) for m in range(75) for staff in (1, 2) if (m, staff) != (49, 2)]
    case = make.case([(1, 2), (3,)], [make.turn(2, 3, 49, Grade.QUICK)], notes=notes)
    score = repeated(case, (0, 49), (30, 74))
    (mark,) = page_marks(score, case.plan, make.player, lang)[2]
    assert (mark.sign, plain(mark.words)) == ("V.S.", said)
    (once,) = page_marks(case.score, case.plan, make.player, lang)[2]
    assert plain(once.words) in said
    assert plain(once.words) != said


def test_a_turn_after_a_repeat_without_time_or_to_another_spread(make):
    notes = [make.note(m, 0, 4, staff) for m in range(75) for staff in (1, 2)]
    case = make.case([(1, 2), (3,)], [make.turn(2, 3, 49, Grade.BLOCKED)], notes=notes)
    (mark,) = page_marks(repeated(case, (0, 49), (30, 74)), case.plan, make.player)[2]
    assert (mark.sign, mark.words) == ("V.S.", "first back to bar 31, page 2; last time")
    # From the second spread back to the first one: the jump has a mark of its own.
    case = make.case(
        [(1, 2), (3,), (4,)],
        [make.turn(2, 3, 49), make.turn(3, 4, 74, Grade.BLOCKED)],
        [make.back_turn(3, 2, 74, 30)],
        notes=[*notes, *(make.note(m, 0, 4, staff) for m in range(75, 100) for staff in (1, 2))],
    )
    marks = page_marks(repeated(case, (0, 74), (30, 99)), case.plan, make.player)[3]
    assert {mark.words for mark in marks} == {"last time", "back to bar 31, page 2"}
    # After D.C. it is not repeated once more.
    marks = page_marks(repeated(case, (0, 74), (60, 99), (0, 99)), case.plan, make.player)[3]
    assert "first back to bar 61, page 3; 2nd and 3rd time" in {mark.words for mark in marks}


def test_a_jump_from_a_bar_whose_number_comes_back_names_its_system(make):
    case = make.case([(1, 2), (3,)], back_turns=[make.back_turn(3, 1, 59, 19)])
    numbers = [str(n % 30 + 1) for n in range(75)]
    (mark,) = page_marks(renumbered(case.score, numbers), case.plan, make.player)[3]
    assert mark.place == "bar 30 in system 2"
    assert mark.words == "back to bar 20, page 1, system 4"


def test_a_jump_to_a_half_bar_names_the_last_counted_bar(make):
    case = make.case([(1, 2), (3,)], back_turns=[make.back_turn(3, 1, 59, 1)])
    (mark,) = page_marks(renumbered(case.score, ["1", "X1"]), case.plan, make.player)[3]
    assert mark.words == "back to the bar after 1, page 1"


def test_a_turn_for_either_hand_is_told_by_what_both_have(make):
    """As its sentence is: "both hands rest ..."."""
    notes = [make.note(24, 0, 2, 1), make.note(24, 0, 3, 2), make.note(25, 1, 3, 1), make.note(25, 3, 1, 2)]
    turn = replace(make.turn(1, 2, 24, Grade.TIGHT), hand="either")
    case = make.case([(1,), (2,)], [turn], notes=notes)
    (mark,) = page_marks(case.score, case.plan, make.player)[1]
    assert plain(mark.words) == "turn: 1 beat + 1 over"


@pytest.mark.parametrize(
    ("lang", "said"),
    [
        (Lang.EN, "turn: the movement ends"),
        (Lang.DE, "wenden: der Satz ist zu Ende"),
        (Lang.FR, "tourner : fin du mouvement"),
        (Lang.ES, "pasar: termina el movimiento"),
        (Lang.SV, "vänd: satsen är slut"),
    ],
)
def test_a_corner_at_the_end_of_a_movement_says_why_there_is_time(make, lang, said):
    """Whether a hand rests before it or not (languages from memory)."""
    for notes in ([make.note(24, 0, 4, 2)], [make.note(22, 0, 4, 2)]):
        case = make.case([(1,), (2,)], [make.turn(1, 2, 24, Grade.OPEN)], notes=notes)
        measures = tuple(replace(m, movement=int(m.index > 24)) for m in case.score.measures)
        (mark,) = page_marks(replace(case.score, measures=measures), case.plan, make.player, lang)[1]
        assert (mark.sign, plain(mark.words)) == ("leaf", said)


def test_a_turn_before_a_blank_page_is_marked_where_the_music_ends(make):
    case = make.case([(1, 2), (3,)], [make.turn(2, 3, 24)], blank=[2])
    assert list(page_marks(case.score, case.plan, make.player)) == [1]


def test_bar_ranges_use_printed_numbers(make):
    case = make.case([(1, 2), (3,)], blank=[2])
    assert [bar_range(case.score, page) for page in case.plan.pages] == ["bars 1–25", "", "bars 26–50"]
    again = renumbered(case.score, [str(n) for n in (*range(1, 21), *range(5, 50))])
    assert [bar_range(again, page) for page in case.plan.pages] == ["bars 1–20, 5–9", "", "bars 10–34"]


def test_where_nobody_has_the_time_no_beats_are_told(make):
    """Such a turn is graded tight where two share the copy."""
    again = make.note(24, Fraction(7, 2), Fraction(1, 2), 2)
    turn = make.turn(1, 2, 24, Grade.TIGHT)
    for free_s, told in ((0.7, True), (0.5, False)):
        case = make.case([(1,), (2,)], [replace(turn, free_s=free_s)], notes=[make.note(24, 0, 1, 2), again])
        (mark,) = page_marks(case.score, case.plan, make.player)[1]
        assert ("between" in mark.words) == told


@pytest.mark.parametrize(
    ("lang", "between"),
    [
        (Lang.EN, "turn: between eighths 3 and 8"),
        (Lang.DE, "wenden: zwischen Achtel 3 und 8"),
        (Lang.FR, "tourner : entre les croches 3 et 8"),
        (Lang.ES, "pasar: entre las corcheas 3 y 8"),
        (Lang.SV, "vänd: mellan åttondel 3 och 8"),
    ],
)
def test_in_compound_time_the_foot_counts_eighths(make, lang, between):
    """The hand rests from the third eighth to the eighth one (languages from memory)."""
    notes = [make.note(24, 0, 1, 2), make.note(24, Fraction(7, 2), Fraction(1, 2), 2)]
    case = make.case([(1,), (2,)], [make.turn(1, 2, 24, Grade.QUICK)], notes=notes)
    measures = tuple(replace(measure, beats=12, beat_type=8) for measure in case.score.measures)
    (mark,) = page_marks(replace(case.score, measures=measures), case.plan, make.player, lang)[1]
    assert plain(mark.words) == between


@pytest.mark.parametrize(
    ("lang", "between", "before"),
    [
        (Lang.EN, "turn: between beats 2 and 4½", "turn: before beat 4½"),
        (Lang.DE, "wenden: zwischen Schlag 2 und 4½", "wenden: vor Schlag 4½"),
        (Lang.FR, "tourner : entre les temps 2 et 4½", "tourner : avant le temps 4½"),
        (Lang.ES, "pasar: entre los tiempos 2 y 4½", "pasar: antes del tiempo 4½"),
        (Lang.SV, "vänd: mellan slag 2 och 4½", "vänd: före slag 4½"),
    ],
)
def test_where_the_hand_plays_again_before_the_barline_the_foot_says_when_to_turn(
    make, lang, between, before
):
    """The turn begins on beat 4; bars later the hand rests, which then is too late (languages from memory)."""
    again = make.note(24, Fraction(7, 2), Fraction(1, 2), 2)
    for first, hint in ((make.note(24, 0, 1, 2), between), (make.note(23, 0, 1, 2), before)):
        turn = make.turn(1, 2, 24, Grade.QUICK)
        case = make.case([(1,), (2,)], [turn], notes=[first, again])
        (mark,) = page_marks(case.score, case.plan, make.player, lang)[1]
        assert plain(mark.words) == hint
