"""The surveyor's third instrument: the record's Fairing table worked out again from the marks and the trace in the
drawing, by other formulas than those that wrote it.

It shares no code with plankcore. Known of the fairing is what its documents say: the penalty is on the fourth
derivative (third for an end); a traced wave of the shortest length keeps
half its height; marks are averaged, by their restricted likelihood, over waves from the shortest on, each 1.3 times the
one before, to six lengths of the plank.

*Marks.* A spline of order m is what is known of an m-fold integrated white noise (G. Wahba, J. R. Stat. Soc. B 40,
1978): here by its covariance itself, the integral of
(s - u)^(m-1) (t - u)^(m-1) / ((m-1)!)^2 up to the lesser of s and t, and universal kriging (N. Cressie, Statistics for
Spatial Data, 1993, section 3.4; from memory, not checked).
*Traces.* The same penalty, made least by Ritz's method over Legendre polynomials in place of splines, and its integral
by Gauss's rule, which is exact for them.
"""

from __future__ import annotations

from math import factorial

import numpy as np
import shapely
from host import reader
from lxml import html
from surveyor import Claim, trace

__all__ = ["fit_polynomials", "krige_marks", "list_fairing_table_claims"]

_STEP, _LIGHT = 1.3, 1e-4
_CORNER_MM, _STRAY_MM = 4.0, 1.5
_DEGREE = 48  # of the polynomials: a wave of 600 mm in 3 m is ten of them


def list_fairing_table_claims(data, drawing, *, honest_error_mm=0.5, shortest_wave_mm=600.0):
    """rms, worst, band and degrees of freedom of every edge."""
    page = html.fromstring(data.decode("utf-8"))
    table = next(
        t for t in page.xpath("//table") if [c.text_content() for c in t.xpath(".//th")][:3] == ["Edge", "rms", "Worst"]
    )
    rows = {r[0].text_content().lower(): [c.text_content() for c in r][1:] for r in table.xpath("./tbody/tr")}
    edges = {i.values["edge"]: i for i in drawing.find("edge")}
    marks = {e: _list_marks(drawing, e) for e in edges}
    found = _survey_marked(edges, marks, shortest_wave_mm)
    for name, edge in edges.items():
        if name not in found:
            found[name] = (
                _survey_end_marks(edge, marks[name])
                if marks[name]
                else _survey_traced(name, edges, drawing=drawing, honest=honest_error_mm, wave=shortest_wave_mm)
            )
    for name, (rms, worst, band, freedom) in found.items():
        where = "record, fairing, %s" % name
        told = rows[name]
        assert (told[3] == "straight") == (freedom is None), "%s: '%s' is printed" % (where, told[3])
        # a trace is read at every mm: a pen's sharpest turn between two such places may stand 0.005 mm farther out
        # the band of a traced edge is kriged here at other places; that of an end counts the bow that it may have
        # besides, which is not known here
        wide = 0.01 if marks[name] else 0.04 if name in ("upper", "lower") else 0.3
        steps = 0.01, 0.01 if marks[name] else 0.02, wide
        for text, what, step, value in zip(told[:3], ("rms", "worst", "band"), steps, (rms, worst, band)):
            yield Claim("%s, %s" % (where, what), 0.0 if text == "\u2013" else float(text), step, value)
        if freedom is not None:
            # where the corners of a trace lie is known here to its next point: 4 mm of 3 m are a hundredth of ten
            # numbers
            yield Claim("%s, freedom" % where, float(told[3]), 0.1 if marks[name] else 0.12, freedom)


def _list_marks(drawing, edge):
    """(points (n, 2), errors) of the marks of an edge that its fairing went by, from the fore end aft or down."""
    some = [i for i in drawing.find("mark", edge=edge) if i.values["verdict"] != "left-out"]
    boxes = [reader.join_runs(i) for i in some]
    return [((b.min(axis=0) + b.max(axis=0)) / 2, i.number("error-mm")) for b, i in zip(boxes, some)]


def _lay_chart(start, end):
    along = (end - start) / np.hypot(*(end - start))
    return start, along, np.array([-along[1], along[0]])


def _measure_bow(line):
    way = (line[-1] - line[0]) / np.hypot(*(line[-1] - line[0]))
    return float(np.abs((line - line[0]) @ np.array([-way[1], way[0]])).max())


