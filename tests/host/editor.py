"""The actions in the real editor, under Xvfb, as a user has them: installed in a profile of their own, run by action
id.

The editor's own exit code says nothing of what an action did, and anything an action writes to stderr opens a window
that waits for a click. So the profile names as Python a small script, which runs the editor's own Python, keeps exit
code and stderr of every action, and hands on the rest.
"""
from __future__ import annotations

import atexit
import os
import re
import shutil
import subprocess
import tempfile
import time
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from xml.sax.saxutils import quoteattr

from plankcore.command import install

__all__ = [
    "ActionRun",
    "EditorRun",
    "find_editor_python",
    "find_missing",
    "make_profile",
    "open_display",
    "open_window",
    "run_actions",
    "spell_id",
]

TIMEOUT_S = 300           # of a busy machine, for a chain of actions in one run

_WRAPPER = """#!/bin/sh
# number the runs, keep what each said
n=$(ls "{log}" | wc -l)
mkdir "{log}/$n"
printf '%s\\n' "$@" > "{log}/$n/arguments"
"{python}" "$@" 2> "{log}/$n/stderr"
code=$?
echo $code > "{log}/$n/code"
exit $code
"""

_PREFERENCES = """<inkscape version="1" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"
  xmlns:sodipodi="http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd"><group id="extensions"%s/></inkscape>
"""


@dataclass(frozen=True)
class ActionRun:
    """One run of an action's script by the editor."""

    script: str
    arguments: tuple
    code: int
    said: str


@dataclass(frozen=True)
class EditorRun:
    """What a run of the editor left: its actions in order, its own words, and those of ours that it could not load."""

    actions: tuple
    log: str
    failed: tuple = ()

    def check(self, *scripts, may_speak=()):
        """These scripts ran, in this order, each with exit code 0 and nothing on stderr but of those in may_speak."""
        assert not self.failed, "not loaded: %s" % ", ".join(self.failed)
        assert "could not find action" not in self.log, self.log
        assert [a.script for a in self.actions] == list(scripts), "%s ran, not %s; the editor said: %s" % (
            [a.script for a in self.actions], scripts, self.log)
        for action in self.actions:
            assert action.code == 0, "%s ended with %d: %s" % (action.script, action.code, action.said)
            assert action.script in may_speak or not action.said, "%s said: %s" % (action.script, action.said)


def find_missing(*more):
    """Names of the programs that these tests need and this machine lacks."""
    return [name for name in ("inkscape", "Xvfb") + more if shutil.which(name) is None]


def find_editor_python():
    """The Python that the editor runs actions with: the first beside its own program, or on the path, or None."""
    editor = shutil.which("inkscape")
    if editor is None:
        return None
    return shutil.which("python3", path=str(Path(editor).resolve().parent) + os.pathsep + os.environ.get("PATH", ""))


def spell_id(script):
    """The editor's action for a script: its id, with - for _."""
    return "plankcore." + script.replace("_", "-")


@lru_cache(maxsize=None)
def _install_once():
    """A folder with the actions installed by our own command, and compiled by the editor's Python, to be copied into
    profiles.
    """
    folder = Path(tempfile.mkdtemp())
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    install.install(folder=folder)
    clean = {k: v for k, v in os.environ.items() if not k.startswith("PYTHON")}
    subprocess.run([find_editor_python(), "-m", "compileall", "-q", str(folder)], env=clean, check=True,
                   stdin=subprocess.DEVNULL, timeout=TIMEOUT_S)
    return folder


def make_profile(folder, *, settings=None, watched=True):
    """A fresh profile with the actions installed.

    Parameters
    ----------
    folder : Path
        Made here.
    settings : dict, optional
        {script: {setting: text}}, as the dialogs would keep them.
    watched : bool
        Whether to run actions through the watching script; without it the editor is as the user has it.
    """
    folder.mkdir(parents=True)
    (folder / "runs").mkdir()
    shutil.copytree(_install_once(), folder / "extensions")
    said = ""
    if watched:
        wrapper = folder / "watch.sh"
        wrapper.write_text(_WRAPPER.format(log=folder / "runs", python=find_editor_python()))
        wrapper.chmod(0o755)
        said = " python-interpreter=%s" % quoteattr(str(wrapper))
    for script, values in (settings or {}).items():
        said += "".join(" plankcore.%s.%s=%s" % (script, name, quoteattr(str(value))) for name, value in values.items())
    (folder / "preferences.xml").write_text(_PREFERENCES % said)
    return folder


