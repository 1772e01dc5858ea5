"""Woods of the trade: how far each shrinks, and how strong and stiff it is; where every number comes from.

Shrinkages are percent of the green size, from green to ovendry; coefficients are the change in size, as a share, for
one percent of moisture between 6 and 14 percent. All are averages of many trees: single boards differ.
"""
from __future__ import annotations

import math
import re
from dataclasses import dataclass

from ..errors import SettingError

__all__ = ["SPECIES", "Species", "derive_coefficient", "find_species", "list_names", "make_own_species"]

_MEMORY = "from memory, not checked"
_SHRINKAGE = "USDA Wood Handbook FPL-GTR-190 (2010), Table 4-3"
_IMPORTED = "USDA Wood Handbook FPL-GTR-190 (2010), Table 4-4"
_COEFFICIENTS = "USDA Wood Handbook FPL-GTR-190 (2010), Table 13-5"
_STRENGTH = "USDA Wood Handbook FPL-GTR-190 (2010), Tables 5-3 and 5-5, at 12 percent moisture"
_FIELD = "Species"
_SATURATION = 30.0        # percent; the sixty-six hardwood coefficients read in Table 13-5 follow from it to 0.00001


@dataclass(frozen=True)
class Species:
    """One wood.

    radial_percent, tangential_percent, volumetric_percent : shrinkage from green to ovendry; volumetric 0 where it is
    not known.
    radial_coefficient, tangential_coefficient : per percent of moisture within 6 to 14 percent, or None.
    imported : its row is in the table of imported woods, whose coefficients do not follow from its shrinkages.
    rupture_mpa, elastic_gpa : bending strength and stiffness of clear dry wood, or None.
    shrinkage_source, coefficient_source, strength_source : where the numbers are from, and 'from memory, not checked'
    where they were not looked up.
    """

    name: str
    others: tuple[str, ...] = ()
    radial_percent: float = 0.0
    tangential_percent: float = 0.0
    volumetric_percent: float = 0.0
    radial_coefficient: float | None = None
    tangential_coefficient: float | None = None
    imported: bool = False
    rupture_mpa: float | None = None
    elastic_gpa: float | None = None
    shrinkage_source: str = ""
    coefficient_source: str = ""
    strength_source: str = ""
    own: bool = False

    def pick_shrinkage_percent(self, cut: str) -> float:
        """Shrinkage across the width of a board: flat sawn the tangential, quarter sawn the radial."""
        return {"flat": self.tangential_percent, "quarter": self.radial_percent}[cut]

    def pick_coefficient(self, cut: str) -> float | None:
        """Coefficient across the width of a board, or None."""
        return {"flat": self.tangential_coefficient, "quarter": self.radial_coefficient}[cut]


def _enter(name, others, shrinkage, coefficients=None, strength=None, *, imported=False, seen="", seen_coefficients=""):
    """A row of the table. seen, seen_coefficients : which numbers were checked in the source: '' none, 'all', or the
    one."""
    table = _IMPORTED if imported else _SHRINKAGE
    def cite(where, read):
        return where if read == "all" else "%s, %s%s" % (where, "all but the %s " % read if read else "", _MEMORY)
    told, by = cite(table, seen), cite(_COEFFICIENTS, seen_coefficients)
    radial, tangential = coefficients or (None, None)
    rupture, elastic = strength or (None, None)
    across, along_rings, volume = shrinkage
    return Species(name, tuple(others), radial_percent=across, tangential_percent=along_rings,
                   volumetric_percent=volume, radial_coefficient=radial, tangential_coefficient=tangential,
                   imported=imported, rupture_mpa=rupture,
                   elastic_gpa=elastic, shrinkage_source=told, coefficient_source=by if coefficients else "",
                   strength_source="%s, %s" % (_STRENGTH, _MEMORY) if strength else "")