def _measure_off(points, edge):
    """rms and largest distance of points from an edge, which runs on straight past its corners: a mark may stand beyond
    them. Chords of a long edge may be 2 mm long: one that bends to 5 m stands 1e-4 mm off them."""
    line = trace(edge.runs[0])
    line = np.vstack([line[:-1][:: 8 if len(line) > 2000 else 1], line[-1:]])
    first, last = line[0] - line[1], line[-1] - line[-2]
    first, last = (60 * way / np.hypot(*way) for way in (first, last))
    line = np.vstack([line[0] + first, line, line[-1] + last])
    off = shapely.distance(shapely.points(points), shapely.LineString(line))
    return float(np.sqrt(np.mean(off**2))), float(off.max())


# -- marks -----------------------------------------------------------------------------------------------------


def _survey_marked(edges, marks, wave):
    """Upper and lower edge together, where they are known by marks."""
    some = [n for n in ("upper", "lower") if marks[n]]
    if not some:
        return {}
    points, errors = np.array([p for n in some for p, _ in marks[n]]), np.array([e for n in some for _, e in marks[n]])
    sign = np.concatenate([np.full(len(marks[n]), s) for n, s in zip(some, (1.0, -1.0))])
    start, along, across = _lay_chart(
        np.mean([marks[n][0][0] for n in some], axis=0), np.mean([marks[n][-1][0] for n in some], axis=0)
    )
    x, y = (points - start) @ along, (points - start) @ across
    fewest = min(len(np.unique(np.round(x[sign == s], 6))) for s in np.unique(sign))
    # an edge of few marks is the mean of two orders
    orders = sorted({min(4, fewest - 1), min(3 if fewest <= 8 else 4, fewest - 1)})
    wave = min(wave, np.ptp(x) / 3)
    at = {}
    for name, s in zip(some, (1.0, -1.0)):
        ends = (trace(edges[name].runs[0])[[0, -1]] - start) @ along
        at[s] = np.linspace(*ends, 41)
    said = [krige_marks(x, y, errors, sign, shortest_wave=wave, order=order, at=at) for order in orders]
    shares = np.mean([s for s, _, _ in said], axis=0)
    band = {
        s: np.sqrt(np.mean([b[s] ** 2 for _, b, _ in said], axis=0) + np.var([m[s] for _, _, m in said], axis=0))
        for s in at
    }
    return {
        n: (*_measure_off(points[sign == s], edges[n]), float(band[s].max()), float(shares[sign == s].sum()))
        for n, s in zip(some, (1.0, -1.0))
    }


