"""Which pieces come out of which boards: as many pieces as can be, then least wood, then least run-out of the grain.

Few pieces are distributed by trying all ways. More are distributed board by board, the one that is used best first;
then the pieces of any two boards are redistributed over these and all free boards, and plans are partly undone and made
again, as long as that saves wood. There is no time limit: the same seed gives the same plan.
"""
from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from . import words
from .packing import MOST_TOGETHER, SAME_MM3

if TYPE_CHECKING:
    from typing import Any, Callable

    from .packing import Packer

__all__ = ["share_out"]

# pieces tried in a row on a board that seems full; boards examined closely in each round
_MOST_VAIN, _MOST_HOPED = 3, 4
_LOOKS = 80               # number of sets of pieces that may be laid on boards for each try


def share_out(packer: Packer, *, progress: Callable[..., Any]) -> dict[int, tuple[int, ...]]:
    """Distribute all pieces over the boards.

    Returns
    -------
    dict
        Board to the tuple of its pieces. Pieces that fit no board, or for which no board was left, are missing.
    """
    pieces = [p for p in range(len(packer.shapes))
              if any(packer.pack(b, (p,)) is not None for b in range(len(packer.boards)))]
    count = sum(packer.pack(b, (p,)) is not None for p in pieces for b in range(len(packer.boards)))
    progress(words.report_singles(len(pieces), len(packer.shapes), count))
    if not pieces:
        return {}
    plan = _fill_boards(pieces, packer)
    plan = _fill_in(plan, [p for p in pieces if not any(p in held for held in plan.values())], packer)
    if packer.is_small:
        return _go_through_all(pieces, packer, _share_pairs_anew(plan, packer), progress)
    tries, chance = packer.settings.tries, np.random.default_rng(packer.settings.seed)
    for number in range(tries + 1):
        # half of the whole budget for the first plan, the rest for the others
        packer.most_looked = packer.looked + (_LOOKS * tries if number == 0 else _LOOKS)
        plan = _share_pairs_anew(plan, packer) if number == 0 else _undo_and_mend(plan, pieces, packer, chance)
        progress(words.report_plan(number + 1, tries + 1, len(plan), _measure(plan, packer)[1]))
    return plan


def _measure(plan, packer):
    """Cost of a plan, for comparison: number of pieces (negative), wood, run-out."""
    wood = sum(packer.volumes[b] for b in plan)
    return (-sum(len(s) for s in plan.values()), round(float(wood) / SAME_MM3) * SAME_MM3,
            round(sum(packer.measure_runout_deg(b, s) for b, s in plan.items()), 2))


def _fill_boards(pieces, packer):
    """A first plan: repeatedly the board that the remaining pieces use best, large pieces first."""
    plan, left = {}, sorted(pieces, key=lambda p: (-packer.shapes[p].area_mm2, p))

    def fill(board, takes):
        held, vain = (), 0
        for piece in left:
            if packer.pack(board, (piece,)) is None or vain == _MOST_VAIN:
                continue
            together = tuple(sorted(held + (piece,)))
            if takes(board, together):
                held, vain = together, 0
            elif packer.may_fit(board, together):
                vain += 1
        return sum(packer.shapes[p].area_mm2 for p in held) / packer.volumes[board], held
    while left:
        hoped = sorted(((fill(b, packer.may_fit)[0], b) for b in range(len(packer.boards)) if b not in plan),
                       key=lambda way: (-way[0], way[1]))
        best: tuple[float, Any, Any] = (0.0, None, ())
        for hope, board in hoped[:_MOST_HOPED]:
            if hope <= best[0]:
                break
            share, held = fill(board, lambda b, together: packer.pack(b, together) is not None)
            if share > best[0]:
                best = (share, board, held)
        if not best[2]:
            return plan
        plan[best[1]] = best[2]
        left = [p for p in left if p not in best[2]]
    return plan


def _fill_in(plan, missing, packer):
    """A plan with further pieces added, those that fit the fewest boards first: each where it costs least wood, on a
    used or a free board."""
    plan = dict(plan)
    choice = {p: sum(packer.pack(b, (p,)) is not None for b in range(len(packer.boards))) for p in missing}
    for piece in sorted(missing, key=lambda p: (choice[p], -packer.shapes[p].area_mm2, p)):
        free = set(range(len(packer.boards))) - set(plan)
        ways = []
        for board, held in plan.items():
            together = tuple(sorted(held + (piece,)))
            if packer.pack(board, together) is not None:
                ways.append((0.0, board, board, together))
        alone = packer.find_cheapest((piece,), free)
        if alone is not None:
            ways.append((packer.volumes[alone], -1, alone, (piece,)))
        if ways:
            _, old, new, together = min(ways, key=lambda w: (round(w[0]), w[2]))
            plan.pop(old, None)
            plan[new] = together
    return plan


