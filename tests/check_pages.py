#!/usr/bin/python3
"""The pages of a result, opened from disk in a browser.

Where no browser can be started the checks are skipped, with a word; where TWOLIMB_NEED_BROWSER is
set, as .ci/run does, that is a failure.
"""
import os
import signal
import sys

sys.dont_write_bytecode = True

from pages import names, report, results, talk  # noqa: E402
from pages.tap import Checks  # noqa: E402


def start_browser():
    from pages.browser import Browser  # needs python3-selenium
    return Browser()


def cannot_start(checks, error):
    if os.environ.get("TWOLIMB_NEED_BROWSER"):
        def fail():
            raise error
        checks.run("a browser starts", fail)
    else:
        checks.skip("pages in a browser", f"Chromium cannot be started: {error}")


def main():
    # Ended from outside, it still takes its browser and its folder with it.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))
    checks = Checks()
    hostile, printed = results.of_hostile()
    names.check_files(checks, hostile, printed)
    try:
        browser = start_browser()
    except Exception as error:  # no Selenium, no driver, no Chromium, or one that ends at once
        cannot_start(checks, error)
        return checks.end()
    try:
        demo = results.demo()
        report.check(checks, browser, demo / "report.html")
        talk.check(checks, browser, demo / "talk.html")
        names.check_pages(checks, browser, hostile)
    finally:
        browser.close()
    return checks.end()


if __name__ == "__main__":
    sys.exit(main())