@contextmanager
def open_display(*, windows=False):
    """An X display nobody sees: its name. With windows, a window manager too, for the keyboard."""
    reading, writing = os.pipe()
    server = subprocess.Popen(["Xvfb", "-displayfd", str(writing), "-screen", "0", "1600x1000x24", "-nolisten", "tcp"],
                              pass_fds=[writing], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                              stderr=subprocess.DEVNULL)
    os.close(writing)
    manager = None
    try:
        with os.fdopen(reading) as answer:
            name = ":" + answer.readline().strip()
        assert name != ":", "Xvfb did not start"
        if windows:
            manager = subprocess.Popen(["openbox"], env=dict(os.environ, DISPLAY=name), stdin=subprocess.DEVNULL,
                                       stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        yield name
    finally:
        for process in (manager, server):
            if process is not None:
                process.terminate()
                process.wait(timeout=30)


def _environment(profile, display):
    # a session bus would hand the second editor's work to the first
    clean = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "INKSCAPE_"))}
    return dict(clean, DISPLAY=display, INKSCAPE_PROFILE_DIR=str(profile), DBUS_SESSION_BUS_ADDRESS="disabled:")


def run_actions(drawing, steps, *, profile, display, output=None):
    """Open a drawing, take steps, and save it.

    Parameters
    ----------
    drawing : Path
    steps : sequence of str
        A script's name, such as plank_fair, or an action of the editor's own, such as select-by-id:path66.
    profile : Path
        From make_profile.
    display : str
    output : Path, optional
        Where to save.

    Returns
    -------
    EditorRun
    """
    actions = [spell_id(s) + ".noprefs" if s.startswith("plank_") else s for s in steps]
    if output is not None:
        actions += ["export-filename:%s" % output, "export-do"]
    before = len(list((profile / "runs").iterdir()))
    done = subprocess.run(["inkscape", str(drawing), "--batch-process", "--actions=" + ";".join(actions)],
                          env=_environment(profile, display),
                          stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, timeout=TIMEOUT_S)
    log = done.stdout.decode("utf-8", "replace")
    assert done.returncode == 0, "the editor ended with %d: %s" % (done.returncode, log)
    ran = []
    for place in sorted((profile / "runs").iterdir(), key=lambda p: int(p.name))[before:]:
        script, *arguments = (place / "arguments").read_text(encoding="utf-8").splitlines()
        ran.append(ActionRun(Path(script).stem, tuple(arguments), int((place / "code").read_text()),
                             (place / "stderr").read_text(encoding="utf-8")))
    errors = profile / "extension-errors.log"
    failed = re.findall(r"plank_[a-z]+", errors.read_text(encoding="utf-8")) if errors.is_file() else []
    return EditorRun(tuple(ran), log, tuple(sorted(set(failed))))


@contextmanager
def open_window(drawing, steps, *, profile, display):
    """The editor with its window open, and then these steps; a script's name opens its dialog, NAME.noprefs runs it.

    Yields a function find(title) that waits for a window whose title begins so, and returns its number; '' finds the
    untitled one in which the editor shows what an action has said.
    """
    actions = [spell_id(s) if s.startswith("plank_") else s for s in steps]
    env = _environment(profile, display)
    process = subprocess.Popen(["inkscape", "--with-gui", str(drawing), "--actions=" + ";".join(actions)], env=env,
                               stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

    def list_windows():
        """{number: title} of the editor's windows that can be seen, without what is too small for a dialog."""
        def ask(*words):
            return subprocess.run(["xdotool", *words], env=env, stdout=subprocess.PIPE,
                                  stderr=subprocess.DEVNULL).stdout.decode().strip()
        found = {}
        for window in ask("search", "--onlyvisible", "--class", "inkscape").split():
            size = dict(line.split("=") for line in ask("getwindowgeometry", "--shell", window).splitlines()
                        if "=" in line)
            if int(size.get("HEIGHT", 0)) > 150:
                found[window] = ask("getwindowname", window)
        return found

    def find(title):
        until = time.monotonic() + 60
        while time.monotonic() < until:
            seen = list_windows()
            for window, name in seen.items():
                # not while the editor's own window is still to come
                if (name.startswith(title) if title else not name and any(seen.values())):
                    return window
            assert process.poll() is None, "the editor ended before a window '%s' appeared" % title
            time.sleep(0.2)
        raise AssertionError("no window '%s' appeared" % title)
    try:
        yield find
    finally:
        process.terminate()
        try:
            process.wait(timeout=10)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