SPECIES = (
    _enter("white oak", ["quercus alba"], shrinkage=(5.6, 10.5, 16.3), coefficients=(.00180, .00365),
           strength=(105, 12.3), seen="all",
           seen_coefficients="all"),
    _enter("live oak", ["quercus virginiana"], (6.6, 9.5, 14.7), (.00230, .00338), seen="all", seen_coefficients="all"),
    _enter("overcup oak", ["quercus lyrata"], (5.3, 12.7, 16.0), (.00183, .00462), seen="all", seen_coefficients="all"),
    _enter("northern red oak", ["red oak", "quercus rubra"], (4.0, 8.6, 13.7), (.00158, .00369),
           seen_coefficients="all"),
    _enter("white ash", ["fraxinus americana"], (4.9, 7.8, 13.3), (.00169, .00274), seen="all",
           seen_coefficients="all"),
    _enter("black locust", ["locust", "robinia", "robinia pseudoacacia"], (4.6, 7.2, 10.2), (.00158, .00252),
           seen_coefficients="all"),
    _enter("red alder", ["alnus rubra"], (4.4, 7.3, 12.6), (.00151, .00256), seen="all", seen_coefficients="all"),
    _enter("Atlantic white-cedar", ["southern white cedar", "juniper", "chamaecyparis thyoides"],
           shrinkage=(2.9, 5.4, 8.8),
           coefficients=(.00099, .00187), strength=(47, 6.4), seen="all"),
    _enter("northern white-cedar", ["eastern white cedar", "thuja occidentalis"], shrinkage=(2.2, 4.9, 7.2),
           coefficients=(.00101, .00229),
           strength=(45, 5.5), seen="all"),
    _enter("western redcedar", ["western red cedar", "red cedar", "thuja plicata"], shrinkage=(2.4, 5.0, 6.8),
           coefficients=(.00111, .00234),
           strength=(51.7, 7.7), seen="all"),
    _enter("Port-Orford-cedar", ["port orford", "lawson cypress", "chamaecyparis lawsoniana"],
           shrinkage=(4.6, 6.9, 10.1),
           coefficients=(.00158, .00241), strength=(88, 11.7), seen="all"),
    _enter("yellow-cedar", ["alaska cedar", "alaska yellow cedar", "yellow cypress", "chamaecyparis nootkatensis"],
           shrinkage=(2.8, 6.0, 9.2), coefficients=(.00095, .00208), strength=(77, 9.8), seen="all"),
    _enter("Douglas-fir, coast", ["douglas fir", "oregon pine", "pseudotsuga menziesii"], shrinkage=(4.8, 7.6, 12.4),
           coefficients=(.00165, .00267), strength=(85, 13.4), seen="all", seen_coefficients="tangential"),
    _enter("Douglas-fir, interior west", [], (4.8, 7.5, 11.8), seen="all"),
    _enter("Douglas-fir, interior north", [], (3.8, 6.9, 10.7), seen="all"),
    _enter("white fir", ["abies concolor"], (3.3, 7.0, 9.8), (.00112, .00245), seen="all", seen_coefficients="radial"),
    _enter("baldcypress", ["bald cypress", "southern cypress", "taxodium distichum"], shrinkage=(3.8, 6.2, 10.5),
           coefficients=(.00130, .00216), strength=(73, 9.9)),
    _enter("longleaf pine", ["longleaf yellow pine", "heart pine", "pitch pine", "pinus palustris"],
           shrinkage=(5.1, 7.5, 12.2),
           coefficients=(.00176, .00263), strength=(100, 13.7), seen_coefficients="tangential"),
    _enter("eastern white pine", ["white pine", "pinus strobus"], (2.1, 6.1, 8.2), (.00071, .00212)),
    _enter("western larch", ["larix occidentalis"], shrinkage=(4.5, 9.1, 14.0), coefficients=(.00155, .00323),
           strength=(90, 12.9), seen="tangential"),
    _enter("tamarack", ["hackmatack", "eastern larch", "larix laricina"], (3.7, 7.4, 13.6), (.00126, .00259)),
    _enter("Sitka spruce", ["picea sitchensis"], shrinkage=(4.3, 7.5, 11.5), coefficients=(.00148, .00263),
           strength=(70, 10.8)),
    _enter("true mahogany", ["mahogany", "honduras mahogany", "swietenia macrophylla"], shrinkage=(3.0, 4.1, 7.8),
           coefficients=(.00172, .00238), strength=(79, 10.3), imported=True, seen="all"),
    _enter("African mahogany", ["khaya"], (2.5, 4.5, 8.8), imported=True, seen="all"),
    _enter("teak", ["tectona grandis"], shrinkage=(2.5, 5.8, 7.0), coefficients=(.00101, .00186),
           strength=(101, 10.7), imported=True,
           seen_coefficients="tangential"),
    _enter("afrormosia", ["pericopsis elata"], (3.0, 6.4, 10.7), imported=True, seen="all"),
    _enter("angelique", ["basralocus", "dicorynia guianensis"], (5.2, 8.8, 14.0), imported=True, seen="all"),
    _enter("apitong", ["keruing", "dipterocarpus"], (5.2, 10.9, 16.1), imported=True, seen="all"),
    _enter("greenheart", ["ocotea rodiaei"], (8.8, 9.6, 17.1), imported=True),
    _enter("iroko", ["milicia excelsa"], (2.8, 3.8, 8.8), imported=True),
    _enter("purpleheart", ["peltogyne"], (3.2, 6.1, 9.9), imported=True),
    _enter("Spanish-cedar", ["cedrela"], (4.2, 6.3, 10.3), imported=True),
)

