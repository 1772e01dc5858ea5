"""Every sentence of Fastenings: what is driven, bored and bought, how it is laid out, and what had no room."""
from __future__ import annotations

from typing import TYPE_CHECKING

from ..trade.fastening_patterns import NOT_NAMED, SAME_METAL
from ..trade.fastening_tables import LEAST_PLUG_DEPTH_MM
from ..units import format_inches, format_mm

if TYPE_CHECKING:
    from typing import Mapping, Sequence

    from ..model.joints_and_fastenings import BareStretch, FasteningList, FasteningSize
    from ..trade.fastening_patterns import Metal, WidthRule
    from .groups import FasteningSettings

__all__ = [
    "BOLT",
    "CAUTIONS",
    "PLUG_EACH",
    "RIVET_SOURCE",
    "RULE_GIVES_NO_SIZE",
    "SHANK_OF_THE_BOAT",
    "SIZE_OF_THE_BOAT",
    "TAPERS_TOO_FAST",
    "count_fastenings",
    "name_butt",
    "name_butt_side",
    "name_end",
    "name_nail",
    "name_plug",
    "name_plugs",
    "name_rivet",
    "name_screw",
    "name_shorter_table",
    "tell_bare",
    "tell_butt_on_frame",
    "tell_buying",
    "tell_distances",
    "tell_few_at_butt",
    "tell_few_at_frame",
    "tell_fewer_than_the_boat",
    "tell_frame_lines",
    "tell_frames",
    "tell_heads",
    "tell_lead_holes",
    "tell_left_bare",
    "tell_metal",
    "tell_no_ends",
    "tell_no_room_at_frame",
    "tell_no_room_here",
    "tell_puttied",
    "tell_rule",
    "tell_short_block",
    "tell_size",
    "tell_struck_block",
    "tell_uneven",
    "warn_of_block",
    "warn_of_point",
    "warn_of_point_in_block",
    "warn_of_smaller",
]

CAUTIONS = (
    ("AS LARGE AND AS MANY AS THE REST OF THE PLANKING AT LEAST (ARMY TB 55-1900-201-45/1, 2-12 E). MEND BAD FRAMES "
     "FIRST: NEW FASTENINGS IN THEM ARE USELESS (2-8 B)."),
    "WHERE THE SURVEYOR OR THE CLASS GIVES A SCHEDULE OF FASTENINGS, THAT GOES BEFORE THIS ONE.",
)
BOLT = "through bolt, clenched or nutted, as on the boat"
PLUG_EACH = "one to each fastening"
RIVET_SOURCE = ("diameter measured on the boat; to stand about 3/8 in inside the frame, nipped about 1/8 in beyond the "
                "burr (Amateur Work, vol. 6)")
RULE_GIVES_NO_SIZE = "the rule gives no size here"
SHANK_OF_THE_BOAT, SIZE_OF_THE_BOAT = "shank measured on the boat", "measured on the boat"
TAPERS_TOO_FAST = ("one stands in a grain line with one at the frame before: the plank tapers too fast for the "
                   "stagger.")

_KINDS = ("screw", "nail", "rivet", "bolt")
# reasons why a frame has too few, by key: in a few words, and in a sentence with what to do
_WHY = {
    "scarf": ("scarf's feather", "it lies in a scarf's feather; place the scarf so that its tips fall between frames."),
    "butt": ("butt", "it lies on a butt; move the butt."),
    "end-distance": ("end distance", "it is too near the plank's end."),
    "grain-line": ("grain line", ("more would come into one grain line of the plank; it is too narrow there to stagger "
                                  "them.")),
    "edge-distance": ("edge distance", "the plank is too narrow for the edge distance."),
    "end-or-joint": ("plank's end or joint", "the frame runs out over the plank's end, or lies on a joint."),
}
_LIES = {"middle": "THE MARK AT ITS MIDDLE", "fore": "FORWARD OF ITS MARK", "aft": "ABAFT ITS MARK"}


def _capitals_mm(value_mm, **places):
    return format_mm(value_mm, **places).upper()


# names of fastenings

def _spell_length(value_mm):
    """A length in mm, and in inches too where it is a whole number of eighths."""
    return "%s (%s)" % (format_inches(value_mm, denominator=8), format_mm(value_mm)) if abs(
        value_mm / 3.175 - round(value_mm / 3.175)) < 0.01 else format_mm(value_mm)


