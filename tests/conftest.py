"""What all tests share: numpy's linear algebra on one thread.

Our matrices are small. With a thread to each core, most of the processor's time goes into threads that wait for each
other: the file on the wander of a pen took eight times as long. Programs that tests start inherit the setting. It has
to be made before numpy is loaded, by whomever.
"""
import os

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")
