"""A browser that opens pages from disk and tells what they did.

Debian's Chromium, driven by python3-selenium and chromium-driver. No check waits for a time to
pass, only for what it asks to come true.
"""
import json
import shutil
import tempfile

from selenium import webdriver
from selenium.common.exceptions import TimeoutException
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.support.ui import WebDriverWait

LONGEST_S = 120  # until a page that does not do what it should is given up

SWITCHES = (
    "--headless",
    "--no-sandbox",  # it needs what root and containers lack; the pages are our own
    "--disable-gpu",
    "--disable-quic",
    "--disable-dev-shm-usage",  # small in containers
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)

# Resolves when every picture of the page has been decoded, or cannot be.
DECODED = """
const done = arguments[arguments.length - 1];
const pictures = [...document.images];
for (const picture of pictures) picture.loading = 'eager';
Promise.allSettled(pictures.map(picture => picture.decode())).then(() => done(pictures.length));
"""


class Browser:
    def __init__(self):
        self.folder = tempfile.mkdtemp(prefix="twolimb-pages-")
        try:
            options = webdriver.ChromeOptions()
            options.binary_location = shutil.which("chromium") or "/usr/bin/chromium"
            for switch in SWITCHES:
                options.add_argument(switch)
            options.add_argument(f"--user-data-dir={self.folder}")
            options.set_capability("unhandledPromptBehavior", "ignore")
            options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
            self.driver = webdriver.Chrome(
                service=Service(shutil.which("chromedriver") or "/usr/bin/chromedriver"),
                options=options)
        except BaseException:
            shutil.rmtree(self.folder, ignore_errors=True)
            raise
        self.driver.set_page_load_timeout(LONGEST_S)
        self.driver.set_script_timeout(LONGEST_S)

    def close(self):
        try:
            self.driver.quit()
        finally:
            shutil.rmtree(self.folder, ignore_errors=True)

    def screen(self, width, height, scheme):
        """A window of this size for a reader who likes pages "light" or "dark"."""
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", {
            "width": width, "height": height, "deviceScaleFactor": 1, "mobile": False})
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {
            "features": [{"name": "prefers-color-scheme", "value": scheme}]})

    def open(self, path, fragment=""):
        """Opens a file anew and waits for its pictures."""
        assert path.is_file(), f"{path.name} is missing"
        self.driver.get("about:blank")  # so that a fragment alone is no mere jump
        self.driver.get_log("performance")
        self.driver.get_log("browser")
        self.driver.get(path.resolve().as_uri() + fragment)
        self.driver.execute_async_script(DECODED)

    def run(self, script, *arguments):
        return self.driver.execute_script(script, *arguments)

    def requests(self):
        """Addresses asked for since the page was opened."""
        wanted = []
        for entry in self.driver.get_log("performance"):
            message = json.loads(entry["message"])["message"]
            if message["method"] in ("Network.requestWillBeSent", "Network.webSocketCreated"):
                wanted.append(message["params"].get("request", message["params"])["url"])
        return wanted

    def complaints(self):
        """What the console has of warnings and errors since the page was opened."""
        return [entry["message"] for entry in self.driver.get_log("browser")
                if entry["level"] in ("WARNING", "SEVERE")]

    def keys(self, *keys):
        """Pressed one after the other, as by hand: whatever has the focus gets them."""
        actions = ActionChains(self.driver)
        for key in keys:
            actions.send_keys(key)
        actions.perform()

    def until(self, script, what, *arguments):
        """Waits until the script returns something true, and returns that."""
        return self.wait(lambda: self.run(script, *arguments), what)

    def wait(self, condition, what):
        """The same for a function."""
        try:
            return WebDriverWait(self.driver, LONGEST_S / 4, poll_frequency=0.05).until(
                lambda _: condition())
        except TimeoutException:
            raise AssertionError(f"never: {what}") from None
