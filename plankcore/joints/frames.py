"""The frames of a side, and the places among them of joints that the yard wrote down."""
from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..actions import FAIR, STATIONS
from ..errors import DocumentError, PatternError, SettingError
from ..model.joints_and_fastenings import Joint, SideFrames
from ..model.typed import parse_labels
from ..units import parse_length_mm

if TYPE_CHECKING:
    from typing import Mapping, Sequence

    from ..model.drawing import Station
    from ..model.joints_and_fastenings import FrameRecord, JointRecord
    from ..model.plank import Plank

__all__ = ["find_fraction", "find_frames", "find_place", "name_place", "number_strakes", "place_records", "read_spot"]

MOST_BEYOND = 100         # most frames counted on beyond the plank's own, each way
MOST_OFF_MM = 1000.0      # lines drawn farther than this from the plank are not joints of its neighbours
_STRAKE = re.compile(r"^0*([1-9]\d{0,2})[a-z]?$", re.IGNORECASE)


def find_frames(plank: Plank, stations: Sequence[Station], *, records: Sequence[FrameRecord] = (),
                spacing_mm: float = 0.0, siding_mm: float = 0.0) -> SideFrames:
    """The frames of the side along a plank's baseline.

    Parameters
    ----------
    plank : Plank
    stations : sequence of Station
        The plank's own, from the fore end aft.
    records : sequence of FrameRecord
        All frames of the side, with their distances aft from the bow datum. Without them the stations' labels are
        counted on beyond the plank, and a number missing between two stations is taken for a frame, evenly spaced
        between them.
    spacing_mm : float
        Of the frames beyond the plank, where there are no records; 0 takes the mean of the plank's own.
    siding_mm : float
        Breadth of a frame along the plank.

    Returns
    -------
    SideFrames

    Raises
    ------
    PatternError
        Without two stations of different labels.
    DocumentError
        If the records contradict each other or the stations, with their row.
    """
    if len(stations) < 2:
        raise PatternError("The plank has %d frame station%s; bays lie between two."
                           % (len(stations), "" if len(stations) == 1 else "s"), STATIONS.first)
    labels = [s.label.strip() for s in stations]
    twice = next((a for k, a in enumerate(labels) if a in labels[:k]), None)
    if twice is not None:
        raise PatternError("Two stations are labelled '%s'." % twice,
                           "Run %s again with labels that differ." % STATIONS.title)
    along = [float(s.distance_mm) for s in stations]
    if records:
        return _match_records(labels, along, records, siding_mm)
    return _count_on(labels, along, spacing_mm, siding_mm)


def _match_records(labels, along, records, siding_mm):
    rows = sorted(records, key=lambda r: r.distance_mm)
    for a, b in zip(rows, rows[1:]):
        if b.distance_mm - a.distance_mm < 1.0:
            raise DocumentError("Frames %s and %s stand at one place." % (a.label, b.label),
                                "Each frame has its own distance from the bow datum.", b.where)
    names = [r.label.strip() for r in rows]
    for k, row in enumerate(rows):
        if names[k] in names[:k]:
            raise DocumentError("The frame %s is there twice." % row.label, "Take one out.", row.where)
    missing = next((a for a in labels if a not in names), None)
    if missing is not None:
        raise DocumentError("The table of frames has no frame %s, which is a station of the plank." % missing,
                            "Label frames there as the stations are: %s." % ", ".join(labels), rows[0].where)
    at = [names.index(a) for a in labels]
    if any(b <= a for a, b in zip(at, at[1:])):
        raise DocumentError("The frames of the table run the other way from the plank's stations.",
                            "Give distances that grow aft.", rows[0].where)
    told = np.array([r.distance_mm for r in rows])
    own = told[at]

    def lay(distance):
        """Convert distances from the datum to distances along the plank's baseline: by interpolation between the
        stations, with the distances given beyond them."""
        inside = np.interp(distance, own, along)
        return inside + np.minimum(distance - own[0], 0.0) + np.maximum(distance - own[-1], 0.0)
    return SideFrames(tuple(names), lay(told), first=at[0], last=at[-1], datum_mm=float(lay(0.0)), siding_mm=siding_mm)


