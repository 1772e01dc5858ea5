"""Shows that drawings, sheets and records of all actions are byte for byte the same under several Pythons and inkex.

    python tests/same_drawings.py                        this Python, those on the path, and the editor's own
    python tests/same_drawings.py PYTHON [PYTHON ...]    this Python against those
    python tests/same_drawings.py --chains wood,scans    some of the samples' chains alone

The samples are taken through all actions (tests/host/chains.py) by each Python, every action as a process of its own,
and every file that comes out is compared with that of the first Python. A Python counts where it can import inkex;
one of whose libraries lie elsewhere is given as PYTHON=FOLDER, the folder put on its path. Which of the wanted ones
(3.8, 3.10 and 3.13; inkex 1.3.1, 1.4.1 and the editor's own) were not there is said. Nothing is fetched: a place to try
is made beforehand, for instance by

    python3.8 -m venv old && old/bin/pip install lxml numpy cssselect tinycss2
    old/bin/pip install --no-deps inkex==1.3.1

It ends with 1 where a file differs or an action failed. Not part of the tests: each Python takes about a minute.
"""
import argparse
import filecmp
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections import namedtuple
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from host.chains import CHAINS, SCANS, WOOD, lay_out
from host.editor import find_editor_python
from host.scripts import EXTENSIONS, run_chain

ALL = {**CHAINS, "wood": WOOD, "scans": SCANS}
NAMES = ["python3.%d" % minor for minor in range(8, 15)]
LIBRARY = Path("/usr/share/inkscape/extensions")      # where Debian's package of the editor has its libraries
WANTED_PYTHON, WANTED_INKEX = ("3.8", "3.10", "3.13"), ("1.3.1", "1.4.1", "the editor's own")
# inkex of the editor's packages tells no version, pip's does
PROBE = """import sys
import lxml.etree, numpy, inkex
try:
    from importlib.metadata import version
    told = version("inkex") if "site-packages" in inkex.__file__ else "the editor's own"
except Exception:
    told = "the editor's own"
print("%d.%d.%d|%s|%s|%s" % (*sys.version_info[:3], told, numpy.__version__, lxml.etree.__version__))
"""

Reader = namedtuple("Reader", "command env python inkex words")


def probe(text):
    """A Reader of a Python, given as its path or PYTHON=FOLDER, or None where it cannot import what actions need."""
    path, _, folder = text.partition("=")
    env = {"PYTHONPATH": folder} if folder else {}
    found = shutil.which(path)
    if found is None:
        return None
    done = subprocess.run([found, "-c", PROBE], env={**os.environ, **env}, stdout=subprocess.PIPE,
                          stderr=subprocess.DEVNULL, timeout=120)
    if done.returncode != 0:
        return None
    python, inkex, numpy, lxml = done.stdout.decode().strip().split("|")
    return Reader([found], env, python, inkex, words="Python %s, inkex %s, numpy %s, lxml %s (%s)"
                  % (python, inkex, numpy, lxml, text))


def list_readers(given):
    """This Python first, then those given, or those that are found; and words on those that are not there."""
    wanted = list(given)
    if not given:
        editor = find_editor_python()
        wanted = NAMES + (["%s=%s" % (editor, LIBRARY)] if editor and LIBRARY.is_dir() else [])
    readers, absent = [], []
    for text in [sys.executable, *wanted]:
        reader = probe(text)
        if reader is None:
            absent.append("%s cannot be run, or has no inkex, numpy or lxml" % text)
        elif reader.words.rpartition(" (")[0] not in {r.words.rpartition(" (")[0] for r in readers}:
            readers.append(reader)
    here = {r.python.rpartition(".")[0] for r in readers}
    absent += ["no Python %s was tried" % v for v in WANTED_PYTHON if v not in here]
    absent += ["no inkex %s was tried" % v for v in WANTED_INKEX if v not in {r.inkex for r in readers}]
    return readers, absent


def run_all(reader, names, folder):
    """Take the chains of these names through their actions in a folder; what failed, in words."""
    for name in names:
        (folder / name).mkdir(parents=True)
        try:
            run_chain(lay_out(ALL[name], folder / name), ALL[name].steps, folder=folder / name,
                      python=reader.command, env=reader.env)
        except AssertionError as error:
            return ["%s: %s" % (name, str(error).splitlines()[0])]
    return []


def list_files(folder):
    """Files below a folder, as paths from it."""
    return sorted(p.relative_to(folder) for p in folder.rglob("*") if p.is_file())


def compare(first, second):
    """How many files two folders share, and a row for each that differs or is in one alone."""
    ours, theirs = list_files(first), list_files(second)
    rows = ["%s is in one alone" % p for p in sorted(set(ours) ^ set(theirs))]
    both = [p for p in ours if p in theirs]
    for path in both:
        if not filecmp.cmp(str(first / path), str(second / path), shallow=False):
            rows.append("%s differs: %s" % (path, find_difference(first / path, second / path)))
    return len(both), rows


def find_difference(first, second):
    """Where two files begin to differ but for the digest in their marks, and the words there."""
    a, b = (re.sub(rb"plankcore-mark [0-9a-f]+", b"plankcore-mark", path.read_bytes()) for path in (first, second))
    at = next((k for k, (x, y) in enumerate(zip(a, b)) if x != y), min(len(a), len(b)))
    return "at byte %d, %r for %r" % (at, bytes(b[max(at - 40, 0):at + 20]), bytes(a[max(at - 40, 0):at + 20]))


def main(arguments=None):
    """Everything; what the process is to end with."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("pythons", nargs="*", help="PYTHON or PYTHON=FOLDER of its libraries")
    parser.add_argument("--chains", default=",".join(ALL), help="of: %s" % ", ".join(ALL))
    told = parser.parse_args(arguments)
    names = [n for n in told.chains.split(",") if n]
    if not names or not set(names) <= set(ALL):
        parser.error("chains are: %s" % ", ".join(ALL))
    tried = {script for name in names for script in ALL[name].scripts}
    untried = {path.stem for path in EXTENSIONS.glob("plank_*.py")} - tried
    readers, absent = list_readers(told.pythons)
    failed = 0
    with tempfile.TemporaryDirectory() as scratch:
        kept = []
        for number, reader in enumerate(readers):
            # all in a folder of one name, so that no path differs
            work, here = Path(scratch) / "work", Path(scratch) / ("%d" % number)
            rows = run_all(reader, names, work)
            work.rename(here)
            kept.append(here)
            count, differ = compare(kept[0], here) if number else (len(list_files(here)), [])
            rows += differ
            failed += bool(rows)
            print("%s: %d files %s" % (reader.words, count, "DIFFER" if rows else "the same" if number
                                       else "to compare with"), flush=True)
            print("".join("  %s\n" % row for row in rows), end="", flush=True)
    print("%d actions tried by %d Pythons%s" % (len(tried), len(readers), "; not tried: %s" % ", ".join(sorted(untried))
                                                if untried else ""))
    print("".join("NOT THERE: %s\n" % words for words in absent), end="")
    return 1 if failed or len(readers) < 2 or not tried else 0


if __name__ == "__main__":
    sys.exit(main())
