"""talk.html: slides to be shown on a projector without touching them."""
from selenium.webdriver.common.keys import Keys

from pages import calm
from pages.tap import same

LEAST, MOST = 8, 12  # slides of a talk
ROOMS = ((1920, 1080), (1280, 800), (1024, 768), (390, 844))  # projectors, old ones, a phone

SLIDES = "return document.querySelectorAll('main > section').length"
SHOWN = """
return [...document.querySelectorAll('main > section')].flatMap((slide, k) => {
    const box = slide.getBoundingClientRect(), style = getComputedStyle(slide);
    const seen = style.visibility === 'visible' && style.display !== 'none' && style.opacity !== '0'
        && box.width > 0 && box.bottom > 0 && box.top < innerHeight;
    return seen ? [k + 1] : [];
});
"""
NUMBER = "return location.hash"
# How the shown slide lies in the window, and what is seen of its note.
LAID = """
const slide = document.querySelectorAll('main > section')[arguments[0] - 1];
const picture = slide.querySelector('img'), note = slide.querySelector('.note');
const box = picture.getBoundingClientRect(), words = note.getBoundingClientRect();
const shown = getComputedStyle(note).display !== 'none'
    && getComputedStyle(note).visibility === 'visible' && words.height > 0;
const page = document.scrollingElement;
return {inside: box.left >= -1 && box.top >= -1 && box.right <= innerWidth + 1
            && box.bottom <= innerHeight + 1,
        fills: Math.max(box.width / innerWidth, box.height / innerHeight),
        scrolls: page.scrollHeight > innerHeight + 1 || page.scrollWidth > innerWidth + 1,
        note: shown, words: note.textContent.trim().length,
        whole: !shown || (words.bottom <= innerHeight + 1 && words.top >= 0
            && note.scrollHeight <= note.clientHeight + 1)};
"""
FIVE_AT_ONCE = """
for (let k = 0; k < 5; k++)
    document.dispatchEvent(new KeyboardEvent('keydown', {key: 'PageDown', bubbles: true}));
"""


def shows(browser, number):
    """This slide and no other, and the address says so."""
    browser.wait(lambda: browser.run(SHOWN) == [number], f"slide {number} alone")
    same(browser.run(NUMBER) or "#1", f"#{number}", "the address")


def count_of(browser):
    return browser.run(SLIDES)


def has_slides(browser, path):
    browser.open(path)
    count = count_of(browser)
    assert LEAST <= count <= MOST, f"{count} slides"
    shows(browser, 1)
    same([k for k in range(1, count + 1) if browser.run(LAID, k)["words"] < 20], [],
         "slides without words to say")


def keys_move(browser, path):
    browser.open(path)
    last = count_of(browser)
    presses = ((Keys.ARROW_RIGHT, 2), (Keys.PAGE_DOWN, 3), (Keys.SPACE, 4), (Keys.ARROW_LEFT, 3),
               (Keys.PAGE_UP, 2), (Keys.END, last), (Keys.ARROW_RIGHT, last), (Keys.HOME, 1),
               (Keys.ARROW_LEFT, 1), (Keys.ARROW_RIGHT, 2))
    for key, number in presses:
        browser.keys(key)
        shows(browser, number)


def fast_keys_arrive(browser, path):
    """A presenter's impatient presses are all counted."""
    browser.open(path)
    shows(browser, 1)
    browser.run(FIVE_AT_ONCE)
    shows(browser, 6)


def address_keeps(browser, path):
    browser.open(path, "#5")
    shows(browser, 5)
    browser.keys(Keys.PAGE_DOWN)
    shows(browser, 6)
    browser.driver.refresh()
    shows(browser, 6)
    last = count_of(browser)
    for fragment, number in (("#99", last), ("#0", 1), ("#<script>", 1), ("#-3", 1)):
        browser.open(path, fragment)
        shows(browser, number)


def notes_toggle(browser, path):
    browser.open(path, "#2")
    shows(browser, 2)
    same(browser.run(LAID, 2)["note"], False, "the note at first")
    browser.keys("n")
    browser.wait(lambda: browser.run(LAID, 2)["note"], "a note after N")
    browser.keys(Keys.PAGE_DOWN)
    shows(browser, 3)
    same(browser.run(LAID, 3)["note"], True, "the note of the next slide")
    browser.keys("N")
    browser.wait(lambda: not browser.run(LAID, 3)["note"], "no note after N again")


def fills_the_room(browser, path):
    for width, height in ROOMS:
        browser.screen(width, height, "dark")
        browser.open(path)
        for number in range(1, count_of(browser) + 1):
            shows(browser, number)
            laid = browser.run(LAID, number)
            where = f"slide {number} at {width} by {height}"
            assert laid["inside"], f"{where} goes beyond the window"
            assert laid["fills"] > 0.99, f"{where} fills {laid['fills']:.2f} of it"
            assert not laid["scrolls"], f"{where} scrolls"
            browser.keys(Keys.PAGE_DOWN)


def notes_fit(browser, path):
    for width, height in ROOMS:
        browser.screen(width, height, "dark")
        browser.open(path)
        browser.keys("n")
        for number in range(1, count_of(browser) + 1):
            shows(browser, number)
            laid = browser.run(LAID, number)
            where = f"slide {number} with its note at {width} by {height}"
            assert laid["note"] and laid["whole"], f"{where}: the note is not whole"
            assert laid["inside"], f"{where}: the slide is not whole"
            browser.keys(Keys.PAGE_DOWN)


def check(checks, browser, path):
    calm.check(checks, browser, path, "talk.html")
    browser.screen(1920, 1080, "dark")
    for name, action in ((f"{LEAST} to {MOST} slides, one seen at a time", has_slides),
                         ("arrows, Page Up and Down, Home and End", keys_move),
                         ("fast presses all arrive", fast_keys_arrive),
                         ("the address keeps the slide, also over a reload", address_keeps),
                         ("N shows and hides what to say", notes_toggle),
                         ("a slide fills the window and no more", fills_the_room),
                         ("slide and note fit the window together", notes_fit)):
        checks.run(f"talk.html: {name}", action, browser, path)
        checks.run(f"talk.html: the console stays empty ({action.__name__})",
                   calm.complains_of_nothing, browser)
