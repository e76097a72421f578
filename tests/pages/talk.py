"""talk.html: slides to be shown."""
from pages import calm


def check(checks, browser, path):
    calm.check(checks, browser, path, "talk.html")
