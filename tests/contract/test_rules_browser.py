"""The rules desk in a real browser: it fits every width, is read in the dark, on paper and by keys.

Without Chromium on the machine these tests are skipped, and only these.
"""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest
from gapwright.calls.registry import BY_NAME

from tests.contract.browser import CHROMIUM, Browser
from tests.contract.rules_pages import (
    FAULTY,
    NAMES,
    OVERLAYS,
    SHELF,
    address,
    differences_address,
    job_of,
    rules_of,
    what_if_address,
)
from tests.history import RULES as HISTORY

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium on this machine")

DEEPEST = max(OVERLAYS, key=lambda name: len(rules_of(name).resolved.documents))
FURTHEST = max(OVERLAYS, key=lambda name: len(SHELF.document(name).tree.get("values", {})))
LOOKS = [(390, "light"), (390, "dark"), (768, "light"), (1280, "dark"), (1280, "light")]
SITE = {
    "list": "/rules",
    "versions": f"/rules/{NAMES[0].split('@')[0]}",
    "version": address(DEEPEST),
    "overlay": address(FURTHEST),
    "differences": differences_address(NAMES[0], FURTHEST),
    "question": "/rules/what-if",
    "faults": what_if_address("materials", "basline", "baseline@77", FAULTY),
    "long fault": what_if_address("sizing", "x" * 300, NAMES[0], '{"%s": 1}' % ("y" * 300)),
    **{f"if {call}": what_if_address(call, NAMES[0], FURTHEST, job_of(call)) for call in BY_NAME},
    "refusal": f"/rules/{'n' * 200}/1.0.0",
}

CONTRAST = """
(() => {
  const numbers = colour => colour.match(/[\\d.]+/g).map(Number);
  const light = colour => numbers(colour).slice(0, 3).map(part => part / 255)
    .map(part => part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4)
    .reduce((sum, part, at) => sum + part * [0.2126, 0.7152, 0.0722][at], 0);
  const ground = node => {
    for (; node; node = node.parentElement) {
      const colour = getComputedStyle(node).backgroundColor;
      if (numbers(colour)[3] !== 0) return colour;
    }
  };
  return [...document.querySelectorAll("body *")]
    .filter(node => [...node.childNodes].some(part => part.nodeType === 3 && part.data.trim()))
    .filter(node => node.getClientRects().length && node.tagName !== "STYLE")
    .map(node => {
      const pair = [light(getComputedStyle(node).color), light(ground(node))].sort((a, b) => b - a);
      return [(pair[0] + 0.05) / (pair[1] + 0.05), node.outerHTML.slice(0, 120)];
    })
    .sort((a, b) => a[0] - b[0])[0];
})()
"""
"""The text that stands out least from its ground, and its contrast (WCAG 2, relative luminance)."""

SPILLED = """
[...document.querySelectorAll("main *")]
  .filter(node => !node.closest(".wide, pre, thead, details:not([open]) > :not(summary)"))
  .filter(node => node.getBoundingClientRect().right > innerWidth + 1)
  .map(node => node.outerHTML.slice(0, 120))
"""


LONGEST_LINE = """
(() => {
  const pen = document.createElement("canvas").getContext("2d");
  pen.font = getComputedStyle(document.body).font;
  const letter = pen.measureText("abcdefghijklmnopqrstuvwxyz ").width / 27;
  const prose = [...document.querySelectorAll("main p, main li")];
  return Math.max(...prose.map(part => part.clientWidth)) / letter;
})()
"""
"""Letters in the longest line of prose."""

FOCUSED = """
(node => {
  const { outlineStyle, outlineWidth } = getComputedStyle(node);
  const { left } = node.getBoundingClientRect();
  const found = [node.tagName, outlineStyle, parseFloat(outlineWidth), left];
  return node === document.body ? null : found;
})(document.activeElement)
"""


@pytest.fixture(scope="module")
def site() -> Iterator[str]:
    """Serve on a free port, and give the address."""
    command = (sys.executable, "-m", "gapwright", "serve", "--port", "0", "--rules", str(HISTORY))
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout
        found = re.search(r"http://\S+", process.stdout.readline())
        assert found
        yield found[0]
        process.terminate()


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    browser = Browser()
    yield browser
    browser.close()


