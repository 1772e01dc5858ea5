"""Putting the actions into the editor's folder: our files only, all or nothing, and everything else left as it was."""
import errno
import hashlib
import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from plankcore.command import install, main, places
from plankcore.errors import SettingError

SCRIPTS = {"plank_fair.inx": "<inkscape-extension/>", "plank_fair.py": "print('fair')\n", "plank_plot.inx": "<i/>",
           "plank_plot.py": "",
           "_plank_path.py": "import sys\n", "README.md": "# The actions\n"}
PACKAGE = {"__init__.py": "", "units.py": "INCH = 25.4\n", "geometry/__init__.py": "", "geometry/curve.py": "pass\n"}


def write_tree(folder, files):
    for name, text in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text)


def read_tree(folder):
    """Every file below a folder with its bytes."""
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


@pytest.fixture
def source(tmp_path, monkeypatch):
    """A source tree with what belongs in an installation and what does not."""
    root = tmp_path / "source"
    write_tree(root / "extensions",
               {**SCRIPTS, "notes.txt": "no", "plank_fair.svg": "no", "__pycache__/plank_fair.cpython-311.pyc": "no"})
    write_tree(root / "plankcore", {**PACKAGE, "geometry/__pycache__/curve.cpython-311.pyc": "no",
                                    "geometry/data.json": "no", "extensions/plank_fair.py": "no",
                                    "tests/test_units.py": "no"})
    monkeypatch.setattr(install, "_PACKAGE", root / "plankcore")
    return root


@pytest.fixture
def editor(tmp_path):
    """The editor's extensions folder, with another extension in it."""
    folder = tmp_path / "profile" / "extensions"
    write_tree(folder, {"other/other.inx": "theirs", "own.py": "theirs"})
    return folder


EXPECTED = sorted(list(SCRIPTS) + ["plankcore/" + name for name in PACKAGE])


def test_sources_are_found_in_each_layout(tmp_path, monkeypatch):
    for layout in (".", "extensions", "plankcore/extensions"):
        root = tmp_path / layout.replace("/", "_").replace(".", "beside")
        write_tree(root / "plankcore", PACKAGE)
        write_tree(root / layout, SCRIPTS)
        monkeypatch.setattr(install, "_PACKAGE", root / "plankcore")
        assert install.find_extension_source().resolve() == (root / layout).resolve()
        assert [name for _, name in install.list_files()] == EXPECTED


def test_a_package_without_its_actions_is_refused(tmp_path, monkeypatch):
    write_tree(tmp_path / "plankcore", PACKAGE)
    monkeypatch.setattr(install, "_PACKAGE", tmp_path / "plankcore")
    with pytest.raises(SettingError, match="not found beside the package"):
        install.find_extension_source()


def test_the_list_holds_what_runs_and_nothing_else(source):
    pairs = install.list_files()
    assert [name for _, name in pairs] == EXPECTED
    assert all(path.is_file() for path, _ in pairs)


def test_the_list_of_this_very_source_is_complete():
    names = [name for _, name in install.list_files()]
    assert {"plank_fair.inx", "plank_fair.py", "_plank_path.py", "README.md", "plankcore/__init__.py",
            "plankcore/errors.py"} <= set(names)
    assert len(names) == len(set(names))
    assert {name[:-4] for name in names if name.endswith(".inx")} == {
        name[:-3] for name in names if name.startswith("plank_") and name.endswith(".py")}


def test_fresh_install(source, editor):
    before = read_tree(editor)
    report = install.install(folder=editor)
    ours = editor / "plank_pattern"
    assert report.folder == ours and list(report.written) == EXPECTED
    assert (report.removed, report.kept, report.replaced) == ((), (), ())
    there = read_tree(ours)
    assert sorted(there) == sorted(EXPECTED + ["installed.json"])
    assert there["plank_fair.py"] == (source / "extensions/plank_fair.py").read_bytes()
    assert {name: data for name, data in read_tree(editor).items() if not name.startswith("plank_pattern/")} == before
    manifest = json.loads(there["installed.json"].decode("ascii"))
    assert sorted(manifest) == ["files", "version"]
    assert manifest["files"] == {name: hashlib.sha256(data).hexdigest() for name, data in there.items()
                                 if name != "installed.json"}


