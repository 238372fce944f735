"""What is believed before a portfolio has data: one table to read and to argue with.

Every figure stands with its source. "Abstract" means the figure was read in the abstract of the paper
named; "common practice, no source" and "our judgement" mean what they say. Rates are mm/h, scatter is the
standard deviation of the natural log of a rate (0.2 is about 20 %), declines are log units a year (0.2 is
about 18 % a year). A spread is one standard deviation: two in three portfolios are expected inside it.

The figures are wide on purpose. A portfolio's own tests replace them within some tens of surfaces.
"""

from __future__ import annotations

from math import log
from typing import NamedTuple

from core.calc.translation import gettext_noop

SCHEMA = 2
KAPPA_RANGE = (-1.2, 3.0)  # a year; beyond it a surface seals or stands still within months
SEALED_MM_H = (
    18.0  # practically impermeable: 50 l/(s ha), FGSV 4/04 2007, abstract; how far below decides nothing
)
FASTEST_MM_H = 1e6  # ranges end here: far beyond what any test can tell
RUN_ON_CAP = 5.0  # run-on ratios above this count as this: no evidence reaches further


class Belief(NamedTuple):
    """A mean with one standard deviation, and where both come from."""

    mean: float
    sd: float
    source: str


class SurfaceBelief(NamedTuple):
    """as_new_mm_h: median rate as new; as_new_sd: log units; decline, decline_sd: log units a year."""

    as_new_mm_h: float
    as_new_sd: float
    decline: float
    decline_sd: float
    source: str


class CleaningBelief(NamedTuple):
    """What one way of cleaning gives back.

    share, share_sd: share of the lost log rate that returns on a dry surface (0 nothing, 1 as new)
    wet_penalty, wet_penalty_sd: taken off the share when the surface is wet
    scatter: sd of the log rate just after, from one cleaning to the next
    """

    share: float
    share_sd: float
    wet_penalty: float
    wet_penalty_sd: float
    scatter: float
    source: str


class MethodBelief(NamedTuple):
    """How a test method reads against the ring.

    offset: mean log of (reading / ring reading); offset_sd: how well that mean is known
    surface_sd: how far the offset differs from surface to surface, constant on one surface
    """

    offset: float
    offset_sd: float
    surface_sd: float
    source: str


class Factor(NamedTuple):
    """A published before/after pair, with the as-new rate that turns it into a share restored."""

    method: str
    before: float
    after: float
    as_new: float
    unit: str
    source: str


def share_restored(before: float, after: float, as_new: float) -> float:
    """Share of the lost log rate that came back: ln(after/before) / ln(as_new/before).

    All three rates in one unit and above 0, before below as_new. Negative when the rate fell. The as-new
    rate is seldom published beside the pair; where it is not, the table's own median is used, and a
    factor of two in it moves a share of 0.2 by about 0.06, which is inside the spreads below.
    """
    if not 0.0 < before < as_new or not after > 0.0:
        raise ValueError(
            f"Rates must be above 0 and before below as_new, got before={before}, after={after}, as_new={as_new}."
        )
    return log(after / before) / log(as_new / before)


_SIMPSON = "Simpson et al. 2021, J. Environ. Manage. 294:112990, abstract"
_ALRUBAEI = "Al-Rubaei et al. 2013, J. Irrig. Drain. Eng., doi 10.1061/(ASCE)IR.1943-4774.0000569, abstract"
_BEAN = "Bean et al. 2007, J. Irrig. Drain. Eng. 133(3):249-255, abstract"

