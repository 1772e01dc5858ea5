"""The watch on the editor: planted faults in an action must not pass unseen."""
import pytest
from host import editor
from host.editor import EditorRun

INX = """<inkscape-extension xmlns="http://www.inkscape.org/namespace/inkscape/extension">
<name>%(name)s</name><id>plankcore.%(name)s</id>
<effect><object-type>all</object-type><effects-menu hidden="true"/></effect>
<script><command location="inx" interpreter="python">%(name)s.py</command></script></inkscape-extension>"""
FAULTS = {
    "plank_noisy": "import sys\nprint(open(sys.argv[-1]).read())\nsys.stderr.write('a word')\n",
    "plank_failing": "import sys\nsys.exit(3)\n",
    "plank_quiet": "import sys\nprint(open(sys.argv[-1]).read())\n",
}


@pytest.fixture(scope="module")
def run(display, tmp_path_factory):
    """One run of the editor with three actions of the tests' own."""
    folder = tmp_path_factory.mktemp("faults")
    profile = editor.make_profile(folder / "profile")
    for name, text in FAULTS.items():
        (profile / "extensions" / (name + ".inx")).write_text(INX % {"name": name})
        (profile / "extensions" / (name + ".py")).write_text(text)
    drawing = folder / "in.svg"
    drawing.write_text('<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 '
                       '100"><path id="a" d="M 0 0 H 10"/></svg>')
    # one whose script is not there
    (profile / "extensions" / "plank_broken.inx").write_text(INX % {"name": "plank_broken"})
    return editor.run_actions(drawing, ["select-by-id:a", *FAULTS, "plank_unknown"], profile=profile, display=display)


def test_what_actions_do_and_say_is_kept(run):
    noisy, failing, quiet = run.actions
    assert (noisy.code, noisy.said) == (0, "a word")
    assert (failing.code, failing.said) == (3, "")
    assert (quiet.code, quiet.said) == (0, "")
    assert "--id=a" in quiet.arguments


def test_planted_faults_are_caught(run):
    noisy, failing, quiet = run.actions
    EditorRun((quiet,), "").check("plank_quiet")
    EditorRun((noisy,), "").check("plank_noisy", may_speak=["plank_noisy"])
    with pytest.raises(AssertionError, match="plank_broken"):
        EditorRun((quiet,), "", run.failed).check("plank_quiet")
    for bad in (noisy, failing):
        with pytest.raises(AssertionError, match=bad.script):
            EditorRun((quiet, bad), "").check("plank_quiet", bad.script)
    with pytest.raises(AssertionError):
        EditorRun((), "").check("plank_quiet")                       # it never ran
    with pytest.raises(AssertionError):
        EditorRun((quiet, quiet), "").check("plank_quiet")           # it ran twice


def test_an_action_the_editor_does_not_know_is_caught(run):
    with pytest.raises(AssertionError, match="could not find action"):
        EditorRun((), run.log).check()


def test_all_actions_load_and_one_that_does_not_is_caught(run):
    assert run.failed == ("plank_broken",)
