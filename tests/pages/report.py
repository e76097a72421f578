"""report.html: what a reader can do with it."""
from pages import calm


def check(checks, browser, path):
    calm.check(checks, browser, path, "report.html")
