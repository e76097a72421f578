"""report.html: what a reader can do with it."""
import json
import re

from selenium.webdriver.common.keys import Keys

from pages import calm
from pages.tap import same

# ---- the table of pictures ----

CELLS = """
return [...document.querySelectorAll('#frames-table tbody tr')].map(
    row => [...row.cells].map(cell => cell.innerText));
"""
BUTTONS = "return [...document.querySelectorAll('#frames-table thead button')].length"
PRESS = """
const button = document.querySelectorAll('#frames-table thead button')[arguments[0]];
button.scrollIntoView({block: 'center'});
button.focus();
return button;
"""
SORTED_BY = """
return [...document.querySelectorAll('#frames-table thead th')].map(
    (head, k) => [k, head.getAttribute('aria-sort')]).filter(sorted => sorted[1]);
"""


def value(text):
    """What a reader sees in a cell: a number, a text (a time of day is one), or None for nothing."""
    line = text.strip().split("\n")[0].replace("\u2212", "-")
    if not line:
        return None
    number = re.fullmatch(r"[+-]?[0-9]+(\.[0-9]+)?", line)
    return float(line) if number else line.casefold()


def column(browser, k):
    return [value(row[k]) for row in browser.run(CELLS)]


def in_order(values, what, backwards):
    known = [v for v in values if v is not None]
    same(values, known + [None] * (len(values) - len(known)), f"{what}, empty ones last")
    same(known, sorted(known, reverse=backwards), what)


def sorting(browser, path):
    browser.open(path)
    rows = browser.run(CELLS)
    count = browser.run(BUTTONS)
    same(count, len(rows[0]), "buttons over the columns")
    same(browser.run(SORTED_BY), [], "sorted at first")
    moved = 0
    for k in range(count):
        for backwards in (False, True):
            before = browser.run(CELLS)
            browser.run(PRESS, k).click()
            name = f"column {k + 1}{', backwards' if backwards else ''}"
            same(browser.run(SORTED_BY), [[k, "descending" if backwards else "ascending"]], name)
            in_order(column(browser, k), name, backwards)
            same(sorted(browser.run(CELLS)), sorted(rows), f"{name}: the rows")
            moved += browser.run(CELLS) != before
    assert moved > count, f"the order changed {moved} times only"


def sorting_by_key(browser, path):
    browser.open(path)
    for key in (Keys.ENTER, Keys.SPACE):
        before = browser.run(SORTED_BY)
        browser.run(PRESS, 5)
        browser.keys(key)
        assert browser.run(SORTED_BY) != before, "nothing happened"


# ---- enlarged pictures ----

THUMBNAILS = "return document.querySelectorAll('.sheet > .open').length"
LINK = """
const link = document.querySelectorAll('.sheet > .open')[arguments[0]];
link.scrollIntoView({block: 'center'});
return link;
"""
SIZE = """
const box = document.querySelectorAll('.sheet > .open')[arguments[0]].getBoundingClientRect();
return Math.round(box.width);
"""
ENLARGED = """
const sheet = document.querySelector('.sheet:target');
if (!sheet) return null;
const picture = sheet.querySelector('.open svg, .open img').getBoundingClientRect();
const sheets = [...document.querySelectorAll('.sheet')];
return {number: sheets.indexOf(sheet), width: Math.round(picture.width),
        inside: picture.left >= -1 && picture.top >= -1 &&
                picture.right <= innerWidth + 1 && picture.bottom <= innerHeight + 1,
        focused: sheet.contains(document.activeElement)};
"""
FOCUSED = "return document.activeElement === document.querySelectorAll('.sheet > .open')[arguments[0]]"


def enlarged(browser, number):
    """How it lies in the window, as soon as this picture is enlarged and has the focus."""
    def seen():
        now = browser.run(ENLARGED)
        return now if now and now["number"] == number and now["focused"] else None
    return browser.wait(seen, f"picture {number + 1} enlarged, with the focus")


def closed(browser, number):
    browser.until("return !document.querySelector('.sheet:target')", "closed")
    browser.until(FOCUSED, f"the focus is back on picture {number + 1}", number)


def enlarging(browser, path):
    browser.open(path)
    count = browser.run(THUMBNAILS)
    assert count > 5, f"{count} pictures"
    small = browser.run(SIZE, 2)
    browser.run(LINK, 2).click()
    seen = enlarged(browser, 2)
    assert seen["width"] > 1.3 * small, f"{seen['width']} px wide, before {small}"
    assert seen["inside"], "it is not whole within the window"
    browser.keys(Keys.ESCAPE)
    closed(browser, 2)


def enlarging_by_key(browser, path):
    browser.open(path)
    browser.run(LINK, 1).send_keys(Keys.ENTER)
    enlarged(browser, 1)
    for step, key in enumerate((Keys.ARROW_RIGHT, Keys.ARROW_RIGHT, Keys.ARROW_LEFT)):
        browser.keys(key)
        enlarged(browser, (2, 3, 2)[step])
    for _ in range(12):  # the focus goes round in it, never behind it
        browser.keys(Keys.TAB)
        assert browser.run(ENLARGED)["focused"], "the focus went behind the picture"
    browser.keys(Keys.ESCAPE)
    closed(browser, 1)


# ---- north up, zenith up ----

TURNS = """
return [...document.querySelectorAll('ol.series .turn')].map(turn => {
    const matrix = new DOMMatrix(getComputedStyle(turn).transform);
    return Math.atan2(matrix.b, matrix.a) * 180 / Math.PI;
});
"""


def choosing_up(browser, path):
    """Zenith up is north up turned clockwise by the zenith's position angle, of each picture its own."""
    frames = json.loads((path.parent / "sequence.json").read_text("utf-8"))["frames"]
    zenith = [f["parallactic_deg"] for f in frames if f["status"] in ("measured", "sun-only")]
    browser.open(path)
    choice = browser.run("return [...document.querySelectorAll('input[name=up]')]")
    same(len(choice), 2, "choices")
    assert len(browser.run(TURNS)) > 3, "pictures in the series"
    same([t for t in browser.run(TURNS) if abs(t) > 0.01], [], "turned at first")
    choice[1].send_keys(Keys.SPACE)
    browser.wait(lambda: all(min(abs(t - z) for z in zenith) < 0.02 for t in browser.run(TURNS)),
                 "every zenith up")
    assert len(set(round(t, 1) for t in browser.run(TURNS))) > 3, "all turned alike"
    choice[0].send_keys(Keys.SPACE)
    browser.wait(lambda: all(abs(t) < 0.01 for t in browser.run(TURNS)), "north up again")


def check(checks, browser, path):
    calm.check(checks, browser, path, "report.html")
    browser.screen(1280, 800, "light")
    for name, action in (("the table is sorted by every column, both ways", sorting),
                         ("the table is sorted by the keyboard", sorting_by_key),
                         ("a click enlarges a picture, Escape closes it", enlarging),
                         ("Enter enlarges, arrows lead on, the focus stays and returns",
                          enlarging_by_key),
                         ("north up and zenith up", choosing_up)):
        checks.run(f"report.html: {name}", action, browser, path)
        checks.run(f"report.html: the console stays empty ({action.__name__})",
                   calm.complains_of_nothing, browser)
