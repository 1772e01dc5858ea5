"""Puts plankcore on the path: it is beside the installed scripts, and one folder up in the source tree. To be loaded
before numpy."""
import os
import sys

# matrices are small here: starting threads takes longer than they would save
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

_here = os.path.dirname(os.path.abspath(__file__))
for _folder in (_here, os.path.dirname(_here)):
    if os.path.isdir(os.path.join(_folder, "plankcore")):
        if _folder not in sys.path:
            sys.path.insert(0, _folder)
        break