# Published pairs. 167 mm/min is the table's as-new median for interlocking pavers (10 000 mm/h), 290 mm/min
# the published lower bound of the new porous asphalt, 50 cm/h the table's median for concrete grids.
# A share against a lower bound of the as-new rate is an upper bound of its size.
PUBLISHED_CLEANINGS = (
    Factor(method="vacuum", before=16.0, after=26.0, as_new=167.0, unit="mm/min", source=_SIMPSON),
    Factor(
        method="joint_refill",
        before=5.0,
        after=106.0,
        as_new=167.0,
        unit="mm/min",
        source=_SIMPSON + "; joint aggregate taken out by air and suction",
    ),
    Factor(
        method="joint_refill",
        before=11.0,
        after=37.0,
        as_new=167.0,
        unit="mm/min",
        source=_SIMPSON + "; washed first, then as above",
    ),
    Factor(
        method="wash_vacuum",
        before=8.0,
        after=20.0,
        as_new=167.0,
        unit="mm/min",
        source=_SIMPSON + "; wash alone, not significant",
    ),
    Factor(
        method="regen_air",
        before=19.0,
        after=4.0,
        as_new=167.0,
        unit="mm/min",
        source=_SIMPSON + "; in wet weather, significantly worse",
    ),
    Factor(
        method="wash_vacuum",
        before=0.50,
        after=3.48,
        as_new=290.0,
        unit="mm/min",
        source=_ALRUBAEI + "; 18 years old",
    ),
    Factor(
        method="wash_vacuum",
        before=0.22,
        after=0.22,
        as_new=290.0,
        unit="mm/min",
        source=_ALRUBAEI + "; 24 years old, no effect",
    ),
    Factor(
        method="mill",
        before=4.9,
        after=8.6,
        as_new=50.0,
        unit="cm/h",
        source=_BEAN + "; top 13-19 mm of a sand-filled grid taken out by hand",
    ),
)

SURFACES: dict[str, SurfaceBelief] = {
    "picp": SurfaceBelief(
        as_new_mm_h=10_000.0,
        as_new_sd=0.6,
        decline=0.18,
        decline_sd=0.08,
        source=gettext_noop(
            "as new: 5 080 mm/h or more (Smith et al. 2012, ASTM STP1551, abstract) and 20 000 mm/h "
            "on stable ground (Bean et al. 2007, J. Irrig. Drain. Eng. 133(3):249-255, abstract); "
            "decline: a power of ten in some years, 5-10 years to a plateau (Borgwardt 2006, "
            "summary), that is 0.23-0.46 a year on trafficked paving with run-on; bays still high "
            "after 10 years (Water 10:497, abstract)"
        ),
    ),
    "clay": SurfaceBelief(
        as_new_mm_h=6_000.0,
        as_new_sd=0.8,
        decline=0.18,
        decline_sd=0.09,
        source=gettext_noop("our judgement: as interlocking concrete pavers, with narrower joints"),
    ),
    "resin_joint": SurfaceBelief(
        as_new_mm_h=2_000.0,
        as_new_sd=1.0,
        decline=0.20,
        decline_sd=0.10,
        source=gettext_noop("our judgement: fine bound joint mortar over a small share of the area"),
    ),
    "resin_bound": SurfaceBelief(
        as_new_mm_h=15_000.0,
        as_new_sd=0.9,
        decline=0.18,
        decline_sd=0.09,
        source=gettext_noop("our judgement: open 6 mm aggregate, the surface itself is the filter"),
    ),
    "pervious_concrete": SurfaceBelief(
        as_new_mm_h=15_000.0,
        as_new_sd=0.8,
        decline=0.20,
        decline_sd=0.10,
        source=gettext_noop(
            "as new: stable sites have a median of 40 000 mm/h (Bean et al. 2007, J. Irrig. Drain. "
            "Eng. 133(3):249-255, abstract), most mixes less (our judgement); decline: unmaintained "
            "lots of the south-east of the US from 10 to 5 800 mm/h (FDOT BD521-02, abstract)"
        ),
    ),
    "porous_asphalt": SurfaceBelief(
        as_new_mm_h=18_000.0,
        as_new_sd=0.5,
        decline=0.20,
        decline_sd=0.08,
        source=gettext_noop(
            "as new: more than 17 400 mm/h (Al-Rubaei et al. 2013, J. Irrig. Drain. Eng., doi "
            "10.1061/(ASCE)IR.1943-4774.0000569, abstract), 18 000-24 000 in trade news; decline: "
            "0.35 and 0.30 a year over 18 and 24 years on gritted streets, computed from the same; "
            "grit and traffic below carry the rest"
        ),
    ),
    "concrete_grid": SurfaceBelief(
        as_new_mm_h=500.0,
        as_new_sd=1.2,
        decline=0.12,
        decline_sd=0.08,
        source=gettext_noop(
            "as new: sand-filled grids in use have a median of 49 mm/h (Bean et al. 2007, J. Irrig. "
            "Drain. Eng. 133(3):249-255, abstract), stone-filled ones drain like pavers; 500 with a "
            "wide spread is our judgement"
        ),
    ),
    "plastic_grid": SurfaceBelief(
        as_new_mm_h=5_000.0,
        as_new_sd=1.1,
        decline=0.14,
        decline_sd=0.08,
        source=gettext_noop("our judgement: filled with clean stone"),
    ),
    "gravel": SurfaceBelief(
        as_new_mm_h=15_000.0,
        as_new_sd=0.9,
        decline=0.12,
        decline_sd=0.07,
        source=gettext_noop("our judgement: open stone, raked from time to time"),
    ),
}

