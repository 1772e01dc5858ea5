"""A Sheet as an SVG file of its own, as a layer in the drawing, and as a PDF made by the editor."""
from __future__ import annotations

import os
import shutil
import subprocess
import tempfile

import inkex
import numpy as np

from ..errors import DocumentError
from . import names
from .read import find_total_map
from .transforms import compose
from .write import LayerWriter, make_layer

__all__ = ["write_sheet_layer", "write_sheet_svg", "write_sheet_pdf", "find_editor",
           "LONGEST_PDF_MM"]

LONGEST_PDF_MM = 5080.0     # 14,400 units of 1/72 in, the page limit of PDF readers (PDF Reference 1.6, appendix C)

_BLANK = ('<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="%s" xmlns:sodipodi="%s" width="%%.4fmm" height="%%.4fmm" '
          'viewBox="0 0 %%.4f %%.4f"><title></title></svg>' % (names.INKSCAPE, names.SODIPODI))


def _draw(sheet, layers, total):
    """Put a sheet's lines and words into its layers; total is the map from layer units to sheet mm."""
    pens = {pen: LayerWriter(layer, total) for pen, layer in layers.items()}
    for line in sheet.lines:
        pens[line.pen].add_curve(line.cubics, role=line.role, style=line.style, closed=line.closed, **dict(line.values))
    for text in sheet.texts:
        pens["draw"].add_text(text.text, height_mm=text.height_mm, at_mm=text.at_mm, angle_deg=text.angle_deg,
                              anchor=text.anchor, style=text.style, role=text.role)


def write_sheet_svg(sheet, path):
    """Write the sheet to a new SVG file, one unit to the mm, in two layers: draw and cut.

    The file is written beside its place and then moved there: a failed run leaves no half of a sheet.
    """
    names.register()
    width, height = np.ceil(sheet.width_mm * 100) / 100, np.ceil(sheet.height_mm * 100) / 100
    root = inkex.load_svg(_BLANK % (width, height, width, height)).getroot()
    root.find("{%s}title" % names.SVG).text = sheet.title
    layers = {pen: make_layer(root, label=pen, layer=pen) for pen in ("draw", "cut")}
    names.put(root, role="sheet", width_mm=float(width), height_mm=float(height))
    _draw(sheet, layers, np.eye(2, 3))
    names.tidy(root)
    data = b'<?xml version="1.0" encoding="UTF-8"?>\n' + root.tostring()
    folder = os.path.dirname(os.path.abspath(path))
    if not os.path.isdir(folder):
        raise DocumentError("There is no folder '%s' to write the sheet to." % folder, "Make it, or give another.", "Folder")
    try:
        handle, rough = tempfile.mkstemp(suffix=".svg", dir=folder)
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
        os.chmod(rough, 0o644)
        os.replace(rough, path)
    except OSError as error:
        raise DocumentError("The sheet cannot be written to '%s': %s." % (path, error.strerror), "Give a folder you may write to.", "Folder") from None


def find_editor():
    """Path of the editor's program, or None. The variable INKSCAPE_COMMAND comes first, as elsewhere in the editor's own scripts."""
    return shutil.which(os.environ.get("INKSCAPE_COMMAND") or "inkscape")


def write_sheet_pdf(sheet, svg_path, pdf_path):
    """Make a PDF of a sheet's SVG through the editor.

    Returns
    -------
    str
        What happened, for the user; '' when the PDF was written.
    """
    if max(sheet.width_mm, sheet.height_mm) > LONGEST_PDF_MM:
        return ("No PDF was made: the sheet is %.0f mm long, and PDF readers stop at %.0f mm. Plot the SVG." % (max(sheet.width_mm, sheet.height_mm), LONGEST_PDF_MM))
    editor = find_editor()
    if editor is None:
        return "No PDF was made: the editor was not found on this machine. The SVG is complete."
    quiet = dict(os.environ, INKSCAPE_APP_ID_TAG="plank%d" % os.getpid(), DBUS_SESSION_BUS_ADDRESS="disabled:")
    try:
        subprocess.run([editor, os.path.abspath(svg_path), "--export-filename=" + os.path.abspath(pdf_path)], env=quiet, check=True, timeout=180,
                       stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    except (OSError, subprocess.SubprocessError):
        return "No PDF was made: the editor failed on the sheet. The SVG is complete; open it and save it as PDF."
    return "" if os.path.isfile(pdf_path) else "No PDF was made: the editor wrote none. The SVG is complete."


def write_sheet_layer(drawing, group, sheet):
    """Draw the sheet's own matter (frame, bars, words) round the plank in the drawing, in its Plot sheet layer."""
    layer = drawing.replace_layer(group, layer="sheet", label="Plot sheet").layer
    # the sheet lies on the page turned as the plank is: its places go back through to_sheet
    out = LayerWriter(layer, compose(sheet.to_sheet, find_total_map(layer, drawing.page)))
    frame = np.array([[0, 0], [sheet.width_mm, 0], [sheet.width_mm, sheet.height_mm], [0, sheet.height_mm]], float)
    out.add_polyline(frame, role="sheet", style="sheet", closed=True, width_mm=sheet.width_mm, height_mm=sheet.height_mm)
    for line in sheet.lines:
        if line.role in ("scale-bar", "scale-bar-tick"):
            out.add_curve(line.cubics, role=line.role, style=line.style, closed=line.closed, **dict(line.values))
    for text in sheet.texts:
        if text.role == "note":
            out.add_text(text.text, height_mm=text.height_mm, at_mm=text.at_mm, angle_deg=text.angle_deg, anchor=text.anchor, style=text.style, role=text.role)
