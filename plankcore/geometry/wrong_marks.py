"""Wrong marks along one or two smooth curves, distinguished from rough curves and from errors that are larger than
stated.

Each suspicion is a hypothesis: one mark is wrong, or two neighbours are. Its odds are the ratio of the marks'
likelihood with and without it, averaged over the ladder of smoothness (spline_ladder) and over errors that may be
larger than stated. The likeliest suspicion is believed if its odds are high; its marks are then set aside, and the
search is repeated. A wrong mark is assumed to be off by about GROSS errors, so that at an end, where the others predict
a mark badly, a smaller relative deviation is enough than in the middle (J. Neyman and E. Pearson, Phil. Trans. A 231,
1933, doi:10.1098/rsta.1933.0009). Where a real hump of the edge would explain the marks as well as a slip, the marks
are believed.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .ordered import list_distinct
from .spline_ladder import add_logs, build_ladder

if TYPE_CHECKING:
    from typing import Sequence

    from .arrays import Array, Mask, Values
    from .spline_ladder import Ladder

__all__ = ["Suspicion", "find_wrong_marks"]

GROSS, SPREAD = 10.0, 4.0       # mean and spread of how far off a wrong mark is, in errors
SCALES = (1.0, 1.6, 2.6)         # factors by which the errors may be larger than stated
SCALE_PRIOR = (0.8, 0.14, 0.06)  # prior probabilities of these factors
PAIR_ODDS = -2.3                # prior log odds of two wrong neighbours against one wrong mark
BELIEVED = 3.0                  # log odds above which a suspicion is believed
SCATTERED = 7.0                 # the same where all marks scatter by at least twice their errors
COMPANION = 1.5                 # a neighbour whose log odds are within this of the mark's may be the wrong one instead
HUMP = 20.0                     # height that a real hump may have, in errors
HUMP_WAVES = (1.0, 1.3)         # lengths of a hump at half height, in shortest waves
FEWEST = 5                      # fewest places on a curve for any suspicion
MOST_WRONG = 0.25  # if more than this share of the marks look wrong, it is the stated errors that are wrong


@dataclass(frozen=True, eq=False, repr=False)
class Suspicion:
    """wrong : (n,) which marks contradict the others. scale : factor, 1 or more, by which the errors of the rest look
    larger than stated."""

    wrong: Mask
    scale: float


def find_wrong_marks(x: Values, y: Values, errors: Values, signs: Values, *, shortest_wave: float,
                     breaks: Sequence[tuple[float, float]] = ()) -> Suspicion:
    """Marks that contradict the others.

    Parameters
    ----------
    As `spline_process.fit_process`.

    Returns
    -------
    Suspicion
        Near an end it may be unclear which of two neighbours is wrong: then both are named.
    """
    x, y, errors, signs = (np.asarray(v, float) for v in (x, y, errors, signs))
    wrong, scale = np.zeros(len(x), bool), 1.0
    while True:
        keep = np.flatnonzero(~wrong)
        places = [list_distinct(x[keep][signs[keep] == s]).size for s in list_distinct(signs[keep])]
        if min(places) < FEWEST or len(places) < len(list_distinct(signs)):
            return Suspicion(wrong, scale)
        orders = (3, 4) if min(places) > FEWEST + 1 else (2, 3)
        try:
            opinions = [_weigh(build_ladder(x[keep], y[keep], errors[keep], signs[keep], shortest_wave=shortest_wave,
                                            order=order, breaks=breaks)) for order in orders]
        except ValueError:
            return Suspicion(wrong, scale)          # too few marks beside a break to compare any with the others
        named, scale = _name_worst(opinions, shortest_wave)
        if not named or wrong.sum() + len(named) > max(MOST_WRONG * len(x), 1):
            return Suspicion(wrong, scale)
        wrong[keep[list(named)]] = True


@dataclass(frozen=True, eq=False, repr=False)
class _Opinion:
    """Log likelihoods with one order: no mark wrong (scales,), each one wrong (n, scales), each pair wrong (p, scales)
    with the pairs' marks (p, 2); and the ladder they were computed from."""

    ladder: Ladder
    sound: Values
    singles: Values
    pairs: Values
    marks: Array


def _weigh(ladder: Ladder) -> _Opinion:
    scales, prior = np.array(SCALES), np.log(SCALE_PRIOR)
    singles = np.empty((len(ladder.at), len(scales)))
    pairs, marks, sound = [], [], np.zeros(len(scales))
    for sign, view in ladder.views.items():
        mine = np.flatnonzero(ladder.signs == sign)
        mine = mine[np.argsort(ladder.at[mine], kind="stable")]
        logs = np.stack([view.weigh(s) for s in scales], axis=1)[:, None]
        sound = add_logs(logs[:, 0]) + prior
        d, p = (v[:, mine, None] / scales ** 2 for v in (view.diagonal, view.pull))
        errors = ladder.errors[mine, None]
        singles[mine] = add_logs(logs + _shift(p, d, GROSS * errors, SPREAD * errors)) + prior
        a, b = mine[:-1], mine[1:]
        both = np.einsum("gra,gra->ga", view.half[:, :, a], view.half[:, :, b])[:, :, None] / scales ** 2
        pairs.append(add_logs(logs + _shift_two(p, d, both, errors)) + prior)
        marks.append(np.stack([a, b], axis=1))
    return _Opinion(ladder, sound, singles, pairs=np.concatenate(pairs), marks=np.concatenate(marks))