CONDITIONS: dict[str, Belief] = {
    "run_on_ratio": Belief(
        mean=0.05,
        sd=0.04,
        source=gettext_noop(
            "a unit of run-on area over own area adds its own sediment: time to clog goes with 1 / (1"
            " + ratio) in the US EPA runoff model manual (clogging factor); size damped, our "
            "judgement"
        ),
    ),
    "bare_soil": Belief(
        mean=0.20,
        sd=0.12,
        source=gettext_noop(
            "medians 25 (pavers) to 300 (pervious concrete) times lower beside disturbed soil (Bean "
            "et al. 2007, J. Irrig. Drain. Eng. 133(3):249-255, abstract): ln 25 / 10 yr = 0.32 and "
            "ln 300 / 10 yr = 0.57 a year on ages not published; damped, our judgement"
        ),
    ),
    "trees": Belief(
        mean=0.05,
        sd=0.05,
        source=gettext_noop("direction: leaf litter clogs, common practice, no source; size our judgement"),
    ),
    "winter_grit": Belief(
        mean=0.06,
        sd=0.05,
        source=gettext_noop(
            "direction: winter sand clogs (Ontario stormwater guide); size our judgement, see porous asphalt"
        ),
    ),
    "traffic": Belief(
        mean=0.03,
        sd=0.03,
        source=gettext_noop(
            "per step foot, cars, heavy; direction: FGSV 4/04 2007, abstract; size our judgement"
        ),
    ),
}

CLEANINGS: dict[str, CleaningBelief] = {
    "broom": CleaningBelief(
        share=0.05,
        share_sd=0.06,
        wet_penalty=0.10,
        wet_penalty_sd=0.10,
        scatter=0.10,
        source=gettext_noop("our judgement: takes leaves off, hardly anything out of the joints"),
    ),
    "regen_air": CleaningBelief(
        share=0.20,
        share_sd=0.15,
        wet_penalty=0.80,
        wet_penalty_sd=0.30,
        scatter=0.35,
        source=gettext_noop(
            "dry: our judgement, near vacuum sweeping; wet: published pair gives a share of -0.72 "
            "(Simpson et al. 2021, J. Environ. Manage. 294:112990, abstract), so the penalty is 0.9, "
            "damped to 0.8 as it is one pair"
        ),
    ),
    "vacuum": CleaningBelief(
        share=0.20,
        share_sd=0.12,
        wet_penalty=0.25,
        wet_penalty_sd=0.25,
        scatter=0.30,
        source=gettext_noop(
            "published pair gives 0.21 (Simpson et al. 2021, J. Environ. Manage. 294:112990, "
            "abstract); 3-4 to 7 mm/min on porous asphalt in trade news, 0.15; five practices on "
            "pavers +94 to +1703 %, two on porous asphalt +16 to +40 % (Danz et al. 2020, Water "
            "12:1563, abstract); wet: our judgement"
        ),
    ),
    "wash_vacuum": CleaningBelief(
        share=0.28,
        share_sd=0.15,
        wet_penalty=0.0,
        wet_penalty_sd=0.05,
        scatter=0.60,
        source=gettext_noop(
            "published pairs give 0.30 (wash alone, not significant, Simpson et al. 2021, J. Environ."
            " Manage. 294:112990, abstract), 0.30 and 0 (Al-Rubaei et al. 2013, J. Irrig. Drain. "
            "Eng., doi 10.1061/(ASCE)IR.1943-4774.0000569, abstract); factors of 7.0 and 1.0 on two "
            "like streets set the scatter; water is part of the method"
        ),
    ),
    "joint_refill": CleaningBelief(
        share=0.70,
        share_sd=0.18,
        wet_penalty=0.15,
        wet_penalty_sd=0.15,
        scatter=0.40,
        source=gettext_noop(
            "published pairs give 0.87 and 0.45 (Simpson et al. 2021, J. Environ. Manage. 294:112990,"
            " abstract); wet: fines smear, our judgement"
        ),
    ),
    "rejoint_resin": CleaningBelief(
        share=0.80,
        share_sd=0.15,
        wet_penalty=0.15,
        wet_penalty_sd=0.15,
        scatter=0.35,
        source=gettext_noop("our judgement: new joints, old bedding; wet joints bond badly"),
    ),
    "mill": CleaningBelief(
        share=0.70,
        share_sd=0.20,
        wet_penalty=0.0,
        wet_penalty_sd=0.05,
        scatter=0.40,
        source=gettext_noop(
            "25 mm off a 21 year old porous asphalt restored its drainage (Ontario stormwater guide "
            "citing Winston 2016, no number reached), clogging sits in the top 10-20 mm; against it a"
            " share of 0.24 by hand on sand grids (Bean et al. 2007, J. Irrig. Drain. Eng. "
            "133(3):249-255, abstract)"
        ),
    ),
    "relay": CleaningBelief(
        share=0.95,
        share_sd=0.06,
        wet_penalty=0.0,
        wet_penalty_sd=0.05,
        scatter=0.30,
        source=gettext_noop("our judgement: lifted, cleaned, relaid on new bedding and joints, near as new"),
    ),
}

