"""What a refusal must be, and drawings to be refused."""
from __future__ import annotations

import re

from host.inx import SCRIPTS, find_title
from host.scripts import run_script
from lxml import etree

__all__ = ["REFUSED", "TITLES", "check_refusal", "edit", "run_steps"]

TITLES = {script: find_title(script) for script in SCRIPTS}
REFUSED = 251


def check_refusal(result, script, words, before, folder):
    """One well-made message with these words, and a folder as it was."""
    assert result.code == REFUSED, "%d: %s" % (result.code, result.said)
    assert result.out == ""
    match = re.fullmatch(r"%s\n\nProblem: (\S.*)\nRemedy: (\S.*)(?:\nWhere: (\S.*))?\n?" % TITLES[script], result.said)
    assert match, result.said
    assert match.group(1).endswith(".") and match.group(2).endswith(".")
    for word in words:
        assert word in result.said, result.said
    assert "Traceback" not in result.said and "lank-fault" not in result.said and "fault of its own" not in result.said
    assert sorted(p.name for p in folder.iterdir()) == before


def run_steps(folder, data, *scripts, settings=None, select=()):
    """Bytes of a drawing after these actions; settings is {script: {name: value}}."""
    for script in scripts:
        (folder / "in.svg").write_bytes(data)
        (folder / "out.svg").unlink(missing_ok=True)          # what another step wrote there is not replaced
        result = run_script(script, folder / "in.svg", folder / "out.svg", settings=(settings or {}).get(script),
                            select=select)
        assert (result.code, result.said) == (0, ""), result.said
        data = (folder / "out.svg").read_bytes()
        (folder / "out.svg").unlink()             # one action does not replace another's drawing
    return data


def edit(data, change):
    """The drawing after a change to its tree; find(role, edge) finds an object of ours."""
    root = etree.fromstring(data)

    def find(role, edge=None):
        return next(e for e in root.iter() if e.get("{urn:plankcore:1}role") == role
                    and edge in (None, e.get("{urn:plankcore:1}edge")))
    change(find)
    return etree.tostring(root)