def test_installed_actions_find_their_package(tmp_path):
    """The real tree, installed: a process of its own opens the installed package and not the source."""
    install.install(folder=tmp_path / "extensions")
    ours = tmp_path / "extensions" / "plank_pattern"
    script = ("import sys; sys.path.insert(0, sys.argv[1]); import _plank_path, plankcore.units; "
              "print(plankcore.__file__)")
    said = subprocess.run([sys.executable, "-I", "-c", script, str(ours)], stdout=subprocess.PIPE, check=True)
    assert Path(said.stdout.decode().strip()) == ours / "plankcore" / "__init__.py"
    # the compiled copies just made are no strangers
    assert install.install(folder=tmp_path / "extensions").kept == ()
    install.uninstall(folder=tmp_path / "extensions")
    assert not ours.exists()


def test_a_second_run_changes_nothing(source, editor):
    install.install(folder=editor)
    before = {p: (p.read_bytes(), p.stat().st_mtime_ns, p.stat().st_ino) for p in editor.rglob("*") if p.is_file()}
    report = install.install(folder=editor)
    assert (report.written, report.removed, report.kept, report.replaced) == ((), (), (), ())
    assert {p: (p.read_bytes(), p.stat().st_mtime_ns, p.stat().st_ino) for p in editor.rglob("*")
            if p.is_file()} == before
    assert "up to date" in install.describe(report)[0]


def test_the_same_source_gives_the_same_list_anywhere(source, editor, tmp_path):
    install.install(folder=editor)
    install.install(folder=tmp_path / "another")
    assert read_tree(tmp_path / "another/plank_pattern") == read_tree(editor / "plank_pattern")


def test_a_newer_version_replaces_adds_and_removes(source, editor):
    install.install(folder=editor)
    (editor / "plank_pattern/plankcore/geometry/__pycache__").mkdir()
    (editor / "plank_pattern/plankcore/geometry/__pycache__/curve.cpython-38.pyc").write_bytes(b"old")
    (source / "plankcore/units.py").write_text("INCH = 25.400\n")
    (source / "plankcore/stations.py").write_text("")
    for name in ("__init__", "curve"):
        (source / "plankcore/geometry" / (name + ".py")).unlink()
    report = install.install(folder=editor)
    assert report.written == ("plankcore/stations.py", "plankcore/units.py")
    assert report.removed == ("plankcore/geometry/__init__.py", "plankcore/geometry/curve.py")
    assert report.replaced == () and report.kept == ()
    assert not (editor / "plank_pattern/plankcore/geometry").exists()
    assert (editor / "plank_pattern/plankcore/units.py").read_text() == "INCH = 25.400\n"


def test_strangers_in_our_folder_stay_and_are_named(source, editor):
    install.install(folder=editor)
    write_tree(editor / "plank_pattern", {"my_notes.txt": "mine", "plankcore/mine/mine.py": "mine",
                                          "plankcore/mine/__pycache__/mine.cpython-311.pyc": "mine"})
    (editor / "plank_pattern/empty").mkdir()
    strangers = ("my_notes.txt", "plankcore/mine/__pycache__/mine.cpython-311.pyc", "plankcore/mine/mine.py")
    assert install.install(folder=editor).kept == strangers
    report = install.uninstall(folder=editor)
    assert report.kept == strangers and list(report.removed) == EXPECTED
    assert sorted(read_tree(editor / "plank_pattern")) == sorted(strangers)
    assert (editor / "plank_pattern/empty").is_dir()
    assert "Left alone, as not ours: my_notes.txt" in install.describe(report)[-1]


def test_a_changed_file_is_replaced_and_kept_aside_each_time(source, editor):
    install.install(folder=editor)
    ours = editor / "plank_pattern"
    for turn, spare in enumerate(("plank_fair.py.yours", "plank_fair.py.yours2")):
        (ours / "plank_fair.py").write_text("mine %d" % turn)
        report = install.install(folder=editor)
        assert report.replaced == (("plank_fair.py", spare),) and report.written == ("plank_fair.py",)
        assert spare in report.kept
        assert (ours / "plank_fair.py").read_text() == SCRIPTS["plank_fair.py"]
        said = install.describe(report)
        assert "plank_fair.py had been changed by someone; that version is kept as %s." % spare in said
    assert [(ours / name).read_text()
            for name in ("plank_fair.py.yours", "plank_fair.py.yours2")] == ["mine 0", "mine 1"]


