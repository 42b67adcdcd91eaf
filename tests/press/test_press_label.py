"""The outside label: what it says, in each language; nothing is cut, nothing overlaps, nothing leaves its place."""

import io
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from pypdf import PdfReader

from optimizer.press.figures import Disc, Label, Line
from optimizer.press.guide import guide_sheets
from optimizer.press.instruments import INSTRUMENTS, is_transposing, scored_for
from optimizer.press.label import (
    MIN_PT,
    SONG_KEY_PT,
    label_block,
    label_sheets,
    print_label,
    title_page_figures,
)
from optimizer.press.language import NBSP, words
from optimizer.press.turnsheet import turn_sheet
from optimizer.score import read_score
from optimizer.score.model import Key, Note, Part, PartKind, Pitch
from optimizer.settings import DESKS, PAPERS, Lang, Settings, SheetSettings, TurnSettings, parse_paper

VOICE = Part(0, "P1", "Voice", 1, PartKind.VOICE, True)
PIANO = Part(1, "P2", "Piano", 2, PartKind.KEYBOARD, False)
LONG = "Variations and a very long double fugue on the theme of the harbour master’s second daughter " * 6


def in_language(lang: Lang, **more: object) -> Settings:
    return Settings(sheets=SheetSettings(lang=lang), **more)


def labels(figures) -> list[Label]:
    return [figure for figure in figures if isinstance(figure, Label)]


def box(label: Label) -> tuple[float, float, float, float]:
    """Left, top, right and low edge of a line of text; a serif reaches 0.7 of its size up and 0.22 down (by eye)."""
    left = label.x_mm - {"start": 0.0, "middle": 0.5, "end": 1.0}[label.anchor] * label.width_mm
    size_mm = label.size_pt * 25.4 / 72
    return left, label.y_mm - 0.7 * size_mm, left + label.width_mm, label.y_mm + 0.22 * size_mm


def overlaps(found: list[Label]) -> list[tuple[str, str]]:
    pairs = ((a, b) for index, a in enumerate(found) for b in found[index + 1 :])
    return [
        (a.string, b.string)
        for a, b in pairs
        if box(a)[0] < box(b)[2] and box(b)[0] < box(a)[2] and box(a)[1] < box(b)[3] and box(b)[1] < box(a)[3]
    ]


@pytest.mark.parametrize("lang", Lang)
@pytest.mark.parametrize("paper", ["a4", "letter", "b4", "148x210mm"])
@pytest.mark.parametrize("title", ["Evening Song", LONG])
def test_nothing_is_cut_overlaps_or_leaves_the_sheet(make, lang, paper, title):
    settings = in_language(lang, paper=parse_paper(paper), desk=DESKS["upright"])
    case = make.case([(1, 2, 3), (4, 5)], title=title, composer=LONG, settings=settings)
    sheets = label_sheets(case.score, case.plan, settings)
    assert len(sheets) == 2
    for sheet in sheets:
        said = labels(sheet.figures)
        assert overlaps(said) == []
        together = " ".join(label.string for label in said)
        assert " ".join(title.split()) in together
        assert " ".join(LONG.split()) in together
        for label in said:
            left, top, right, low = box(label)
            assert left >= 8
            assert top >= 8
            assert right <= sheet.width_mm - 8
            assert low <= sheet.height_mm - 8
            assert label.size_pt >= MIN_PT


def test_a_word_wider_than_the_label_is_broken_not_cut(make):
    word = "Donaudampfschifffahrtsgesellschaftskapitänsmützenlied" * 4
    case = make.case([(1, 2)], title=word)
    block = label_block(case.score, case.plan, case.settings, 100.0, 100.0)
    assert word in "".join(label.string for label in labels(block.figures))
    assert all(box(label)[0] >= -0.01 and box(label)[2] <= 100.01 for label in labels(block.figures))


