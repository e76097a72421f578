"""Hostile names in every file of a result, and in what is printed."""
import csv
import json
import re
import xml.etree.ElementTree

from pages import calm, hostile
from pages.tap import same

# What a script in a name would have left behind: an element that no page of ours has.
SMUGGLED = """
return [...document.querySelectorAll('img[src="x"], [onerror], [onload], i > *')].concat(
    [...document.scripts].filter(s => s.textContent.includes('alert(')),
    [...document.querySelectorAll('title')].slice(1)).map(e => e.outerHTML.slice(0, 90));
"""


def rows(path, bom=False):
    with open(path, newline="", encoding="utf-8-sig" if bom else "utf-8") as file:
        return list(csv.DictReader(file, strict=True))


def check_frames(folder):
    same(sorted(row["file"] for row in rows(folder / "frames.csv")),
         sorted(map(hostile.as_text, hostile.names())), "names in frames.csv")


def as_cell(name):
    """As a spreadsheet has to be told it: no formula."""
    text = hostile.as_text(name)
    return "'" + text if text[0] in "=+-@\t\r\n" else text


def check_series(folder):
    same(sorted(row["File"] for row in rows(folder / "series.csv", bom=True)),
         sorted(map(as_cell, hostile.names())), "names in series.csv")
    for row in rows(folder / "series.csv", bom=True):
        for heading, value in row.items():
            if value.startswith(tuple("=+-@\t\r\n")):
                float(value)  # what else begins so is a number
            assert heading.isprintable(), heading


def check_json(folder):
    text = (folder / "sequence.json").read_text("utf-8")
    same(sorted(frame["file"] for frame in json.loads(text)["frames"]),
         sorted(map(hostile.as_text, hostile.names())), "names in sequence.json")


def check_drawings(folder):
    drawings = list(folder.glob("*.svg"))
    assert drawings, "no drawings"
    for path in drawings:
        for element in xml.etree.ElementTree.parse(path).iter():
            kind = element.tag.rpartition("}")[2]
            assert kind not in ("script", "foreignObject", "image", "a"), f"{path.name}: {kind}"
            handlers = [name for name in element.attrib if name.lower().startswith("on")]
            same(handlers, [], path.name)


def check_limbs(folder):
    names = [path.name for path in (folder / "limbs").iterdir()]
    same(len(names), len(hostile.names()), "images of limbs")
    same([n for n in names if not re.fullmatch(r"[0-9]{3}-[A-Za-z0-9._-]+\.jpg", n)], [],
         "names of images of limbs")


def check_printed(printed):
    text = printed.decode("utf-8")
    same([c for c in text if c != "\n" and not c.isprintable()], [], "printed")
    same([line for line in text.splitlines() if len(line) > 80], [], "lines too long")
    assert len(text.splitlines()) <= 23, "more than a screen with its prompt"


def check_files(checks, folder, printed):
    checks.run("hostile names: frames.csv has them as they are", check_frames, folder)
    checks.run("hostile names: series.csv has no formulas", check_series, folder)
    checks.run("hostile names: sequence.json has them as they are", check_json, folder)
    checks.run("hostile names: drawings are drawings", check_drawings, folder)
    checks.run("hostile names: images of limbs have plain names", check_limbs, folder)
    checks.run("hostile names: the terminal is not steered", check_printed, printed)


def no_script_runs(browser, path):
    browser.open(path)
    # A script's alert would make every further command fail.
    assert "alert" not in browser.run("return document.title"), "the title"
    same(browser.run(SMUGGLED), [], "smuggled in")
    same(browser.complaints(), [], "the console")
    calm.asks_for_nothing(browser, path)


def names_are_seen(browser, path):
    text = browser.run("return document.body.textContent")
    same([name for name in hostile.names() if hostile.as_seen(name) not in text], [],
         "names not seen")


def check_pages(checks, browser, folder):
    browser.screen(1280, 800, "light")
    path = folder / "report.html"
    checks.run("hostile names: no script runs in report.html", no_script_runs, browser, path)
    checks.run("hostile names: report.html shows them as they are", names_are_seen, browser, path)
    checks.run("hostile names: no script runs in talk.html", no_script_runs, browser,
               folder / "talk.html")
