"""Film plotted of a plank from the editor's drawing: what is cut alone, read by others than us, and by the editor."""
import os
import re
import subprocess

import ezdxf
import numpy as np
import pytest
import svgelements
from host.conftest import require
from host.editor import find_missing
from host.pdf import read_pdf_pages
from host.reader import read
from host.scripts import run_script
from hpgl_reader import plot_hpgl

CUT = {"plotted": "cut alone", "weeding": "8 mm", "crosses": "true", "dxf": "true", "hpgl": "true", "overcut": "0"}


@pytest.fixture(scope="module")
def film(outcomes, tmp_path_factory):
    """(folder, what was said): every format of the traced strake, what is cut alone."""
    folder = tmp_path_factory.mktemp("film")
    result = run_script("plank_plot", outcomes("traced").scripts, folder / "out.svg",
                        settings={"file_name": "film", "folder": folder, **CUT}, saved_as=str(folder / "out.svg"))
    assert result.code == 0, result.said
    return folder, result.said


def test_every_format_has_the_same_cuts_and_nothing_else(film, outcomes):
    """The saw line's length and the frame's, by svgelements, ezdxf, the PDF's operators and the list of HP-GL."""
    folder, said = film
    saw = outcomes("traced")
    told = read(saw.editor).one("saw").runs[0].trace(64)
    length = float(np.hypot(*np.diff(told, axis=0).T).sum())
    drawing = svgelements.SVG.parse(str(folder / "film.svg"), ppi=25.4)
    paths = [e for e in drawing.elements() if isinstance(e, svgelements.Path)]
    assert len(paths) == 6 and not re.search("<text|<use", (folder / "film.svg").read_text())
    assert max(p.length(error=1e-6) for p in paths[:1]) == pytest.approx(length, abs=0.02)
    doc = ezdxf.readfile(folder / "film.dxf")
    assert {(e.dxftype(), e.dxf.layer) for e in doc.modelspace()} == {("LWPOLYLINE", "CUT")}
    closed = [np.array([p[:2] for p in e.get_points()]) for e in doc.modelspace() if e.closed]
    assert len(closed) == 2
    loops = sorted(float(np.hypot(*np.diff(np.vstack([p, p[:1]]), axis=0).T).sum()) for p in closed)
    assert min(abs(v - length) for v in loops) < 0.05
    page, = read_pdf_pages((folder / "film.pdf").read_bytes())
    assert sorted(len(p) for p in page.paths) == [1, 1, 2, 2, 2, 2]
    strokes, _ = plot_hpgl((folder / "film.plt").read_bytes())
    assert set(strokes) == {2}
    runs = sorted(float(np.hypot(*np.diff(s, axis=0).T).sum()) for s in strokes[2])
    assert min(abs(v - length) for v in runs) < 0.3
    assert "crosses are" in said and re.search(r"film.plt: 10 lifts", said)


def test_the_editor_opens_it_and_finds_the_page_and_the_frame(film):
    """The size of the frame by the editor's own query, in its px of 1/96 in."""
    require(find_missing())
    folder, _ = film
    env = dict(os.environ, INKSCAPE_PROFILE_DIR=str(folder / "profile"), DBUS_SESSION_BUS_ADDRESS="disabled:")
    said = subprocess.run(["inkscape", "--query-all", str(folder / "film.svg")], env=env, check=True, timeout=120,
                          stdin=subprocess.DEVNULL, capture_output=True).stdout.decode()
    rows = [line.split(",") for line in said.splitlines() if line.count(",") == 4]
    root = read(folder / "film.svg")
    frame = root.one("weeding-frame").runs[0].trace(1)
    wide, tall = np.ptp(frame, axis=0)
    found = [(float(w) * 25.4 / 96, float(h) * 25.4 / 96) for _, _, _, w, h in rows]
    assert min(max(abs(w - wide), abs(h - tall)) for w, h in found) < 0.06, (wide, tall, found)


def test_mirrored_film_in_parts(outcomes, tmp_path):
    result = run_script("plank_plot", outcomes("traced").scripts, tmp_path / "out.svg",
                        settings={"file_name": "film", "folder": tmp_path, **CUT, "mirror": "true", "feed": "800 mm"},
                        saved_as=str(tmp_path / "out.svg"))
    assert result.code == 0, result.said
    pages = read_pdf_pages((tmp_path / "film.pdf").read_bytes())
    assert len(pages) > 2 and all(p.width_mm <= 800.01 for p in pages)
    assert len(list(tmp_path.glob("film-sheet-part-*.plt"))) == len(pages)
    words = [i.values["text"] for i in read(tmp_path / "film.svg").items if "text" in i.values]
    assert len(words) == len(pages) and all(w.startswith("MIRRORED") and "TAMSIN GREY" in w for w in words)


@pytest.mark.parametrize("change", [{"mirror": "true"}, {"weeding": "5 mm"}, {"feed": "600 mm"}])
def test_tiles_are_no_film(outcomes, tmp_path, change):
    result = run_script("plank_plot", outcomes("traced").scripts, tmp_path / "out.svg",
                        settings={"file_name": "no", "folder": tmp_path, "sheets": "tiles", **change},
                        saved_as=str(tmp_path / "out.svg"))
    assert result.code == 251 and "one sheet or a roll" in result.said and list(tmp_path.iterdir()) == []
