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
        "agreement",
        "Agreement",
        "What an owner has ordered for a site by the year: cleanings, tests, inspections, a price, and perhaps a rate.",
    ),
    Term(
        "arithmetic_mean",
        "Arithmetic mean",
        "The sum of the rates over their number, as the test standards report it. Acceptance is judged by it. It is "
        "never below the geometric mean, and the further above it the more the spots differ.",
        "The rates of the valid spots, added up and divided by their number.",
    ),
    Term(
        "band",
        "Grading band",
        "The range of percent passing that a size of stone allows at each sieve. A sample outside it is not that size.",
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
        "cbr",
        "CBR",
        "California bearing ratio, how well soil carries, in percent of crushed stone. Softer soil wants a wider "
        "overlap of the geotextile.",
    ),
    Term(
        "chance_below",
        "Chance below the limit",
        "How likely the rate of the whole surface is below its limit on a day, from its own tests and those of similar "
        "surfaces of the firm.",
        "The share of possible declines, drawn from what is known, that lie below the limit on that day.",
    ),
    Term(
        "chance_lasts",
        "Chance it lasts a year",
        "How likely the rate stays above the limit through the whole year after a cleaning.",
        "The share of possible courses after it that never fall below the limit in that year.",
    ),
    Term(
        "conductivity",
        "Conductivity",
        "How fast water goes through a layer that is full of it, as depth in time.",
        "Estimated from the sieve analysis by Hazen's rule, 3600 · d10² mm/h with d10 in mm; a figure of order only.",
    ),
    Term(
        "cost_a_year",
        "Cost a year",
        "What works and tests of a programme cost in an average year of the next ten; time below is not in it.",
        "The money of all futures over the ten years, divided by the futures and by the years.",
    ),
    Term(
        "cost_price",
        "Cost and price",
        "A price is what an owner pays, a cost is what the work costs the firm.",
    ),
    Term(
        "cost_within",
        "Cost a year within the limit",
        "What a cleaning costs for each year that it keeps the surface within its limit.",
        "Its price over the years until the limit, ten at most.",
    ),
    Term(
        "crew_hours",
        "Crew hours",
        "Hours that the crew is on site for the work, without the way there.",
        "Area times the share that is done over the output; a round of tests by the number of its spots.",
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
        "discount",
        "In money of today",
        "Money of later years counts for a little less than money of today.",
        "Divided by 1.03 for each year it lies ahead.",
    ),
    Term(
        "drain_time",
        "Drain time",
        "Hours until a full store has soaked away into the soil. Rules set a longest one, so that the next rain finds "
        "room.",
        "Water stored over the design rate of the soil, t = d · n / f for one layer of stone.",
    ),
    Term(
        "filter",
        "Filter criterion",
        "Whether stone of one layer stays out of the voids of the next one below, told from sizes of both.",
        "D15 below over d85 above is less than 5, and D50 below over d50 above less than 25.",
    ),
    Term(
        "footprint",
        "Area needed at the depth built",
        "How large a store of this depth must be for the rain and for all the ground that drains to it.",
        "i · D · Ac / (d · n + f · D): rain over the whole catchment against voids and what soaks away meanwhile.",
    ),
    Term(
        "forecast",
        "Forecast",
        "The rate from today on, as a range that widens with time. It is an estimate from tests, not a promise.",
        "A state-space model of the logarithm of the rate, averaged over what is known of its parameters.",
    ),
    Term(
        "frontier",
        "Money against time within",
        "Ways of care set side by side, from the cheapest with the most time below the limit to the dearest with the "
        "least. Between two of them more time within costs more money.",
    ),
    Term(
        "futures",
        "Futures",
        "Courses that a surface may truly take, drawn by chance from what its tests leave open. Every way of care is "
        "carried out on the same ones, so that luck favours none.",
    ),
    Term(
        "gain",
        "Gain of a cleaning",
        "How many times as fast water soaks in after the cleaning as before it.",
        "Rate after over rate before, by the tests on both sides; without them by the model, with its range.",
    ),
    Term(
        "geometric_mean",
        "Geometric mean",
        "The mean that a few very fast spots do not carry away. It stands for the whole surface, and the forecast is "
        "of it.",
        "The exponential of the mean of the logarithms; spots weigh by the area of their zone in the plan.",
    ),
    Term(
        "gradation",
        "Gradation",
        "How much of a stone passes each sieve. It decides how much water the stone holds, how fast it drains, and "
        "whether it stays in its layer.",
    ),
    Term(
        "headroom",
        "Headroom",
        "How far a surface may fall from its rate as new until it reaches the limit.",
        "The natural logarithm of the rate as new over the limit.",
    ),
    Term(
        "hold_point",
        "Hold point",
        "A check during construction that must be answered before work goes on, since it covers what is looked at.",
    ),
    Term(
        "in_all",
        "In all",
        "Works, tests, and time below the limit at what it counts, together. What is least by it is suggested.",
        "Money spent, plus area times time below times what a year within is worth, in today's money.",
    ),
    Term(
        "limit",
        "Limit",
        "The rate below which the surface must be cleaned. A rate equal to it meets it.",
        "The highest of what a rule, the design rain and the agreement ask for; the page says which one governs.",
    ),
    Term(
        "log_score",
        "Mean log score",
        "How well a forecast with its range met what was found; higher is better. A narrow range that misses costs.",
        "The mean of the logarithm of the density that the forecast gave to what was found.",
    ),
    Term(
        "median",
        "Median",
        "The value in the middle: half are below it, half above.",
    ),
    Term(
        "minimum_charge",
        "Minimum charge",
        "What a call-out costs at least, however small the area.",
        "The price is the larger of it and area times the price of a square metre.",
    ),
    Term(
        "months_below",
        "Months below a year",
        "For how long in an average year the rate is expected below the limit.",
        "Over all futures, the time below the limit, in months for each year.",
    ),
    Term(
        "output",
        "Output",
        "The area that a crew does in an hour by one way of cleaning, as entered at first, then learnt from the hours "
        "that were told.",
    ),
    Term(
        "overflow",
        "Overflow",
        "The pipe that takes what rises above its invert. Water below it is stored and soaks away.",
    ),
    Term(
        "percent_passing",
        "Percent passing",
        "The share of a dry sample, by mass, that falls through a sieve.",
        "100 less what this sieve and all coarser ones keep, in percent of the whole.",
    ),
    Term(
        "percentile",
        "Percentile, nine in ten",
        "The place in a row: faster than nine in ten means that of ten similar surfaces nine decline more slowly.",
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
        "prior",
        "Before any record",
        "What is believed before a firm has tests of its own, from published figures, each with its source.",
    ),
    Term(
        "programme",
        "Programme of care",
        "A rule of what is done when: nothing, as advised, by the calendar, or as agreed.",
    ),
    Term(
        "random_seed",
        "Random seed",
        "A number that decides which spots are drawn. The same number gives the same spots again.",
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
        "rate_after",
        "Rate after",
        "The rate expected just after a cleaning by this method on the day named.",
        "The share that the method restores of the logarithm of what was lost, added to the rate of that day.",
    ),
    Term(
        "reached_by",
        "Likely to reach the limit by",
        "The day from which the surface is as likely below its limit as above it, if nothing is done.",
        "The first day on which the chance below the limit is 50 %.",
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
        "runoff",
        "Runoff",
        "Rain that flows off a surface instead of soaking in. How much of it reaches the paving is the runoff "
        "coefficient of that ground.",
    ),
    Term(
        "safety_factor",
        "Safety factor",
        "By how much the rate that a soil test showed is divided to get the rate a design may count on, since soil "
        "clogs and varies; 2 to 3 is usual.",
    ),
    Term(
        "screening",
        "Screening result",
        "A quick look that gives no rate. A poor one calls for a ring test.",
    ),
    Term(
        "setting",
        "Setting time",
        "Hours from the end of the work until people, then vehicles, may go on what was put in. The product data "
        "sheet and the weather decide.",
    ),
    Term(
        "shape",
        "Shape of the decline",
        "Whether a surface loses its rate evenly, faster at first, or faster the more it is clogged.",
        "One parameter of the model (kappa), learnt from all surfaces of the firm.",
    ),
    Term(
        "share_left",
        "Share left when clogged",
        "How much of the rate as new is taken to be left when the surface is to be cleaned; by it a rule for service "
        "becomes a rate asked of the new surface.",
    ),
    Term(
        "share_restored",
        "Share given back",
        "How much of what was lost since new a way of cleaning gives back: 0 % nothing, 100 % as new.",
        "ln(after over before) over ln(as new over before). Rates fall and rise by shares, hence logarithms.",
    ),
    Term(
        "size_d",
        "D15, D50, D85",
        "The sieve size through which 15, 50 or 85 % of a stone passes. A large letter is the layer below, a small one "
        "that above.",
        "Read between the two nearest sieves, along the logarithm of their openings.",
    ),
    Term(
        "soil_rate",
        "Design rate of the soil",
        "How fast the ground below takes water, as the design may count on it. Drain time and rain are worked out with "
        "it.",
        "The slowest place's measured rate over the safety factor.",
    ),
    Term(
        "state",
        "State",
        "Where a surface stands, worst first: below limit, clean soon, watch, not tested yet, draining well.",
        "From the chance of being below the limit now, and the days on which it reaches 10 and 50 %.",
    ),
    Term(
        "storage",
        "Storage",
        "The water that the voids of the stone hold, up to the overflow, as a depth over the surface.",
        "Depth times porosity, added up over the layers, times what the fall of the subgrade leaves of it.",
    ),
    Term(
        "time_within",
        "Time within",
        "The share of the ten years in which the rate is expected at the limit or above it.",
    ),
    Term(
        "told_by_records",
        "Told by records",
        "How much narrower your own records made the range of a figure; 0 % means the starting figure stands alone.",
        "One less the standard deviation now over that before any record.",
    ),
    Term(
        "uniformity",
        "Cu, uniformity",
        "How alike the stones are in size: near 1 all of one size, with much void between them.",
        "d60 over d10.",
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
        "window",
        "Workable window",
        "The days on which a work can be done at a site: no frost, no leaves coming down, no winter grit after it.",
    ),
    Term(
        "worth_within",
        "What a year within the limit is worth",
        "What the firm sets it is worth to avoid a year below the limit, for each square metre. Advice weighs it "
        "against what care costs.",
    ),
    Term(
        "years_until",
        "Years until the limit",
        "How long after a cleaning until the surface is as likely below its limit as above it.",
        "From the cleaning to the day on which the chance below is 50 %.",
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
