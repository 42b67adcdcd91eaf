"""compare.html in a real browser: Chromium, without a window, driven through selenium.

Skipped where there is no browser: `scripts/check` installs Debian's where it may.  Contrast and names of controls are
checked against the Web Content Accessibility Guidelines 2.1 (W3C), success criteria 1.4.3, 1.4.10, 2.1.1 and 4.1.2.
"""

import base64
import json
import shutil
from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import pairwise, permutations
from pathlib import Path
from typing import Any

import pytest
from pypdfium2 import PdfDocument
from selenium.webdriver import ActionChains, Chrome
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.support.ui import Select, WebDriverWait

from optimizer.compare.model import Alternative, Comparison
from optimizer.compare.web import write_page
from optimizer.compare.web.words import MERITS, figure

BROWSERS = ("chromium", "chromium-browser", "google-chrome")
WIDTHS_PX = (360, 768, 1400)
LEAST_CONTRAST = 4.5  # criterion 1.4.3, level AA; 3 for large type
LARGE_CONTRAST = 3.0

CONTRASTS = """
const channel = (v) => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
const parts = (text) => text.match(/[\\d.]+/g).map(Number);
const light = ([r, g, b]) => 0.2126 * channel(r) + 0.7152 * channel(g) + 0.0722 * channel(b);
const behind = (e) => {
  for (; e; e = e.parentElement) {
    const [r, g, b, a = 1] = parts(getComputedStyle(e).backgroundColor);
    if (a > 0) return [r, g, b];
  }
  return [255, 255, 255];
};
const found = [];
for (const e of document.querySelectorAll("body *")) {
  if (e.closest("svg") || e.closest("script") || !e.checkVisibility()) continue;
  if (![...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim())) continue;
  const style = getComputedStyle(e), two = [light(parts(style.color)), light(behind(e))];
  const size = parseFloat(style.fontSize), large = size >= 24 || (size >= 18.66 && style.fontWeight >= 700);
  found.push([e.textContent.trim().slice(0, 40), large, (Math.max(...two) + 0.05) / (Math.min(...two) + 0.05)]);
}
return found;
"""

