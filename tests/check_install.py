#!/usr/bin/python3
"""make install into scratch folders: what is there, what builds against it, what uninstall leaves."""
import csv
import os
import pathlib
import re
import subprocess
import sys
import tempfile

sys.dont_write_bytecode = True

from pages import results  # noqa: E402
from pages.tap import Checks, same  # noqa: E402

COMPILER = os.environ.get("CC", "gcc").split()
# One with a Moon, one refused on purpose: as fixtures/demo/truth.csv has it.
MEASURED, REFUSED = "evening_06.jpg", "evening_07.jpg"
SIGMAS = 3.0  # of the measured separation; beyond them it is wrong and not unlucky


def run(*command, **settings):
    """What it printed; AssertionError if it fails."""
    environment = {**os.environ, **settings.pop("env", {})}
    for name in ("MAKEFLAGS", "MFLAGS", "MAKELEVEL"):  # ours are not those of an outer make
        environment.pop(name, None)
    done = subprocess.run(command, env=environment, text=True, stdout=subprocess.PIPE,
                          stderr=subprocess.STDOUT, check=False, **settings)
    assert done.returncode == 0, f"{command[0]} ended with {done.returncode}: {done.stdout}"
    return done.stdout


def make(target, **variables):
    run("make", "--no-print-directory", f"BUILD={results.BUILD.relative_to(results.ROOT)}",
        target, *(f"{name}={value}" for name, value in variables.items()), cwd=results.ROOT)


def files(folder):
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*")
                  if not path.is_dir())


def expected(prefix):
    headers = [path.name for path in (results.ROOT / "include" / "twolimb").glob("*.h")]
    documents = [path.name for path in (results.ROOT / "docs").iterdir()]
    places = ["bin/twolimb", "lib/libtwolimb.a", "lib/pkgconfig/twolimb.pc",
              "share/man/man1/twolimb.1", "share/bash-completion/completions/twolimb",
              "share/doc/twolimb/README.md", "share/doc/twolimb/DEVELOPERS.md"]
    places += [f"include/twolimb/{name}" for name in headers]
    places += [f"share/doc/twolimb/docs/{name}" for name in documents]
    return sorted(f"{prefix}/{place}" for place in places)


def check_there_and_gone(scratch):
    """With DESTDIR: all of it below PREFIX, and of what others put beside it nothing is lost."""
    target = scratch / "a folder"
    foreign = [target / "opt/x/include/twolimb/theirs.h", target / "opt/x/lib/libother.a"]
    make("install", DESTDIR=target, PREFIX="/opt/x")
    same(files(target), expected("opt/x"), "installed")
    for path in target.rglob("*"):
        mode = 0o755 if path.is_dir() or path.name == "twolimb" and path.parent.name == "bin" else 0o644
        same(oct(path.stat().st_mode & 0o777), oct(mode), str(path))
        if path.suffix in (".pc", ".1"):
            assert "@" not in path.read_text("utf-8"), f"{path.name} is not filled in"
    for path in foreign:
        path.write_text("theirs")
    make("uninstall", DESTDIR=target, PREFIX="/opt/x")
    same(files(target), sorted(str(path.relative_to(target)) for path in foreign), "left")
    assert not (target / "opt/x/share/doc/twolimb").exists(), "our own folder is left"


def pkg_config(prefix, *question):
    return run("pkg-config", *question, "twolimb",
               env={"PKG_CONFIG_PATH": str(prefix / "lib" / "pkgconfig")}).split()


def check_version(prefix):
    header = (prefix / "include/twolimb/base.h").read_text("utf-8")
    version = re.search(r'#define TL_VERSION "([^"]+)"', header).group(1)
    same(pkg_config(prefix, "--modversion"), [version], "pkg-config")
    same(run(prefix / "bin/twolimb", "--version"), f"twolimb {version}\n", "--version")
    manual = (prefix / "share/man/man1/twolimb.1").read_text("utf-8")
    assert f"\n.Os twolimb {version}\n" in manual, "the manual has another version"


def check_headers(prefix):
    """Each can be used alone, by a strict compiler, with nothing defined before it."""
    for header in sorted((prefix / "include" / "twolimb").iterdir()):
        run(*COMPILER, "-std=c17", "-Wall", "-Wextra", "-Wpedantic", "-Werror", "-fsyntax-only",
            "-x", "c", *pkg_config(prefix, "--cflags"), "-include", f"twolimb/{header.name}",
            os.devnull)


def truth(name):
    with open(results.DEMO / "truth.csv", newline="", encoding="utf-8") as table:
        return next(row for row in csv.DictReader(table) if row["file"] == name)


def check_example(prefix, scratch):
    """The example of the documents, built as it says, finds the separations that were drawn."""
    source = prefix / "share/doc/twolimb/docs/example.c"
    program = scratch / "example"
    run(*COMPILER, "-std=c17", "-Wall", "-Wextra", "-Werror", source,
        *pkg_config(prefix, "--cflags", "--libs"), "-o", program)
    pictures = scratch / "pictures"
    pictures.mkdir()
    for name in (MEASURED, REFUSED):
        (pictures / name).symlink_to(results.DEMO / name)
    lines = run(program, pictures).splitlines()
    same(len(lines), 2, "lines")
    found = re.fullmatch(r".*/(\S+): (\d\.\d+) \+- (\d\.\d+) solar radii", lines[0])
    assert found and found.group(1) == MEASURED, lines[0]
    off = abs(float(found.group(2)) - float(truth(MEASURED)["separation_sr"]))
    assert off < SIGMAS * float(found.group(3)), f"{lines[0]} is off by {off}"
    assert REFUSED in lines[1] and "solar radii" not in lines[1], lines[1]
    missing = subprocess.run([program, scratch / "none"], text=True, capture_output=True, check=False)
    same(missing.returncode, 1, "exit status for a folder that is not there")
    assert "none: " in missing.stderr, missing.stderr


def main():
    checks = Checks()
    with tempfile.TemporaryDirectory() as folder:
        scratch = pathlib.Path(folder)
        prefix = scratch / "prefix"
        checks.run("install, uninstall: all of it and nothing else", check_there_and_gone, scratch)
        checks.run("install below a PREFIX", lambda: make("install", PREFIX=prefix))
        checks.run("one version", check_version, prefix)
        checks.run("every header stands alone", check_headers, prefix)
        checks.run("the example builds and measures", check_example, prefix, scratch)
    return checks.end()


if __name__ == "__main__":
    sys.exit(main())