def name_screw(gauge: str, length_mm: float, *, from_table: bool = False, is_wood_screw: bool = True) -> str:
    """'No 12 x 2 in wood screw'; gauge : 'No 12', or a diameter; from_table : its length is sold by the inch."""
    length = format_inches(length_mm) if from_table else _spell_length(length_mm)
    return "%s x %s%s" % (gauge, length, " wood screw" if is_wood_screw else "")


def name_nail(pennies: int, length_mm: float) -> str:
    """'8d boat nail, 2 1/2 in'."""
    return "%dd boat nail, %s" % (pennies, format_inches(length_mm))


def name_rivet(diameter_mm: float, length_mm: float) -> str:
    """'copper nail 4 mm, 70 mm long as bought, on a burr'."""
    return "copper nail %s, %s long as bought, on a burr" % (format_mm(diameter_mm), format_mm(length_mm))


def name_plug(diameter_mm: float) -> str:
    """'plug 1/2 in', one of those to be bought."""
    return "plug %s" % format_inches(diameter_mm, denominator=32)


def name_plugs(words: str, diameter_mm: float, *, by_head: bool = False) -> str:
    """'plugs 1/2 in or 5/8 in (12.7 mm)'; by_head : whether the table names no plug, so that the head's width decides.
    """
    if by_head:
        words = "%s, by the width of the head: the table names none" % words
    return "plugs %s (%s)" % (words, format_mm(diameter_mm))


def tell_puttied(*, is_thin: bool) -> str:
    """Why heads are not plugged."""
    return "heads puttied, not plugged" + (": the plank is under about 5/8 in (common practice)" if is_thin else "")


def name_shorter_table(block_mm: float) -> str:
    """Why the fastening at the butts is shorter."""
    return "shorter than at the frames, not to come through a block of %s" % format_mm(block_mm)


def count_fastenings(count: int, kind: str) -> str:
    """'1 SCREW', '3 NAILS', 'NO SCREW'."""
    word = kind.upper() if kind in _KINDS else "FASTENING"
    return "NO %s" % word if not count else "%d %s%s" % (count, word, "" if count == 1 else "S")


def name_butt(label: str) -> str:
    """'butt A'."""
    return "butt %s" % label


def name_butt_side(way: str, label: str) -> str:
    """'aft of the butt A'."""
    return "%s of the butt %s" % (way, label)


def name_end(end: str) -> str:
    """'fore end'."""
    return "%s end" % end


# rows of the title block

def tell_rule(rule: WidthRule, asked: Mapping[str, Sequence[str]], counts: Mapping[str, int],
              short: Mapping[str, tuple[int, str]], frames: int) -> str:
    """What the rule asks for, and what is laid out at the frames.

    Parameters
    ----------
    rule : WidthRule
    asked : dict
        {what the rule asks for, in words: labels of the frames where it does}.
    counts : dict
        Frame's label to how many stand there.
    short : dict
        Frame's label to (how many were asked, why they have no room, a key of _WHY).
    frames : int
        How many there are.
    """
    used = "; ".join("%s AT %s" % (words.upper(), _spell_labels(labels, frames)) for words, labels in asked.items())
    return "FASTENINGS BY WIDTH: %s (%s). IT ASKS HERE: %s. LAID OUT: %s." % (
        rule.words.upper(), rule.source.upper(), used, _tell_laid_out(counts, short, frames))


def _tell_laid_out(counts, short, frames):
    """How many are really at the frames, the commonest number first; and where that is fewer than the rule asks for,
    the reason."""
    alike = {}
    for label, count in counts.items():
        alike.setdefault((count, *short.get(label, (count, ""))), []).append(label)
    parts = []
    for (count, wanted, why), labels in sorted(alike.items(), key=lambda item: -item[0][0]):
        parts.append("%s AT %s%s" % (count or "NONE", _spell_labels(labels, frames),
                                     " (%d ASKED: %s)" % (wanted, _WHY[why][0].upper()) if why else ""))
    return "; ".join(parts)


def _spell_labels(labels, frames):
    """Frames by label; 'EVERY FRAME' where it is all of them."""
    if len(labels) == frames:
        return "EVERY FRAME"
    return ("FRAME " if len(labels) == 1 else "FRAMES ") + " ".join(label.upper() for label in labels)


def tell_size(size: FasteningSize) -> str:
    """What is driven, and by which table."""
    return "SIZE: %s, SHANK %s. TABLE: %s." % (size.words.upper(), _capitals_mm(size.diameter_mm, places=2),
                                               size.table.upper())


