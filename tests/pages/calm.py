"""What holds for every page: it asks for nothing, complains of nothing, fits and shows its pictures."""
from pages.tap import same

SCREENS = [(width, height, scheme) for scheme in ("light", "dark")
           for width, height in ((390, 844), (1280, 800), (1920, 1080))]

TOO_WIDE = """
const page = document.scrollingElement, room = document.documentElement.clientWidth;
if (page.scrollWidth <= room && document.body.scrollWidth <= room) return [];
const wide = [...document.body.querySelectorAll('*')].filter(
    e => e.getBoundingClientRect().right > room + 0.5);
return [page.scrollWidth + ' px in ' + room].concat(wide.slice(0, 5).map(e => e.outerHTML.slice(0, 90)));
"""
BROKEN = """
return [...document.images].filter(i => !(i.complete && i.naturalWidth > 0)).map(
    i => i.outerHTML.slice(0, 120));
"""
UNNAMED = """
const drawings = [...document.querySelectorAll('svg')].filter(
    s => !s.closest('[aria-hidden=true]') && !s.closest('svg svg')
        && !(s.getAttribute('role') === 'img' && s.getAttribute('aria-label')));
return [...document.images].filter(i => !(i.getAttribute('alt') || '').trim()).concat(drawings).map(
    e => e.outerHTML.slice(0, 120));
"""


def asks_for_nothing(browser, path):
    own = path.resolve().as_uri()
    others = [url for url in browser.requests()
              if url.split("#")[0] != own and not url.startswith(("data:", "about:blank"))]
    same(others, [], "addresses asked for")


def complains_of_nothing(browser):
    same(browser.complaints(), [], "the console")


def check(checks, browser, path, name):
    """The page opened from disk on screens of all sizes."""
    for width, height, scheme in SCREENS:
        at = f"{name}, {width} px, {scheme}"
        browser.screen(width, height, scheme)

        def opens():
            browser.open(path)
            asks_for_nothing(browser, path)

        checks.run(f"{at}: asks for nothing but itself", opens)
        checks.run(f"{at}: the console stays empty", complains_of_nothing, browser)
        checks.run(f"{at}: no scrolling sideways",
                   lambda: same(browser.run(TOO_WIDE), [], "too wide"))
        checks.run(f"{at}: every picture is shown",
                   lambda: same(browser.run(BROKEN), [], "not shown"))
    checks.run(f"{name}: every picture has its text",
               lambda: same(browser.run(UNNAMED), [], "without a text"))
