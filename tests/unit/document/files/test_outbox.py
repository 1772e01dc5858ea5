"""Files: none takes the place of another's, all of a run are written or none, and what lay there stays whole whatever
happens.
"""
import os
import resource
import subprocess
import sys
import zipfile
from pathlib import Path

import numpy as np
import pytest
from drawings import HEAD, MM_PAGE, draw_plank
from host.scripts import run_script
from hpgl_reader import plot_hpgl
from lxml import etree
from shapes import make_bowed_plank

from plankcore.command.main import write_archive
from plankcore.command.recipe import read_recipe
from plankcore.command.running import run_recipe
from plankcore.document.files import output
from plankcore.document.files.dxf import write_dxf
from plankcore.document.files.hpgl import write_hpgl
from plankcore.document.files.marks import judge, name_owner, seal
from plankcore.document.files.output import Outbox
from plankcore.document.files.pdf import write_pdf
from plankcore.document.files.sheet import write_pages_svg
from plankcore.errors import DocumentError, PlankError
from plankcore.geometry.strokes import draw_polyline
from plankcore.model.drawing import SheetLine
from plankcore.model.page import Page, Pass

EXTENSIONS = Path(__file__).resolve().parents[4] / "extensions"
MINE, OTHERS = "sheet / Tern / strake 5 / port", "sheet / Tern / strake 6 / port"


def make_files():
    """{suffix: bytes} of one page in every format."""
    line = SheetLine(draw_polyline([(10, 10), (90, 40)]), "cut", "saw", "saw")
    page = Page("A1", 100.0, 50.0, (line,), title="T")
    runs = (np.array([[0.0, 0.0], [5.0, 5.0]]),)
    return {".svg": write_pages_svg([page]), ".pdf": write_pdf([page], title="T"),
            ".dxf": write_dxf([page]),
            ".plt": write_hpgl([Pass("cut", runs, ("saw",))], height_mm=50.0),
            ".html": b"<!DOCTYPE html><html><head><title>T</title></head><body>x</body></html>",
            ".csv": b"a,b\r\n1,2\r\n"}


FILES = make_files()


