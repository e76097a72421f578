"""Pictures whose names, and whose camera's name, would break a page, a table or a terminal.

The pictures are copies of two of the demo. A name may hold any byte but "/" and zero; the slash of
"</script>" comes from a folder.
"""
import os
import pathlib
import re

SOURCES = ("evening_05.jpg", "evening_12.jpg")
FOLDER = b"<script>alert(1)<"  # and below it
BELOW = b"script>.jpg"  # so that the path has the whole of it
CAMERA = (b"Invented phone", b"=1+<i>\"x'&amp;")  # of the same length

NAMES = (
    b"quote\" and 'quote', & comma.jpg",
    b"<img src=x onerror=alert(1)>.jpg",
    b"]]>--><svg onload=alert(1)>.jpg",
    b"<title><script>alert(1).jpg",
    b"100%25 %s%n.jpg",
    b"two\nlines\r.jpg",
    b"caf\xe9 not UTF-8.jpg",
    b"\x1b[31mred\x07.jpg",
    "turned \u202egpj.exe.jpg".encode(),
    b"=HYPERLINK(\"http:\").jpg",
    b"+1.jpg",
    b"-2.jpg",
    b"@sum.jpg",
    b"\ttab.jpg",
    b"\\u003c\\\\back.jpg",
    b" blank .jpg",
)


def make_pictures(demo, folder):
    (folder / os.fsdecode(FOLDER)).mkdir(parents=True)
    copies = [*NAMES, FOLDER + b"/" + BELOW]
    for k, name in enumerate(copies):
        picture = (pathlib.Path(demo) / SOURCES[k % 2]).read_bytes()
        old, new = CAMERA
        assert len(old) == len(new) and old in picture
        (folder / os.fsdecode(name)).write_bytes(picture.replace(old, new))


def as_text(name):
    """A name as the tables have it: UTF-8, U+FFFD for what is not."""
    return name.decode(errors="replace")


def as_seen(name):
    """The same on a page: control characters as their pictures (U+2400 on)."""
    shown = re.sub("[\0-\x1f]", lambda c: chr(0x2400 + ord(c.group())), as_text(name))
    return shown.replace("\x7f", "\u2421")


def names():
    """Of all pictures, without their folders."""
    return [*NAMES, BELOW]
