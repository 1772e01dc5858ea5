"""Sentences that were made for lettering in capitals, converted to ordinary case; names and abbreviations keep theirs.
"""
from __future__ import annotations

import functools
import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typing import Sequence

__all__ = ["settle_case"]

# always written with capitals; phrases must precede the words that they are made of
_PROPER = (
    "FPL-GTR-190", "TB 55-1900-201-45/1", "US Army", "USDA Wood Handbook", "Wood Handbook", "NHLA", "SM", "FPL", "EN",
    "ISO", "ASTM", "USDA", "US", "Lloyd's Register", "Lloyd's", "Great Lakes", "J.-B. Souppez", "WoodenBoat",
    "Traditional Small Craft Association", "Choptank Boatworks", "Herreshoff", "Nevins",
    "Screw Sizes for Planking and Deck Fastenings", "Nail Size Chart", "R. M. Steward", "Steward",
    "Boatbuilding Manual", "E. F. Knight",
    "Small-Boat Sailing", "Small Boat Sailing", "Gougeon", "Douglas-fir", "Sitka", "Spanish-cedar", "Port-Orford-cedar",
    "Atlantic white-cedar", "African", "Alaska", "Honduras", "Rules 1891", "Section", "Table", "Tables", "Equation",
    "FWD",
)
# after these words a single letter is a name, not the article
_NAMED_BY = ("BUTT", "SCARF", "PART", "PARA", "JOINT", "CROSS", "BOARD", "STRAKE", "FRAME", "STATION", "BAY", "AND",
             "TO", "OR")
_UNITS = {"MM", "CM", "M", "FT", "IN", "BF", "KG", "N", "DEG", "X"}
_WORD = re.compile(r"[^\W_]+(?:['\u2019][^\W_]+)*")
_KEPT = 0xE000            # first of the private-use characters that stand for names while the rest is converted


def settle_case(text: str, names: Sequence[str] = ()) -> str:
    """A sentence in capitals converted to ordinary case: 'STRAKE 4A BUTT 23-24: 2 STRAKES BETWEEN.' becomes 'Strake 4a
    butt 23-24: 2 strakes between.' if a strake is called 4a.

    Parameters
    ----------
    text : str
        A text that is not all in capitals only has its first letter made a capital.
    names : sequence of str
        Names of boat, strake, frames, boards and files as they are written.
    """
    text = text.strip()
    if not text.isupper():
        return text[:1].upper() + text[1:]
    kept: list[str] = []

    def keep(match: re.Match[str], name: str) -> str:
        kept.append(name)
        return chr(_KEPT + len(kept) - 1)
    wanted = {n.strip() for n in (*names, *_PROPER) if len(n.strip()) > 1 and any(c.isalpha() for c in n)}
    for name in sorted(wanted, key=lambda n: (-len(n), n)):
        text = re.sub(r"(?<!\w)%s(?!\w)" % re.escape(name.upper()), functools.partial(keep, name=name), text)
    pieces, at, before = [], 0, ""
    for match in _WORD.finditer(text):
        pieces += [text[at:match.start()], _settle_word(match.group(), before, text[match.end():])]
        at, before = match.end(), match.group()
    lower = "".join(pieces) + text[at:]
    for k in range(len(kept) - 1, -1, -1):
        lower = lower.replace(chr(_KEPT + k), kept[k])
    return re.sub(r"(^|[^.\W]{2}[.!?]\s+|[)%\d][.!?]\s+)([^\W\d_])", lambda m: m.group(1) + m.group(2).upper(), lower)


def _settle_word(word, before, after):
    """One word; before : the word ahead of it, after : the text behind it."""
    if word in _UNITS and (before[-1:].isdigit() or len(word) > 1):
        return word.lower()
    if any(c.isdigit() for c in word):
        return word.lower() if re.match(r"^(M[23]|\d+(MM|D))$", word) else word
    if len(word) == 1:
        article = word == "A" and before not in _NAMED_BY and after[:1] == " "
        return word.lower() if article or word == "A" and not before and after[:1] == " " else word
    return word.lower()