# Chooses any two alternatives as a user does, and reads what is shown then; "*" marks the better figure.
DIFFERENCES = """
const pick = (slot, value) => {
  const select = document.getElementById(`pick-${slot}`);
  select.value = value;
  select.dispatchEvent(new Event("change"));
};
const figure = (cell) => (cell.className.includes("better") ? "*" : "") + cell.firstChild.textContent;
const rows = () => [...document.querySelectorAll("#difference-told tbody tr")].map((row) =>
  [row.dataset.merit, ...[...row.cells].slice(1).map(figure)]);
const sides = () => Object.fromEntries([...document.querySelectorAll(".side")].map((side) =>
  [side.id, [...side.querySelectorAll("li")].map((item) => item.dataset.turn)]));
const numbers = [...document.querySelectorAll("article")].map((card) => Number(card.dataset.number));
const found = [];
for (const a of numbers) for (const b of numbers) {
  pick("A", a);
  pick("B", b);
  found.push([a, b, {rows: rows(), sides: sides()}]);
}
return found;
"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Chrome]:
    binary = next(filter(None, map(shutil.which, BROWSERS)), None)
    driver = shutil.which("chromedriver")
    if not binary or not driver:
        pytest.skip("no Chromium with its driver here; on Debian: apt-get install chromium chromium-driver")
    options = Options()
    options.binary_location = binary
    for argument in ("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"):
        options.add_argument(argument)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    chrome = Chrome(options=options, service=Service(driver))
    yield chrome
    chrome.quit()


@pytest.fixture(scope="module")
def address(comparison: Comparison, tmp_path_factory: pytest.TempPathFactory) -> str:
    target = tmp_path_factory.mktemp("compare") / "compare.html"
    write_page(target, comparison)
    return target.as_uri()


@pytest.fixture
def page(browser: Chrome, address: str) -> Chrome:
    """The page, freshly opened in a window of the usual size."""
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "", "features": []})
    resize(browser, 1400)
    open_page(browser, address)
    return browser


def open_page(browser: Chrome, address: str) -> None:
    """Waits for its script too: on a busy machine the driver has been seen to go on before that."""
    browser.get(address)
    scripted = "return document.documentElement.classList.contains('scripts')"
    WebDriverWait(browser, 60).until(lambda page: page.execute_script(scripted))


def resize(browser: Chrome, width_px: int) -> None:
    size = {"width": width_px, "height": 900, "deviceScaleFactor": 1, "mobile": width_px < 500}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)


def prefer(browser: Chrome, feature: str, value: str) -> None:
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [{"name": feature, "value": value}]})


def focus_by_tab(browser: Chrome, wanted: WebElement, most: int = 80) -> None:
    """Press Tab until an element has the focus."""
    for _ in range(most):
        if browser.switch_to.active_element == wanted:
            return
        browser.switch_to.active_element.send_keys(Keys.TAB)
    pytest.fail(f"{wanted.tag_name} is not reached with the Tab key")


@pytest.fixture(scope="module")
def differences(browser: Chrome, address: str) -> Mapping[tuple[int, int], dict[str, Any]]:
    """What the page shows for every choice of two: rows of merits, and keys of turns."""
    open_page(browser, address)
    return {(first, second): shown for first, second, shown in browser.execute_script(DIFFERENCES)}


def test_it_opens_without_complaint_and_asks_for_nothing(page: Chrome, address: str) -> None:
    page.get_log("browser")  # since before
    page.get_log("performance")
    page.get(address)
    resize(page, 360)
    assert page.get_log("browser") == []
    messages = [json.loads(entry["message"])["message"] for entry in page.get_log("performance")]
    asked = {m["params"]["request"]["url"] for m in messages if m["method"] == "Network.requestWillBeSent"}
    assert asked
    assert {url for url in asked if not url.startswith("data:")} == {address}


def test_hostile_texts_are_not_run(browser: Chrome, comparison: Comparison, tmp_path: Path) -> None:
    evil = "</script><script>document.title = 'run'</script><img src=x onerror=\"document.title='run'\">"
    write_page(tmp_path / "evil.html", replace(comparison, score=replace(comparison.score, title=evil)))
    browser.get((tmp_path / "evil.html").as_uri())
    assert browser.find_element(By.TAG_NAME, "h1").text == evil
    assert browser.title.startswith(evil)
    assert len(browser.find_elements(By.TAG_NAME, "article")) == len(comparison.alternatives)
    browser.get_log("browser")


def test_cards_are_chosen_with_the_keyboard(page: Chrome, comparison: Comparison) -> None:
    for number, slot, key in ((2, "A", Keys.SPACE), (3, "B", Keys.ENTER)):
        button = page.find_element(By.CSS_SELECTOR, f"#alt-{number} button[data-slot={slot}]")
        page.execute_script("document.querySelector('#alternatives .card').focus()")  # the skip link's way
        focus_by_tab(page, button)
        button.send_keys(key)
        assert button.get_attribute("aria-pressed") == "true"
        pressed = page.find_elements(By.CSS_SELECTOR, f"button[data-slot={slot}][aria-pressed=true]")
        assert pressed == [button]
        chosen = Select(page.find_element(By.ID, f"pick-{slot}")).first_selected_option
        assert chosen.get_attribute("value") == str(number)
        marked = page.find_elements(By.CSS_SELECTOR, f".is-{slot}")
        assert {one.get_attribute("data-number") for one in marked} == {str(number)}
        assert len(marked) == 4  # card, row, and a mark in either size of the scatter
    told = page.find_element(By.ID, "picked-told").text
    assert told == "A: no. 2, B: no. 3"


def test_everything_is_reached_with_the_tab_key_and_the_focus_shows(page: Chrome) -> None:
    """Criteria 2.1.1 and 2.4.7."""
    wanted = page.execute_script(
        "document.addEventListener('focusin', (event) => { const s = getComputedStyle(event.target);"
        " (window.reached ??= new Map()).set(event.target, `${s.outlineStyle} ${s.outlineWidth}`); });"
        "return [...document.querySelectorAll('a[href], button, select, summary, [tabindex=\"0\"]')]"
        ".filter((e) => e.checkVisibility() && !e.closest('dialog')).length"
    )
    ActionChains(page).send_keys(Keys.TAB * wanted).perform()
    assert page.execute_script("return reached.size") == wanted
    assert page.execute_script("return [...new Set(reached.values())]") == ["solid 3px"]


def test_the_difference_is_that_of_the_comparison(
    differences: Mapping[tuple[int, int], dict[str, Any]], comparison: Comparison
) -> None:
    """The figures, which of two is the better one, and by how much, for any two alternatives."""
    for first, second in permutations(comparison.alternatives, 2):
        ranks = zip(first.merits.rank(), second.merits.rank(), strict=True)  # less is better in all of them
        rows: list[list[str]] = differences[first.number, second.number]["rows"]
        for merit, row, (mine, theirs) in zip(MERITS, rows, ranks, strict=True):
            a, b = merit.value(first), merit.value(second)
            phrase = merit.better if mine < theirs else merit.worse
            words = "the same" if mine == theirs else f"A {phrase.format(by=figure(abs(a - b)))}"
            stars = "*" * (mine < theirs), "*" * (theirs < mine)
            assert row == [merit.key, stars[0] + figure(a), stars[1] + figure(b), words]


def test_turns_of_one_and_of_both_are_told_apart(
    differences: Mapping[tuple[int, int], dict[str, Any]], comparison: Comparison
) -> None:
    def keys(alternative: Alternative) -> set[str]:
        turns = (*alternative.plan.turns, *alternative.plan.back_turns)
        return {f"{turn.after}-{turn.to}" for turn in turns}

    shared = 0
    for first, second in permutations(comparison.alternatives, 2):
        shown: dict[str, list[str]] = differences[first.number, second.number]["sides"]
        a, b = keys(first), keys(second)
        assert {name: set(listed) for name, listed in shown.items()} == {
            "only-A": a - b, "both": a & b, "only-B": b - a,
        }  # fmt: skip
        assert sum(map(len, shown.values())) == len(a | b)
        shared += len(a & b)
    assert shared, "no two alternatives of this score share a turn: this test shows nothing"


@pytest.mark.parametrize("width_px", WIDTHS_PX)
def test_nothing_stands_out_of_the_window(page: Chrome, width_px: int) -> None:
    """Criterion 1.4.10; with everything unfolded."""
    resize(page, width_px)
    page.execute_script("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    inner, scroll = page.execute_script("return [innerWidth, document.documentElement.scrollWidth]")
    assert inner == width_px
    assert scroll <= width_px


def test_nothing_is_scrolled_sideways_on_a_phone(page: Chrome) -> None:
    """Tables become blocks, the line of the piece becomes rows; no text of a picture gets too small to read."""
    resize(page, 360)
    page.execute_script("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    wide = page.execute_script(
        "return [...document.querySelectorAll('main *')].filter((e) => !e.closest('svg') && !e.closest('.unseen') &&"
        " e.checkVisibility() && e.getBoundingClientRect().right > innerWidth).map((e) => e.outerHTML.slice(0, 80))"
    )
    assert wide == []
    sizes = page.execute_script(
        "return [...document.querySelectorAll('.rows svg, svg.scatter')].filter((e) => e.checkVisibility())"
        ".map((e) => e.getBoundingClientRect().width / e.viewBox.baseVal.width)"
    )
    assert min(sizes) > 0.9


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_stands_out_from_what_is_behind_it(page: Chrome, scheme: str) -> None:
    prefer(page, "prefers-color-scheme", scheme)
    page.execute_script("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    found: list[tuple[str, bool, float]] = page.execute_script(CONTRASTS)
    assert len(found) > 100
    poor = [one for one in found if one[2] < (LARGE_CONTRAST if one[1] else LEAST_CONTRAST)]
    assert not poor


def test_dark_is_dark(page: Chrome) -> None:
    shades = []
    for scheme in ("light", "dark"):
        prefer(page, "prefers-color-scheme", scheme)
        colour = page.execute_script("return getComputedStyle(document.body).backgroundColor")
        shades.append(sum(map(int, colour.strip("rgb()").split(","))))
    assert shades[0] > 600 > 150 > shades[1]


def test_every_control_and_picture_has_a_name(page: Chrome) -> None:
    """Criteria 1.1.1 and 4.1.2, by the browser's own tree of what a screen reader is told."""
    page.execute_cdp_cmd("Accessibility.enable", {})
    nodes = page.execute_cdp_cmd("Accessibility.getFullAXTree", {})["nodes"]
    page.execute_cdp_cmd("Accessibility.disable", {})

    def told(node: dict[str, Any], what: str) -> str:
        return str(node.get(what, {}).get("value", ""))

    heard = [node for node in nodes if not node.get("ignored")]
    roles = {told(node, "role") for node in heard}
    assert {
        "main",
        "banner",
        "navigation",
        "contentinfo",
        "article",
        "region",
        "image",
        "button",
        "link",
    } <= roles
    for role in ("button", "link", "combobox", "image", "region", "article", "navigation"):
        nameless = [node for node in heard if told(node, "role") == role and not told(node, "name")]
        assert not nameless, role
    names = [told(node, "name") for node in heard if told(node, "role") == "button"]
    assert len(set(names)) == len(names)