def test_what_a_label_says(make):
    case = make.case(
        [(1, 2, 3), (4, 5)], settings=Settings(desk=DESKS["upright"]), parts=(VOICE, PIANO), subtitle=""
    )
    target = io.BytesIO()
    print_label(target, case.score, case.plan, case.settings)
    reader = PdfReader(io.BytesIO(target.getvalue()))
    assert len(reader.pages) == 2
    for page in reader.pages:
        text = " ".join(page.extract_text().replace(NBSP, " ").split())
        for part in (
            "Clara Beispiel",
            "Evening Song",
            "for voice and piano",
            "E-flat major",
            "5 (first 3, then 2)",
            "upright piano, 3 pages abreast",
            "taped",
            "about 8 min",  # 125 bars of 4 s, see conftest
        ):
            assert part in text
    assert (float(reader.pages[0].mediabox.width), float(reader.pages[0].mediabox.height)) == pytest.approx(
        (595.28, 841.89), abs=0.01
    )  # ISO 216: A4


def test_the_same_label_has_the_same_bytes(make):
    def once() -> bytes:
        target = io.BytesIO()
        case = make.case([(1, 2)])
        print_label(target, case.score, case.plan, case.settings)
        return target.getvalue()

    assert once() == once()


@pytest.mark.parametrize(
    ("lang", "key"),
    [
        (Lang.EN, "B minor"),
        (Lang.DE, "h-Moll"),
        (Lang.FR, "Si mineur"),
        (Lang.ES, "Si menor"),
        (Lang.SV, "h-moll"),
    ],
)
def test_the_key_of_a_song_is_the_largest_thing_on_it(make, lang, key):
    """Label with title and, for songs, the key: facts.md, common practice."""
    settings = in_language(lang)
    song = make.case([(1, 2)], parts=(VOICE, PIANO), key=Key(2, "minor"), settings=settings)
    piece = make.case([(1, 2)], parts=(PIANO,), key=Key(2, "minor"), settings=settings)
    for case, is_largest in ((song, True), (piece, False)):
        block = label_block(case.score, case.plan, settings, 130.0, 200.0)
        found = next(label for label in labels(block.figures) if label.string == key)
        others = max(label.size_pt for label in labels(block.figures) if label is not found)
        assert (found.size_pt > others) == is_largest
    assert max(label.size_pt for label in labels(label_block(
        song.score, song.plan, settings, 130.0, 200.0).figures)) == SONG_KEY_PT  # fmt: skip


@pytest.mark.parametrize("lang", Lang)
def test_a_key_that_was_found_says_so(make, lang):
    said = words(lang).key_by_analysis
    for found in (True, False):
        case = make.case([(1, 2)], key=Key(-1, "minor", found), settings=in_language(lang))
        shown = [label.string for label in labels(title_page_figures(case.score, case.plan, case.settings))]
        assert (said in shown) == found
    silent = make.case([(1, 2)], key=None)
    assert silent.score.key is None
    assert labels(title_page_figures(silent.score, silent.plan, silent.settings))


@pytest.mark.parametrize("lang", Lang)
@pytest.mark.parametrize(("shift", "transposes"), [(0, False), (-2, True), (-12, False), (-14, True)])
def test_the_key_of_a_part_that_transposes_is_said_to_be_the_sounding_one(make, lang, shift, transposes):
    """A clarinet in B flat reads G major where F major sounds; a double bass reads what sounds an octave lower."""
    case = make.case([(1, 2)], key=Key(-1, "major"), settings=in_language(lang))
    said = words(lang)
    pitch = Pitch("G", 0, 4)
    note = Note(
        0, 0, Fraction(0), Fraction(1), 1, "1", pitch, pitch.midi + shift, False, False, False, False, False
    )
    score = replace(case.score, notes=(note,))
    shown = [label.string for label in labels(title_page_figures(score, case.plan, case.settings))]
    assert said.key_title(Key(-1, "major")) in shown
    assert (said.key_as_it_sounds in shown) == transposes
    told = f"{said.key_title(Key(-1, 'major'))} ({said.key_as_it_sounds})"
    for sheets in (
        guide_sheets(score, case.plan, case.settings),
        (turn_sheet(score, case.plan, case.settings),),
    ):
        text = " ".join(label.string for sheet in sheets for label in labels(sheet.figures))
        assert (told in text) == transposes


