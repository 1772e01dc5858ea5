"""The record's sketch drawn by the editor: nothing of it is cut, and what is drawn is to scale."""
import re
import shutil
import subprocess

import numpy as np
import pytest
from host.conftest import require
from lxml import etree, html
from PIL import Image
from shapes import make_bowed_plank

from plankcore.document.files.record import spell_html
from plankcore.model.plank import Mark
from plankcore.record.build import RecordSettings, build_record
from plankcore.stations.strike import StationSettings, strike_stations

DPI = 200


@pytest.fixture(scope="module")
def picture(tmp_path_factory):
    """(grey levels, dots to the mm, ratio) of the sketch on a page with 5 mm of white round it."""
    require([] if shutil.which("inkscape") else ["inkscape"])
    folder = tmp_path_factory.mktemp("page")
    plank = make_bowed_plank(length=2600.0, width=130.0,
                             marks=(Mark((700.0, 100.0), "upper", station="6", error_mm=0.3, residual_mm=4.0,
                                         verdict="doubtful"),))
    record = build_record(plank, stations=strike_stations(plank, settings=StationSettings())[0],
                          settings=RecordSettings("mm"))
    page = html.fromstring(spell_html(record).decode("utf-8"))
    svg, = page.iter("svg")
    wide, high = float(svg.get("width")[:-2]), float(svg.get("height")[:-2])
    svg.set("xmlns", "http://www.w3.org/2000/svg")
    # the parser of pages writes all names small
    text = re.sub("viewbox", "viewBox", etree.tostring(svg, encoding="unicode"))
    text = text.replace('viewBox="0 0 ',
                        'viewBox="-5 -5 ').replace("%.2f %.2f" % (wide, high), "%.2f %.2f" % (wide + 10, high + 10))
    text = text.replace('width="%.2fmm"' % wide, 'width="%.2fmm"'
                        % (wide + 10)).replace('height="%.2fmm"' % high, 'height="%.2fmm"' % (high + 10))
    (folder / "sketch.svg").write_text(text, encoding="utf-8")
    subprocess.run(["inkscape", str(folder / "sketch.svg"), "--export-filename=%s" % (folder / "sketch.png"),
                    "--export-dpi=%d" % DPI, "--export-background=white"],
                   check=True, timeout=120, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                   stderr=subprocess.DEVNULL)
    with Image.open(folder / "sketch.png") as drawn:
        return np.asarray(drawn.convert("L"), float), DPI / 25.4, record.sketch.ratio


def test_the_sketch_lies_on_its_paper_whole(picture):
    ink, dots, _ = picture
    rim = int(5 * dots) - 1
    assert (ink < 128).mean() > 0.003
    for side in (ink[:rim], ink[-rim:], ink[:, :rim], ink[:, -rim:]):
        assert side.min() > 200


def test_the_plank_on_the_sketch_is_as_long_as_its_scale_says(picture):
    """2600 mm over the ratio, corner to corner at the ends of the thickest ink, to a dot or two and the breadth of the
    line. Above 28 mm there is the plank alone; arrows and bar lie below it.
    """
    ink, dots, ratio = picture
    columns = np.flatnonzero((ink[:int(28 * dots)] < 128).any(axis=0))
    assert (columns[-1] - columns[0]) / dots == pytest.approx(2600.0 / ratio + 0.5, abs=0.4)