@pytest.mark.parametrize(("width", "scheme"), LOOKS)
@pytest.mark.parametrize("name", SITE)
def test_a_page_fits_the_window_and_can_be_read(
    browser: Browser, site: str, name: str, width: int, scheme: str
):
    browser.asked.clear()
    browser.look(width, 900, scheme)
    browser.open(site + SITE[name])
    assert browser.tell("document.documentElement.scrollWidth") <= width
    assert browser.tell(SPILLED) == []
    contrast, where = browser.tell(CONTRAST)
    assert contrast >= 4.5, where
    ground = browser.tell("getComputedStyle(document.documentElement).backgroundColor")
    assert (sum(map(int, re.findall(r"\d+", ground))) < 3 * 128) == (scheme == "dark")
    assert all(address.startswith(site) for address in browser.asked)


@pytest.mark.parametrize("name", SITE)
def test_lines_of_prose_are_not_longer_than_the_eye_can_follow(
    browser: Browser, site: str, name: str
):
    browser.look(1920, 900)
    browser.open(site + SITE[name])
    assert browser.tell(LONGEST_LINE) < 110


def test_every_severity_has_its_own_border_besides_its_word(browser: Browser, site: str):
    browser.look(1280, 900)
    borders: dict[str, set[str]] = {}
    for name in NAMES:
        browser.open(site + address(name))
        found = browser.tell(
            '[...document.querySelectorAll(".cautions > li")].map(li => {'
            "const style = getComputedStyle(li);"
            "return [li.querySelector('.signal').textContent,"
            "[style.borderLeftStyle, style.borderLeftWidth, style.borderTopWidth].join(' ')] })"
        )
        for word, border in found:
            borders.setdefault(word, set()).add(border)
    assert set(borders) == {"DANGER", "WARNING", "CAUTION", "NOTICE"}
    assert all(len(looks) == 1 for looks in borders.values())
    assert len({look for looks in borders.values() for look in looks}) == 4


@pytest.mark.parametrize("name", SITE)
def test_the_focus_can_be_seen_wherever_the_tab_key_takes_it(
    browser: Browser, site: str, name: str
):
    browser.look(1280, 900)
    browser.open(site + SITE[name])
    seen = []
    for _ in range(25):
        browser.press("Tab", 9)
        seen.append(browser.tell(FOCUSED))
    reached = [one for one in seen if one]
    assert len(reached) > 3
    for tag, style, width, left in reached:
        assert style != "none", tag
        assert width >= 2, tag
        assert left >= 0, tag


def test_a_wide_table_scrolls_by_the_keys_inside_its_own_region(browser: Browser, site: str):
    browser.look(390, 900)
    browser.open(site + address(DEEPEST))
    browser.tell("document.querySelector('.wide').focus()")
    for _ in range(5):
        browser.press("ArrowRight", 39)
    assert browser.tell(
        "new Promise(done => setTimeout(done, 500))"
        ".then(() => document.querySelector('.wide').scrollLeft)"
    )
    assert browser.tell("document.documentElement.scrollLeft") == 0


def test_a_question_is_filled_in_and_sent_by_the_keys(browser: Browser, site: str):
    browser.look(1280, 900)
    browser.open(f"{site}/rules/what-if")
    browser.tell("document.getElementById('before').focus()")
    browser.tell("document.getElementById('before').select()")
    browser.call("Input.insertText", text=NAMES[0])
    browser.press("Tab", 9)
    browser.tell("document.getElementById('after').select()")
    browser.call("Input.insertText", text=FURTHEST)
    browser.sent(lambda: browser.press("Enter", 13))
    assert browser.tell("document.querySelector('h1').textContent") == "What if"
    assert browser.tell("document.getElementById('after').value") == FURTHEST
    assert "figures differ between" in browser.tell("document.querySelector('main').textContent")


@pytest.mark.parametrize("name", ["version", "differences"])
def test_a_page_is_printed_dark_on_white_with_nothing_cut_off(
    browser: Browser, site: str, name: str, tmp_path: Path
):
    browser.look(720, 900, "dark", media="print")
    browser.open(site + SITE[name])
    contrast, where = browser.tell(CONTRAST)
    assert contrast >= 4.5, where
    assert browser.tell("getComputedStyle(document.documentElement).backgroundColor") in (
        "rgb(255, 255, 255)",
    )
    assert browser.tell("[...document.querySelectorAll('form')].some(n => n.offsetParent)") is False
    browser.printed(tmp_path / "page.pdf", preferCSSPageSize=True)
    boxes = re.findall(
        rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", (tmp_path / "page.pdf").read_bytes()
    )
    sideways = [float(width) > float(height) for width, height in boxes]
    assert len(boxes) > 2
    assert any(sideways) == (name == "version")
    assert any(one != other for one, other in pairwise(sideways)) == (name == "version")