def test_a_score_for_several_has_one_key_whoever_transposes(make):
    case = make.case([(1, 2)], key=Key(-1, "major"))
    pitch = Pitch("G", 0, 4)
    notes = tuple(
        Note(part, 0, Fraction(0), Fraction(1), 1, "1", pitch, pitch.midi + shift, *(False,) * 5)
        for part, shift in ((0, -2), (1, 0))
    )
    assert not is_transposing(replace(case.score, notes=notes))
    assert is_transposing(replace(case.score, notes=notes[:1]))


@pytest.mark.parametrize("lang", Lang)
def test_the_label_to_cut_out_has_a_frame_scissors_and_a_caution(make, lang):
    case = make.case([(1, 2)], settings=in_language(lang))
    title, cut = label_sheets(case.score, case.plan, case.settings)
    text = " ".join(label.string for label in labels(cut.figures))
    assert words(lang).sharp_tools in text
    assert words(lang).sharp_tools not in " ".join(label.string for label in labels(title.figures))
    frame = next(figure for figure in cut.figures if isinstance(figure, Line) and figure.dash_mm)
    assert sum(isinstance(figure, Disc) for figure in cut.figures) == 2  # the eyes of the scissors
    (left, top), (right, _), (_, low), *_ = frame.points
    inside = [label for label in labels(cut.figures) if top < label.y_mm < low]
    assert {label.string for label in inside} >= {"Evening Song", "Clara Beispiel"}
    assert all(left < box(label)[0] and box(label)[2] < right for label in inside)
    assert right - left < case.settings.paper.width_mm  # lies on a packet of one page's size
    ticks = [f for f in cut.figures if isinstance(f, Line) and len(f.points) == 2 and not f.dash_mm]
    outside = [f for f in ticks if all(not (left < x < right and top < y < low) for x, y in f.points)]
    assert len(outside) >= 8  # two at each corner


@pytest.mark.parametrize(
    ("spreads", "binding", "title", "said"),
    [
        ([(2, 3), (4, 5)], "taped", False, "blank outside"),
        ([(1,), (2, 3)], "taped", False, "blank back"),
        ([(1,), (2, 3), (4,)], "taped", False, "the folder"),
        ([(2, 3), (4, 5)], "ring", False, "front of the binder"),
        ([(1,), (2, 3), (4,)], "stapled", False, "the folder"),
        ([(1,), (2, 3)], "stapled", False, "blank back"),
        ([(2, 3), (4,)], "stapled", True, "the folder"),
        ([(1,)], "stapled", False, "the back, which is blank"),
        ([(1,), (2,)], "stapled", False, "the folder"),
        ([(1, 2)], "loose", False, "the back, which is blank"),  # nothing is folded
    ],
)
def test_the_label_goes_where_nothing_is_printed(make, spreads, binding, title, said):
    """A strip's first and last page lie outside when they are alone (test_packet_simulation); a title is enough."""
    settings = Settings(binding=binding)
    case = make.case(spreads, systems=1, settings=settings)
    plan = replace(case.plan, binding=binding, outside_title=title)
    _, cut = label_sheets(case.score, plan, settings)
    text = " ".join(label.string for label in labels(cut.figures))
    assert [
        part in text
        for part in ("blank outside", "blank back", "back, which", "the folder", "front of the binder")
    ].count(True) == 1
    assert said in text