def _share_pairs_anew(plan, packer):
    """A plan improved as long as possible: the pieces of any two boards redistributed over these and the free boards,
    or those of one board moved to a cheaper one."""
    better = True
    while better:
        better = False
        for pair in list(combinations(sorted(plan), 2)) + [(b,) for b in sorted(plan)]:
            if not all(b in plan for b in pair):
                continue
            held = tuple(sorted(sum((plan[b] for b in pair), ())))
            if len(held) > MOST_TOGETHER:
                continue
            free = (set(range(len(packer.boards))) - set(plan)) | set(pair)
            now = {b: plan[b] for b in pair}
            new = _split_anew(held, free, packer, now)
            if new is not now:
                for board in pair:
                    del plan[board]
                plan.update(new)
                better = True
    return plan


def _split_anew(held, free, packer, now):
    """A cheaper way to put pieces on one or two of the free boards, or `now` itself.

    Ways are tried in the order of their least possible cost, from bounds, and the first that works is taken. Boards of
    the same volume are compared by run-out only where one board replaces one.
    """
    cost = _measure(now, packer)
    ways = []
    for size in range(len(held) // 2 + 1):
        for part in combinations(held, size):
            rest = tuple(p for p in held if p not in part)
            limit = cost[1] + (SAME_MM3 if len(now) == 1 and not part else -SAME_MM3)
            least = packer.find_bound_mm3(part, free) if part else 0.0
            bound = least + packer.find_bound_mm3(rest, free)
            if bound < limit:
                ways.append((bound, least, limit, rest, part))
    for _, least, limit, rest, part in sorted(ways):
        first = packer.find_cheapest(rest, free, below_mm3=limit - least)
        if first is None:
            continue
        new = {first: rest}
        if part:
            second = packer.find_cheapest(part, free - {first}, below_mm3=limit - packer.volumes[first])
            if second is None:
                continue
            new[second] = part
        if _measure(new, packer) < cost:
            return new
    return now


def _undo_and_mend(plan, pieces, packer, chance):
    """A plan with some boards freed, and their pieces and the unplaced ones added again; the old plan where that is no
    better."""
    boards = sorted(plan)
    count = min(len(boards), int(chance.integers(2, 5)))
    back = {boards[int(k)] for k in chance.choice(len(boards), size=count, replace=False)}
    kept = {b: s for b, s in plan.items() if b not in back}
    there = set(sum(kept.values(), ()))
    missing = [p for p in pieces if p not in there]
    new = kept
    for piece in chance.permutation(missing):
        new = _fill_in(new, [int(piece)], packer)
    new = _share_pairs_anew(new, packer)
    return new if _measure(new, packer) < _measure(plan, packer) else plan


def _go_through_all(pieces, packer, plan, progress):
    """The cheapest of all distributions of few pieces, as far as Packer finds places: dynamic programming, board by
    board, over sets of pieces."""
    most = _measure(plan, packer)[1] if sum(len(s) for s in plan.values()) == len(pieces) else np.inf
    thinnest = min(b.board.thickness_mm for b in packer.boards)
    best = {0: (0.0, 0.0, {})}
    progress(words.report_all_ways(len(pieces), len(packer.boards)))
    for board in packer.by_volume:
        if packer.volumes[board] > most + SAME_MM3:
            break
        ways = []
        for size in range(1, len(pieces) + 1):
            for part in combinations(range(len(pieces)), size):
                together = tuple(pieces[k] for k in part)
                # lower bound: the remaining pieces need at least their own wood
                rest = sum(packer.shapes[p].area_mm2 for p in pieces if p not in together) * thinnest
                if packer.volumes[board] + rest <= most + SAME_MM3 and packer.pack(board, together) is not None:
                    ways.append((sum(1 << k for k in part), together, packer.measure_runout_deg(board, together)))
        for had, (wood, runout, made) in sorted(dict(best).items()):
            for mask, together, more in ways:
                new = (wood + packer.volumes[board], runout + more)
                if not mask & had and (mask | had not in best or (round(new[0] / SAME_MM3), new[1]) < (
                        round(best[mask | had][0] / SAME_MM3), best[mask | had][1])):
                    best[mask | had] = (*new, {**made, board: together})
    return min([made for _, _, made in best.values()] + [plan], key=lambda made: _measure(made, packer))
