"""A process that has loaded the libraries once and runs each action in a child of its own, as if it were started anew.

Most of what a script costs is loading inkex and numpy. A child made by fork has them, and shares nothing else with what
ran before it: its arguments, environment, folder, warnings and files are those of a fresh process, and so is what it
leaves: exit code, stdout, stderr. What PYTHONPATH names comes first, and its sitecustomize is run, as Python does when
it starts. The tests that say which Python to use start real processes.
"""
from __future__ import annotations

import atexit
import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

__all__ = ["run_in_nursery"]

TIMEOUT_S = 300           # of a busy machine
_HERE = Path(__file__).resolve()
_ROOT = _HERE.parents[2]
_open = []                # the process, once there is one


def run_in_nursery(script, arguments, env, *, strict=False):
    """Run a script: (exit code, stdout, stderr), bytes. None where this machine cannot fork.

    strict : warnings are errors, as with -W error.
    """
    if not hasattr(os, "fork"):
        return None
    if not _open or _open[0].poll() is not None:
        _open[:] = [subprocess.Popen([sys.executable, str(_HERE)], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                                     env=dict(os.environ, PYTHONDONTWRITEBYTECODE="1"))]
        atexit.register(_close, _open[0])
    server = _open[0]
    with tempfile.TemporaryDirectory() as folder:
        told = {"script": str(script), "arguments": list(arguments), "env": env, "cwd": os.getcwd(), "folder": folder,
                "strict": strict}
        server.stdin.write(json.dumps(told).encode("ascii") + b"\n")
        server.stdin.flush()
        answer = server.stdout.readline()
        assert answer, "the nursery ended"
        return (json.loads(answer)["code"], *((Path(folder) / name).read_bytes() for name in ("out", "err")))


def _close(server):
    server.stdin.close()
    server.wait(timeout=TIMEOUT_S)
    server.stdout.close()


def _serve():
    """Answer one request a line until there are no more."""
    sys.path[0] = str(_ROOT)
    sys.path.insert(0, str(_ROOT / "extensions"))
    import inkex  # noqa: F401 - loaded for the children
    import lxml.etree  # noqa: F401
    import numpy  # noqa: F401

    import plankcore.document.extension  # noqa: F401
    sys.path.remove(str(_ROOT))
    for line in sys.stdin:
        told = json.loads(line)
        child = os.fork()
        if not child:
            _become(told)
        status = os.waitpid(child, 0)[1]
        code = os.WEXITSTATUS(status) if os.WIFEXITED(status) else -os.WTERMSIG(status)
        os.write(1, json.dumps({"code": code}).encode("ascii") + b"\n")


def _become(told):
    """The child's part: never comes back."""
    import importlib
    import runpy
    import signal
    import traceback
    import warnings
    signal.alarm(TIMEOUT_S)
    for number, name in ((0, os.devnull), (1, "out"), (2, "err")):
        handle = os.open(os.path.join(told["folder"], name), os.O_RDWR | os.O_CREAT, 0o600)
        os.dup2(handle, number)
        os.close(handle)
    sys.stdin, sys.stdout, sys.stderr = (os.fdopen(k, mode, encoding="utf-8", closefd=False)
                                         for k, mode in ((0, "r"), (1, "w"), (2, "w")))
    os.environ.clear()
    os.environ.update(told["env"])
    os.chdir(told["cwd"])
    sys.argv = [told["script"], *told["arguments"]]
    code = None
    if told["strict"]:
        warnings.simplefilter("error")
    try:
        added = [p for p in told["env"].get("PYTHONPATH", "").split(os.pathsep) if p and p not in sys.path]
        sys.path[:0] = added
        if any(os.path.isfile(os.path.join(p, "sitecustomize.py")) for p in added):
            sys.modules.pop("sitecustomize", None)
            importlib.import_module("sitecustomize")
        runpy.run_path(told["script"], run_name="__main__")
        code = 0
    except SystemExit as end:
        code = 0 if end.code is None else end.code if isinstance(end.code, int) else 1
        if isinstance(end.code, str):
            print(end.code, file=sys.stderr)
    finally:
        if code is None:
            traceback.print_exc()
        for stream in (sys.stdout, sys.stderr):
            stream.flush()
        os._exit(1 if code is None else code & 255)


if __name__ == "__main__":
    _serve()
