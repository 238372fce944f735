"""Sources of the construction checks."""

from qa.calc.sources import Source, Status

OWN = Source("Tolerance of this tool; the job's specification comes first", Status.OWN_DEFAULT)
PRACTICE = Source("Common practice", Status.COMMON_PRACTICE)
DATA_SHEET = Source("Product data sheet of the job", Status.COMMON_PRACTICE)

TOLERANCES = Source("ICPI permeable paver construction tolerance guide, September 2020", Status.LOOKED_UP)
BASES = Source("ICPI contractor article on open-graded bases", Status.LOOKED_UP)
TIPS = Source("Article of construction tips for permeable pavers after ICPI", Status.LOOKED_UP)
NORTH_CAROLINA = Source("15A NCAC 02H .1055", Status.LOOKED_UP)
MINNESOTA_MATERIALS = Source(
    "Minnesota Stormwater Manual, specifications for materials under permeable pavement", Status.LOOKED_UP
)
MINNESOTA_SUMMARY = Source(
    "Minnesota Stormwater Manual, summary of specifications for permeable pavement", Status.LOOKED_UP
)
MINNESOTA_CARE = Source(
    "Minnesota Stormwater Manual, operation and maintenance of permeable pavement", Status.LOOKED_UP
)
SIZES = Source("ASTM D448 / AASHTO M 43", Status.LOOKED_UP)
M_288 = Source("AASHTO M 288, as quoted in the Minnesota manual", Status.LOOKED_UP)
CITY_CODE = Source("Noblesville (Indiana) pervious pavement standard, sections 6-7", Status.LOOKED_UP)
SLOPES = Source("Comparison of jurisdictions in a draft of the Ontario guide", Status.LOOKED_UP)
FHWA_PICP = Source("FHWA-HIF-19-021, April 2019", Status.LOOKED_UP)
RESIN_DEPTHS = Source("Specification advice sheet for resin-bound car parks", Status.LOOKED_UP)
RESIN_STANDARDS = Source("Trade article on resin-bound standards", Status.LOOKED_UP)
RESIN_JOINTS_VARY = Source(
    "Technical note on the permeability of resin paving joint mortar", Status.LOOKED_UP
)
RING_TEST = Source("ASTM C1701/C1701M, C1781/C1781M", Status.FROM_MEMORY)


def remembered(what: str) -> Source:
    """A figure from memory, with what it is a figure of."""
    return Source(what, Status.FROM_MEMORY)


OVERLAP = remembered("Geotextile overlap by CBR of the subgrade, AASHTO M 288 practice")
COMPACTION = remembered("Compaction of open-graded stone under permeable pavers, trade guidance")
CLEAN_STONE = remembered("Washed stone, at most 2 % passing 0.075 mm")
JOINT_STONE = remembered("Joint stone of permeable pavers, trade guidance")
CONCRETE_SPEC = remembered("ACI 522.1, specification for pervious concrete")
ASPHALT_GUIDE = remembered("Porous asphalt guidance of the national asphalt association")
RESIN_CURE = remembered("Resin-bound and resin joint cure, trade guidance; follow the data sheet")
ACCESS = remembered("Accessible routes: openings at most 13 mm")
UTILITIES = remembered("One-call law before digging")