def tell_metal(metal: Metal, boat: Metal, against: Sequence[str]) -> str:
    """The metal, or that somebody has to name it; against : sentences with objections to it."""
    said = ["NOT NAMED, ASK BEFORE BUYING: ____________" if metal.name == NOT_NAMED else metal.words.upper()]
    if boat.name == NOT_NAMED:
        said.append("SEE WHAT THE REST OF THE BOAT IS FASTENED WITH AND TAKE THE SAME (COMMON PRACTICE, NO SOURCE)")
    else:
        said.append("THE REST OF THE BOAT'S: %s" % boat.words.upper())
    said += [text.upper() for text in against]
    return "METAL: %s." % "; ".join([*said, SAME_METAL.upper()])


def tell_buying(lists: Sequence[FasteningList], spare_percent: float) -> str:
    """What is to be bought."""
    return "BUY, WITH %d PERCENT SPARE: %s." % (spare_percent, "; ".join(
        "%d %s FOR %s (%d DRIVEN)" % (one.total, one.words.upper(), one.use.upper(), one.count) for one in lists))


def tell_heads(size: FasteningSize) -> str:
    """Plugs and how deep they are bored, or what is done in place of plugging."""
    if not size.depth_mm:
        return "HEADS: %s." % size.plug_words.upper()
    return "HEADS: %s, BORED %s DEEP, GRAIN OF THE PLUG ALONG THE PLANK; NEVER LESS THAN %s OF PLUG." % (
        size.plug_words.upper(), _capitals_mm(size.depth_mm), format_inches(LEAST_PLUG_DEPTH_MM).upper())


def tell_lead_holes(size: FasteningSize, frame_wood: str) -> str:
    """What is bored for thread and shank."""
    lead = "A LITTLE UNDER THE SHANK; TRY IT IN A SPARE PIECE"
    if size.lead_mm:
        lead = ("FOR THE THREAD %s IN %s, FOR THE SHANK %s (USDA WOOD HANDBOOK, CH. 8, FROM MEMORY: "
                "TRY IT IN A SPARE PIECE)" % (_capitals_mm(size.lead_mm), frame_wood.upper(),
                                              _capitals_mm(size.diameter_mm, places=2)))
    return "BORE LEAD HOLES: %s." % lead


def tell_distances(settings: FasteningSettings, face: str, apart_mm: Sequence[float]) -> str:
    """The stagger as asked and as laid out, and the distances kept from edges, ends and the frames' sides; apart_mm :
    between the grain lines of each frame's row and the next one's."""
    edge = (_capitals_mm(settings.edge_mm) if settings.edge_mm
            else "3/4 IN OR A SIXTH OF THE WIDTH, WHICHEVER IS MORE")
    found = ""
    if apart_mm:
        least, most = _capitals_mm(min(apart_mm)), _capitals_mm(max(apart_mm))
        found = " WHERE THERE IS ROOM: FROM FRAME TO FRAME %s APART, AS LAID OUT" % (
            most if least == most else "%s TO %s" % (least[:-3], most))
    return "STAGGERED BY %s%s. KEPT FROM THE EDGES %s, FROM ENDS AND BUTTS %s, ON THE %s FACE. FRAMES %s BROAD, %s." % (
        _capitals_mm(settings.stagger_mm), found, edge, _capitals_mm(settings.end_mm), face.upper(),
        _capitals_mm(settings.sided_mm), _LIES[settings.frame_lies])


def tell_no_ends(ends: Sequence[str]) -> str:
    """Ends for which no fastenings were asked."""
    return "NO END FASTENINGS ARE LAID OUT AT THE %s." % " AND THE ".join(name_end(end).upper() for end in ends)


def tell_left_bare(stretches: Sequence[BareStretch]) -> str:
    """Every BareStretch: where it is and how long."""
    return "LEFT BARE, DRAWN DASHED: %s, FROM THE UPPER EDGE DOWN." % "; ".join(
        "%s %s TO %s (%s)" % (_name_stretch(one), _capitals_mm(one.from_mm, places=0),
                              _capitals_mm(one.to_mm, places=0), _capitals_mm(one.length_mm)) for one in stretches)


def _name_stretch(one):
    what = {"frame": "FRAME %s", "butt": "BUTT %s",
            "end": "%s END"}[one.kind] if one.station not in ("fore", "aft") else "%s END"
    return what % one.station.upper() + (", %s SIDE" % one.side.upper() if one.side else "")


# doubts

