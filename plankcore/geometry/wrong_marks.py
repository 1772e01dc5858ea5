"""Wrong marks along one or two smooth curves, distinguished from rough curves and from errors that are larger than
stated.

Each suspicion is a hypothesis: one mark is wrong, or two neighbours are. Its odds are the ratio of the marks'
likelihood with and without it, averaged over the ladder of smoothness (spline_ladder) and over errors that may be
larger than stated. The likeliest suspicion is believed if its odds are high; its marks are then set aside, and the
search is repeated. A wrong mark is assumed to be off by about GROSS errors, so that at an end, where the others predict
a mark badly, a smaller relative deviation is enough than in the middle (J. Neyman and E. Pearson, Phil. Trans. A 231,
1933, doi:10.1098/rsta.1933.0009). Where a real hump of the edge would explain the marks as well as a slip, the marks
are believed. A hump that is beyond doubt becomes part of the model, so that an edge that is smooth but for it is judged
as a smooth one.
"""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from .arrays import list_distinct
from .spline_ladder import add_logs, add_shape, build_ladder

if TYPE_CHECKING:
    from typing import Sequence

    from .arrays import Array, Mask, Values
    from .spline_ladder import Ladder

__all__ = ["Suspicion", "find_wrong_marks"]

GROSS, SPREAD = 10.0, 4.0       # mean and spread of how far off a wrong mark is, in errors
SCALES = (1.0, 1.6, 2.6)         # factors by which the errors may be larger than stated
SCALE_PRIOR = (0.8, 0.14, 0.06)  # prior probabilities of these factors
PAIR_ODDS = -2.0                # prior log odds of two wrong neighbours against one wrong mark
BELIEVED = 3.0                  # log odds above which a suspicion is believed
SCATTERED = 7.0                 # the same where the errors are certainly larger than stated; between by probability
COMPANION = 1.5                 # a neighbour whose log odds are within this of the mark's may be the wrong one instead
PAIR_TOO = 3.5                  # the same for two neighbours that are, or stand beside, the marks named
HUMP = 20.0                     # height that a real hump may have, in errors
HUMP_WAVES = (0.75, 1.0, 1.3)   # lengths of a hump at half height, in shortest waves
HUMP_ODDS = -4.5                # prior log odds of a hump at a given place against one wrong mark
SURE_HUMP = 3.0                 # log odds above which a hump becomes part of the model
HUMP_PARTS = (1.0, 0.5, 0.5)    # prior heights of it, of a shift and of a widening: its place and length are rough
MOST_HUMPS = 3
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
    wrong, scale, humps = np.zeros(len(x), bool), 1.0, []
    while True:
        keep = np.flatnonzero(~wrong)
        places = [list_distinct(x[keep][signs[keep] == s]).size for s in list_distinct(signs[keep])]
        if min(places) < FEWEST or len(places) < len(list_distinct(signs)):
            return Suspicion(wrong, scale)
        orders = (3, 4) if min(places) > FEWEST + 1 else (2, 3)
        try:
            ladders = [build_ladder(x[keep], y[keep], errors[keep], signs[keep], shortest_wave=shortest_wave,
                                    order=order, breaks=breaks) for order in orders]
        except ValueError:
            return Suspicion(wrong, scale)          # too few points beside a break to judge any by the others
        opinions = [_weigh(_allow_humps(ladder, humps)) for ladder in ladders]
        while True:
            hump = _find_hump(opinions, shortest_wave)
            named, scale = _name_worst(opinions, hump)
            if named or hump.odds < SURE_HUMP or len(humps) == MOST_HUMPS:
                break
            humps.append(hump)
            opinions = [_weigh(_allow_humps(opinion.ladder, [hump])) for opinion in opinions]
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


@dataclass(frozen=True)
class _Hump:
    """A real hump or hollow of one curve. place : of its middle. length : at half height. odds : its log odds."""

    sign: int
    place: float
    length: float
    odds: float

    def draw(self, ladder: Ladder, power: int = 0) -> Values:
        """Its shape (n,) at all points, of height 1, times a power of the distance from its middle: the first power
        shifts it, the second widens it."""
        away = (ladder.origin + ladder.scale * ladder.at - self.place) / self.length
        return away ** power * np.exp(-4 * np.log(2) * away ** 2) * (ladder.signs == self.sign)


