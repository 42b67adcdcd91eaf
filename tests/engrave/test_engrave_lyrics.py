"""Syllables are made fit to print."""

from lxml import etree

from optimizer.engrave.bars import placed_bars
from optimizer.engrave.lyrics import mend_lyrics


def lyric(content: str) -> etree._Element:
    """What becomes of a syllable."""
    part = etree.fromstring(
        f"<part><measure><note><rest/><duration>4</duration><lyric>{content}</lyric></note></measure></part>"
    )
    (bar,) = placed_bars(part)
    mend_lyrics(bar)
    return next(part.iter("lyric"))


def test_underscores_after_a_syllable_are_a_line() -> None:
    held = lyric("<syllabic>end</syllabic><text>er,\xa0____</text>")
    assert held.findtext("text") == "er,"
    assert [child.tag for child in held] == ["syllabic", "text", "extend"]
    assert len(lyric("<text>er __</text><extend/>").findall("extend")) == 1
    assert lyric("<text>__</text>").findtext("text") == "__"
    endless = "_" * 20_000 + "x"  # takes for ever unless it is read in one go
    assert lyric(f"<text>{endless}</text>").findtext("text") == endless


def test_a_dash_before_a_syllable_is_the_hyphen_that_is_drawn_anyway() -> None:
    def sung(text: str) -> str | None:
        return lyric(f"<syllabic>end</syllabic><text>{text}</text>").findtext("text")

    assert sung("–\xa0te") == "te"
    assert [sung(text) for text in ("te", "–", "-ci", "(– là")] == ["te", "–", "-ci", "(– là"]
