"""Makes the pictures of the README from the samples: python samples/make_pictures.py

Needs the editor, Xvfb, xdotool, openbox, ImageMagick's import, poppler's pdftoppm and Pillow. The record is a page of
HTML, which the editor does not draw: its picture wants WeasyPrint (in this Python, or as the command named by
WEASYPRINT), and stays as it is where there is none, which is said. Names make those pictures alone:

    python samples/make_pictures.py sheet record

Everything shown is invented.
"""
from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from lxml import etree
from PIL import Image

HERE = Path(__file__).resolve().parent
BOAT, PICTURES = HERE / "tamsin_grey", HERE / "pictures"
DISPLAY = ":87"
QUIET = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "stdin": subprocess.DEVNULL}


def export_png(svg, png, *, dpi, drawing=False):
    """A drawing as a picture, by the editor."""
    subprocess.run(["inkscape", str(svg), "--export-filename=" + str(png), "--export-dpi=%g" % dpi,
                    "--export-background=#ffffff"]
                   + (["--export-area-drawing"] if drawing else ["--export-area-page"]), check=True, **QUIET)


def crop(png, target, box, *, width):
    """Part of a picture, box in shares of its width and height, at a width in pixels."""
    with Image.open(png) as picture:
        w, h = picture.size
        part = picture.convert("RGB").crop((int(box[0] * w), int(box[1] * h), int(box[2] * w), int(box[3] * h)))
    part = part.resize((width, max(int(part.height * width / part.width), 1)), Image.LANCZOS)
    _save_small(part, target)


def draw_report(folder, target):
    """The report of strake 5's marks, a batten nailed at every fourth frame of its upper edge, by itself."""
    told = Path(folder) / "told.svg"
    subprocess.run([sys.executable, str(HERE.parent / "extensions" / "plank_fair.py"), "--id=marks", "--id=ends",
                    "--honest_error=0.3", "--doubtful=leave out", "--report=true", "--nails=upper: 7, 11, 14, 17",
                    "--batten_thick=12", "--batten_wide=18", "--batten_wood=Sitka spruce", "--boat=Tamsin Grey",
                    "--strake=5",
                    "--side=starboard", "--output=%s" % told, str(BOAT / "strake_5_marks.svg")], check=True, **QUIET)
    tree = etree.parse(str(told))
    for element in tree.getroot().iter("{http://www.w3.org/2000/svg}g"):
        if element.get("{urn:plankcore:1}role") == "report":
            element.set("id", "report")
    tree.write(str(told))
    rough = Path(folder) / "report.png"
    subprocess.run(["inkscape", str(told), "--export-filename=%s" % rough, "--export-dpi=100", "--export-id=report",
                    "--export-id-only", "--export-background=#ffffff"], check=True, **QUIET)
    crop(rough, target, (0, 0, 1, 1), width=1400)


def shoot_dialog(svg, action, title, target, *, selected):
    """The dialog of an action, opened in the editor on a virtual screen."""
    profile = Path(tempfile.mkdtemp())
    (profile / "extensions").mkdir()
    subprocess.run([sys.executable, "-m", "plankcore.command.main", "install", "--folder",
                    str(profile / "extensions")], check=True, cwd=HERE.parent, **QUIET)
    quiet = dict(os.environ, DISPLAY=DISPLAY, DBUS_SESSION_BUS_ADDRESS="disabled:", INKSCAPE_PROFILE_DIR=str(profile))
    running = [subprocess.Popen(["Xvfb", DISPLAY, "-screen", "0", "1400x900x24", "-nolisten", "tcp"], **QUIET)]
    try:
        time.sleep(1)
        running.append(subprocess.Popen(["openbox"], env=quiet, **QUIET))
        running.append(subprocess.Popen(["inkscape", "--with-gui", str(svg),
                                         "--actions=select-by-id:%s;%s" % (selected, action)], env=quiet, **QUIET))
        for _ in range(60):
            time.sleep(1)
            found = subprocess.run(["xdotool", "search", "--onlyvisible", "--name", "^([0-9]+ )?" + title], env=quiet,
                                   stdout=subprocess.PIPE, stderr=subprocess.DEVNULL).stdout.split()
            if found:
                break
        else:
            raise SystemExit("the dialog %s did not open" % title)
        subprocess.run(["xdotool", "mousemove", "5", "5"], env=quiet, check=True)
        time.sleep(3)
        subprocess.run(["import", "-window", found[0].decode(), str(target)], env=quiet, check=True)
    finally:
        for process in reversed(running):
            process.terminate()
            process.wait()
        shutil.rmtree(profile, ignore_errors=True)