def test_a_changed_file_that_is_no_longer_shipped_is_kept_aside(source, editor):
    install.install(folder=editor)
    (editor / "plank_pattern/plankcore/units.py").write_text("mine")
    (source / "plankcore/units.py").unlink()
    report = install.install(folder=editor)
    assert report.removed == ("plankcore/units.py",) and report.replaced == (
        ("plankcore/units.py", "plankcore/units.py.yours"),)
    assert (editor / "plank_pattern/plankcore/units.py.yours").read_text() == "mine"


def test_a_file_of_our_name_that_we_did_not_put_there_is_kept_aside(source, editor):
    write_tree(editor / "plank_pattern", {"plank_plot.py": "theirs", "plank_fair.py": SCRIPTS["plank_fair.py"]})
    report = install.install(folder=editor)
    assert report.replaced == (("plank_plot.py", "plank_plot.py.yours"),)
    assert "plank_fair.py" not in report.written


def test_uninstall_leaves_no_trace_of_ours_and_all_of_the_rest(source, editor):
    before = read_tree(editor)
    install.install(folder=editor)
    write_tree(editor / "plank_pattern",
               {"__pycache__/_plank_path.cpython-311.pyc": "", "plankcore/__pycache__/units.cpython-311.pyc": ""})
    report = install.uninstall(folder=editor)
    assert list(report.removed) == EXPECTED and report.kept == ()
    assert read_tree(editor) == before and not (editor / "plank_pattern").exists()
    assert install.describe(report) == ["10 files removed from %s." % (editor / "plank_pattern")]


def test_uninstall_keeps_a_changed_file_where_the_editor_does_not_load_it(source, editor):
    install.install(folder=editor)
    (editor / "plank_pattern/plank_fair.inx").write_text("mine")
    report = install.uninstall(folder=editor)
    assert report.replaced == (("plank_fair.inx", "plank_fair.inx.yours"),)
    assert read_tree(editor / "plank_pattern") == {"plank_fair.inx.yours": b"mine"}


def test_uninstall_where_nothing_is_installed_is_refused(source, editor):
    with pytest.raises(SettingError, match="not installed"):
        install.uninstall(folder=editor)


@pytest.mark.parametrize("place", ["", "elsewhere", "deep/down/here", "plank_pattern/copy"])
def test_a_second_copy_is_refused_with_its_place(source, editor, place):
    write_tree(editor / place, {"plank_fair.inx": "copy"})
    before = read_tree(editor)
    with pytest.raises(SettingError) as refusal:
        install.install(folder=editor)
    assert str(editor / place) in refusal.value.problem and "Take the files" in refusal.value.remedy
    assert read_tree(editor) == before


def test_a_second_copy_behind_a_link_is_found(source, editor):
    (editor / "work").symlink_to(source / "extensions", target_is_directory=True)
    (editor / "round").symlink_to(editor, target_is_directory=True)
    with pytest.raises(SettingError, match="Another copy"):
        install.install(folder=editor)


def test_a_linked_folder_serves(source, editor, tmp_path):
    (tmp_path / "linked").symlink_to(editor, target_is_directory=True)
    install.install(folder=tmp_path / "linked")
    assert (editor / "plank_pattern/plank_fair.inx").is_file()
    assert install.install(folder=editor).written == ()
    install.uninstall(folder=tmp_path / "linked")
    assert not (editor / "plank_pattern").exists()


def test_our_own_folder_may_be_a_link(source, editor, tmp_path):
    (tmp_path / "far").mkdir()
    (editor / "plank_pattern").symlink_to(tmp_path / "far", target_is_directory=True)
    install.install(folder=editor)
    assert (tmp_path / "far/plank_fair.py").is_file()
    install.uninstall(folder=editor)
    assert list((tmp_path / "far").iterdir()) == [] and (editor / "plank_pattern").is_symlink()


