"""Every dialog opened in the real editor, every tab of it photographed; and what a refusal looks like.

The pictures go to the folder in the environment variable PLANK_SHOTS, or to the test's own. Look at them after a
change.
"""
import os
import shutil
import subprocess
import time
from pathlib import Path

import numpy as np
import pytest
from host import editor
from host.inx import SCRIPTS, find_title, list_pages
from host.scripts import SAMPLES
from host.simple import draw_outline, draw_page
from PIL import Image


def read_picture(path):
    """Grey levels (rows, columns)."""
    with Image.open(path) as picture:
        return np.asarray(picture.convert("L"), float)


def measure_ink(picture):
    """Share of the picture's points that differ from their left neighbour: nought on a blank one, a hundredth and more
    where there is writing.
    """
    return float(np.mean(np.abs(np.diff(picture, axis=1)) > 20))


class Camera:
    """Takes pictures of windows."""

    def __init__(self, display, folder):
        self.env, self.folder = dict(os.environ, DISPLAY=display), folder

    def run(self, *command):
        return subprocess.run(command, env=self.env, check=True, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                              stderr=subprocess.DEVNULL, timeout=60).stdout.decode()

    def shoot(self, window, name, *, unlike=None):
        """A picture of one window, on top and without a tooltip, once two in a row are the same, and not the picture
        `unlike`.
        """
        path, last = self.folder / (name + ".png"), None
        for _ in range(40):
            time.sleep(0.2)
            self.run("import", "-window", window, str(path))
            picture = read_picture(path)
            still = last is not None and np.array_equal(picture, last)
            if still and measure_ink(picture) > 0.001 and (unlike is None or not np.array_equal(picture, unlike)):
                return picture
            last = picture
        raise AssertionError("the picture of %s does not come to rest, is blank, or is that of the tab before" % name)


@pytest.fixture(scope="module")
def shots(tmp_path_factory):
    """Where the pictures go."""
    folder = Path(os.environ.get("PLANK_SHOTS") or tmp_path_factory.mktemp("shots"))
    folder.mkdir(parents=True, exist_ok=True)
    return folder


@pytest.fixture(scope="module")
def pictures(desk, shots, tmp_path_factory):
    """{script: pictures of its tabs}, all dialogs opened in one editor."""
    folder = tmp_path_factory.mktemp("dialogs")
    for name in ("strake_5_traced.svg", "strake_5_scan.png"):
        shutil.copy(SAMPLES / name, folder / name)
    camera, found = Camera(desk, shots), {}
    with editor.open_window(folder / "strake_5_traced.svg", ["select-by-id:path66", *SCRIPTS],
                            profile=editor.make_profile(folder / "profile"), display=desk) as find:
        windows = {script: find(find_title(script, numbered=True)) for script in SCRIPTS}
        for script, window in windows.items():
            pages = list_pages(script)
            found[script] = []
            # the mouse out of the way of tooltips, the keyboard on the tabs
            camera.run("xdotool", "windowactivate", "--sync", window, "mousemove", "5", "995")
            for count, page in enumerate(pages):
                if count:
                    camera.run("xdotool", "key", "--delay", "100", *["Tab"] * (count == 1), "ctrl+Next")
                found[script].append(camera.shoot(window, "%s_%d_%s" % (script, count + 1, page),
                                                  unlike=found[script][-1] if count else None))
    return found


@pytest.mark.parametrize("script", SCRIPTS)
def test_the_dialog_opens_with_its_title_and_shows_something(pictures, script):
    first = pictures[script][0]
    assert min(first.shape) > 200
    assert measure_ink(first) > 0.005


@pytest.mark.parametrize("script", SCRIPTS)
def test_every_tab_shows_something_else(pictures, script):
    tabs = pictures[script]
    assert len(tabs) == len(list_pages(script)) >= 2
    for one, other in zip(tabs[:-1], tabs[1:]):
        assert one.shape != other.shape or np.mean(np.abs(one - other) > 20) > 0.005


@pytest.mark.parametrize("script", SCRIPTS)
def test_no_dialog_is_larger_than_a_small_laptop_shows(pictures, script):
    for tab in pictures[script]:
        assert tab.shape[0] <= 720 and tab.shape[1] <= 1366


def test_planted_fault_a_blank_picture_is_caught():
    assert measure_ink(np.full((300, 400), 40.0)) == 0
    assert measure_ink(np.tile([0.0, 255.0], (300, 200))) == 1


def test_planted_fault_a_dialog_that_does_not_open_is_caught(desk, tmp_path, monkeypatch):
    now = iter(range(0, 10 ** 6, 30))
    monkeypatch.setattr(editor.time, "monotonic", lambda: next(now))
    (tmp_path / "in.svg").write_text(draw_page(""))
    with editor.open_window(tmp_path / "in.svg", [], profile=editor.make_profile(tmp_path / "profile"),
                            display=desk) as find, pytest.raises(AssertionError, match="no window"):
        find("Fair Plank")


def test_a_refusal_reaches_the_user_as_a_window(desk, shots, tmp_path):
    """As the user has it: no watching script between, so what the action says opens the editor's own window."""
    (tmp_path / "in.svg").write_text(draw_page(draw_outline("a") + draw_outline("b", top=400)))
    profile = editor.make_profile(tmp_path / "profile", watched=False)
    with editor.open_window(tmp_path / "in.svg", ["select-by-id:a,b", "plank_fair.noprefs"], profile=profile,
                            display=desk) as find:
        window = find("")
        assert measure_ink(Camera(desk, shots).shoot(window, "refusal")) > 0.005
