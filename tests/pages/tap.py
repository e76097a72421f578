"""Results of checks, one a line, in the form that tests/run counts (TAP)."""

LINES, COLUMNS = 3, 600  # of what is said of a failure


class Checks:
    """Runs checks, which raise AssertionError when they do not hold."""

    def __init__(self):
        self.count = 0
        self.failed = 0

    def run(self, name, check, *arguments):
        self.count += 1
        try:
            check(*arguments)
        except Exception as error:  # whatever went wrong, the other checks are still to be made
            self.failed += 1
            print(f"not ok {self.count} - {name}")
            kind = "" if isinstance(error, AssertionError) else f"{type(error).__name__}: "
            for line in (kind + str(error)).strip().splitlines()[:LINES]:
                print(f"# {printable(line)[:COLUMNS]}")
        else:
            print(f"ok {self.count} - {name}", flush=True)

    def skip(self, name, why):
        self.count += 1
        print(f"ok {self.count} - {name} # SKIP")
        print(f"# skipped: {printable(str(why).strip().splitlines()[0])[:COLUMNS]}")

    def end(self):
        """The exit status."""
        print(f"1..{self.count}")
        return 1 if self.failed else 0


def printable(text):
    return "".join(c if c.isprintable() else "?" for c in str(text))


def same(got, expected, what):
    assert got == expected, f"{what}: {got!r}, not {expected!r}"
