"""The words that are not plain, each explained once: pages, forms and the glossary all read it from here."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Term:
    """A word as it stands on pages, and what it means. computed: how its figure is worked out, where it is one."""

    key: str
    word: str
    meaning: str
    computed: str = ""


_TERMS = (
    Term(
        "acceptance",
        "Acceptance rate",
        "The rate that was asked of the surface when it was new. Acceptance compares it with the arithmetic mean of "
        "the spots, as the test standards ask.",
        "The agreed rate, else the one of the rule, else the limit over the share left when clogged.",
    ),
    Term(
        "advice",
        "Advice",
        "What costs least from here on: works, tests and time below the limit together, at the price the firm set. "
        "Nothing is done by itself; somebody plans, puts off or declines it.",
    ),
    Term(
        "bound",
        "Bound (< or >)",
        "A test that was stopped early or drained too fast tells only that the rate is below or above a figure. It "
        "counts as that and no more.",
    ),
    Term(
        "build_up",
        "Build-up",
        "The layers from the top down: surface course, joint fill, bedding, base, subbase, geotextile, subgrade.",
    ),
    Term(
        "chance_below",
        "Chance below the limit",
        "How likely the rate of the whole surface is below its limit on a day, from its own tests and those of similar "
        "surfaces of the firm.",
        "The share of possible declines, drawn from what is known, that lie below the limit on that day.",
    ),
    Term(
        "decline",
        "Decline",
        "How fast the rate falls while the surface is open, as sediment fills joints and pores.",
        "Learnt from the tests of all surfaces of the firm, starting from published figures.",
    ),
    Term(
        "design_rain",
        "Design rain",
        "The rain that the surface must take, from the local rainfall table, with what drains onto it.",
        "Intensity times one plus the run-on ratio.",
    ),
    Term(
        "deviation",
        "Deviation",
        "Where a test was not taken as its method asks. Each is named with its source; some make the result a bound, "
        "some void it.",
    ),
    Term(
        "forecast",
        "Forecast",
        "The rate from today on, as a range that widens with time. It is an estimate from tests, not a promise.",
        "A state-space model of the logarithm of the rate, averaged over what is known of its parameters.",
    ),
    Term(
        "geometric_mean",
        "Geometric mean",
        "The mean that a few very fast spots do not carry away. It stands for the whole surface, and the forecast is "
        "of it.",
        "The exponential of the mean of the logarithms; spots weigh by the area of their zone in the plan.",
    ),
    Term(
        "limit",
        "Limit",
        "The rate below which the surface must be cleaned. A rate equal to it meets it.",
        "The highest of what a rule, the design rain and the agreement ask for; the page says which one governs.",
    ),
    Term(
        "porosity",
        "Porosity",
        "The share of voids in the volume of a layer, such as 0.40; not the void ratio of soil mechanics.",
        "Voids over total volume.",
    ),
    Term(
        "prewet",
        "Prewetting",
        "Water poured before the test so that the spot is as wet as in rain. Its time decides how much water the test "
        "takes.",
    ),
    Term(
        "range_80",
        "80 % range",
        "Eight times out of ten the true value lies in it. The fewer tests there are, the wider it is.",
        "From the 10th to the 90th percentile of what is possible by the model.",
    ),
    Term(
        "rate",
        "Rate",
        "How fast water soaks in, as depth in time. A ring test reads it at one spot, on one day.",
        "K times the mass of water over the ring's diameter squared and the time, by ASTM C1701 and C1781.",
    ),
    Term(
        "ring_test",
        "Ring test",
        "A ring is sealed to the surface, a head of water is held in it, and the time is taken until it is gone.",
    ),
    Term(
        "round",
        "Test round",
        "The tests of one surface on one day, with its weather and its purpose.",
    ),
    Term(
        "run_on",
        "Run-on",
        "Water from other ground that drains onto the surface. It brings sediment and asks for a higher rate.",
        "The run-on ratio is that area over the surface's own.",
    ),
    Term(
        "reached_by",
        "Likely to reach the limit by",
        "The day from which the surface is as likely below its limit as above it, if nothing is done.",
        "The first day on which the chance below the limit is 50 %.",
    ),
    Term(
        "void",
        "Set aside",
        "Kept and readable for good with the reason, but no longer used by results and forecasts.",
    ),
    Term(
        "waiting",
        "What waiting costs",
        "What is lost if the work is done a quarter of a year later. The first page is ordered by it.",
        "Of a cleaning what it saves in a quarter; of a test and of a source a quarter's share of what each saves.",
    ),
    Term(
        "worth_within",
        "What a year within the limit is worth",
        "What the firm sets it is worth to avoid a year below the limit, for each square metre. Advice weighs it "
        "against what care costs.",
    ),
    Term(
        "zone",
        "Zone",
        "A part of the surface that clogs in its own way: the edge next to what drains onto it, the interior, a low "
        "spot.",
    ),
)
TERMS = {term.key: term for term in _TERMS}


def terms_by_word() -> list[Term]:
    """Every term, in the order of the words."""
    return sorted(TERMS.values(), key=lambda term: term.word.casefold())
