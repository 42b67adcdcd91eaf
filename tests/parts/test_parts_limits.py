"""What players should not do at once: moments, weights and costs on parts written out here, by hand and by a clock of
60 quarters a minute (a quarter is a second)."""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from pathlib import Path

import pytest
from lxml import etree

from optimizer.layout.joint import Limit
from optimizer.parts.extract import extract
from optimizer.parts.levels import applied
from optimizer.parts.limits import TOO_MANY, TOO_MANY_DESKS, limits, shared_copy
from optimizer.parts.loudness import softness
from optimizer.parts.model import Cues, Extracted, PartsSettings
from optimizer.parts.prepare import measure_parts
from optimizer.progress import silent
from optimizer.score import Score, ScoreFile, load_file, score_from
from optimizer.settings import Settings, TurnSettings
from optimizer.turns import choose_player, step_costs
from optimizer.turns.model import BLOCKED_COST, Grade, StepCost

BUSY = "c c c c"  # four quarters, four seconds
LONG = "C"  # one note of four
REST = "r"
SIGNS = {
    "<": '<wedge type="crescendo"/>',
    ">": '<wedge type="diminuendo"/>',
    "|": '<wedge type="stop"/>',
    "cresc": "<words>poco cresc.</words>",
    "dim": "<words>dim.</words>",
}


def bar(notes: str) -> str:
    """Quarters c, a whole note C, a whole rest r; "<" and ">" begin hairpins, "|" ends one; "cresc", "dim" are words,
    other words dynamics; "repeat" ends a repeated section."""
    lengths = {"c": 1, "C": 4, "r": 4}
    xml = ""
    for word in notes.split():
        if word in lengths:
            kind = "<rest/>" if word == "r" else "<pitch><step>C</step><octave>4</octave></pitch>"
            xml += f"<note>{kind}<duration>{lengths[word] * 2}</duration><voice>1</voice></note>"
        elif word != "repeat":
            sign = SIGNS.get(word) or f"<dynamics><{word}/></dynamics>"
            xml += f"<direction><direction-type>{sign}</direction-type></direction>"
    if "repeat" in notes.split():
        xml += '<barline location="right"><repeat direction="backward"/></barline>'
    return xml


def tree(bars: Sequence[str]) -> etree._Element:
    """A part at 60 quarters a minute."""
    time = "<time><beats>4</beats><beat-type>4</beat-type></time>"
    head = f'<attributes><divisions>2</divisions>{time}</attributes><sound tempo="60"/>'
    measures = "".join(
        f'<measure number="{number}">{head if number == 1 else ""}{bar(notes)}</measure>'
        for number, notes in enumerate(bars, 1)
    )
    names = '<part-list><score-part id="P1"><part-name>Violin</part-name></score-part></part-list>'
    xml = f'<score-partwise version="4.0">{names}<part id="P1">{measures}</part></score-partwise>'
    return etree.fromstring(xml)


Player = tuple[Extracted, Score, Sequence[StepCost]]


def player(*bars: str, family: str = "strings", players: int = 1) -> Player:
    file = ScoreFile(Path("part.musicxml"), "", tree(bars))
    score = score_from(file)
    steps = step_costs(score, choose_player(score), TurnSettings())
    return Extracted("P1", "Violin", family, players, file, tuple(range(len(bars) + 1))), score, steps


def limits_of(*players: Player) -> tuple[Limit, ...]:
    return limits(*zip(*players, strict=True))


def of(found: Sequence[Limit], what: str, hard: bool = False) -> tuple[Limit, ...]:
    return tuple(limit for limit in found if limit.what == what and (limit.most is not None) == hard)


def cost(found: Sequence[Limit], what: str, *turns: set[int]) -> int:
    """Hundredths of a point."""
    return sum(limit.excess_cost(turns) for limit in of(found, what))


def is_never(found: Sequence[Limit], *turns: set[int]) -> bool:
    return any(limit.is_broken(turns) for limit in found)


def test_all_may_turn_at_once_nowhere() -> None:
    found = limits_of(*[player(*[BUSY] * 6)] * 4)
    for position in range(1, 6):
        assert is_never(found, *[{position}] * 4)
        assert not is_never(found, *[{position}] * 3, {position % 5 + 1})
    assert all(limit.most == 3 for limit in of(found, "all", hard=True))


def test_who_rests_long_makes_it_no_better_that_all_turn() -> None:
    """It is never wanted, rests or not; but it costs nothing when the resting ones turn together."""
    resting = player(BUSY, REST, REST, REST, REST, REST, BUSY)
    busy = player(*[BUSY] * 7)
    found = limits_of(busy, resting, resting, resting)
    assert is_never(found, {3}, {3}, {3}, {3})
    assert cost(found, "all", set(), {3}, {3}, {3}) == 0