def krige_marks(x, y, errors, sign, *, shortest_wave, order, at):
    """Each mark's share in its own fair place (n,), and the standard error of the fair edge of either sign at places
    `at`, {sign: (k,)}, and the edge there."""
    low, long = x.min(), np.ptp(x)
    pair = len(np.unique(sign)) > 1
    noise, n = np.diag(errors**2), len(x)
    spacing = long / (np.count_nonzero(sign > 0) - 1)
    count = int(np.ceil(np.log(max(6 * long, 2 * shortest_wave) / shortest_wave) / np.log(_STEP))) + 1
    rough = (
        np.exp(np.mean(np.log(errors))) ** 2
        * (spacing / long)
        / (shortest_wave * _STEP ** np.arange(count) / long / (2 * np.pi)) ** (2 * order)
    )
    # variance of the first curve's derivative, of the second's, and between them: both equally rough, or each alone
    rungs = (
        [((a + b) / 2, (a + b) / 2, (a - b) / 2) for a in rough for b in rough]
        + [(a, b, 0.0) for a in rough for b in rough]
        if pair
        else [(a, a, a) for a in rough]
    )

    def covary(a, b):
        """Of the integrated noise from where the first mark or place lies, in lengths of the marks' run."""
        least = np.minimum(a[:, None], b[None])
        t, w = np.polynomial.legendre.leggauss(2 * order)
        u = least[..., None] * (t + 1) / 2
        return (
            np.sum((a[:, None, None] - u) ** (order - 1) * (b[None, :, None] - u) ** (order - 1) * w, axis=-1)
            * least
            / 2
            / factorial(order - 1) ** 2
        )

    zero = min(low, *(v.min() for v in at.values()))
    s = (x - zero) / long

    def drift(t, signs):
        plain = np.stack([((t - 0.5) ** k) for k in range(order)], axis=1)
        return np.hstack([plain, signs[:, None] * plain]) if pair else plain

    between, base = covary(s, s), drift(s, sign)
    up = (sign > 0).astype(float)
    logs, kept = [], []
    for u, v, uv in rungs:
        rough = u * np.outer(up, up) + v * np.outer(1 - up, 1 - up)
        rough = rough + uv * (np.outer(up, 1 - up) + np.outer(1 - up, up))
        whole = noise + rough * between
        root = np.linalg.cholesky(whole)
        white, level = np.linalg.solve(root, base), np.linalg.solve(root, y)
        q, r = np.linalg.qr(white)
        logs.append(
            -np.log(np.diag(root)).sum()
            - np.log(np.abs(np.diag(r))).sum()
            - 0.5 * np.sum((level - q @ (q.T @ level)) ** 2)
        )
        kept.append((u, v, uv, root, q, r, level))
    weights = np.exp(np.array(logs) - max(logs))
    weights = weights / weights.sum()
    heavy = weights > _LIGHT
    shares = np.zeros(n)
    square, mean, inner = ({k: np.zeros(len(v)) for k, v in at.items()} for _ in range(3))
    for w, (u, v, uv, root, q, r, level) in zip(
        weights[heavy] / weights[heavy].sum(), [k for k, keep in zip(kept, heavy) if keep]
    ):
        back = np.linalg.solve(root, np.eye(n))
        precision = back.T @ (np.eye(n) - q @ q.T) @ back
        shares += w * (1 - errors**2 * np.diag(precision))
        for way, places in at.items():
            t = (places - zero) / long
            own = u if way > 0 else v
            cross = np.linalg.solve(root, (np.where(sign[None] == way, own, uv) * covary(t, s)).T)
            free = drift(t, np.full(len(t), way)) - cross.T @ np.linalg.solve(root, base)
            beta = np.linalg.solve(r, q.T @ level)
            value = cross.T @ level + free @ beta
            inner[way] += w * (
                own * np.diag(covary(t, t))
                - np.sum(cross**2, axis=0)
                + np.sum(np.linalg.solve(r.T, free.T) ** 2, axis=0)
            )
            mean[way], square[way] = mean[way] + w * value, square[way] + w * value**2
    band = {k: np.sqrt(np.maximum(inner[k], 0) + np.maximum(square[k] - mean[k] ** 2, 0)) for k in at}
    return shares, band, mean


def _survey_end_marks(edge, marks):
    """An end known by marks: a straight line through them by least squares, or the parabola through three."""
    points, errors = np.array([p for p, _ in marks]), np.array([e for _, e in marks])
    start, along, _ = _lay_chart(points[0], points[-1])
    x = (points - start) @ along
    line = trace(edge.runs[0])
    straight = _measure_bow(line) < 1e-6
    powers = 2 if straight else 3
    design = np.vander(x / np.ptp(x), powers)
    cover = np.linalg.inv(design.T @ (design / errors[:, None] ** 2))
    at = np.vander(np.linspace(*((line[[0, -1]] - start) @ along), 41) / np.ptp(x), powers)
    return (
        *_measure_off(points, edge),
        float(np.sqrt(np.einsum("ij,jk,ik->i", at, cover, at).max())),
        None if straight else float(powers),
    )


# -- traces ----------------------------------------------------------------------------------------------------


def _survey_traced(name, edges, drawing, honest, wave):
    """An edge known by a trace, cut out of the source between the drawn corners."""
    lines = {n: trace(e.runs[0]) for n, e in edges.items()}
    line = lines[name]
    points = cut_source(drawing, line)
    start, along, across = _lay_chart(points[0], points[-1])
    x, y = (points - start) @ along, (points - start) @ across
    long = float(np.ptp(x))
    is_end = name in ("fore", "aft")
    order, wave = (3, min(wave, 2 * long)) if is_end else (4, wave)
    margin = min(_CORNER_MM, 0.15 * long)
    at = np.linspace(margin, long - margin, max(int((long - 2 * margin) / max(wave / 200, 0.5)), 20) + 1)
    level = np.interp(at, x, y)
    function = np.interp(at, (line - start) @ along, (line - start) @ across)
    straight = is_end and _measure_bow(line) < 1e-6
    off = level - function
    # a trace 1.5 mm off has no say, one a third as far off nearly its full say: Tukey's bisquare (P. Huber and E.
    # Ronchetti, Robust Statistics, 2009)
    say = np.clip(1 - (off / _STRAY_MM) ** 2, 0, 1) ** 2
    reach = (line[[0, -1]] - start) @ along
    wander = edges[name].values.get("wander-kind")
    if is_end:
        smooth, freedom = function, None if straight else fit_polynomials(at, level, say, wave=wave, order=order,
                                                                           reach=reach)[1]
        band = measure_end_band(at, say, edges[name], powers=2 if straight else 3, reach=reach)
    elif wander is None:
        smooth, freedom, widest = fit_polynomials(at, level, say, wave=wave, order=order, reach=reach)
        band = float(np.sqrt(widest * measure_strength(level - smooth, at[1] - at[0])))
    else:
        freedom, band = krige_trace(at, say, wave=wave, level=level, smooth=function, reach=reach, edge=edges[name])
    near = np.stack(
        [np.interp(np.arange(margin, long - margin, 1.0 if long > 500 else 0.25), x, c) for c in points.T], axis=1
    )
    return (
        *_measure_off(near, edges[name]),
        band,
        freedom,
    )