def _count_on(labels, along, spacing_mm, siding_mm):
    found = [f for f in parse_labels(labels) if f is not None]
    numbers = [n for f in found for n in (found[0].count_to(f),) if n is not None]
    steps = np.diff(numbers)
    if len(numbers) < len(labels) or found[0].is_letter or not (np.all(steps > 0) or np.all(steps < 0)):
        # the labels cannot be counted on: use only the plank's own frames
        return SideFrames(tuple(labels), along, first=0, last=len(labels) - 1, datum_mm=None, siding_mm=siding_mm)
    way = 1 if steps[0] > 0 else -1
    known = np.abs(np.array(numbers))
    # no frames below 0, unless the plank itself has negative numbers
    first, last = (MOST_BEYOND if min(found[0].number, found[-1].number) < 0 else int(f.number)
                   for f in (found[0], found[-1]))
    spacing = spacing_mm or (along[-1] - along[0]) / known[-1]
    ahead = min(first, MOST_BEYOND) if way > 0 else MOST_BEYOND
    behind = min(last, MOST_BEYOND) if way < 0 else MOST_BEYOND
    steps = np.arange(-ahead, known[-1] + behind + 1)
    distances = np.interp(steps, known,
                          along) + np.minimum(steps, 0) * spacing + np.maximum(steps - known[-1], 0) * spacing
    padded = replace(found[0], digits=max(f.digits for f in found))
    # only letters run out, and these are none
    names = tuple(padded.count_on(way * int(k)) or "" for k in steps)
    return SideFrames(names, distances, first=ahead, last=ahead + int(known[-1]), datum_mm=None, siding_mm=siding_mm)


def find_fraction(frames: SideFrames, distance_mm: float) -> float:
    """How many frame spaces, with fractions, a place lies aft of the first frame; beyond the frames the nearest space
    is used."""
    x = frames.distances_mm
    k = int(np.clip(np.searchsorted(x, distance_mm) - 1, 0, len(x) - 2))
    return float(k + (distance_mm - x[k]) / (x[k + 1] - x[k]))


def find_place(frames: SideFrames, distance_mm: float) -> float | None:
    """The place of a distance along the baseline: n + 1/2 in the bay aft of frame n, n where it falls on that frame's
    siding; None beyond all frames.
    """
    x = frames.distances_mm
    nearest = int(np.argmin(np.abs(x - distance_mm)))
    if abs(x[nearest] - distance_mm) <= frames.siding_mm / 2 + 1e-9:
        return float(nearest)
    if not x[0] < distance_mm < x[-1]:
        return None
    return float(np.searchsorted(x, distance_mm) - 1) + 0.5


def name_place(frames: SideFrames, place: float) -> str:
    """'9-10' or 'on 9'; '-2 to -1' and '12 1/2 to 13' where a label has a dash or a blank in it."""
    low = int(np.floor(place))
    if place == low:
        return "on %s" % frames.labels[low]
    pair = frames.labels[low:low + 2]
    return (" to " if any(c in a for a in pair for c in "- ") else "-").join(pair)


def _find_label(frames, text):
    """Number of the frame of this label, or None."""
    plain = text.strip().lower()
    names = [a.lower() for a in frames.labels]
    if plain in names:
        return names.index(plain)
    bare = re.sub(r"^0+(?=\d)", "", plain)
    same = [k for k, a in enumerate(names) if re.sub(r"^0+(?=\d)", "", a) == bare]
    return same[0] if len(same) == 1 else None


def read_spot(frames: SideFrames, text: str, *, unit: str = "mm") -> tuple[float, float, float]:
    """A place as it is typed: '9-10', '-2 to -1', 'on 9', or '9 + 120 mm' (aft of frame 9). '-2' alone is not a bay.

    Returns
    -------
    place : float
    distance_mm : float
        Along the baseline; for a bay, that of its middle.
    doubt_mm : float

    Raises
    ------
    SettingError
        The remedy says what is allowed; `where` is left empty.
    """
    allowed = ("Write a bay as %s to %s, a frame as 'on %s', or a distance aft of a frame as '%s + 100 mm'; "
               "frames %s to %s are known."
               % (frames.labels[frames.first], frames.labels[frames.first + 1], *(2 * (frames.labels[frames.first],)),
                  frames.labels[0], frames.labels[-1]))
    plain = " ".join(text.split())
    if plain.lower().startswith("on "):
        k = _find_label(frames, plain[3:])
        if k is None:
            raise SettingError("There is no frame '%s'." % plain[3:].strip(), allowed)
        return float(k), float(frames.distances_mm[k]), 0.0
    for dash in re.finditer(r"-| to ", plain):
        ends = [_find_label(frames, part) for part in (plain[:dash.start()], plain[dash.end():])]
        if None in ends:
            continue
        if abs(ends[0] - ends[1]) != 1:
            raise SettingError("Frames %s and %s are not next to each other, so '%s' is no bay."
                               % (frames.labels[ends[0]], frames.labels[ends[1]], plain), allowed)
        low = min(ends)
        pair = frames.distances_mm[low:low + 2]
        return low + 0.5, float(pair.mean()), float(pair[1] - pair[0]) / 2
    head, plus, tail = plain.partition("+")
    k = _find_label(frames, head) if plus else None
    if k is None:
        raise SettingError("'%s' is no bay and no frame." % text.strip(), allowed)
    distance = float(frames.distances_mm[k]) + parse_length_mm(tail, unit=unit, field="Joints", least_mm=0)
    return _locate(frames, distance, allowed), distance, 0.0


def _locate(frames, distance_mm, allowed):
    place = find_place(frames, distance_mm)
    if place is None:
        raise SettingError("That place lies beyond the frames that are known.", allowed)
    return place