def chosen(page: Chrome) -> str:
    return page.find_element(By.ID, "picked-told").text


def test_at_first_two_of_the_same_desk_are_compared(page: Chrome, comparison: Comparison) -> None:
    first, *others = comparison.alternatives
    second = next(other for other in others if other.settings.desk == first.settings.desk)
    assert chosen(page) == f"A: no. {first.number}, B: no. {second.number}"


def test_the_address_keeps_what_is_chosen(page: Chrome, address: str) -> None:
    """Through a reload, on the way to an alternative and back, and for whoever is sent it."""
    page.find_element(By.CSS_SELECTOR, "#alt-3 button[data-slot=A]").send_keys(Keys.ENTER)
    page.find_element(By.CSS_SELECTOR, "#alt-2 button[data-slot=B]").send_keys(Keys.ENTER)
    assert page.current_url == f"{address}#A=3&B=2"
    page.execute_script("document.querySelector('.merits a[href=\"#alt-2\"]').click()")
    WebDriverWait(page, 10).until(lambda page: page.current_url == f"{address}#alt-2&A=3&B=2")
    page.refresh()
    WebDriverWait(page, 60).until(lambda page: chosen(page) == "A: no. 3, B: no. 2")
    assert page.execute_script("return scrollY") > 0
    page.get("about:blank")
    open_page(page, f"{address}#A=2&B=1")
    assert chosen(page) == "A: no. 2, B: no. 1"
    page.get("about:blank")
    open_page(page, f"{address}#A=99&B=x&<b>")
    assert chosen(page).startswith("A: no. 1, ")


