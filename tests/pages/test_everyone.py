"""Readable by everyone: contrast, names for what can be operated, keys alone.

Contrast is that of WCAG 2.1 (W3C Recommendation, 2018), success criteria 1.4.3 and 1.4.11: at least
4.5 to 1 for text, 3 to 1 for parts of figures. The formula is its definition of relative luminance.
"""

import re
from importlib.resources import files

import pytest

from tests.pages.browser import Reader
from tests.pages.climbs import busy

TEXT, FIGURE = 4.5, 3.0
# Every text that is shown: its colour, what lies under it, and its first letters.
RENDERED = """
  const c = document.createElement('canvas').getContext('2d', { willReadFrequently: true });
  const known = new Map();
  const read = (css) => {
    if (known.has(css)) return known.get(css);
    c.clearRect(0, 0, 1, 1);
    c.fillStyle = css;
    c.fillRect(0, 0, 1, 1);
    const [r, g, b, a] = c.getImageData(0, 0, 1, 1).data;
    known.set(css, [r, g, b, a / 255]);
    return known.get(css);
  };
  const laid = (top, under) => under.map((v, i) => v * (1 - top[3]) + top[i] * top[3]);
  const under = (node) => {
    const boxes = [];
    for (let e = node; e; e = e.parentElement) {
      boxes.push(read(getComputedStyle(e).backgroundColor));
    }
    return boxes.reverse().reduce((colour, box) => laid(box, colour), [255, 255, 255]);
  };
  const found = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const { data, parentElement: node } = walk.currentNode;
    const range = document.createRange();
    range.selectNodeContents(walk.currentNode);
    const { width, height } = range.getBoundingClientRect();
    if (!data.trim() || !width || !height) continue;
    const ground = under(node);
    found.push([laid(read(getComputedStyle(node).color), ground), ground, data.slice(0, 30)]);
  }
  return found;
"""


def colours(scheme: str) -> dict[str, tuple[float, float, float]]:
    """The page's colours in one scheme, red, green and blue from 0 to 1."""
    css = files("tuneledger.pages").joinpath("web", "page.css").read_text(encoding="utf-8")
    light, dark = re.findall(r":root[^{]*\{([^}]*)\}", css)[:2]
    named = dict(re.findall(r"--([a-z]+): (#[0-9a-f]{6});", light))
    if scheme == "dark":
        named |= dict(re.findall(r"--([a-z]+): (#[0-9a-f]{6});", dark))
    return {
        name: tuple(int(code[i : i + 2], 16) / 255 for i in (1, 3, 5))  # type: ignore[misc]
        for name, code in named.items()
    }


def luminance(colour: tuple[float, float, float]) -> float:
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in colour]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: tuple[float, float, float], other: tuple[float, float, float]) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def mixed(
    one: tuple[float, float, float], other: tuple[float, float, float], share: float
) -> tuple[float, float, float]:
    return tuple(a * share + b * (1 - share) for a, b in zip(one, other, strict=True))  # type: ignore[return-value]


def test_the_formula_gives_what_the_recommendation_says() -> None:
    """Black on white is 21 to 1; #767676 on white is the well-known limit of 4.5 to 1."""
    white, black, grey = (1.0, 1.0, 1.0), (0.0, 0.0, 0.0), (0x76 / 255,) * 3
    assert contrast(black, white) == pytest.approx(21.0)
    assert contrast(grey, white) == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_and_figures_stand_out_from_their_paper(scheme: str) -> None:
    named = colours(scheme)
    for paper in ("paper", "slip"):
        for ink in ("ink", "soft", "below", "above"):
            assert contrast(named[ink], named[paper]) >= TEXT, f"{ink} on {paper}"
    for part in ("focus", "edge"):
        assert contrast(named[part], named["paper"]) >= FIGURE, f"{part} on paper"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_numbers_stay_readable_on_the_deepest_shade_of_a_cell(scheme: str) -> None:
    named = colours(scheme)
    css = files("tuneledger.pages").joinpath("web", "page.css").read_text(encoding="utf-8")
    deepest = float(re.findall(r"--full: (\d+)%", css)[scheme == "dark"]) / 100
    for hue in ("below", "above"):
        assert contrast(named["ink"], mixed(named[hue], named["paper"], deepest)) >= TEXT


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_word_stands_out_from_what_lies_under_it(page: Reader, scheme: str) -> None:
    """As rendered: the colour of each text against the colours of all boxes that it lies in."""
    page.call(
        "Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": scheme}]
    )
    try:
        page.open(busy())
        page.point(0.5)
        page.click("[data-cause='1'] button")
        page.click(".map td button")
        page.run("document.querySelectorAll('details').forEach((d) => { d.open = true })")
        found = page.run(RENDERED)
        dark = max(luminance(rgb(under)) for _, under, _ in found) < 0.5
        assert dark == (scheme == "dark")
        assert len(found) > 400
        for colour, under, text in found:
            assert contrast(rgb(colour), rgb(under)) >= TEXT, text
    finally:
        page.call("Emulation.setEmulatedMedia", features=[])


def rgb(colour: list[float]) -> tuple[float, float, float]:
    red, green, blue = (part / 255 for part in colour)
    return red, green, blue


def test_whatever_can_be_operated_has_a_name(page: Reader) -> None:
    """By the browser's own accessibility tree."""
    page.open(busy())
    assert page.unnamed() == []


def test_paper_shows_every_strip_and_nothing_folded_away(page: Reader) -> None:
    """Each strip has a picture of its own there, with dark lines on it, whatever the screen saw."""
    page.open(busy(), height=500)
    folded = "return document.querySelectorAll('main details:not([open], #keys)').length"
    assert page.run(folded) > 0
    page.run("dispatchEvent(new Event('beforeprint'))")
    assert page.run(folded) == 0
    dark = page.run(
        "return [...document.querySelectorAll('#board .strip:not(.axis) canvas')].map((c) => {"
        " const { data } = c.getContext('2d').getImageData(0, 0, c.width, c.height);"
        " let n = 0; for (let i = 0; i < data.length; i += 4) n += data[i] < 80; return n; })"
    )
    assert len(dark) == len(page.texts("#board .strip:not(.axis)"))
    assert min(dark) > 300
    page.run("dispatchEvent(new Event('afterprint'))")
    assert page.run(folded) > 0
    assert (
        page.run("return document.querySelectorAll('#board .strip:not(.axis) canvas').length") == 0
    )


def test_the_keyboard_reaches_every_cause_and_the_strips(page: Reader) -> None:
    page.open(busy())
    page.run("scrollTo(0, 0); document.activeElement.blur()")
    reached = set()
    for _ in range(60):
        for kind in ("keyDown", "keyUp"):
            page.call("Input.dispatchKeyEvent", type=kind, key="Tab", code="Tab",
                      windowsVirtualKeyCode=9)  # fmt: skip
        reached.add(
            page.run(
                "const n = document.activeElement;"
                "return n.id || n.closest('[data-cause]')?.dataset.cause || n.tagName"
            )
        )
    assert {"board", *(str(i) for i in range(len(busy().causes)))} <= reached