def cut_source(drawing, line):
    """Points of the source that run along an edge (n, 2), from its start to its end."""
    runs = [r for i in drawing.find("source") for r in i.runs]
    middle = np.array(
        shapely.get_coordinates(shapely.line_interpolate_point(shapely.LineString(line), 0.5, normalized=True))[0]
    )
    best = None
    for run in runs:
        points = run.trace(1)
        k, j = (int(np.argmin(np.hypot(*(points - p).T))) for p in (line[0], line[-1]))
        for way in (1, -1) if run.closed else (1 if j > k else -1,):
            some = (
                points[(k + way * np.arange((j - k) * way % (len(points) - 1) + 1)) % (len(points) - 1)]
                if run.closed
                else points[::way]
            )
            off = shapely.distance(shapely.Point(middle), shapely.LineString(some)) if len(some) > 1 else np.inf
            if len(some) > 1 and (best is None or off < best[0]):
                best = off, some
    return best[1]


def fit_polynomials(at, level, say, *, wave, order, reach):
    """(heights at `at`, trace of the hat matrix, largest variance over the reach for an error of strength one a mm) of
    a trace's heights at even places, each with its say."""
    low, high = min(at[0], reach[0]) - 1.0, max(at[-1], reach[1]) + 1.0
    half, middle = (high - low) / 2, (high + low) / 2
    basis = np.polynomial.legendre.legvander((at - middle) / half, _DEGREE)
    nodes, weights = np.polynomial.legendre.leggauss(_DEGREE + 1)
    bent = np.stack([np.polynomial.legendre.Legendre.basis(k).deriv(order)(nodes) for k in range(_DEGREE + 1)], axis=1)
    penalty = (wave / (2 * np.pi)) ** (2 * order) * half ** (1 - 2 * order)
    size = np.sqrt(say * (at[1] - at[0]))
    q, r = np.linalg.qr(np.vstack([size[:, None] * basis, np.sqrt(penalty * weights)[:, None] * bent]))
    back = np.linalg.inv(r)
    places = np.polynomial.legendre.legvander((np.linspace(*reach, 201) - middle) / half, _DEGREE)
    return (
        basis @ (back @ (q[: len(at)].T @ (size * level))),
        float(np.sum(q[: len(at)] ** 2)),
        float(np.sum((places @ back) ** 2, axis=1).max()),
    )