def _allow_humps(ladder, humps):
    for hump in humps:
        for power, part in enumerate(HUMP_PARTS):
            ladder = add_shape(ladder, hump.draw(ladder, power), sign=hump.sign,
                               size=part * HUMP * float(np.mean(ladder.errors)))
    return ladder


def _find_hump(opinions, wave):
    """The likeliest hump: at a mark or halfway between two."""
    best = []
    ladder = opinions[0].ladder
    for sign in ladder.views:
        at = np.sort(ladder.origin + ladder.scale * ladder.at[ladder.signs == sign])
        places = np.sort(np.r_[at[1:-1], (at[1:] + at[:-1]) / 2])
        humps = [_Hump(sign, float(place), wave * times, 0.0) for times in HUMP_WAVES for place in places]
        odds = _average(opinions, [_weigh_humps(o.ladder, humps) for o in opinions]) + HUMP_ODDS
        best.append(replace(humps[int(np.argmax(odds))], odds=float(np.max(odds))))
    return max(best, key=lambda hump: hump.odds)


def _weigh_humps(ladder, humps):
    """Log likelihoods (k, scales) if a curve has one of these humps, all of the same curve."""
    view, mine = ladder.views[humps[0].sign], np.flatnonzero(ladder.signs == humps[0].sign)
    shapes = np.stack([hump.draw(ladder)[mine] for hump in humps], axis=1)
    square = (HUMP * float(np.mean(ladder.errors))) ** 2
    around = square * np.sum((view.half[:, :, mine] @ shapes) ** 2, axis=1)
    gain = 0.5 * square * (view.pull[:, mine] @ shapes) ** 2
    found = []
    for scale, prior in zip(SCALES, SCALE_PRIOR):
        more = 1 + around / scale ** 2
        found.append(add_logs(view.weigh(scale)[:, None] + gain / scale ** 4 / more - 0.5 * np.log(more))
                     + np.log(prior))
    return np.stack(found, axis=1)


def _average(opinions, logs):
    """Log odds (k,) against sound marks, from log likelihoods (k, scales) of each opinion."""
    return add_logs(np.array([add_logs(v, axis=-1) - add_logs(o.sound) for v, o in zip(logs, opinions)])) - np.log(
        len(opinions))


def _name_worst(opinions: list[_Opinion], hump: _Hump) -> tuple[tuple[int, ...], float]:
    """Marks of the likeliest suspicion (empty where it is not believed), and the scale of the errors without them."""
    singles = _average(opinions, [o.singles for o in opinions])
    pairs = _average(opinions, [o.pairs for o in opinions]) + PAIR_ODDS
    one, two = int(np.argmax(singles)), int(np.argmax(pairs))
    alone = bool(singles[one] >= pairs[two])
    odds = singles[one] if alone else pairs[two]
    larger = np.mean([_share(o.singles[one] if alone else o.pairs[two]) for o in opinions], axis=0)[1:].sum()
    first = opinions[0]
    marks = (one,) if alone else tuple(int(k) for k in first.marks[two])
    if odds < BELIEVED + (SCATTERED - BELIEVED) * larger or (
            odds < hump.odds and _is_rival(first.ladder, marks, hump)):
        return (), float(np.exp(np.mean([_share(o.sound) for o in opinions], axis=0) @ np.log(SCALES)))
    near = {int(k) for pair in first.marks if set(marks) & set(pair) for k in pair}
    named = {*marks, *(k for k in near if alone and singles[k] > odds - COMPANION)}
    for pair, likely in zip(first.marks, pairs):
        if near & set(pair) and likely > max(odds - PAIR_TOO, BELIEVED) and (
                likely > hump.odds or not _is_rival(first.ladder, tuple(pair), hump)):
            named |= {int(k) for k in pair}
    return tuple(sorted(named)), 1.0


def _is_rival(ladder, marks, hump):
    """Whether a hump may be what the marks show. One beside a mark at an end is not: nothing tells them apart there."""
    at = ladder.origin + ladder.scale * ladder.at[list(marks)]
    return (all(_is_inner(ladder, k) for k in marks) or ladder.signs[marks[0]] != hump.sign
            or bool(np.min(np.abs(at - hump.place)) > hump.length))


def _is_inner(ladder, mark):
    """Whether marks of the same curve lie on both sides: at an end a hump cannot be told from a wrong mark."""
    mine = ladder.at[ladder.signs == ladder.signs[mark]]
    return bool(mine.min() < ladder.at[mark] < mine.max())


def _share(logs):
    share = np.exp(logs - logs.max())
    return share / share.sum()