# trade names that match no row, or more than one, with the nearest rows for the user to choose from
_NEAREST = {
    "larch": ("western larch", "tamarack"), "european larch": ("western larch", "tamarack"),
    "siberian larch": ("western larch", "tamarack"),
    "larix decidua": ("western larch", "tamarack"), "oak": ("white oak", "live oak", "northern red oak"),
    "european oak": ("white oak",), "english oak": ("white oak",),
    "quercus robur": ("white oak",),
    "cedar": ("Atlantic white-cedar", "northern white-cedar", "western redcedar", "Port-Orford-cedar", "yellow-cedar"),
    "white cedar": ("Atlantic white-cedar", "northern white-cedar"), "pine": ("longleaf pine", "eastern white pine"),
    "spruce": ("Sitka spruce",), "ash": ("white ash",),
    "cypress": ("baldcypress", "yellow-cedar", "Port-Orford-cedar"), "fir": ("Douglas-fir, coast", "white fir"),
}
_OWN = "Or give its shrinkage yourself, tangential and radial, percent from green to ovendry"


def _plain(text):
    """A name's words in alphabetical order, so that 'cedar, Atlantic white' equals 'Atlantic white-cedar'."""
    return " ".join(sorted(re.findall(r"[^\W_]+", str(text).lower())))


_BY_NAME = {_plain(word): one for one in SPECIES for word in (one.name, *one.others)}


def _find_close(plain):
    """Names of up to three rows with a similar spelling, or with a similar word in them."""
    import difflib  # loaded only where a name is not found
    by_words = {**{word: [one.name] for word, one in _BY_NAME.items()},
                **{_plain(word): rows for word, rows in _NEAREST.items()}}
    matches = difflib.get_close_matches(plain, list(by_words), n=4, cutoff=0.6)
    for word in plain.split():
        matches += [key for key in by_words if difflib.get_close_matches(word, key.split(), n=1, cutoff=0.8)
                    and key not in matches]
    found = []
    for key in matches:
        found += [name for name in by_words[key] if name not in found]
    return found[:3]


def list_names() -> list[str]:
    """Names of all rows, in the order of the table."""
    return [one.name for one in SPECIES]


def find_species(name: str, *, tangential_percent: float | None = None, radial_percent: float | None = None) -> Species:
    """The Species with a name; case, blanks, hyphens and the order of words are ignored.

    Parameters
    ----------
    name : str
        A trade or botanical name.
    tangential_percent, radial_percent : float, optional
        Shrinkage the user knows: with both, they are used instead of any table, and the name is only a name.

    Raises
    ------
    SettingError
        For a name that is not in the table; the remedy offers the nearest. 'Larch' is refused so: European larch has no
        row there.
    """
    if tangential_percent is not None or radial_percent is not None:
        return make_own_species(tangential_percent, radial_percent, name=name)
    plain = _plain(name)
    if plain in _BY_NAME:
        return _BY_NAME[plain]
    if plain == "own":
        raise SettingError("A wood of one's own needs its shrinkage.",
                           "Give tangential and radial shrinkage, percent from green to ovendry.", _FIELD)
    rows = next((near for word, near in _NEAREST.items() if _plain(word) == plain), None)
    if rows:
        raise SettingError("'%s' has no row of its own in the table of woods." % name,
                           "The nearest rows are: %s; choose one. %s." % ("; ".join(rows), _OWN), _FIELD)
    close = _find_close(plain)
    near = "Did you mean %s? " % " or ".join(close) if close else "Known are: %s. " % "; ".join(list_names())
    raise SettingError("The wood '%s' is not known here." % name, near + _OWN + ".", _FIELD)


def make_own_species(tangential_percent: float | None, radial_percent: float | None, *, name: str = "own") -> Species:
    """A Species with the user's own shrinkages, percent from green to ovendry; movement always uses Equation 13-3.

    Raises
    ------
    SettingError
        Unless both are positive and at most 25, and the radial is not the larger.
    """
    for value, word in ((tangential_percent, "tangential"), (radial_percent, "radial")):
        if value is None or not (math.isfinite(value) and 0 < value <= 25):
            raise SettingError("The %s shrinkage is %s." % (word, "not given" if value is None else "%g %%" % value),
                               "Give both shrinkages, above 0 and at most 25 percent, from green to ovendry.",
                               "Shrinkage, %s" % word)
    assert radial_percent is not None and tangential_percent is not None
    if radial_percent > tangential_percent:
        raise SettingError("The radial shrinkage, %g %%, is larger than the tangential, %g %%."
                           % (radial_percent, tangential_percent),
                           "Wood shrinks more along its rings than across them: change the two over.",
                           "Shrinkage, radial")
    return Species(str(name).strip() or "own", (), float(radial_percent), float(tangential_percent),
                   shrinkage_source="given by the user", own=True)


def derive_coefficient(shrinkage_percent: float, *, saturation_percent: float = _SATURATION) -> float:
    """The coefficient derived from a domestic wood's shrinkage, relative to the size at 10 percent moisture.

    C = (S/f) / (1 - S (f - 10)/f) with S the shrinkage as a share and f the moisture at which it begins: 30, or 22 for
    redcedar and its kind. Derived; it gives all sixty-six coefficients of hardwoods that were read in Table 13-5 within
    0.00001, and does not hold for imported woods.
    """
    share = shrinkage_percent / 100
    return share / saturation_percent / (1 - share * (saturation_percent - 10) / saturation_percent)