def number_strakes(records: Sequence[JointRecord], strake: str) -> dict[str, int]:
    """Strake name to its number from the garboard up, for all records and the plank's own.

    Names are whole numbers, with a letter after them for one length of a strake (7, 7f, 7a); or single letters with A
    for the garboard; or any names, if the table has their numbers in a column `order`.

    Raises
    ------
    DocumentError, PatternError
    """
    own = strake.strip()
    if any(r.order is not None for r in records):
        numbers = {}
        for r in records:
            if r.order is not None and numbers.setdefault(r.strake.lower(), r.order) != r.order:
                raise DocumentError("Strake %s is number %d here and number %d before."
                                    % (r.strake, r.order, numbers[r.strake.lower()]), "Give a strake one number.",
                                    r.where + ", column order")
        lost = next((r for r in records if r.strake.lower() not in numbers), None)
        if lost is not None:
            raise DocumentError("Strake %s has no number in the column order." % lost.strake,
                                "Give each strake its number from the garboard up, once at least.",
                                lost.where + ", column order")
        if own.lower() not in numbers:
            raise PatternError("The plank's own strake, '%s', is not in the table, so its neighbours are not known."
                               % own, "Add a row for it with its order; its kind may be none.")
        return numbers
    first, mend = None, "Number or letter all strakes alike, from the garboard up, or add a column `order`."
    for name, where in [(own, None)] + [(r.strake, r.where + ", column strake") for r in records]:
        kind = "a number" if _STRAKE.match(name) else "a letter" if re.match(r"^[A-Za-z]$", name) else ""
        if kind and (first is None or first[1] == kind):
            first = first or (name, kind)
            continue
        problem = "Strake '%s' is neither a number (7, 7f) nor a letter (A, the garboard)." % name
        if kind and first is not None:
            problem = "Strake '%s' is %s, and strake '%s' is %s." % (name, kind, *first)
        if where is None:
            raise PatternError(problem if name
                               else "The plank has no strake number, so its neighbours are not known.",
                               "Give it in %s, or number the strakes of the table in a column `order`." % FAIR.title)
        raise DocumentError(problem, mend, where)
    return {name.lower(): _read_strake(name) for name in [own] + [r.strake for r in records]}


def _read_strake(name):
    """A strake's number from the garboard up, of a number or a letter."""
    number = _STRAKE.match(name)
    return int(number.group(1)) if number else ord(name.upper()) - 64


def place_records(records: Sequence[JointRecord], *, frames: SideFrames, plank: Plank,
                  numbers: Mapping[str, int]) -> list[Joint]:
    """Records as Joints of both sides; records of kind none are skipped, since they only name a strake.

    Raises
    ------
    DocumentError
        If a place cannot be read, with the record's row and column.
    """
    return [_place(r, frames, plank, numbers[r.strake.lower()]) for r in records if r.kind != "none"]


def _place(record, frames, plank, number):
    doubt = 0.0
    if record.point is not None:
        distance, column = _project(plank, record), ""
    elif record.bay:
        column = ", column bay"
        try:
            place, distance, doubt = read_spot(frames, record.bay)
        except SettingError as error:
            raise DocumentError(error.problem, error.remedy, record.where + column) from None
    else:
        distance, column = _measure(record, frames), ", column distance"
    if not record.bay:
        found = find_place(frames, distance)
        if found is None:
            raise DocumentError(
                "It lies %.0f mm from the plank's fore end, beyond the frames that are known (%s to %s)."
                % (distance, frames.labels[0], frames.labels[-1]),
                                "Give a table of frames, or another distance.", record.where + column)
        place = found
    joint = Joint(record.side, record.strake, kind=record.kind, bay="", distance_mm=distance, note=record.note,
                  number=number, place=place, doubt_mm=doubt, ours="",
                  where=record.where)
    return replace(joint, bay=name_place(frames, place))


def _measure(record, frames):
    """Distance along the baseline of a record that gives one from a frame or from the datum."""
    if not record.of:
        if frames.datum_mm is None:
            raise DocumentError("The distance is from the bow datum, and where that is is not known.",
                                "Name the frame it is measured from in the column `from`, or give a table of frames.",
                                record.where + ", column from")
        return frames.datum_mm + record.distance_mm
    k = _find_label(frames, record.of)
    if k is None:
        raise DocumentError("There is no frame '%s'." % record.of, "Frames %s to %s are known."
                            % (frames.labels[0], frames.labels[-1]), record.where + ", column from")
    return float(frames.distances_mm[k]) + record.distance_mm


def _project(plank, record):
    start, along, _ = plank.find_axes()
    away = np.asarray(record.point) - start
    off = min(plank.edges[name].curve.find_nearest(record.point)[1] for name in ("upper", "lower"))
    if off > MOST_OFF_MM:
        raise DocumentError("%s lies %.0f mm from the plank." % (record.where, off),
                            "Draw it beside the plank, where the joint is on the boat.", record.where)
    return float(away @ along)