def test_files_behind_a_link_in_our_folder_are_never_touched(source, editor):
    """Someone who works on the source links the package in: neither command may reach through."""
    install.install(folder=editor)
    ours = editor / "plank_pattern"
    for path in sorted((ours / "plankcore").rglob("*"), reverse=True):
        path.unlink() if path.is_file() else path.rmdir()
    (ours / "plankcore").rmdir()
    (ours / "plankcore").symlink_to(source / "plankcore", target_is_directory=True)
    before = read_tree(source)
    for act in (install.install, install.uninstall):
        with pytest.raises(SettingError, match="is a link"):
            act(folder=editor)
    assert read_tree(source) == before


@pytest.mark.parametrize("failing", range(1, 14))
@pytest.mark.parametrize("call", ["write_bytes", "replace"])
def test_a_failure_part_way_leaves_the_old_as_it_was(source, editor, monkeypatch, call, failing):
    """The disk fails at the nth step: everything is back, nothing is left lying about."""
    install.install(folder=editor)
    write_tree(editor / "plank_pattern", {"plank_fair.py": "mine", "stranger.txt": "theirs"})
    for name in ("plankcore/units.py", "plankcore/geometry/curve.py", "extensions/plank_fair.inx"):
        (source / name).write_text("newer")
    write_tree(source, {"plankcore/new/one.py": "new", "plankcore/new/two.py": "new"})
    (source / "extensions/plank_plot.py").unlink()
    before, folders = read_tree(editor), sorted(p for p in editor.rglob("*") if p.is_dir())
    owner = Path if call == "write_bytes" else os
    real, count = getattr(owner, call), [0]

    def break_down(*given):
        count[0] += 1
        if count[0] == failing:
            raise OSError(errno.ENOSPC, "No space left on device", str(given[0]))
        return real(*given)

    with monkeypatch.context() as patch:
        patch.setattr(owner, call, break_down)
        try:
            install.install(folder=editor)
        except SettingError as refusal:
            assert "No space left" in refusal.problem and "--folder" in refusal.remedy
            assert read_tree(editor) == before and sorted(p for p in editor.rglob("*") if p.is_dir()) == folders
        else:
            assert call == "write_bytes" and failing > 7          # six new files and the list
    assert install.install(folder=editor).kept


def test_a_failed_uninstall_leaves_everything(source, editor, monkeypatch):
    install.install(folder=editor)
    before = read_tree(editor)
    real = os.replace

    def break_down(now, then):
        if str(now).endswith("units.py"):
            raise PermissionError(errno.EACCES, "Permission denied", str(now))
        return real(now, then)

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", break_down)
        with pytest.raises(SettingError, match="Permission denied"):
            install.uninstall(folder=editor)
    assert read_tree(editor) == before


def test_a_folder_where_a_file_should_be_is_refused(source, editor):
    (editor / "plank_pattern/plank_fair.py").mkdir(parents=True)
    with pytest.raises(SettingError, match="cannot be written"):
        install.install(folder=editor)
    assert read_tree(editor / "plank_pattern") == {}


@pytest.mark.parametrize("name", ["../own.py", "/etc/none", "plankcore/../../own.py", "..\\own.py", "C:own.py",
                                  "installed.json", ""])
def test_a_list_that_points_elsewhere_is_not_followed(source, editor, name):
    install.install(folder=editor)
    listing = editor / "plank_pattern/installed.json"
    files = json.loads(listing.read_text())
    files["files"][name] = hashlib.sha256(b"theirs").hexdigest()
    listing.write_text(json.dumps(files))
    assert name not in install.uninstall(folder=editor).removed
    assert (editor / "own.py").read_text() == "theirs" and not (editor / "plank_pattern").exists()


@pytest.mark.parametrize("text", ["", "{", "[]", "{}", '{"files": []}', '{"files": 3}', "\ufeff\u00e9"])
def test_a_spoilt_list_is_refused_with_a_remedy(source, editor, text):
    install.install(folder=editor)
    (editor / "plank_pattern/installed.json").write_bytes(text.encode("utf-8"))
    before = read_tree(editor)
    for act in (install.install, install.uninstall):
        with pytest.raises(SettingError) as refusal:
            act(folder=editor)
        assert "cannot be read" in refusal.value.problem and str(editor / "plank_pattern") in refusal.value.remedy
    assert read_tree(editor) == before
    (editor / "plank_pattern/installed.json").unlink()            # the remedy
    assert install.install(folder=editor).written == () and list(install.uninstall(folder=editor).removed) == EXPECTED


