"""Where the numbers of this room come from, as data, so that a screen can say it beside them.

Nothing here was compared with the paid text of a standard. What carries MEMORY was written down
by someone who knew the table, without the print at hand; a person should look it up before
leaning on it.
"""

from dataclasses import dataclass
from enum import Enum


class Provenance(Enum):
    """How far a number may be trusted; the value is the phrase shown beside it."""

    SEEN = "read in the source named"
    COPY = "read in a public copy of the table, not in the standard itself"
    MEMORY = "from memory, not yet looked up"
    PRACTICE = "common practice, no published source"
    OWN = "our own default, no published source"


@dataclass(frozen=True)
class Source:
    """A publication (or the lack of one) and how the number was had from it."""

    publication: str
    provenance: Provenance

    def text(self) -> str:
        """One line for a screen or a report."""
        if not self.publication:
            return self.provenance.value
        return f"{self.publication}; {self.provenance.value}"


D497_COPY = Source("ASABE D497, draft table in SI units", Provenance.COPY)
D497_MEMORY = Source("ASABE D497, draft table", Provenance.MEMORY)
D497_FUEL = Source("ASABE D497.7, clause on fuel use", Provenance.COPY)
EP496 = Source(
    "ASABE EP496, as used by Iowa State University PM 696 and AgDM A3-24", Provenance.SEEN
)
ARIZONA_MACHINERY = Source(
    "University of Arizona Cooperative Extension, Agricultural Machinery Management",
    Provenance.SEEN,
)
MISSOURI_G1235 = Source("University of Missouri Extension G1235", Provenance.SEEN)
PENN_STATE_COMPACTION = Source("Penn State Extension, articles on compaction", Provenance.SEEN)
FOREST_SERVICE_CONES = Source(
    "USDA Forest Service 0524-2837-MTDC (2005), hand-held cone penetrometers", Provenance.SEEN
)
CORNELL_PO35 = Source("Cornell NRCCA study guide, objective 35", Provenance.SEEN)
NRCS_324 = Source("USDA-NRCS practice standard 324, Deep Tillage (2008)", Provenance.SEEN)
TASMANIA_RIPPING = Source(
    "Tasmanian Government (DPIPWE), Deep ripping: depths and implements", Provenance.SEEN
)
SPOOR_GODWIN = Source("Spoor and Godwin 1978, critical working depth", Provenance.MEMORY)
SOIL_BY_FEEL = Source(
    "University of Minnesota Extension and NRCS, soil moisture by feel and appearance",
    Provenance.SEEN,
)
VAN_BAVEL = Source("van Bavel 1950, mean weight diameter", Provenance.MEMORY)
MSU_DIGGING = Source(
    "MSU Extension, When am I farming and when am I excavating; one-call centres' farmer pages",
    Provenance.SEEN,
)
COMMON_PRACTICE = Source("", Provenance.PRACTICE)
OWN_DEFAULT = Source("", Provenance.OWN)