@pytest.mark.parametrize("suffix", FILES)
def test_a_file_tells_whose_it_is_and_whether_it_was_changed(tmp_path, suffix):
    path = tmp_path / ("x" + suffix)
    path.write_bytes(seal(FILES[suffix], suffix=suffix, owner=MINE))
    assert judge(path, MINE) == "" and judge(path, OTHERS) and judge(path, "")
    assert suffix == ".plt" or "strake 5" in judge(path, OTHERS)
    data = bytearray(path.read_bytes())
    data[len(data) // 3] ^= 1
    path.write_bytes(data)
    assert judge(path, MINE)
    path.write_bytes(FILES[suffix])
    assert "no action has written it" in judge(path, MINE)


def test_the_mark_leaves_every_format_what_it_is():
    """Read by others: expat's XML, the table of places of the PDF (ISO 32000-1, 7.5.4), group codes in pairs (DXF
    reference), a plotter of our tests.
    """
    sealed = {suffix: seal(data, suffix=suffix, owner=MINE) for suffix, data in FILES.items()}
    root = etree.fromstring(sealed[".svg"])
    assert "strake%205" in root.get("{urn:plankcore:1}mark").replace(" ", "%20") and len(root) == len(
        etree.fromstring(FILES[".svg"]))
    pdf = sealed[".pdf"]
    start = int(pdf[pdf.rindex(b"startxref") + 9:].split()[0])
    assert pdf[start:start + 5] == b"xref\n"
    for number, line in enumerate(pdf[start:].splitlines()[3:3 + 8], 1):
        if line.endswith(b" n "):
            assert pdf[int(line[:10]):].startswith(b"%d 0 obj" % number)
    lines = sealed[".dxf"].split(b"\n")
    assert lines[0] == b"999" and lines[2:4] == [b"0", b"SECTION"] and all(v.strip().lstrip(b"-").isdigit()
                                                                           for v in lines[:-1:2])
    told, plain = plot_hpgl(sealed[".plt"])[0], plot_hpgl(FILES[".plt"])[0]
    assert told.keys() == plain.keys() and all(np.array_equal(a, b) for key in told
                                               for a, b in zip(told[key], plain[key]))


def test_names_come_back_whatever_they_hold(tmp_path):
    owner = name_owner("sheet", [make_bowed_plank(name='Ærø "<&> -- 100%\n', strake="5,6;", side="port")], "")
    for suffix, data in FILES.items():
        path = tmp_path / ("x" + suffix)
        path.write_bytes(seal(data, suffix=suffix, owner=owner))
        assert judge(path, owner) == "", suffix
    etree.fromstring(seal(FILES[".svg"], suffix=".svg", owner=owner))


def test_a_plank_without_a_name_is_told_by_its_drawing():
    nameless = make_bowed_plank(name="", strake="5", side="port")
    assert name_owner("sheet", [nameless], "") == ""
    assert name_owner("sheet", [nameless], "/a/one.svg") != name_owner("sheet", [nameless], "/a/two.svg")


def test_a_sheet_is_numbered_past_all_that_is_not_its_own(tmp_path):
    box = Outbox()
    assert box.number(tmp_path / "s", MINE) == tmp_path / "s"
    (tmp_path / "s.svg").write_bytes(seal(FILES[".svg"], suffix=".svg", owner=OTHERS))
    (tmp_path / "s-2-key-1.dxf").write_text("somebody's")
    (tmp_path / "s-3.pdf").write_bytes(seal(FILES[".pdf"], suffix=".pdf", owner=MINE))
    assert box.number(tmp_path / "s", MINE) == tmp_path / "s-3"


def test_one_run_cannot_write_two_things_to_one_place(tmp_path):
    box = Outbox()
    box.add({tmp_path / "x.svg": FILES[".svg"]}, owner=MINE)
    with pytest.raises(DocumentError, match="written twice"):
        box.add({tmp_path / "x.svg": FILES[".svg"]}, owner=OTHERS)
    assert list(tmp_path.iterdir()) == []


def test_what_was_replaced_is_put_back_where_the_last_file_cannot_take_its_place(tmp_path, monkeypatch):
    for name in "ab":
        (tmp_path / name).write_text("old " + name)
    real = os.replace

    def fail(source, target):
        if str(target).endswith("b") and str(source).endswith(".part"):
            raise OSError(28, "No space left on device")
        real(source, target)
    monkeypatch.setattr(output.os, "replace", fail)
    with pytest.raises(DocumentError, match="No space"):
        output.write_files({tmp_path / "a": b"new", tmp_path / "c": b"new", tmp_path / "b": b"new"})
    assert {p.name: p.read_text() for p in tmp_path.iterdir()} == {"a": "old a", "b": "old b"}


# -- scripts -----------------------------------------------------------------------------------------------------------

def run(script, drawing, *more, output=None, saved="", preexec_fn=None):
    if preexec_fn is None:
        done = run_script(script, drawing, output, more=more, saved_as=str(saved))
        code, said = done.code, done.said
    else:
        command = [sys.executable, str(EXTENSIONS / (script + ".py")), *more, "--output=%s" % output, str(drawing)]
        done = subprocess.run(command, env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1", "DOCUMENT_PATH": str(saved)},
                              stdin=subprocess.DEVNULL, capture_output=True, timeout=120, preexec_fn=preexec_fn)
        code, said = done.returncode, done.stderr.decode()
    assert "Traceback" not in said and "fault of its own" not in said, said
    return code, said


@pytest.fixture
def faired(tmp_path):
    """(folder, drawing with a fair plank)"""
    (tmp_path / "in.svg").write_text(HEAD % (MM_PAGE, draw_plank()))
    code, said = run("plank_fair", tmp_path / "in.svg", "--id=trace", "--boat=Tern", "--strake=5",
                     output=tmp_path / "fair.svg")
    assert code == 0, said
    return tmp_path


def read_all(folder):
    return {p.name: p.read_bytes() for p in folder.iterdir() if p.is_file()}


@pytest.mark.long
def test_a_script_replaces_its_own_drawing_and_says_so_but_no_other(faired):
    before = read_all(faired)
    code, said = run("plank_fair", faired / "in.svg", "--id=trace", "--boat=Tern", "--strake=5",
                     "--shortest_wave=900 mm", output=faired / "fair.svg")
    assert code == 0 and "Replaced" in said and read_all(faired)["fair.svg"] != before["fair.svg"]
    # in its own place: all goes on
    code, said = run("plank_stations", faired / "fair.svg", output=faired / "fair.svg")
    assert code == 0
    before = read_all(faired)
    (faired / "scan.png").write_bytes(b"\x89PNG a scan")
    (faired / "table.csv").write_text("frame,radius\n1,2\n")
    (faired / "other.svg").write_text(HEAD % (MM_PAGE, draw_plank(key="other")))
    before = read_all(faired)
    for name in ("in.svg", "scan.png", "table.csv", "other.svg"):
        code, said = run("plank_fair", faired / "in.svg", "--id=trace", output=faired / name)
        assert code == 251 and name in said and "not replaced" in said
    drawn = (faired / "fair.svg").read_text().replace("</svg>", "<!-- a note by hand --></svg>")
    (faired / "fair.svg").write_text(drawn)
    code, said = run("plank_stations", faired / "fair.svg", output=faired / "fair.svg")
    assert code == 251 and "changed since" in said
    assert read_all(faired) == {**before, "fair.svg": drawn.encode()}


@pytest.mark.long
def test_a_sheet_takes_no_other_planks_place_and_is_numbered_on_demand(faired):
    saved = faired / "fair.svg"
    plot = lambda *more: run("plank_plot", saved, "--file_name=sheet", "--dxf=true", "--hpgl=true", *more,
                             output=faired / "plotted.svg", saved=saved)
    code, said = plot()
    assert code == 0 and "Replaced" not in said
    first = read_all(faired)
    code, said = plot()
    assert code == 0 and said.count("Replaced") == 5 and read_all(faired) == first
    code, said = run("plank_fair", faired / "in.svg", "--id=trace", "--boat=Tern", "--strake=6",
                     output=faired / "six.svg")
    for name in ("sheet.svg", "sheet.pdf", "sheet.dxf", "sheet.plt"):
        chosen = ["--%s=%s" % (f, str(name.endswith("plt" if f == "hpgl" else f)).lower())
                  for f in ("svg", "pdf", "dxf", "hpgl")]
        code, said = run("plank_plot", faired / "six.svg", "--file_name=sheet", *chosen,
                         output=faired / "six_plotted.svg", saved=faired / "six.svg")
        assert code == 251 and name in said and (name.endswith("plt") or "strake 5" in said)
    now = read_all(faired)
    assert {name: now[name] for name in first} == first and "six_plotted.svg" not in now
    code, said = run("plank_plot", faired / "six.svg", "--file_name=sheet", "--if_there=number",
                     output=faired / "six_plotted.svg", saved=faired / "six.svg")
    assert code == 0 and "sheet-2.svg" in said and (faired / "sheet-2.pdf").exists()
    now = read_all(faired)
    assert {name: now[name] for name in first} == first


@pytest.mark.long
def test_a_record_takes_no_table_of_the_yards_place(faired):
    (faired / "r.csv").write_text("frame,radius\n7,300\n")
    code, said = run("plank_record", faired / "fair.svg", "--file_name=r", output=faired / "none.svg",
                     saved=faired / "fair.svg")
    assert code == 251 and "r.csv" in said and not (faired / "r.html").exists() and (
        faired / "r.csv").read_text().startswith("frame")


@pytest.mark.long
def test_a_full_disk_leaves_the_old_files_whole(faired):
    """The limit on a file's size stands for a disk that fills up on the way."""
    before = read_all(faired)

    def fill():
        import signal
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (3000, 3000))
    code, said = run("plank_fair", faired / "in.svg", "--id=trace", "--boat=Tern", "--strake=5",
                     output=faired / "fair.svg", preexec_fn=fill)
    assert code == 251 and "cannot be written" in said and read_all(faired) == before
    code, said = run("plank_plot", faired / "fair.svg", output=faired / "plotted.svg", saved=faired / "fair.svg",
                     preexec_fn=fill)
    assert code == 251 and "cannot be written" in said and read_all(faired) == before
    code, said = run("plank_fair", faired / "in.svg", "--id=trace", output="/dev/full")
    assert code == 251 and "cannot be written" in said