def test_a_file_where_our_folder_should_be_is_refused(source, editor):
    write_tree(editor, {"plank_pattern": "theirs"})
    before = read_tree(editor)
    for act in (install.install, install.uninstall):
        with pytest.raises(SettingError):
            act(folder=editor)
    assert read_tree(editor) == before


# where the editor's folder is


@pytest.fixture
def no_editor(monkeypatch, tmp_path):
    """No editor on the path, and a home of our own."""
    monkeypatch.delenv("INKSCAPE_PROFILE_DIR", raising=False)
    monkeypatch.delenv("XDG_CONFIG_HOME", raising=False)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setattr(places.shutil, "which", lambda name: None)
    return tmp_path


def test_a_told_folder_is_taken_and_made(source, tmp_path):
    report = install.install(folder=str(tmp_path / "new"))
    assert report.folder == tmp_path / "new" / "plank_pattern" and (report.folder / "plank_fair.inx").is_file()


@pytest.mark.parametrize("told, problem",
                         [("missing/extensions", "no folder"), ("", "no name"), ("file", "not a folder"),
                                           ("plank_pattern", "made for the actions"), ("profile", "user folder"),
                          ("~nobody-of-that-name/x/y", "no folder")])
def test_a_folder_that_cannot_be_it_is_refused(source, tmp_path, told, problem):
    write_tree(tmp_path, {"file": "", "profile/preferences.xml": ""})
    before = read_tree(tmp_path)
    with pytest.raises(SettingError, match=problem):
        install.install(folder=told and str(tmp_path / told) if told[:1] != "~" else told)
    assert read_tree(tmp_path) == before


def test_the_home_sign_is_understood(no_editor):
    (no_editor / "home").mkdir()
    assert places.find_user_extensions(folder="~/extensions") == no_editor / "home/extensions"


def test_the_profile_of_the_environment_comes_first(no_editor, monkeypatch):
    monkeypatch.setenv("INKSCAPE_PROFILE_DIR", str(no_editor / "profile"))
    with pytest.raises(SettingError, match="profile"):
        places.find_user_extensions()
    (no_editor / "profile").mkdir()
    assert places.find_user_extensions() == no_editor / "profile/extensions"


def answer(monkeypatch, said):
    def run(command, **how):
        assert command == ["found", "--user-data-directory"] and how["timeout"] > 0
        if isinstance(said, Exception):
            raise said
        return subprocess.CompletedProcess(command, 0, said)
    monkeypatch.setattr(places.shutil, "which", lambda name: "found")
    monkeypatch.setattr(places.subprocess, "run", run)


@pytest.mark.parametrize("said", ["{0}\n", "Some remark of the desktop\n{0}\r\n", "\n{0}"])
def test_the_editor_is_asked(no_editor, monkeypatch, said):
    (no_editor / "b\u00f6rd").mkdir()
    answer(monkeypatch, said.format(no_editor / "b\u00f6rd").encode("utf-8"))
    assert places.find_user_extensions() == no_editor / "b\u00f6rd/extensions"


def test_an_answer_in_the_systems_own_letters_is_read(no_editor, monkeypatch):
    (no_editor / "b\u00f6rd").mkdir()
    answer(monkeypatch, str(no_editor / "b\u00f6rd").encode("latin-1"))
    monkeypatch.setattr(places.locale, "getpreferredencoding", lambda ask: "latin-1")
    assert places.find_user_extensions() == no_editor / "b\u00f6rd/extensions"


def test_the_editors_word_is_final(no_editor, monkeypatch):
    (no_editor / "home/.config/inkscape").mkdir(parents=True)
    answer(monkeypatch, str(no_editor / "gone").encode())
    with pytest.raises(SettingError, match="gone"):
        places.find_user_extensions()


@pytest.mark.parametrize("said",
                         [b"", b"nothing to the point\n", OSError("no"), subprocess.TimeoutExpired("inkscape", 60)])
def test_an_editor_that_does_not_answer_leaves_the_usual_place(no_editor, monkeypatch, said):
    (no_editor / "home/.config/inkscape").mkdir(parents=True)
    answer(monkeypatch, said)
    assert places.find_user_extensions() == no_editor / "home/.config/inkscape/extensions"