def tell_frames(labels: Sequence[str], text: str, bare_mm: Sequence[float]) -> str:
    """One doubt of one or several frames; bare_mm : stretches left without fastenings there."""
    return "Frame%s %s: %s%s" % ("s" if len(labels) > 1 else "", ", ".join(labels), text, tell_bare(bare_mm))


def tell_bare(lengths_mm: Sequence[float]) -> str:
    """' Bare for 120 mm.', to follow a sentence; '' where nothing is bare."""
    told = list(dict.fromkeys(map(format_mm, lengths_mm)))
    return " Bare for %s." % ", ".join(told) if told else ""


def tell_fewer_than_the_boat(wanted: int, own: int) -> str:
    """The rule gives fewer than stand in the rest of the boat."""
    return ("the rule gives %d, the boat has %d elsewhere: as many as the rest of the planking at least."
            % (wanted, own))


def tell_no_room_at_frame(why: str) -> str:
    """There is none at a frame; why : a key of _WHY."""
    return "no fastening has room: %s" % _WHY[why][1]


def tell_few_at_frame(count: int, wanted: int, why: str) -> str:
    """There are fewer at a frame than the rule asks for."""
    return "%d of %d fastenings, no room for more: %s" % (count, wanted, _WHY[why][1])


def tell_frame_lines(count: int, apart_mm: float, sided_mm: float) -> str:
    """The frame is so narrow that a row of fastenings might split it."""
    return "%d fastenings stand on lines %s apart in a frame %s broad: nearly one grain line of the frame." % (
        count, format_mm(apart_mm), format_mm(sided_mm))


def tell_butt_on_frame(joint: str, frame: str, bare: str) -> str:
    """A butt on a frame has no fastenings; bare : from tell_bare."""
    return ("The butt %s lies on frame %s. Butts lie between frames, on butt blocks (Army TB 55-1900-201-45/1, "
            "2-13 a); no fastenings were laid out for it.%s" % (joint, frame, bare))


def tell_short_block(side: str, reach_mm: float, end_mm: float, bare: str) -> str:
    """A butt block too short for the end distance; side : from name_butt_side or name_end."""
    return ("%s: the block reaches only %s from the joint, too little for an end distance of %s: none were laid "
            "out.%s") % (
        side.capitalize(), format_mm(reach_mm), format_mm(end_mm), bare)


def tell_no_room_here(side: str, bare: str) -> str:
    """There is none at one side of a butt or at an end."""
    return "%s: no fastening has room.%s" % (side.capitalize(), bare)


def tell_few_at_butt(side: str, count: int, wanted: int, bare: str) -> str:
    """There are fewer at one side of a butt or at an end than were asked for."""
    return "%s: %d of %d fastenings have room.%s" % (side.capitalize(), count, wanted, bare)


def tell_uneven(side: str, bare: str) -> str:
    """All have a place, but not an even one."""
    return "%s: its fastenings stand unevenly, to be clear of each other and of others near them.%s" % (
        side.capitalize(), bare)


def tell_struck_block(count: int, what: str, edge: str, bay: Sequence[str], lap_mm: float) -> str:
    """Fastenings that would hit the butt block of a neighbouring strake; what : from name_butt or name_end."""
    return ("%d fastening%s of the %s strike%s the block of the strake %s in bay %s, which laps this plank by up "
            "to %s.") % (
        count, "s" if count > 1 else "", what, "" if count > 1 else "s", "above" if edge == "upper" else "below",
        "-".join(bay), format_mm(lap_mm))


def warn_of_point(beyond_mm: float, depth_mm: float) -> str:
    """The point comes through the frame."""
    return "The point comes %s through a frame %s deep: clench it, or take a shorter one." % (format_mm(beyond_mm),
                                                                                             format_mm(depth_mm))


def warn_of_point_in_block(kind: str, block_mm: float) -> str:
    """The point comes through a butt block."""
    return "At the butts the point of a %s comes through a block of %s: clench it, or take a shorter one." % (
        kind, format_mm(block_mm))


def warn_of_block(block_mm: float) -> str:
    """No screw holds in a butt block so thin."""
    return "No screw sold holds in a butt block of %s without coming through; bolt or rivet the butts." % format_mm(
        block_mm)


def warn_of_smaller(what: str, taken_mm: float, own_mm: float) -> str:
    """The table gives less than the boat has; what : 'thinner' or 'shorter'."""
    return "What the table gives is %s (%s) than the boat's own (%s): take hers." % (
        what, format_mm(taken_mm, places=2), format_mm(own_mm, places=2))