def test_a_drawing_handed_back_into_a_full_pipe_is_told(faired):
    with open("/dev/full", "wb") as full:
        done = subprocess.run([sys.executable, str(EXTENSIONS / "plank_fair.py"), "--id=trace",
                               str(faired / "in.svg")], stdout=full, stderr=subprocess.PIPE, stdin=subprocess.DEVNULL,
                              timeout=120)
    assert done.returncode == 251 and b"handed back" in done.stderr and b"Traceback" not in done.stderr


def test_a_run_killed_while_it_writes_leaves_the_old_file_whole(faired):
    before = (faired / "fair.svg").read_bytes()
    code = ("import os, signal, sys\nsys.path.insert(0, %r)\nimport _plank_path\n"
            "from plankcore.document.files import output\n"
            "output.os.fsync = lambda handle: os.kill(os.getpid(), signal.SIGKILL)\n"
            "output.write_files({%r: b'half'})\n" % (str(EXTENSIONS), str(faired / "fair.svg")))
    assert subprocess.run([sys.executable, "-c", code], timeout=60).returncode == -9
    assert (faired / "fair.svg").read_bytes() == before


# -- recipes -----------------------------------------------------------------------------------------------------------

PLANK = ('[[plank]]\ndrawing = "in.svg"\noutput = "out.svg"\n[[plank.step]]\naction = "fair"\nboat = "Tern"\nstrake '
         '= "5"\n')