def _shift(p, d, shift, spread):
    """Log likelihood ratio if one point, or a shape added to several, is off by shift or -shift, with standard
    deviation spread. p : the shape times the pull. d : the projector's quadratic form of the shape (see
    spline_ladder.Rungs).

    Taking off a times the shape multiplies the likelihood by exp(a p - a^2 d / 2); its mean over a normal a has a
    closed form.
    """
    around = 1 + spread ** 2 * d
    least, tilt = spread ** 2 * p ** 2 - shift ** 2 * d, 2 * shift * p
    high = np.abs(tilt)
    return (0.5 * (least + high) / around + np.log1p(np.exp(-high / around)) - np.log(2)
            - 0.5 * np.log(around))


def _shift_two(p, d, both, errors):
    """The same for two neighbours: with equal odds off by the same amount, or each by an amount of its own."""
    pa, pb, da, db = p[:, :-1], p[:, 1:], d[:, :-1], d[:, 1:]
    size = (errors[:-1] + errors[1:]) / 2
    alike = _shift(pa + pb, da + db + 2 * both, GROSS * size, SPREAD * size)
    each = (GROSS * size) ** 2
    first, second = da + 1 / each, db + 1 / each
    det = first * second - both ** 2
    free = 0.5 * (pa ** 2 * second - 2 * pa * pb * both + pb ** 2 * first) / det - 0.5 * np.log(det * each ** 2)
    return np.logaddexp(alike, free) - np.log(2)


def _weigh_hump(ladder: Ladder, marks: tuple[int, ...], wave: float) -> Values:
    """Log likelihood (scales,) if the curve has a hump or a hollow at this mark or between these two, for the likelier
    length of it."""
    sign = int(ladder.signs[marks[0]])
    view, mine = ladder.views[sign], ladder.signs == sign
    lengths = wave * np.array(HUMP_WAVES)
    away = (ladder.at - np.mean(ladder.at[list(marks)]))[:, None] * ladder.scale / lengths
    shapes = np.exp(-4 * np.log(2) * away ** 2) * mine[:, None]
    logs = np.stack([view.weigh(s) for s in SCALES], axis=1)[:, None]
    d = np.sum((view.half @ shapes) ** 2, axis=1)[:, :, None] / np.square(SCALES)
    p = (view.pull @ shapes)[:, :, None] / np.square(SCALES)
    found = add_logs(logs + _shift(p, d, 0.0, HUMP * float(np.mean(ladder.errors[list(marks)]))))
    return np.max(found, axis=0) + np.log(SCALE_PRIOR)


def _name_worst(opinions: list[_Opinion], wave: float) -> tuple[tuple[int, ...], float]:
    """Marks of the likeliest suspicion (empty where it is not believed), and the scale of the errors without them."""
    sound = [add_logs(o.sound) for o in opinions]

    def average(logs):
        return add_logs(np.array([add_logs(v, axis=-1) - s for v, s in zip(logs, sound)])) - np.log(len(sound))
    singles, pairs = average([o.singles for o in opinions]), average([o.pairs for o in opinions]) + PAIR_ODDS
    one, two = int(np.argmax(singles)), int(np.argmax(pairs))
    alone = bool(singles[one] >= pairs[two])
    odds = singles[one] if alone else pairs[two]
    larger = np.mean([_share(o.singles[one] if alone else o.pairs[two]) for o in opinions], axis=0)[1:].sum()
    first = opinions[0]
    marks = (one,) if alone else tuple(int(k) for k in first.marks[two])
    if odds < (SCATTERED if larger > 0.5 else BELIEVED) or all(_is_inner(first.ladder, k) for k in marks) and (
            odds < average([_weigh_hump(o.ladder, marks, wave) for o in opinions])):
        return (), float(np.exp(np.mean([_share(o.sound) for o in opinions], axis=0) @ np.log(SCALES)))
    if not alone:
        return marks, 1.0
    beside = {int(k) for pair in first.marks if one in pair for k in pair} - {one}
    return (one, *(k for k in sorted(beside) if singles[k] > odds - COMPANION)), 1.0


def _is_inner(ladder, mark):
    """Whether marks of the same curve lie on both sides: at an end a hump cannot be told from a wrong mark."""
    mine = ladder.at[ladder.signs == ladder.signs[mark]]
    return bool(mine.min() < ladder.at[mark] < mine.max())


def _share(logs):
    share = np.exp(logs - logs.max())
    return share / share.sum()