def test_more_than_half_of_those_who_play_cost() -> None:
    found = limits_of(*[player(*[BUSY] * 6)] * 4)
    assert cost(found, "all", {3}, {3}, set(), set()) == 0
    assert cost(found, "all", {3}, {3}, {3}, set()) == TOO_MANY * 100
    assert cost(found, "all", {3}, {3}, {4}, {4}) == 0  # four seconds later


def test_an_open_turn_counts_half() -> None:
    """Four seconds of rest right before the bar line, notes on either side: nothing is lost, but they are at it."""
    pausing = player(BUSY, "c c c r", BUSY, BUSY)
    step = next(step for step in pausing[2] if step.from_index == 1)
    assert step.grade is Grade.OPEN
    found = limits_of(pausing, pausing, player(*[BUSY] * 5), player(*[BUSY] * 5))
    assert cost(found, "all", {2}, {2}, set(), set()) == 0
    at_once = [limit for limit in of(found, "all") if (0, 2) in limit.turns]
    assert {limit.turns[0, 2] for limit in at_once} == {1}


def test_between_movements_everybody_may_turn(corpora: Path) -> None:
    file = load_file(corpora / "two-harbour-pictures.musicxml")
    score = score_from(file)
    steps = step_costs(score, choose_player(score), TurnSettings())
    part = Extracted("P1", "Piano", "keyboards", 1, file, ())
    found = limits([part] * 3, [score] * 3, [steps] * 3)
    starts = {b.index for a, b in pairwise(score.measures) if a.movement != b.movement}
    assert starts
    assert not starts & {position for limit in found for _, position in limit.turns}


def test_turning_back_at_a_repeat_counts_wherever_the_spread_began() -> None:
    """Whoever has a turn inside the repeated bars turns back when all do."""
    found = limits_of(*[player(BUSY, BUSY, BUSY, BUSY, f"{BUSY} repeat", BUSY, BUSY)] * 3)
    assert is_never(found, {1}, {3}, {4})
    assert not is_never(found, {1}, {3}, {5})
    spans = {span for limit in found for span in limit.spans}
    assert spans == {(0, 1, 4), (1, 1, 4), (2, 1, 4)}


def test_each_pass_of_a_repeat_counts() -> None:
    twice = limits_of(*[player(BUSY, BUSY, BUSY, f"{BUSY} repeat", BUSY)] * 4)
    assert cost(twice, "all", {2}, {2}, {2}, set()) == 2 * TOO_MANY * 100 + cost(
        [limit for limit in twice if limit.spans], "all", {2}, {2}, {2}, set()
    )


def test_a_crowd_in_bars_of_one_second_is_paid_for_once() -> None:
    """Three bar lines lie within three seconds: each crowd stands in up to three moments."""
    quick = [player(*["c c c c"] * 12) for _ in range(4)]
    for part, _, _ in quick:
        part.file.root.find("part/measure/sound").set("tempo", "240")
    faster = []
    for part, _, _ in quick:
        score = score_from(part.file)
        assert score.duration_s == pytest.approx(12)
        faster.append((part, score, step_costs(score, choose_player(score), TurnSettings())))
    found = limits_of(*faster)
    assert is_never(found, {5}, {5}, {6}, {7})
    assert not is_never(found, {5}, {5}, {6}, {8})
    full = TOO_MANY * 100
    assert 0.9 * full <= cost(found, "all", {6}, {6}, {6}, set()) <= full


@pytest.mark.parametrize(
    ("music", "gone"),
    [
        (f"p {BUSY}", True),
        (f"mf {BUSY}", False),
        (BUSY, False),  # no dynamic: nobody knows
        (f"mf {LONG}", True),  # sustained
    ],
)
def test_a_family_does_not_leave_a_soft_or_sustained_passage(music: str, gone: bool) -> None:
    later = LONG if LONG in music else BUSY
    strings = [player(music, *[later] * 5) for _ in range(2)]
    winds = [player(f"f {BUSY}", *[BUSY] * 5, family="woodwind") for _ in range(3)]
    found = limits_of(*strings, *winds)
    nobody: list[set[int]] = [set()] * 3
    assert is_never(found, {3}, {3}, *nobody) == gone
    assert not is_never(found, {3}, {4}, *nobody)
    assert not any(member > 1 for limit in of(found, "family", hard=True) for member, _ in limit.turns)


def test_a_family_that_is_one_part_is_left_to_its_own_costs() -> None:
    found = limits_of(player(*[f"p {BUSY}"] * 5), player(*[f"p {BUSY}"] * 5, family="brass"))
    assert not of(found, "family", hard=True)


def test_a_family_whose_desk_partners_play_on_is_there() -> None:
    strings = [player(*[f"p {BUSY}"] * 5, players=2), player(*[f"p {BUSY}"] * 5)]
    assert not of(limits_of(*strings, player(*[BUSY] * 5, family="brass")), "family", hard=True)


def test_a_family_at_rest_sustains_nothing() -> None:
    resting = [player(BUSY, REST, REST, BUSY) for _ in range(2)]
    found = limits_of(*resting, player(*[BUSY] * 4, family="brass"))
    assert not is_never(found, {2}, {2}, set())


