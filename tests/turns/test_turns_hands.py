"""Who the player is, and which staff keeps which hand busy."""

from collections.abc import Callable
from pathlib import Path

import pytest

from optimizer.errors import UsageError
from optimizer.score.model import PartKind, Score
from optimizer.settings import Hands
from optimizer.turns.hands import PlayerKind, choose_player, hand_events

MakeScore = Callable[..., Score]
VOICE = ("Clarinet", PartKind.VOICE, 1)
PIANO = ("Piano", PartKind.KEYBOARD, 2)
HALF_PIANO = ("Piano", PartKind.KEYBOARD, 1)
VIOLIN, VIOLA = ("Violin", PartKind.STRINGS, 1), ("Viola", PartKind.STRINGS, 1)


def staves(score: Score, *names: str, hands: Hands = Hands.AUTO) -> dict[str, list[tuple[int, int]]]:
    return {hand: sorted(found) for hand, found in choose_player(score, names, hands).hand_staves.items()}


def test_voice_and_piano_is_the_pianists(make_score: MakeScore) -> None:
    score = make_score([], 1, parts=(VOICE, PIANO))
    player = choose_player(score)
    assert (player.part_indices, player.kind) == ((1,), PlayerKind.KEYBOARD)
    assert staves(score) == {"left": [(1, 2)], "right": [(1, 1)]}
    assert player.as_json(score) == {"parts": ["P2"], "kind": "keyboard"}
    assert player.turning_hands == ("left", "right")


def test_two_one_staff_pianos_are_two_hands(make_score: MakeScore) -> None:
    score = make_score([], 1, parts=(VOICE, HALF_PIANO, HALF_PIANO))
    assert staves(score) == {"right": [(1, 1)], "left": [(2, 1)]}
    assert staves(score, "2", "3") == staves(score)
    assert choose_player(score).as_json(score)["parts"] == ["P2", "P3"]


def test_a_third_staff_is_feet_but_at_a_piano_the_left_hand(make_score: MakeScore) -> None:
    """Design section 4 for the organ; a pianist has no staff for the feet (common practice, no source)."""
    organ = make_score([], 1, parts=(("Orgel", PartKind.KEYBOARD, 3),))
    assert staves(organ) == {"right": [(0, 1)], "left": [(0, 2)], "feet": [(0, 3)]}
    assert choose_player(organ).turning_hands == ("left", "right")
    piano = make_score([], 1, parts=(("Pianoforte", PartKind.KEYBOARD, 3),))
    assert staves(piano) == {"right": [(0, 1)], "left": [(0, 2), (0, 3)]}


def test_a_single_part_is_its_players(make_score: MakeScore) -> None:
    violin, singer = make_score([], 1, parts=(VIOLIN,)), make_score([], 1, parts=(VOICE,))
    assert choose_player(violin).kind is PlayerKind.INSTRUMENT
    assert staves(violin) == {"both": [(0, 1)]}
    assert choose_player(singer).kind is PlayerKind.FREE
    assert choose_player(singer).turning_hands == ()
    assert choose_player(singer).text == "Clarinet, hands free"


def test_a_reduction_without_a_name_is_played_at_a_keyboard(make_score: MakeScore) -> None:
    assert (
        choose_player(make_score([], 1, parts=(("Reduced Score", PartKind.OTHER, 2),))).kind
        is PlayerKind.KEYBOARD
    )


def test_without_keyboard_somebody_reads(make_score: MakeScore) -> None:
    """Issue text: one hand always free."""
    score = make_score([], 1, parts=(VIOLIN, VIOLA))
    assert choose_player(score).kind is PlayerKind.FREE
    assert staves(score) == {"read": [(0, 1), (1, 1)]}
    assert choose_player(score, ("viola",)).part_indices == (1,)


@pytest.mark.parametrize("name", ["Viola", "VIOLA", "viola", "2", "P2"])
def test_a_part_by_name_number_or_id(make_score: MakeScore, name: str) -> None:
    score = make_score([], 1, parts=(VIOLIN, VIOLA, ("Violone", PartKind.STRINGS, 1)))
    assert choose_player(score, (name,)).part_indices == (1,)


def test_the_beginning_of_a_name_must_be_unique(make_score: MakeScore) -> None:
    score = make_score([], 1, parts=(VIOLIN, VIOLA))
    assert choose_player(score, ("violi",)).part_indices == (0,)
    with pytest.raises(UsageError, match=r"--player vio: fits several parts; .* 1 Violin, 2 Viola"):
        choose_player(score, ("vio",))
    with pytest.raises(UsageError, match=r"--player oboe: no such part"):
        choose_player(score, ("oboe",))
    assert choose_player(score, ("lin",)).part_indices == (0,)  # a piece of one name only
    for wrong in ("", "0", "3", "0000000012"):
        with pytest.raises(UsageError):
            choose_player(score, (wrong,))


@pytest.mark.parametrize(
    ("hands", "expected"),
    [
        (Hands.TWO, {"right": [(0, 1)], "left": [(0, 2)]}),
        (Hands.TOGETHER, {"both": [(0, 1), (0, 2)]}),
        (Hands.FREE, {"read": [(0, 1), (0, 2)]}),
    ],
)
def test_the_user_decides(
    make_score: MakeScore, hands: Hands, expected: dict[str, list[tuple[int, int]]]
) -> None:
    assert staves(make_score([], 1, parts=(PIANO,)), hands=hands) == expected


def test_events_follow_the_playing_order(make_score: MakeScore) -> None:
    notes = [(0, 1, 0, 1.0, 1.0, 72), (0, 2, 1, 0.0, 2.0, 48)]
    score = make_score(notes, 2, order=[0, 1, 0, 1])
    assert hand_events(score, choose_player(score)) == {
        "right": ((0.5, 1.0, 72.0), (4.5, 5.0, 72.0)),
        "left": ((2.0, 3.0, 48.0), (6.0, 7.0, 48.0)),
    }


SHARED = {
    # a sung part called Clarinet; the pianist is the player
    "lied-schubert-erlkoenig.mxl": ((1,), PlayerKind.KEYBOARD, {"left", "right"}),
    "lied-brahms-op91-1-voice-viola-piano.mxl": ((2,), PlayerKind.KEYBOARD, {"left", "right"}),
    "lied-paradis-vaterlandslied.mxl": ((1,), PlayerKind.KEYBOARD, {"left", "right"}),
    "choir-piano-stanford-sailing-at-dawn.mxl": ((5,), PlayerKind.KEYBOARD, {"left", "right"}),
    "piano-shortscore-haydn-s104-1.mxl": ((0,), PlayerKind.KEYBOARD, {"left", "right"}),
    "print-part-chopin-op3-cellopart.musicxml": ((0,), PlayerKind.INSTRUMENT, {"both"}),
    "quartet-schubert-d703.mxl": ((0, 1, 2, 3), PlayerKind.FREE, {"read"}),
}


@pytest.mark.parametrize("name", SHARED)
def test_players_of_real_scores(name: str, shared_data: Path) -> None:
    """What the scores are, from data/README.md and their title pages; names of parts mislead."""
    from optimizer.score.read import read_score

    path = shared_data / "scores" / name
    if not path.is_file():
        pytest.skip(f"{name} is not here")
    player = choose_player(read_score(path))
    assert (player.part_indices, player.kind, set(player.hand_staves)) == SHARED[name]
