"""Settings are read back from plan.json as they were."""

import json
from dataclasses import fields, replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.errors import UsageError
from optimizer.settings import (
    BINDINGS,
    STAFF_RANGE_MM,
    TERMS,
    TWO_SIDED,
    Demands,
    Desk,
    Hands,
    Holes,
    Lang,
    Margins,
    Paper,
    Printer,
    Settings,
    SheetSettings,
    SheetSize,
    Strips,
    TurnSettings,
)
from optimizer.settings_json import settings_from_json, settings_to_json

WORDS = st.lists(st.text(max_size=8), max_size=3).map(tuple)
LENGTHS_MM = st.floats(3, 60)


@st.composite
def any_settings(draw: st.DrawFn) -> Settings:
    """Settings that exist: those that have passed their checks."""
    binding = draw(st.sampled_from(BINDINGS))
    two_sided = binding in TWO_SIDED
    printers = list(Printer) if two_sided else [Printer.SINGLE]
    return Settings(
        paper=draw(
            st.builds(
                Paper, st.text(), st.floats(100, 500), st.floats(260 if binding == "ring" else 100, 700)
            )
        ),
        margins=draw(st.builds(Margins, LENGTHS_MM, LENGTHS_MM, LENGTHS_MM, LENGTHS_MM)),
        desk=draw(st.builds(Desk, st.text(), st.floats(200, 3000))),
        binding=binding,
        staff_mm=draw(st.none() | st.floats(*STAFF_RANGE_MM)),
        player=draw(WORDS),
        hands=draw(st.sampled_from(Hands)),
        turns=draw(
            st.builds(
                TurnSettings,
                st.floats(0.5, 5),
                st.floats(0.5, 5),
                st.floats(0.1, 3),
                st.integers(0, 20),
                st.floats(20, 400),
            )
        ),
        demands=draw(
            st.builds(
                Demands,
                WORDS,
                WORDS,
                WORDS,
                st.none() | st.integers(1),
                st.none() | st.integers(1),
                st.booleans(),
            )
        ),
        weights_percent=draw(st.dictionaries(st.sampled_from(TERMS), st.integers(0, 10_000))),
        playback_marks=draw(st.booleans()),
        sheets=SheetSettings(
            draw(st.sampled_from([None, *printers])),
            draw(st.sampled_from(SheetSize)) if binding == "stapled" else SheetSize.PAGES,
            draw(st.sampled_from(Holes)) if binding == "ring" else Holes.AUTO,
            draw(st.booleans()),
            draw(st.floats(0, 15)),
            draw(st.floats(40, 300)),
            draw(st.sampled_from(Lang)),
        ),
        strips=draw(st.sampled_from(Strips)),
    )


@given(any_settings())
def test_settings_come_back_as_they_were(settings: Settings) -> None:
    document = json.loads(json.dumps(settings_to_json(settings)))
    assert settings_from_json(document) == settings
    assert document.keys() == {field.name for field in fields(Settings)}


def test_the_same_settings_give_the_same_text() -> None:
    one, other = ({"turns": 150, "fill": 50}, {"fill": 50, "turns": 150})
    texts = {json.dumps(settings_to_json(Settings(weights_percent=weights))) for weights in (one, other)}
    assert len(texts) == 1


def test_a_setting_that_came_later_has_its_default() -> None:
    document = settings_to_json(Settings(staff_mm=6.5))
    del document["strips"], document["sheets"]
    assert settings_from_json(document) == Settings(staff_mm=6.5)


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"staff_mm": "large"}, "'large'"),
        ({"staff_mm": True}, "True"),
        ({"staff_mm": 99}, "--staff 99"),
        ({"hands": "three"}, "three"),
        ({"player": "Piano"}, "'Piano'"),
        ({"colour": "red"}, "colour"),
        ({"paper": {"name": "a4", "width_mm": 210.0}}, "height_mm is missing"),
        ({"paper": None}, "None"),
        ({"weights_percent": {"turns": 1.5}}, "1.5"),
    ],
)
def test_what_are_no_settings_is_told_in_one_line(changes: dict[str, Any], says: str) -> None:
    with pytest.raises(UsageError, match=says):
        settings_from_json({**settings_to_json(Settings()), **changes})


@pytest.mark.parametrize("document", [None, [], "a4", 3])
def test_what_is_no_object_is_refused(document: object) -> None:
    with pytest.raises(UsageError, match=r"plan\.json: its settings"):
        settings_from_json(document)


def test_settings_of_the_default_are_plain() -> None:
    document = settings_to_json(replace(Settings(), hands=Hands.FREE))
    assert document["staff_mm"] is None  # auto
    assert document["hands"] == "free"
    assert document["demands"] == {
        "turn_after": [],
        "no_turn_after": [],
        "together": [],
        "pages": None,
        "max_pages": None,
        "as_given": False,
    }