PLOT = '[[plank.step]]\naction = "plot"\n'


def cook(folder, text):
    (folder / "in.svg").write_text(HEAD % (MM_PAGE, draw_plank()))
    (folder / "recipe.toml").write_text(text)
    said = []
    written, failed = run_recipe(read_recipe(folder / "recipe.toml"), actions=EXTENSIONS, progress=said.append)
    return [p.name for p in written], failed, "\n".join(said)


def test_a_step_that_fails_leaves_no_sheet_of_the_plank_behind(tmp_path):
    written, failed, said = cook(tmp_path, PLANK + PLOT + '[[plank.step]]\naction = "record"\n[[plank.step]]\naction '
                                                          '= "allowance"\nupper = "wide"\n')
    assert written == [] and "upper" in str(failed[0][1]).lower()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["in.svg", "recipe.toml"] and "Written:" not in said


@pytest.mark.long
def test_a_recipe_run_again_replaces_its_own_and_says_so_and_no_others(tmp_path):
    written, failed, said = cook(tmp_path, PLANK + PLOT)
    assert failed == [] and "Written:" in said and "Replaced" not in said
    first = read_all(tmp_path)
    written, failed, said = cook(tmp_path, PLANK + PLOT)
    assert failed == [] and said.count("Replaced") == 3 and read_all(tmp_path) == first
    (tmp_path / "out.svg").write_text("<svg>drawn on since</svg>")
    before = read_all(tmp_path)
    written, failed, said = cook(tmp_path, PLANK + PLOT)
    assert written == [] and "out.svg" in str(failed[0][1]) and read_all(tmp_path) == before
    written, failed, said = cook(tmp_path, 'if_there = "number"\n' + PLANK + PLOT)
    assert written == ["out-2.svg"] and failed == [] and (tmp_path / "out.svg").read_bytes() == before["out.svg"]


@pytest.mark.parametrize("name", ["recipe.toml", "table.csv"])
def test_a_recipe_writes_over_neither_itself_nor_a_table(tmp_path, name):
    (tmp_path / "table.csv").write_text("frame\n1\n")
    text = PLANK.replace("out.svg", name)
    _, failed, _ = cook(tmp_path, text)
    assert name in str(failed[0][1]) and (tmp_path / "recipe.toml").read_text() == text and (
        tmp_path / "table.csv").read_text() == "frame\n1\n"