METHODS: dict[str, MethodBelief] = {
    "falling_head": MethodBelief(
        offset=1.45,
        offset_sd=0.25,
        surface_sd=0.40,
        source=gettext_noop(
            "ring readings are 0.10-0.50 of it, 0.25 on average (Li, Kayhanian & Harvey 2013, J. "
            "Environ. Manage. 118:144-152, abstract); means of 4.1-6.4 times constant head (Chen et "
            "al. 2019, Water 11(3):444, abstract); the first range as four sd between surfaces"
        ),
    ),
    "square_double_ring": MethodBelief(
        offset=0.20,
        offset_sd=0.25,
        surface_sd=0.30,
        source=gettext_noop(
            "60 % above a rainfall simulator (Lucke et al. 2014, Water 6(8):2353-2366, abstract), not"
            " a ring; against the ring our judgement"
        ),
    ),
    "flooding": MethodBelief(
        offset=-0.50,
        offset_sd=0.30,
        surface_sd=0.35,
        source=gettext_noop(
            "saturated and unsaturated rates differ by up to 300 % (Boogaard & Lucke 2019, Water "
            "11(2):320, abstract): ln 4 as four sd; a flooded section also counts its slow parts, our"
            " judgement"
        ),
    ),
    "frame": MethodBelief(
        offset=0.0,
        offset_sd=0.10,
        surface_sd=0.20,
        source=gettext_noop(
            "about equal to the ring up to 15 000 mm/h (Winston et al. 2016, J. Environ. Eng. 142, "
            "abstract); spread our judgement"
        ),
    ),
}

# Scales: mean is the median, sd is of the natural log.
SCALES: dict[str, Belief] = {
    "as_new_scatter": Belief(
        mean=0.45,
        sd=0.35,
        source=gettext_noop("between like surfaces; our judgement from the spread of as-new rates above"),
    ),
    "decline_scatter": Belief(
        mean=0.12,
        sd=0.50,
        source=gettext_noop(
            "between like surfaces, a year: on 81 full-scale tests age alone does not explain the "
            "rate, site and upkeep do (Veldkamp et al. 2022, Water 14:2080, abstract); modules in "
            "Brazil lost up to 80 % and cleaning every 4-6 months was advised (Lamberti et al., "
            "Ciencia e Natura, abstract), pavers beside fines lay a factor of 25 lower (Bean et al. "
            "2007, abstract), so losses near 1 a year are possible; size our judgement"
        ),
    ),
    "drift_var": Belief(
        mean=0.01,
        sd=0.80,
        source=gettext_noop(
            "variance a year of what the decline does not explain: years differ by a quarter of their"
            " usual decline, more where soil is spilt; our judgement"
        ),
    ),
    "day_scatter": Belief(
        mean=0.20,
        sd=0.40,
        source=gettext_noop(
            "wetness and warmth of the day; saturated against dry differs by up to ln 4, most days by"
            " far less"
        ),
    ),
    "spot_scatter": Belief(
        mean=0.58,
        sd=0.25,
        source=gettext_noop(
            "0.49, 0.51 and 0.75 from the mean and sd of spots published in Al-Rubaei et al. 2013, J."
            " Irrig. Drain. Eng., doi 10.1061/(ASCE)IR.1943-4774.0000569, abstract, lognormal assumed"
        ),
    ),
    "clean_scatter": Belief(
        mean=1.0, sd=0.35, source=gettext_noop("spread of the scatters in CLEANINGS; our judgement")
    ),
}