@pytest.mark.parametrize("platform, variable, data", [
    ("linux", None, "home/.config/inkscape"),
    ("linux", ("XDG_CONFIG_HOME", "elsewhere"), "elsewhere/inkscape"),
    ("win32", ("APPDATA", "roaming"), "roaming/inkscape"),
    ("win32", None, "home/AppData/Roaming/inkscape"),
    ("darwin", None, "home/Library/Application Support/org.inkscape.Inkscape/config/inkscape")])
def test_the_usual_place_of_each_system(no_editor, monkeypatch, platform, variable, data):
    monkeypatch.delenv("APPDATA", raising=False)
    monkeypatch.setattr(places.sys, "platform", platform)
    if variable:
        monkeypatch.setenv(variable[0], str(no_editor / variable[1]))
    with pytest.raises(SettingError) as refusal:
        places.find_user_extensions()
    assert str(no_editor / data) in refusal.value.problem and "--folder" in refusal.value.remedy
    (no_editor / data).mkdir(parents=True)
    assert places.find_user_extensions() == no_editor / data / "extensions"


# what is said, and the zip


def test_the_report_is_told_in_plain_sentences(source, editor):
    said = install.describe(install.install(folder=editor))
    assert said == ["10 files written to %s." % (editor / "plank_pattern"),
                    "Start the editor again; the actions are under Extensions > Plank Pattern."]
    (editor / "plank_pattern/plank_fair.py").unlink()
    write_tree(editor / "plank_pattern", {"n%02d" % k: "" for k in range(12)})
    said = install.describe(install.install(folder=editor))
    assert said[0].startswith("1 file written") and said[-1].endswith("n09 and 2 more.")


def test_the_report_cannot_be_changed(source, editor):
    with pytest.raises(AttributeError):
        install.install(folder=editor).written = ()


def test_the_zip_holds_the_same_as_an_installation(source, tmp_path):
    names = main.write_archive(tmp_path / "plank.zip")
    with zipfile.ZipFile(str(tmp_path / "plank.zip")) as held:
        assert held.namelist() == names == EXPECTED
        assert held.testzip() is None
        assert held.read("plankcore/units.py") == b"INCH = 25.4\n"
        assert {entry.external_attr >> 16 for entry in held.infolist()} == {0o644}
    assert not any(name.endswith(("setup.py", ".json")) for name in names)


def test_an_unzipped_copy_is_a_source_of_its_own(source, tmp_path, monkeypatch):
    main.write_archive(tmp_path / "plank.zip")
    with zipfile.ZipFile(str(tmp_path / "plank.zip")) as held:
        held.extractall(str(tmp_path / "out"))
    monkeypatch.setattr(install, "_PACKAGE", tmp_path / "out/plankcore")
    assert main.write_archive(tmp_path / "again.zip") == EXPECTED
    assert (tmp_path / "again.zip").read_bytes() == (tmp_path / "plank.zip").read_bytes()


def test_the_zip_is_the_same_to_the_byte(source, tmp_path):
    main.write_archive(tmp_path / "one.zip")
    for path in source.rglob("*.py"):
        os.utime(str(path), (1e9, 1e9))
    main.write_archive(str(tmp_path / "two.zip"))
    main.write_archive(tmp_path / "one.zip")
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["one.zip", "source", "two.zip"]


@pytest.mark.parametrize("path, problem", [("missing/plank.zip", "no folder"), ("source", "is a folder")])
def test_a_zip_without_a_place_is_refused(source, tmp_path, path, problem):
    with pytest.raises(SettingError, match=problem):
        main.write_archive(tmp_path / path)
    assert [p.name for p in tmp_path.iterdir()] == ["source"]


def test_a_zip_that_fails_part_way_leaves_the_old_one(source, tmp_path, monkeypatch):
    main.write_archive(tmp_path / "plank.zip")
    before = (tmp_path / "plank.zip").read_bytes()

    def break_down(self, *given):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(zipfile.ZipFile, "writestr", break_down)
    with pytest.raises(SettingError, match="No space left"):
        main.write_archive(tmp_path / "plank.zip")
    assert (tmp_path / "plank.zip").read_bytes() == before
    assert sorted(p.name for p in tmp_path.iterdir()) == ["plank.zip", "source"]
