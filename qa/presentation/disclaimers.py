"""Cautions that stand beside results, each said in the same words wherever it stands."""

AID_ONLY = (
    "Screening and record-keeping aid. Not a design, certificate or warranty; design and acceptance belong to "
    "licensed professionals, and local codes and the stormwater authority prevail."
)
DESIGN_AID_ONLY = (
    "Screening and record-keeping aid only: not a design, certificate or warranty. Design belongs to a licensed "
    "engineer or geotechnical professional; local codes, permits and the stormwater authority prevail."
)
ONE_SPOT_ONE_DAY = "A test speaks for its spot and its day."
UTILITIES = "Locate utilities before digging, coring, anchoring or lifting."
DUST_AND_TRAFFIC = "Traffic control, eye and hearing protection; cutting and blowing make silica dust."
WASTE_AND_WELLS = (
    "Removed sediment may be controlled waste. No entry to wells or catch basins without a permit."
)
SETBACKS = "Keep infiltration away from foundations, wells and contaminated ground as the local rule says."
