"""One kind of reading faired along the plank: with the same fairing as the edges, interpolated between frames, and
constant beyond the outermost."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.arrays import find_median
from ..geometry.bezier import hermite_to_cubics
from ..geometry.curve import Curve
from ..geometry.interpolation import hold_within
from ..geometry.readings import find_doubtful, fit_ladder

if TYPE_CHECKING:
    from typing import Any, Callable, Sequence

    from ..geometry.arrays import ArrayLike, Numbers, Values

__all__ = ["TREATMENTS", "ReadingLine", "fair_line"]

TREATMENTS = ("keep", "leave out")
# share of the honest error by which a fair line may go beyond both neighbours without any check. Common practice, no
# source
ROOM = 0.1
_PIECE_MM = 20.0          # length of the cubics for a faired line: they follow a wave of 600 mm to 1e-5 of its height


@dataclass(frozen=True, eq=False, repr=False)
class ReadingLine:
    """One kind of reading along the plank: a function of the distance along the baseline, mm, constant beyond first_mm
    and last_mm.

    labels : frames that gave it. doubtful : (label, reading, prediction from the others) for readings that contradict
    the others.
    places_mm, readings : of the frames that gave it, in order. left_out : labels of doubtful readings that were not
    used. held : of each stretch
        between two of them, whether the smooth fit overshot there, so that the line was limited to the range of the two
        readings. is_kept : whether there were too few readings to be faired, so that the line passes through all.
    """

    function: Callable[[Any], Any]
    first_mm: float
    last_mm: float
    labels: tuple[str, ...]
    doubtful: tuple[tuple[str, float, float], ...] = ()
    places_mm: tuple[float, ...] = ()
    left_out: tuple[str, ...] = ()
    readings: tuple[float, ...] = ()
    held: tuple[bool, ...] = ()
    is_kept: bool = False

    def evaluate(self, x: ArrayLike) -> Values:
        """Values (n,) at x (n,)."""
        return self.function(np.clip(np.asarray(x, float), self.first_mm, self.last_mm))

    def tell(self, label: str, x: float) -> str:
        """'given', 'between' or 'beyond'."""
        if label in self.labels:
            return "given"
        return "between" if self.first_mm < x < self.last_mm else "beyond"

    def _find_stretch(self, x):
        """Index of the stretch between two readings that contains x, or None."""
        if len(self.places_mm) < 2 or not self.first_mm < x < self.last_mm:
            return None
        return min(int(np.searchsorted(self.places_mm, x, side="right")) - 1, len(self.places_mm) - 2)

    def is_held(self, x: float) -> bool:
        """Whether the line at x was limited to the range of the readings on both sides."""
        stretch = self._find_stretch(x)
        return stretch is not None and bool(self.held) and self.held[stretch]

    def measure_beyond(self, x: float) -> tuple[float, tuple[str, ...]]:
        """(how far the line at x goes beyond the range of the readings on both sides, signed; their two labels). The
        first is 0 within the range; (0, ()) where x does not lie between two readings."""
        stretch = self._find_stretch(x)
        if stretch is None:
            return 0.0, ()
        value, pair = float(self.evaluate([x])[0]), self.readings[stretch:stretch + 2]
        return max(value - max(pair), 0.0) + min(value - min(pair), 0.0), self.labels[stretch:stretch + 2]

    def find_kept_beside(self, x: float) -> list[str]:
        """Labels of doubtful readings that were kept, among the nearest readings on both sides of x."""
        count = int(np.searchsorted(self.places_mm, x)) if self.places_mm else 0
        beside = self.labels[max(count - 1, 0):count + 1]
        return [label for label, _, _ in self.doubtful if label in beside and label not in self.left_out]


def fair_line(x: Numbers, y: Numbers, errors: Numbers, labels: Sequence[str], *, shortest_wave_mm: float,
              doubtful: str = "keep") -> ReadingLine:
    """Fair one kind of reading. A single one is constant along the plank, two give a straight line, up to
    error_ladder.FEW a line through all, more a smoothing spline.

    Parameters
    ----------
    x, y, errors : sequence of float
        Distance along, reading, and the reading's honest error.
    labels : sequence of str
    doubtful : str
        One of TREATMENTS. The line follows a doubtful reading that is kept.

    Between two frames the line stays within the range of their readings (geometry.interpolation.hold_within), unless
    the readings round about confirm an extremum between them: then it may go beyond both, and `measure_beyond` says by
    how much.
    The errors are the largest the readings may honestly have (geometry.error_ladder): exactly smooth readings are kept
    as they were read, and so are readings that are too few to tell a bend from an error.

    Returns
    -------
    ReadingLine
    """
    x, y, errors = (np.asarray(v, float) for v in (x, y, errors))
    names, count = tuple(labels), len(x)
    if count == 1:
        return ReadingLine(lambda at: np.full(np.shape(at), y[0]), float(x[0]), last_mm=float(x[0]), labels=names,
                           doubtful=(), places_mm=tuple(x), left_out=(),
                           readings=tuple(y))
    if count == 2:
        return ReadingLine(lambda at: np.interp(at, x, y), float(x[0]), last_mm=float(x[1]), labels=names,
                           doubtful=(), places_mm=tuple(x), left_out=(), readings=tuple(y),
                           held=(), is_kept=True)
    wave = max(shortest_wave_mm, 2 * float(np.ptp(x)) / (count - 1))
    wrong = find_doubtful(x, y, errors, np.ones(count), shortest_wave_mm=wave)

    def fit(keep):
        return fit_ladder(x[keep], y[keep], errors[keep], shortest_wave=shortest_wave_mm)
    enough = int((~wrong).sum()) >= 2
    said: tuple[tuple[str, float, float], ...] = ()
    trusted = fit(~wrong) if wrong.any() and enough else None
    if wrong.any():
        # if nearly all contradict each other the prediction is the median of all, and none can be left out
        others = trusted.evaluate(x[wrong]) if trusted is not None else np.full(int(wrong.sum()), find_median(y))
        said = tuple((names[i], float(y[i]), float(o)) for i, o in zip(np.flatnonzero(wrong), others))
    kept = np.flatnonzero(~wrong) if wrong.any() and enough and doubtful == "leave out" else np.arange(count)
    followed = trusted if trusted is not None and len(kept) < count else fit(np.ones(count, bool))
    free = _tabulate(followed, float(x[kept[0]]), float(x[kept[-1]]))
    curve, held = hold_within(free, x[kept], y[kept], room=ROOM * errors[kept])
    return ReadingLine(curve, float(x[kept[0]]), last_mm=float(x[kept[-1]]), labels=tuple(names[i] for i in kept),
                       doubtful=said,
                       places_mm=tuple(x[kept]),
                       left_out=tuple(name for name, _, _ in said) if len(kept) < count else (),
                       readings=tuple(y[kept]),
                       held=tuple(map(bool, held)), is_kept=followed.is_kept)


def _tabulate(fit, first, last):
    """A faired line converted to cubics of equal length, since it is evaluated at many places and the sum of kernels is
    slow. Returns free(at, derivative=0 or 1)."""
    count = max(int(np.ceil((last - first) / _PIECE_MM)), 1)
    nodes = np.linspace(first, last, count + 1)
    values, slopes = (fit.evaluate(nodes, derivative=k) for k in (0, 1))
    curve = Curve(hermite_to_cubics(np.stack([nodes, values], 1), np.stack([np.ones(count + 1), slopes], 1), nodes))

    def free(at, *, derivative=0):
        at = np.asarray(at, float)
        return fit.evaluate(at,
                            derivative=1) if derivative else curve.evaluate((at - first) / (last - first) * count)[:, 1]
    return free
