"""Sources of the construction checks."""

from core.calc.translation import gettext_noop
from qa.calc.sources import Source, SourceStatus, from_memory, guidance, looked_up

OWN = Source(
    gettext_noop("Tolerance of this tool; the job's specification comes first"), SourceStatus.OWN_DEFAULT
)
PRACTICE = Source(gettext_noop("Common practice"), SourceStatus.COMMON_PRACTICE)
DATA_SHEET = Source(gettext_noop("Product data sheet of the job"), SourceStatus.COMMON_PRACTICE)

TOLERANCES = looked_up(gettext_noop("ICPI permeable paver construction tolerance guide, September 2020"))
BASES = guidance(gettext_noop("ICPI contractor article on open-graded bases"))
TIPS = guidance(gettext_noop("Article of construction tips for permeable pavers after ICPI"))
NORTH_CAROLINA = looked_up(gettext_noop("15A NCAC 02H .1055"))
MINNESOTA_MATERIALS = looked_up(
    gettext_noop("Minnesota Stormwater Manual, specifications for materials under permeable pavement")
)
MINNESOTA_SUMMARY = looked_up(
    gettext_noop("Minnesota Stormwater Manual, summary of specifications for permeable pavement")
)
MINNESOTA_CARE = looked_up(
    gettext_noop("Minnesota Stormwater Manual, operation and maintenance of permeable pavement")
)
SIZES = looked_up(gettext_noop("ASTM D448 / AASHTO M 43"))
M_288 = looked_up(gettext_noop("AASHTO M 288, as quoted in the Minnesota manual"))
CITY_CODE = looked_up(gettext_noop("Noblesville (Indiana) pervious pavement standard, sections 6-7"))
SLOPES = looked_up(gettext_noop("Ontario LID stormwater guide (draft), comparison of jurisdictions"))
RESIN_DEPTHS = guidance(gettext_noop("Specification advice sheet for resin-bound car parks"))
RESIN_STANDARDS = guidance(gettext_noop("Trade article on resin-bound standards"))
RESIN_JOINTS_VARY = guidance(gettext_noop("Technical note on the permeability of resin paving joint mortar"))
RING_TEST = Source(gettext_noop("ASTM C1701/C1701M, C1781/C1781M"), SourceStatus.FROM_MEMORY)

OVERLAP = from_memory(gettext_noop("Geotextile overlap by CBR of the subgrade, AASHTO M 288 practice"))
COMPACTION = guidance(gettext_noop("Compaction of open-graded stone under permeable pavers, trade guidance"))
CLEAN_STONE = guidance(gettext_noop("Washed stone, at most 2 % passing 0.075 mm"))
JOINT_STONE = guidance(gettext_noop("Joint stone of permeable pavers, trade guidance"))
CORES = from_memory(gettext_noop("ACI 522.1, three cores for each 5,000 ft² of pervious concrete"))
CONCRETE_SPEC = from_memory(gettext_noop("ACI 522.1, specification for pervious concrete"))
ASPHALT_GUIDE = guidance(gettext_noop("Porous asphalt guidance of the national asphalt association"))
RESIN_CURE = guidance(gettext_noop("Resin-bound and resin joint cure, trade guidance; follow the data sheet"))
ACCESS = guidance(gettext_noop("Accessible routes: openings at most 13 mm"))
BOUND = guidance(
    gettext_noop(
        "Bound laying of natural stone and pavers on drainage concrete, trade guidance; follow the data sheet"
    )
)
CLAY_SIZES = from_memory(
    gettext_noop("ASTM C902 (pedestrian and light traffic) and ASTM C1272 (heavy vehicles), paving brick")
)
UTILITIES = guidance(gettext_noop("One-call law before digging"))