def test_headings_go_down_one_step_at_a_time(page: Chrome) -> None:
    levels = page.execute_script(
        "return [...document.querySelectorAll('h1, h2, h3, h4')]"
        ".filter((h) => h.checkVisibility()).map((h) => Number(h.tagName[1]))"
    )
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(there <= here + 1 for here, there in pairwise(levels))


def test_a_mark_of_the_scatter_leads_to_its_card(page: Chrome) -> None:
    mark = page.find_element(By.CSS_SELECTOR, ".scatter.wide .mark[data-number='3']")
    page.execute_script("arguments[0].focus()", mark)
    page.switch_to.active_element.send_keys(Keys.ENTER)
    assert page.current_url.endswith("#alt-3")
    assert page.execute_script("return document.querySelector(':target').dataset.number") == "3"


def test_a_spread_is_shown_at_full_size_and_put_away_again(page: Chrome, comparison: Comparison) -> None:
    button = page.find_element(By.CSS_SELECTOR, "#alt-1 button.closer")
    button.send_keys(Keys.ENTER)
    rectangle = page.execute_script(
        "return document.querySelector('#closer[open] rect.page').getBoundingClientRect().width"
    )
    width_mm = comparison.alternatives[0].settings.paper.width_mm
    assert rectangle == pytest.approx(width_mm * 96 / 25.4, rel=0.01)  # CSS Values 3: 96 px to the inch
    page.switch_to.active_element.send_keys(Keys.ESCAPE)
    assert not page.find_elements(By.CSS_SELECTOR, "#closer[open]")
    assert page.switch_to.active_element == button


def test_signs_are_stamped_where_glyphs_stand(page: Chrome) -> None:
    """That the browser draws markers: clefs and noteheads make the drawing larger than its lines alone."""
    inked = page.execute_script(
        "const use = document.querySelector('.card use[href^=\"#s\"]');"
        "return [...document.querySelectorAll(use.getAttribute('href') + ' path')].filter((p) => "
        "getComputedStyle(p).markerStart.startsWith('url(')).length"
    )
    assert inked > 3


def test_without_scripts_all_but_the_difference_is_there(
    browser: Chrome, address: str, comparison: Comparison
) -> None:
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        browser.get(address)
        shown = [one for one in browser.find_elements(By.TAG_NAME, "article") if one.is_displayed()]
        assert len(shown) == len(comparison.alternatives)
        assert browser.find_element(By.CLASS_NAME, "unscripted").is_displayed()
        assert not any(one.is_displayed() for one in browser.find_elements(By.CSS_SELECTOR, ".scripted"))
        assert browser.find_element(By.CSS_SELECTOR, "table.merits").is_displayed()
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})


def test_on_paper_everything_is_unfolded(page: Chrome, comparison: Comparison) -> None:
    printed = page.execute_cdp_cmd("Page.printToPDF", {"paperWidth": 8.27, "paperHeight": 11.69})
    sheets = PdfDocument(base64.b64decode(printed["data"]))
    text = " ".join(" ".join(sheet.get_textpage().get_text_bounded() for sheet in sheets).split())
    for alternative in comparison.alternatives:
        assert f"--pick {alternative.number}" in text
        for turn in (*alternative.plan.turns, *alternative.plan.back_turns):
            assert " ".join(turn.why.split()) in text
    assert "full size" not in text
    # A card is not torn, and no paper is wasted: the head, the table, cards three on a page, the barlines.
    assert len(sheets) <= 4 + len(comparison.alternatives) // 2


def test_nothing_moves_for_those_who_do_not_want_it(page: Chrome) -> None:
    for value, behaviour in (("no-preference", "smooth"), ("reduce", "auto")):
        prefer(page, "prefers-reduced-motion", value)
        script = "return getComputedStyle(document.documentElement).scrollBehavior"
        assert page.execute_script(script) == behaviour
    moving = page.execute_script(
        "return [...document.querySelectorAll('*')].map((e) => getComputedStyle(e))"
        ".filter((s) => s.animationName !== 'none' || parseFloat(s.transitionDuration) > 0).length"
    )
    assert moving == 0