def test_an_assumed_tempo_is_said_beside_the_duration(make):
    case = make.case([(1, 2)], settings=Settings(turns=TurnSettings(default_tempo=72)))
    told = replace(case.score, tempo_source="no tempo in the file: 72 quarters a minute taken")
    for score, said in ((case.score, False), (told, True)):
        shown = " ".join(
            label.string for label in labels(title_page_figures(score, case.plan, case.settings))
        )
        assert ("(tempo assumed: quarter = 72)" in shown) == said


# Spreads and what is said of them.
@pytest.mark.parametrize("lang", Lang)
@pytest.mark.parametrize("binding", ["stapled", "loose"])
@pytest.mark.parametrize("pages", [1, 2])
def test_a_set_of_one_leaf_is_no_booklet(make, lang, binding, pages):
    case = make.case(
        [(number,) for number in range(1, pages + 1)], settings=in_language(lang, binding=binding)
    )
    said, plan = words(lang), replace(case.plan, binding=binding)
    for sheet in label_sheets(case.score, plan, case.settings):
        told = [label.string for label in labels(sheet.figures)]
        assert said.one_sheet in told
        assert (said.one_page in told) == (pages == 1)
        assert (f"2 ({said.front_and_back})" in told) == (pages == 2)
        assert not {said.stapled, said.loose} & set(told)


@pytest.mark.parametrize(
    ("pages", "said"), [(3, "a folded sheet"), (4, "a folded sheet"), (5, "stapled booklet")]
)
def test_a_single_folded_sheet_is_not_called_stapled(make, pages, said):
    """Four sides a sheet (imposition handouts)."""
    spreads = [(1,), *((n, n + 1) if n < pages else (n,) for n in range(2, pages + 1, 2))]
    case = make.case(spreads, settings=Settings(binding="stapled"))
    sheet, *_ = label_sheets(case.score, replace(case.plan, binding="stapled"), case.settings)
    assert said in [label.string for label in labels(sheet.figures)]


@pytest.mark.parametrize(
    ("sizes", "said"),
    [
        ((1,), "a single page"),
        ((2,), "both side by side"),
        ((4,), "all 4 side by side"),
        ((2, 2), "two at a time"),
        ((2, 2, 2), "two at a time"),
        ((3, 2), "first 3, then 2"),
        ((1, 2), "first 1, then 2"),
        ((3, 2, 2, 2), "first 3, then two at a time"),
        ((2, 2, 3), "two at a time, 3 at the end"),
        ((3, 2, 3), "first 3, then two at a time, 3 at the end"),
    ],
)
def test_patterns_in_words(sizes, said):
    assert words(Lang.EN).pattern(sizes, leaves=sum(sizes)) == said
    assert len({words(lang).pattern(sizes, leaves=sum(sizes)) for lang in Lang}) == len(Lang)


@pytest.mark.parametrize(
    ("seconds", "said"),
    [(3, "5 s"), (42, "40 s"), (58, "1 min"), (89, "1½ min"), (130, "2 min"), (284, "4½ min"), (286, "5 min"),
     (1370, "23 min"), (3600, "1 h 00 min"), (5405, "1 h 30 min")],
)  # fmt: skip
def test_durations_are_rounded_as_on_a_programme(seconds, said):
    assert words(Lang.EN).duration(seconds).replace(NBSP, " ") == f"about {said}"


def test_duration_never_jumps_back():
    """Longer pieces never read as shorter ones."""

    def value(text: str) -> float:
        number, unit = text.removeprefix("about ").split(NBSP)[:2]
        count = float(number.replace("½", "")) + 0.5 * ("½" in number)
        return count * {"s": 1, "min": 60, "h": 3600}[unit]

    read = [value(words(Lang.EN).duration(seconds)) for seconds in range(1, 3500)]
    assert all(a <= b for a, b in pairwise(read))
    assert all(abs(value_s - seconds) <= 30 for seconds, value_s in enumerate(read, start=1))


