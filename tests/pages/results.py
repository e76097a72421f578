"""Results of the built program for the checks to look at, below the build folder."""
import contextlib
import fcntl
import os
import pathlib
import shutil
import subprocess

from pages import hostile

ROOT = pathlib.Path(__file__).resolve().parents[2]
BUILD = ROOT / os.environ.get("TWOLIMB_BUILD", "build")
PROGRAM = BUILD / "twolimb"
FOLDER = BUILD / "pages"
DEMO = ROOT / "fixtures" / "demo"


def options():
    return (DEMO / "options").read_text().split()


def analyse(folder, *pictures):
    """What the program printed. Some pictures may be refused."""
    run = subprocess.run([PROGRAM, "analyse", *pictures, *options(), "-o", folder],
                         stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False)
    assert run.returncode in (0, 1), run.stdout.decode(errors="replace")
    return run.stdout


def fresh(folder, *inputs):
    """Whether the result is later than the program and all it was made from."""
    made = folder / "sequence.json"
    return made.exists() and all(
        made.stat().st_mtime > pathlib.Path(path).stat().st_mtime
        for path in (PROGRAM, __file__, *inputs))


def ours(folder):
    """Only what the program itself would replace is taken away."""
    if folder.exists() and not (folder / "sequence.json").exists():
        raise AssertionError(f"{folder} is in the way")


@contextlib.contextmanager
def alone():
    """Of several checks at the same time one makes the results, the others wait for them."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    with open(FOLDER / "lock", "w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def demo():
    """The folder with the result of the demo pictures."""
    folder = FOLDER / "demo"
    with alone():
        if not fresh(folder, *DEMO.iterdir()):
            ours(folder)
            analyse(folder, DEMO)
    return folder


def of_copies():
    """The folder with the result of three pictures, one of them saved twice."""
    folder, pictures = FOLDER / "copies", FOLDER / "copies-pictures"
    with alone():
        if not fresh(folder, *DEMO.iterdir()):
            ours(folder)
            shutil.rmtree(pictures, ignore_errors=True)
            pictures.mkdir()
            for name in ("evening_05.jpg", "evening_10.jpg"):
                shutil.copy(DEMO / name, pictures)
            shutil.copy(DEMO / "evening_05.jpg", pictures / "evening_05 (1).jpg")
            analyse(folder, pictures)
    return folder


def of_hostile():
    """The folder with the result of pictures with hostile names, and what was printed."""
    folder, printed = FOLDER / "hostile", FOLDER / "hostile.txt"
    pictures = FOLDER / "hostile-pictures"
    with alone():
        if not (fresh(folder, hostile.__file__) and printed.exists()):
            ours(folder)
            shutil.rmtree(pictures, ignore_errors=True)
            hostile.make_pictures(DEMO, pictures)
            printed.write_bytes(analyse(folder, pictures, pictures / os.fsdecode(hostile.FOLDER),
                                        "--keep-copies"))
    return folder, printed.read_bytes()