def measure_end_band(at, say, edge, *, powers, reach):
    """Largest standard error over the reach of a line or parabola through an end, by generalised least squares with the
    wander that the drawing tells, or 0.01 mm where it tells none."""
    keep = say > 0.05
    x, long = at[keep][:: max(np.count_nonzero(keep) // 220, 1)], float(np.ptp(at))
    noise = 0.01**2 * np.exp(-np.abs(x[:, None] - x[None]) / (0.1 * long))
    if "wander-kind" in edge.values:
        like, _ = _LIKE[edge.values["wander-kind"]]
        noise = edge.number("wander-mm") ** 2 * like(np.abs(x[:, None] - x[None]) / edge.number("wander-length-mm"))
        noise += np.eye(len(x)) * (edge.number("stairs-mm") ** 2 / (x[1] - x[0]) + 1e-5 * edge.number("wander-mm") ** 2)
    design, ends = np.vander(x / long, powers), np.vander(np.linspace(*np.sort(reach), 41) / long, powers)
    cover = np.linalg.inv(design.T @ np.linalg.solve(noise, design))
    return float(np.sqrt(np.einsum("ij,jk,ik->i", ends, cover, ends).max()))


_LIKE = {  # correlation by distance over its length, and spectral density by 2 pi length / wave
    "rough": (lambda d: np.exp(-d), lambda k: 2 / (1 + k * k)),
    "fair": (
        lambda d: (1 + 2.14619 * d) * np.exp(-2.14619 * d),
        lambda k: 4 / 2.14619 / (1 + (k / 2.14619) ** 2) ** 2,
    ),
    "smooth": (lambda d: np.exp(-d * d), lambda k: np.sqrt(np.pi) * np.exp(-k * k / 4)),
}


def krige_trace(at, say, *, wave, level, smooth, reach, edge):
    """(degrees of freedom, largest standard error over the reach) of a traced edge: kriging (N. Cressie, 1993) with the
    wander that the drawing tells, averaged over waves as the marks are."""
    order, group = 4, max(len(at) // 220, 1)
    count = len(at) // group * group
    x, z, w = (v[:count].reshape(-1, group).mean(axis=1) for v in (at, level - smooth, say))
    keep = w > 0.05
    step, x, z, w = (x[1] - x[0]), x[keep], (z + np.interp(x, at, smooth))[keep], w[keep]
    sd, far, stairs = (edge.number(k) for k in ("wander-mm", "wander-length-mm", "stairs-mm"))
    like, density = _LIKE[edge.values["wander-kind"]]
    noise = sd**2 * like(np.abs(x[:, None] - x[None]) / far) + np.diag(
        stairs**2 / step + 1e-5 * sd**2 + sd**2 * (1 / w - 1)
    )
    strength = sd**2 * far * density(2 * np.pi * far / wave) + stairs**2
    zero, long = min(x[0], reach.min()), float(np.ptp(at))
    s, t = (x - zero) / long, (np.linspace(reach.min(), reach.max(), 41) - zero) / long
    nodes, weights = np.polynomial.legendre.leggauss(2 * order)

    def covary(a, b):
        least = np.minimum(a[:, None], b[None])
        u = least[..., None] * (nodes + 1) / 2
        inner = (a[:, None, None] - u) ** (order - 1) * (b[None, :, None] - u) ** (order - 1) * weights
        return inner.sum(axis=-1) * least / 2 / factorial(order - 1) ** 2 * long ** (2 * order - 1)

    between, across, itself = covary(s, s), covary(t, s), np.diag(covary(t, t))
    base, free = np.vander(s - 0.5, order), np.vander(t - 0.5, order)
    found = []
    for k in range(int(np.ceil(np.log(max(3 * np.ptp(at) / wave, 1)) / np.log(1.3))) + 1):
        rough = strength / (wave * 1.3**k / (2 * np.pi)) ** (2 * order)
        root = np.linalg.cholesky(noise + rough * between)
        q, r = np.linalg.qr(np.linalg.solve(root, base))
        y = np.linalg.solve(root, z)
        log = -np.log(np.diag(root)).sum() - np.log(np.abs(np.diag(r))).sum() - 0.5 * np.sum((y - q @ (q.T @ y)) ** 2)
        cross = np.linalg.solve(root, rough * across.T)
        rest = free - cross.T @ np.linalg.solve(root, base)
        mean = cross.T @ y + rest @ np.linalg.solve(r, q.T @ y)
        inner = rough * itself - np.sum(cross**2, axis=0) + np.sum(np.linalg.solve(r.T, rest.T) ** 2, axis=0)
        back = np.linalg.solve(root, np.eye(len(x)))
        hat = len(x) - np.sum((back.T @ (np.eye(len(x)) - q @ q.T) @ back) * noise)
        found.append((log, hat, mean, inner))
    share = np.exp(np.array([f[0] for f in found]) - max(f[0] for f in found))
    share /= share.sum()
    hat, mean, inner = (sum(p * f[k] for p, f in zip(share, found)) for k in (1, 2, 3))
    spread = sum(p * (f[2] - mean) ** 2 for p, f in zip(share, found))
    return float(hat), float(np.sqrt((inner + spread).max()))


def measure_strength(off, step):
    """Variance of what is left over times twice the distance over which it agrees with itself."""
    thin = max(len(off) // 400, 1)
    step, left = step * thin, off[::thin] - off.mean()
    like = np.array([np.sum(left[: len(left) - k] * left[k:]) for k in range(len(left))]) / np.sum(left**2)
    stop = next((k for k, v in enumerate(like) if v <= 0), len(like))
    return float(np.mean(left**2)) * step * max(2 * float(like[:stop].sum()) - 1, 1.0)