@pytest.mark.parametrize("name", ["harbour-band", "three-lamps"])
def test_duration_is_that_of_the_playing_order(name, corpora):
    """Repeats and jumps counted as often as they are played: the sum over the bars as played."""
    score = read_score(corpora / f"{name}.musicxml")
    played = sum(score.clocks[step.measure_index].duration_s for step in score.played)
    assert score.duration_s == pytest.approx(played)
    assert played > 1.2 * sum(clock.duration_s for clock in score.clocks)
    assert words(Lang.EN).duration(score.duration_s) == words(Lang.EN).duration(played)


def part(name: str, kind: PartKind = PartKind.OTHER, sung: bool = False) -> Part:
    return Part(0, "P1", name, 1, kind, sung)


KEYBOARD, SINGS, STRINGS, WIND = PartKind.KEYBOARD, PartKind.VOICE, PartKind.STRINGS, PartKind.WIND


@pytest.mark.parametrize(
    ("parts", "english", "german"),
    [
        ([part("Voice", SINGS), part("Piano", KEYBOARD)], "for voice and piano", "für Singstimme und Klavier"),
        ([part("Singstimme Voice", SINGS), part("Pianoforte.", KEYBOARD)], "for voice and piano",
         "für Singstimme und Klavier"),
        ([part("Clarinet in C", SINGS, True), part("", KEYBOARD)], "for voice and piano", "für Singstimme und Klavier"),
        ([part("Violin 1", STRINGS), part("Violin II", STRINGS), part("Bratsche. Viola", STRINGS),
          part("Vc.", STRINGS)], "for 2 violins, viola and cello", "für 2 Violinen, Viola und Violoncello"),
        ([part("Bb Clarinet", WIND), part("Reduced Score", KEYBOARD)], "for clarinet in B-flat and piano",
         "für Klarinette in B und Klavier"),
        ([part("Horn in F", WIND), part("Clarinet in B♭", WIND)], "for horn in F and clarinet in B-flat",
         "für Horn in F und Klarinette in B"),
        ([part("Alto", SINGS), part("Alto", STRINGS)], "for alto and viola", "für Alt und Viola"),
        ([part("Glass Harmonica"), part("Part 2")], "for Glass Harmonica", "für Glass Harmonica"),
        ([part("Part 1"), part("")], "", ""),
    ],
)  # fmt: skip
def test_instruments_from_part_names(parts, english, german):
    assert scored_for(parts, words(Lang.EN)).replace(NBSP, " ") == english
    assert scored_for(parts, words(Lang.DE)).replace(NBSP, " ") == german


def test_every_instrument_is_known_by_its_names_in_all_languages():
    for instrument in INSTRUMENTS:
        for text in instrument.names.texts:
            one, many = text.split("|")
            assert one
            assert many
            kind = instrument.kind or PartKind.OTHER
            said = scored_for([part(one, kind)], words(Lang.EN))
            assert said == f"for {instrument.names.texts[0].split('|')[0]}", one


def test_a_subtitle_that_tells_the_instruments_is_not_repeated(make):
    case = make.case([(1, 2)], parts=(VOICE, PIANO))
    told = replace(case.score, subtitle="Song for voice and piano")
    for score, times in ((case.score, 1), (told, 1), (replace(case.score, subtitle="Song"), 1)):
        shown = [label.string for label in labels(title_page_figures(score, case.plan, case.settings))]
        assert sum("for voice and piano" in line for line in shown) == times


def test_the_block_on_the_title_side_stands_above_the_middle(make):
    case = make.case([(1, 2)], settings=Settings(paper=PAPERS["letter"]))
    found = [box(label) for label in labels(title_page_figures(case.score, case.plan, case.settings))]
    middle = (min(top for _, top, *_ in found) + max(low for *_, low in found)) / 2
    assert 0.36 * 279.4 < middle < 0.5 * 279.4  # Letter is 11 in high