def test_two_steps_that_write_one_sheet_are_told(tmp_path):
    _, failed, said = cook(tmp_path, PLANK + PLOT + PLOT)
    assert failed == [] and "an earlier step had made" in said


def test_a_medium_that_a_step_measures_is_known_to_the_next(tmp_path):
    measured = 'medium = "film"\nmedia_file = "%s"\n' % (tmp_path / "media.csv")
    _, failed, _ = cook(tmp_path, PLANK + PLOT + measured + 'calibrate = "a sheet that was not '
                                                            'corrected"\nalong_found = "1001 mm"\nacross_found = '
                                                            '"150.1 mm"\n' + PLOT + 'file_name = "true"\n' + measured)
    assert failed == [] and (tmp_path / "media.csv").exists() and (tmp_path / "true.svg").exists()


@pytest.mark.parametrize("text, key, near", [
    (PLANK + 'shortest_wav = "900 mm"\n', "shortest_wav", "shortest_wave"),
    (PLANK + 'strak = "5"\n', "strak", "strake"), (PLANK + 'output = "x.svg"\n', "output", ""),
    ('[every.fair]\nbot = "Tern"\n' + PLANK, "bot", "boat"),
])
def test_a_setting_that_is_none_is_refused_by_name_with_the_nearest(tmp_path, text, key, near):
    _, failed, _ = cook(tmp_path, text)
    assert "'%s' is not known" % key in str(failed[0][1]) and near in str(failed[0][1]) and not (
        tmp_path / "out.svg").exists()


def test_a_key_of_the_recipe_that_is_none_is_refused_with_the_nearest(tmp_path):
    with pytest.raises(PlankError, match="'foldr' is not known") as caught:
        cook(tmp_path, 'foldr = "x"\n' + PLANK)
    assert "'folder' meant" in caught.value.remedy


@pytest.mark.parametrize("text", ['folder = "in.svg"\n' + PLANK, PLANK.replace("out.svg", "in.svg/out.svg")])
def test_a_folder_that_is_a_file_is_refused(tmp_path, text):
    try:
        _, failed, _ = cook(tmp_path, text)
        error = failed[0][1]
    except PlankError as caught:
        error = caught
    assert "cannot be made" in str(error) and "fault" not in str(error)


# -- the zip of the actions, and names of other bytes ------------------------------------------------------------------

def test_the_zip_takes_the_place_of_an_older_one_and_of_nothing_else(tmp_path):
    write_archive(tmp_path / "a.zip")
    write_archive(tmp_path / "a.zip")
    (tmp_path / "scan.png").write_bytes(b"a scan")
    with zipfile.ZipFile(tmp_path / "photos.zip", "w") as other:
        other.writestr("one.jpg", b"x")
    before = read_all(tmp_path)
    for name in ("scan.png", "photos.zip"):
        with pytest.raises(PlankError, match=name):
            write_archive(tmp_path / name)
    assert read_all(tmp_path) == before


def test_a_drawing_whose_name_is_no_text_is_worked_on(tmp_path):
    drawing = os.fsdecode(os.path.join(os.fsencode(str(tmp_path)), b"stra\xffke.svg"))
    Path(drawing).write_text(HEAD % (MM_PAGE, draw_plank()))
    code, said = run("plank_fair", drawing, "--id=trace", output=tmp_path / "fair.svg")
    assert code == 0, said


@pytest.mark.parametrize("text", [PLANK.replace("out.svg", "o\\u0007.svg"), PLANK.replace("in.svg", "i\\u0000.svg"),
                                  'folder = "a\\u0000"\n' + PLANK])
def test_a_recipe_with_control_characters_in_its_names_is_refused(tmp_path, text):
    with pytest.raises(PlankError, match="control character"):
        cook(tmp_path, text)


def test_a_recipe_that_is_a_pipe_is_refused(tmp_path):
    os.mkfifo(tmp_path / "r.toml")
    with pytest.raises(PlankError, match="no plain file"):
        read_recipe(tmp_path / "r.toml")
