"""Cautions that stand beside results, each said in the same words wherever it stands.

They are marked here, and looked up by whoever shows them.
"""

from core.calc.translation import gettext_noop

AID_ONLY = gettext_noop(
    "Screening and record-keeping aid. Not a design, certificate or warranty; design and acceptance belong to "
    "licensed professionals, and local codes and the stormwater authority prevail."
)
DESIGN_AID_ONLY = gettext_noop(
    "Screening and record-keeping aid only: not a design, certificate or warranty. Design belongs to a licensed "
    "engineer or geotechnical professional; local codes, permits and the stormwater authority prevail."
)
ONE_SPOT_ONE_DAY = gettext_noop("A test speaks for its spot and its day.")
UTILITIES = gettext_noop("Locate utilities before digging, coring, anchoring or lifting.")
DUST_AND_TRAFFIC = gettext_noop(
    "Traffic control, eye and hearing protection; cutting and blowing make silica dust."
)
WASTE_AND_WELLS = gettext_noop(
    "Removed sediment may be controlled waste. No entry to wells or catch basins without a permit."
)
SETBACKS = gettext_noop(
    "Keep infiltration away from foundations, wells and contaminated ground as the local rule says."
)
