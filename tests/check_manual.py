#!/usr/bin/python3
"""The manual page: its form, and that it has what --help has."""
import re
import subprocess
import sys

sys.dont_write_bytecode = True

from pages import results  # noqa: E402
from pages.tap import Checks, same  # noqa: E402

SOURCE = results.ROOT / "src" / "install" / "twolimb.1.in"
COMMANDS = ("analyse", "predict", "simulate")
OPTION = re.compile(r"^ +((?:-[a-z], )?--[a-z-]+(?: \S+)?)(?:  .*)?$", re.MULTILINE)
LONGEST = 79  # columns of a page on a terminal of 80


def help_of(*command):
    return subprocess.run([results.PROGRAM, *command, "--help"], text=True, capture_output=True,
                          check=True).stdout


def manual():
    """The page as it is read, without bold and underline."""
    text = subprocess.run(["mandoc", "-T", "utf8", "-O", "width=78", SOURCE], capture_output=True,
                          check=True).stdout.decode()
    return re.sub(".\b", "", text)


def section(text, heading):
    """What is below a heading, down to the next one as far to the left."""
    indent = len(heading) - len(heading.lstrip())
    found = re.search(rf"^{heading}\n(.*?)(?=^ {{0,{indent}}}\S)", text, re.MULTILINE | re.DOTALL)
    assert found, f"the manual has no {heading.strip()}"
    return found.group(1)


def options(text):
    return sorted(OPTION.findall(text))


def check_form():
    lint = subprocess.run(["mandoc", "-T", "lint", "-W", "warning", SOURCE], text=True,
                          stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False)
    assert lint.returncode == 0, lint.stdout
    long = [line for line in manual().splitlines() if len(line) > LONGEST]
    same(long, [], "lines for a wider terminal")


def check_troff():
    """As most systems print it; without a word of warning."""
    done = subprocess.run(["groff", "-mdoc", "-ww", "-Tutf8", SOURCE], text=True,
                          capture_output=True, check=True)
    same(done.stderr, "", "groff says")


def check_options(command):
    said = options(help_of(command))
    assert ("-h, --help" in said) and (command == "simulate" or len(said) > 5), f"--help: {said}"
    same(options(section(manual(), f"   twolimb {command}")), said, "options")


def check_exit_statuses():
    """Every status a command speaks of is explained, and no other."""
    said = set()
    for command in ([], *([name] for name in COMMANDS)):
        paragraph = re.search(r"^Exit status: (.*?)\n(?:\n|$)", help_of(*command),
                              re.MULTILINE | re.DOTALL).group(1)
        said.update(re.findall(r"(?:^|[;\n] ?)(\d+) ", paragraph))
    explained = re.findall(r"^ +(\d+) {2,}", section(manual(), "EXIT STATUS"), re.MULTILINE)
    same(explained, sorted(said, key=int), "exit statuses")


def check_files():
    """What it says the results are is in a result."""
    result = results.demo()
    named = re.findall(r"^     (\S+\.\w+|\w+/) {2,}", section(manual(), "FILES"), re.MULTILINE)
    assert len(named) > 5, f"few files: {named}"
    same([name for name in named if not (result / name).exists()], [], "files not there")


def check_noticed():
    """An option more in one of the two does not go unnoticed."""
    page = "   twolimb x\n     --one N\n             words\n\n   twolimb y\n"
    same(options(section(page, "   twolimb x")), ["--one N"], "options")
    same(options("  -o, --one N      words\n  --two            words\n    words --three\n"),
         ["--two", "-o, --one N"], "options")


def main():
    checks = Checks()
    checks.run("manual: its form", check_form)
    checks.run("manual: for groff too", check_troff)
    for command in COMMANDS:
        checks.run(f"manual: the options of {command}", check_options, command)
    checks.run("manual: exit statuses", check_exit_statuses)
    checks.run("manual: the files of a result", check_files)
    checks.run("manual: what tells options", check_noticed)
    return checks.end()


if __name__ == "__main__":
    sys.exit(main())
