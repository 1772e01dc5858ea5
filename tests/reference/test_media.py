"""Sheets, rolls, units and movements of media against what is published of them."""
import math
import re

import numpy as np
import pytest
from plots import make_line_overlay

from plankcore.document.extension import load_document
from plankcore.document.files.dxf import write_dxf
from plankcore.document.files.hpgl import write_hpgl
from plankcore.document.files.pdf import LONGEST_PDF_MM, choose_user_unit, write_pdf
from plankcore.document.transforms import read_page_scale
from plankcore.errors import SettingError
from plankcore.model.page import Page, Pass
from plankcore.plot.calibration import measure_medium
from plankcore.trade import media

LINE = make_line_overlay((np.array([(100.0, 50.0), (1100.0, 50.0)]), "scale-bar", "scale-bar", "draw", False)).lines


def make_page(width, height):
    return Page("P", width, height_mm=height, lines=LINE, title="T")


def test_svg_counts_96_pixels_to_the_inch():
    """CSS Values and Units Level 3, section 6.2: 1in = 96px. So 1000 mm are 3779.5276 px; by the 90 px of editors
    before 2017 they were 3543.3071, a ratio of 1.066667.
    """
    root = load_document(b'<svg xmlns="http://www.w3.org/2000/svg" width="3779.5276" height="3543.3071"/>',
                         where="test").getroot()
    page = read_page_scale(root)
    assert page.width_mm == pytest.approx(1000.0, abs=1e-4)
    assert 1000.0 / page.height_mm == pytest.approx(96 / 90, abs=1e-6)


@pytest.mark.parametrize("width, unit", [(5080.0, 1), (5080.1, 2), (7500.0, 2), (10160.0, 2), (10160.1, 3)])
def test_pdf_pages_beyond_14400_units_count_in_larger_ones(width, unit):
    """PDF Reference 1.6, appendix C: 14,400 units of 1/72 in, 200 in = 5080 mm; UserUnit: ISO 32000-1:2008, table 30.
    7500 mm need 1.4764, so 2.
    """
    assert 14400 / 72 * 25.4 == pytest.approx(5080.0) == pytest.approx(LONGEST_PDF_MM)
    assert choose_user_unit(width, 300.0) == choose_user_unit(300.0, width) == unit >= width / 5080.0
    data = write_pdf([make_page(width, 300.0)], title="T").decode("latin-1")
    told = re.search(r"/MediaBox \[0 0 ([\d.]+) ", data)
    assert float(told.group(1)) <= 14400.000001 and float(told.group(1)) * unit / 72 * 25.4 == pytest.approx(
        width, abs=1e-4)
    assert ("/UserUnit %d" % unit in data) == (unit > 1)


@pytest.mark.parametrize("length_mm, units", [(7500.0, 300000), (25.4, 1016), (819.175, 32767)])
def test_hpgl_counts_0_025_mm(length_mm, units):
    """HP-GL/2: 1 plotter unit is 0.025 mm, 40 to the mm, 1016 to the inch (the PCL 5 and HP-GL/2 technical reference).
    """
    run = np.array([(0.0, 10.0), (length_mm, 10.0)])
    said = write_hpgl([Pass("cut", (run,), ("saw",))], height_mm=10.0).decode()
    assert "PD%d,0;" % units in said


def test_classic_numbers_end_at_819_mm():
    """16-bit whole numbers, to 32767 (from memory, not checked): 819.175 mm."""
    def write(length, limits):
        return write_hpgl([Pass("cut", (np.array([(0.0, 10.0), (length, 10.0)]),), ("saw",))],
                                    height_mm=10.0, limits=limits)
    assert write(819.1, "classic")
    with pytest.raises(SettingError, match="819 mm"):
        write(819.3, "classic")
    assert write(20000.0, "wide")
    with pytest.raises(SettingError):
        write(209716.0, "wide")