# Of the variance between spots, the share that stays with a spot from round to round; sd on the logit scale.
LOCATION_SHARE = Belief(
    mean=0.5,
    sd=0.8,
    source=gettext_noop(
        "clogging begins at the upgradient edge and stays patchy (Brown & Borst 2014, J. Environ."
        " Eng. 140(3), abstract); size our judgement"
    ),
)

# How the loss of log rate u changes the decline itself: du = -(lam + kappa u) dt, kappa in KAPPA_RANGE a year.
# Above 0 the decline slows towards a floor, below 0 it speeds up, at 0 the rate halves in equal times. sd is on
# the logit scale of the range: 95 % between -0.7 and 1.3 a year.
SHAPE = Belief(
    mean=0.1,
    sd=0.6,
    source=gettext_noop(
        "fits of kappa to published shapes: near-equilibrium in 5-10 years (block paving, "
        "Borgwardt 2006, summary; 95 % of the way is 3 / kappa) +0.3 to +0.6; exponential (porous"
        " asphalt, Al-Rubaei et al. 2013, abstract) 0; rate linear in the load with 9-12 years to"
        " clog (US EPA runoff model manual; Blue-Green Systems 7(1):110, abstract) -0.24; 0.80 of"
        " the rate after 3 years and none after 7 (Kamali et al. 2017, J. Environ. Manage. "
        "187:43-53, abstract) -0.73. The literature holds all four, so none is assumed"
    ),
)
SHAPE_OF_KIND_SD = 0.3  # logit scale; how far one kind of surface lies from all: our judgement

# Change of kappa ahead of all records, as a share of the slope of the last known day: a little slower, give or take;
# less so the more of that slope comes from a decline that speeds up by itself (settled on the same worlds).
AHEAD_WHERE_FASTER = 0.2
AHEAD = Belief(
    mean=0.35,
    sd=1.0,
    source=gettext_noop(
        "our judgement: over the years that records span, the published shapes above differ by "
        "less than their readings do, and later by as much as this; size settled on invented "
        "worlds of other equations"
    ),
)

# Share of each loss of log rate that no cleaning brings back, until the layer is renewed; sd on the logit scale.
LASTING_SHARE = Belief(
    mean=0.10,
    sd=0.8,
    source=gettext_noop(
        "streets washed and vacuumed after 18 years came back by a share of 0.30 at most and "
        "after 24 years not at all (Al-Rubaei et al. 2013, abstract); recovery is larger where "
        "clogging is less, a fully clogged layer is hard to restore (Japanese studies, "
        "summaries); milling 25 mm restored a 21 year old one (Ontario stormwater guide): the "
        "loss sits in the top layer and part of it stays there. Size our judgement"
    ),
)

# Correlation of the rate as new and the decline of like surfaces; sd on Fisher's scale (atanh).
START_DECLINE_CORR = Belief(
    mean=0.3,
    sd=0.5,
    source=gettext_noop(
        "direction: the more open a surface, the more it has to lose before it is like its "
        "neighbours; size our judgement"
    ),
)


class SourceBelief(NamedTuple):
    """A change of source: the decline after it is factor times that before, give or take sd log units a year.

    factor_sd: of the natural log of the factor; sd_sd: of the natural log of sd
    """

    factor: float
    factor_sd: float
    sd: float
    sd_sd: float
    source: str


SOURCES: dict[str, SourceBelief] = {
    "stopped": SourceBelief(
        factor=0.3,
        factor_sd=0.5,
        sd=0.05,
        sd_sd=0.5,
        source=gettext_noop(
            "our judgement: what is left is dust, leaves and traffic; beside it, fines cost a factor "
            "of 25 to 300 (Bean et al. 2007, J. Irrig. Drain. Eng. 133(3):249-255, abstract)"
        ),
    ),
    "started": SourceBelief(
        factor=2.5,
        factor_sd=0.5,
        sd=0.12,
        sd_sd=0.5,
        source=gettext_noop(
            "our judgement: the opposite of stopping one, damped; fines cost a factor of 25 to 300 "
            "(Bean et al. 2007, J. Irrig. Drain. Eng. 133(3):249-255, abstract)"
        ),
    ),
}
