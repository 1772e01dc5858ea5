"""Puts plankcore on the path: beside the scripts where they are installed, one folder up in the source tree; loaded
before numpy.
"""
import os
import sys

# matrices are small here: starting a thread for each core takes longer than the threads would save
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

_here = os.path.dirname(os.path.abspath(__file__))
for _folder in (_here, os.path.dirname(_here)):
    if os.path.isdir(os.path.join(_folder, "plankcore")):
        if _folder not in sys.path:
            sys.path.insert(0, _folder)
        break
