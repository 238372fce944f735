"""Sources of the construction checks."""

from qa.calc.sources import Source, SourceStatus, from_memory, guidance, looked_up

OWN = Source("Tolerance of this tool; the job's specification comes first", SourceStatus.OWN_DEFAULT)
PRACTICE = Source("Common practice", SourceStatus.COMMON_PRACTICE)
DATA_SHEET = Source("Product data sheet of the job", SourceStatus.COMMON_PRACTICE)

TOLERANCES = looked_up("ICPI permeable paver construction tolerance guide, September 2020")
BASES = guidance("ICPI contractor article on open-graded bases")
TIPS = guidance("Article of construction tips for permeable pavers after ICPI")
NORTH_CAROLINA = looked_up("15A NCAC 02H .1055")
MINNESOTA_MATERIALS = looked_up(
    "Minnesota Stormwater Manual, specifications for materials under permeable pavement"
)
MINNESOTA_SUMMARY = looked_up("Minnesota Stormwater Manual, summary of specifications for permeable pavement")
MINNESOTA_CARE = looked_up("Minnesota Stormwater Manual, operation and maintenance of permeable pavement")
SIZES = looked_up("ASTM D448 / AASHTO M 43")
M_288 = looked_up("AASHTO M 288, as quoted in the Minnesota manual")
CITY_CODE = looked_up("Noblesville (Indiana) pervious pavement standard, sections 6-7")
SLOPES = looked_up("Ontario LID stormwater guide (draft), comparison of jurisdictions")
RESIN_DEPTHS = guidance("Specification advice sheet for resin-bound car parks")
RESIN_STANDARDS = guidance("Trade article on resin-bound standards")
RESIN_JOINTS_VARY = guidance("Technical note on the permeability of resin paving joint mortar")
RING_TEST = Source("ASTM C1701/C1701M, C1781/C1781M", SourceStatus.FROM_MEMORY)

OVERLAP = from_memory("Geotextile overlap by CBR of the subgrade, AASHTO M 288 practice")
COMPACTION = guidance("Compaction of open-graded stone under permeable pavers, trade guidance")
CLEAN_STONE = guidance("Washed stone, at most 2 % passing 0.075 mm")
JOINT_STONE = guidance("Joint stone of permeable pavers, trade guidance")
CORES = from_memory("ACI 522.1, three cores for each 5,000 ft² of pervious concrete")
CONCRETE_SPEC = from_memory("ACI 522.1, specification for pervious concrete")
ASPHALT_GUIDE = guidance("Porous asphalt guidance of the national asphalt association")
RESIN_CURE = guidance("Resin-bound and resin joint cure, trade guidance; follow the data sheet")
ACCESS = guidance("Accessible routes: openings at most 13 mm")
BOUND = guidance(
    "Bound laying of natural stone and pavers on drainage concrete, trade guidance; follow the data sheet"
)
CLAY_SIZES = from_memory(
    "ASTM C902 (pedestrian and light traffic) and ASTM C1272 (heavy vehicles), paving brick"
)
UTILITIES = guidance("One-call law before digging")