def test_not_more_than_half_of_the_desks_turn_at_once() -> None:
    sections = [
        player(*[BUSY] * 5, players=count) for count in (8, 6, 4, 1)
    ]  # 4, 3 and 2 desks, and a soloist
    found = limits_of(*sections)
    assert cost(found, "desks", {2}, set(), set(), {2}) == 0
    assert cost(found, "desks", {2}, set(), {2}, {2}) == 2 * TOO_MANY_DESKS * 100  # 6 of 9, 4 are free
    assert cost(found, "desks", {2}, {3}, {2}, set()) == 2 * TOO_MANY_DESKS * 100
    assert not of(limits_of(*sections[2:]), "desks")


def test_who_shares_a_copy_is_half_there() -> None:
    desks = limits_of(*[player(*[BUSY] * 5, players=2)] * 4)
    assert {w for limit in of(desks, "all") for w in limit.turns.values()} <= {1}
    assert cost(desks, "all", {2}, {2}, {2}, set()) == 0


def steps_of_all_grades() -> Iterator[StepCost]:
    yield from player(BUSY, BUSY, REST, REST, BUSY, "c c c c", "c r", BUSY)[2]


def test_a_turn_is_easier_for_two_who_share() -> None:
    steps = list(steps_of_all_grades())
    assert {Grade.OPEN, Grade.BLOCKED} <= {step.grade for step in steps}
    for step in steps:
        shared = shared_copy(step)
        assert shared.cost == sum(shared.terms.values()) <= step.cost
        assert shared.terms["carry"] == step.terms["carry"]
        assert shared.terms["grade"] == step.terms["grade"] // 2
        assert (shared.grade is Grade.OPEN) == (step.grade is Grade.OPEN)
        assert shared.grade.hardness <= step.grade.hardness
        if step.grade is Grade.BLOCKED:
            assert shared.grade is Grade.TIGHT
            assert shared.cost < 0.6 * BLOCKED_COST


def test_softness_goes_by_the_file_and_returns_with_a_repeat() -> None:
    root = tree([f"p {BUSY}", BUSY, "c c f c c repeat", "c fp c c c", f"sf {BUSY}", f"mp {BUSY}"])
    score = score_from(ScoreFile(Path("x"), "", root))
    expected = ((0.0, True), (10.0, False), (12.0, True), (22.0, False), (25.0, True), (32.0, False))
    # Bars of 4 s: soft from the start, f on the third beat of bar 3; again from 12 s; fp in bar 4 (24 s) on its second
    # beat; a sforzato changes nothing; mp in bar 6.
    assert softness(root, score) == expected


@pytest.mark.parametrize(
    ("bars", "expected"),
    [
        # By degrees, p 3, mp 4, mf 5, f 6; soft below 3.5. From f to p: five sixths of the way.
        (("f > c c c c", "| p c c c c"), ((0.0, False), (4 * 5 / 6, True))),
        (("p < c c c c", "| f c c c c"), ((0.0, True), (4 * 1 / 6, False))),
        (("f dim c c c c", BUSY, "p c c c c"), ((0.0, False), (8 * 5 / 6, True))),
        (
            ("p cresc c c c c", BUSY, BUSY, BUSY, BUSY, BUSY),
            ((0.0, True), (8.0, False)),
        ),  # mp after four bars
        # One degree there and back, where no dynamic says where to.
        (("p < c c c c", "| > c c c c", "| c c c c"), ((0.0, True), (2.0, False), (6.0, True))),
        # The end of each phrase, no way into silence.
        (("mf > c c c c", "| > c c c c", "| > c c c c", "| c c c c"), ((0.0, False),)),
        (("p > c c c c", "| f c c c c"), ((0.0, True), (4.0, False))),  # softer, then suddenly loud
        (("< c c p c c", "| c c c c"), ((0.0, False), (2.0, True))),  # a dynamic ends a hairpin
    ],
)
def test_hairpins_lead_from_one_dynamic_to_the_next(
    bars: Sequence[str], expected: Sequence[tuple[float, bool]]
) -> None:
    root = tree(bars)
    found = softness(root, score_from(ScoreFile(Path("x"), "", root)))
    assert [soft for _, soft in found] == [soft for _, soft in expected]
    assert [time_s for time_s, _ in found] == pytest.approx([time_s for time_s, _ in expected])


def test_one_of_an_odd_number_turns_alone(corpora: Path) -> None:
    """From the same pages as those who share: no turn is easier for that copy."""
    players = {"Flute": 3, "Violoncello": 2}
    settings = applied(PartsSettings(Settings(), players=players, cues=Cues.OFF))
    file = load_file(corpora / "three-lanterns.musicxml")
    full = score_from(file)
    members = measure_parts(full, extract(file, full, settings), settings, silent)
    eased = [any("outside player" in step.sentence for step in job.problem.steps) for job in members.jobs]
    assert [part.desks for part in members.parts] == [2, 1, 1]
    assert eased == [False, False, True]