def test_dxf_says_that_it_is_in_mm():
    """DXF reference, $INSUNITS: 1 inches, 4 millimetres, 0 none."""
    said = write_dxf([make_page(1200.0, 300.0)]).decode().split("\n")
    assert said[said.index("$INSUNITS") + 1:][:2] == ["70", "4"]


@pytest.mark.parametrize("name, long, short",
                         [("A0", 1189, 841), ("A1", 841, 594), ("A2", 594, 420), ("A3", 420, 297), ("A4", 297, 210)])
def test_a_sizes(name, long, short):
    """ISO 216:2007."""
    assert media.find_sheet_mm(name) == (long, short)
    assert long / short == pytest.approx(math.sqrt(2), rel=0.005)


@pytest.mark.parametrize("name, long, short", [("ANSI D", 34, 22), ("ANSI E", 44, 34), ("ARCH D", 36, 24),
                                               ("ARCH E1", 42, 30), ("letter", 11, 8.5)])
def test_inch_sizes(name, long, short):
    """ANSI D and E: ASME Y14.1; ARCH D and E1, letter: common practice."""
    assert media.find_sheet_mm(name) == pytest.approx((long * 25.4, short * 25.4))


@pytest.mark.parametrize("inches, mm",
                         [(24, 609.6), (36, 914.4), (42, 1066.8), (44, 1117.6), (15, 381.0), (48, 1219.2)])
def test_rolls_are_as_wide_as_their_inches(inches, mm):
    """1 in = 25.4 mm exactly; that a roll of 24 in is sold as 610 mm must not make the plank 0.4 mm too wide for it."""
    name, = [n for n in media.ROLLS if n.startswith("%d in" % inches)]
    assert media.find_roll_mm(name) == pytest.approx(mm, abs=1e-9) and media.find_roll_mm(name) <= float(
        re.search(r"\((\d+) mm", name).group(1)) + 0.5


def test_movement_of_paper_and_film():
    """3 m of paper move 3.0 mm at 0.1 percent and 12.0 at 0.4 (a printer's table of bond paper); 3 m of polyester film
    0.51 mm in 10 degrees at 1.7e-5.
    """
    assert media.find_paper_movement_mm(3000.0) == pytest.approx((3.0, 12.0))
    assert media.find_film_movement_mm(3000.0, degrees=10) == pytest.approx(0.51)


def test_diagonals_of_a_rectangle_that_leans():
    """1000 x 600 mm: diagonals 1166.1904 (Pythagoras); leaning by 1 mm in 600 they are 1167.0480 and 1165.3330."""
    assert math.hypot(1000, 600) == pytest.approx(1166.1904, abs=5e-5)
    correction, findings = measure_medium("film", day="d", along_mm=(1000, 1000), across_mm=(600, 600),
                                          rectangle_mm=(1000, 600), diagonals_mm=(1167.0480, 1165.3330))
    assert correction.skew_mm_per_m == pytest.approx(-1000 / 600, abs=1e-3)
    assert (correction.along,
            correction.across) == pytest.approx((1.0, 1.0), abs=1e-5) and correction.residual_mm < 0.01 and not findings


def test_bars_that_came_out_long_and_short():
    """1003 mm printed for 1000 along, 998 across: corrected by 0.99701 and 1.00200 (arithmetic); what is then left in a
    diagonal is under 0.1 percent.
    """
    correction, _ = measure_medium("film", day="d", along_mm=(1000, 1003), across_mm=(1000, 998))
    assert (round(correction.along, 5), round(correction.across, 5)) == (0.99701, 1.00200)
    machine = np.array([[1.003, 1 / 1200], [0.0, 0.998]])                 # a small lean was left unmeasured
    a, b = machine @ correction.matrix @ [1000, 600], machine @ correction.matrix @ [-1000, 600]
    assert max(abs(np.hypot(*v) / 1166.1904 - 1) for v in (a, b)) < 1e-3