def export_pages(pdf, folder, *, dpi, first=1, last=1):
    """Pages of a PDF as pictures, in order."""
    subprocess.run(["pdftoppm", "-r", "%g" % dpi, "-f", str(first), "-l", str(last), "-png", str(pdf),
                    str(Path(folder) / "page")], check=True, **QUIET)
    return sorted(Path(folder).glob("page*.png"))


def lay_side_by_side(pictures, target, *, width, columns):
    """Pictures in rows on grey, as they would lie on a table."""
    images = [Image.open(p).convert("RGB") for p in pictures]
    wide, tall = max(i.width for i in images) + 12, max(i.height for i in images) + 12
    rows = -(-len(images) // columns)
    table = Image.new("RGB", (wide * columns, tall * rows), (190, 190, 190))
    for k, image in enumerate(images):
        table.paste(image, ((k % columns) * wide + 6, (k // columns) * tall + 6))
    _save_small(table.resize((width, int(table.height * width / table.width)), Image.LANCZOS), target)


def _save_small(picture, target):
    """With few colours, those among them that few dots have: a thin line keeps its own."""
    picture.quantize(96, method=Image.Quantize.MAXCOVERAGE).save(target, optimize=True)


def export_part(svg, folder, name, box, *, width, dpi, drawing=False):
    """Part of a drawing as the picture of this name, by way of a rough one in the folder."""
    export_png(svg, folder / "rough.png", dpi=dpi, drawing=drawing)
    crop(folder / "rough.png", PICTURES / name, box, width=width)


def find_weasyprint():
    """The command that prints a page of HTML, or None."""
    for command in ([os.environ["WEASYPRINT"]] if os.environ.get("WEASYPRINT") else [],
                    [sys.executable, "-m", "weasyprint"], ["weasyprint"]):
        try:
            if command and subprocess.run([*command, "--version"], **QUIET).returncode == 0:
                return command
        except OSError:
            continue
    return None


# -- what is shown: each from the results in `out`, by way of a folder for what is rough ---------------------------

def shoot_sheet(out, folder):
    # drawn small at once, so that thin lines stay a pixel wide
    export_part(out / "strake_5_sheet.svg", folder, "sheet.png", (0, 0, 1, 1), width=1602, dpi=15)


def shoot_sheet_aft_end(out, folder):
    export_part(out / "strake_5_sheet.svg", folder, "sheet_aft_end.png", (0, 0.05, 0.28, 1), width=1400, dpi=60)


def shoot_bilge(out, folder):
    export_part(out / "strake_3_sheet.svg", folder, "bilge.png", (0.3, 0.0, 0.62, 0.5), width=1400, dpi=40)


def shoot_butt_map(out, folder):
    export_part(out / "side_butt_map.svg", folder, "butt_map.png", (0, 0, 1, 1), width=1122, dpi=96)


def shoot_boards(out, folder):
    pages = export_pages(out / "side_boards.pdf", folder, dpi=75, last=4)
    lay_side_by_side([pages[0], pages[3]], PICTURES / "boards.png", width=1500, columns=2)


def shoot_roll(out, folder):
    export_part(out / "side_roll.svg", folder, "roll.png", (0, 0, 0.5, 1), width=1600, dpi=8)


def shoot_tiles(out, folder):
    """The first plank's key and tiles."""
    lay_side_by_side(export_pages(out / "side_tiles.pdf", folder, dpi=20, last=4), PICTURES / "tiles.png",
                     width=1400, columns=2)


def shoot_calibration(out, folder):
    """The page to measure a sheet of A3 by, for strake 3."""
    shutil.copy(out / "strake_3.svg", folder / "strake_3.svg")
    subprocess.run([sys.executable, str(HERE.parent / "extensions" / "plank_plot.py"), "--sheets=tiles",
                    "--sheet_size=A3", "--calibration_page=true", "--file_name=calibration", "--folder=%s" % folder,
                    "--output=%s" % (folder / "told.svg"), str(folder / "strake_3.svg")], check=True,
                   env=dict(os.environ, DOCUMENT_PATH=str(folder / "strake_3.svg")), **QUIET)
    page, = export_pages(folder / "calibration.pdf", folder, dpi=75)
    crop(page, PICTURES / "calibration.png", (0, 0, 1, 1), width=1240)


def shoot_record(out, folder):
    command = find_weasyprint()
    if command is None:
        print("record.png stays as it is: there is no WeasyPrint")
        return
    subprocess.run([*command, str(out / "strake_3_record.html"), str(folder / "record.pdf")], check=True, **QUIET)
    lay_side_by_side(export_pages(folder / "record.pdf", folder, dpi=75, last=2), PICTURES / "record.png",
                     width=1240, columns=2)


def shoot_traced(out, folder):
    export_part(BOAT / "strake_5_traced.svg", folder, "traced.png", (0, 0, 1, 1), width=1400, dpi=40)


def shoot_doubtful(out, folder):
    export_part(out / "strake_5_from_marks.svg", folder, "doubtful.png", (0.37, 0.02, 0.61, 0.46), width=1300,
                dpi=72, drawing=True)


def shoot_report(out, folder):
    draw_report(folder, PICTURES / "report.png")


def shoot_stations(out, folder):
    export_part(out / "strake_5_from_trace.svg", folder, "stations.png", (0.63, 0.04, 0.91, 0.5), width=1300,
                dpi=72, drawing=True)


def shoot_dialogs(out, folder):
    shoot_dialog(BOAT / "strake_5_traced.svg", "plankcore.plank-fair", "Fair Plank", PICTURES / "dialog_fair.png",
                 selected="path66")
    for name, title in (("stations", "Frame Stations"), ("section", "Hollow and Bevels"), ("allowance", "Allowances"),
                        ("plot", "Plot Sheets")):
        shoot_dialog(out / "strake_5_from_trace.svg", "plankcore.plank-" + name, title,
                     PICTURES / ("dialog_%s.png" % name), selected="plank-1")


SHOTS = {name[6:]: shot for name, shot in list(globals().items())
         if name.startswith("shoot_") and name != "shoot_dialog"}
_OF_SIDE = ("butt_map", "boards", "roll", "tiles")


def main(names=()):
    unknown = sorted(set(names) - set(SHOTS))
    if unknown:
        raise SystemExit("no picture is called %s; there are: %s" % (", ".join(unknown), ", ".join(SHOTS)))
    names = names or list(SHOTS)
    PICTURES.mkdir(exist_ok=True)
    # "side.toml" takes minutes
    for recipe in ("strake_5.toml", "strake_3.toml", *(["side.toml"] if set(names) & set(_OF_SIDE) else [])):
        subprocess.run([sys.executable, "-m", "plankcore.command.main", "run", str(BOAT / recipe)], check=True,
                       cwd=HERE.parent, **QUIET)
    for name in names:
        with tempfile.TemporaryDirectory() as folder:
            SHOTS[name](BOAT / "out", Path(folder))


if __name__ == "__main__":
    main(sys.argv[1:])
