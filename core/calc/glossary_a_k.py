"""The words of the glossary from a to k, in English; looked up where they are shown."""

from core.calc.term import Term
from core.calc.translation import gettext_noop

A_TO_K: tuple[Term, ...] = (
    Term(
        "acceptance",
        gettext_noop("Acceptance rate"),
        gettext_noop(
            "The rate that was asked of the surface when it was new. Acceptance compares it with the arithmetic mean "
            "of the spots, as the test standards ask."
        ),
        gettext_noop(
            "The agreed rate, else the one of the rule, else the limit over the share left when clogged."
        ),
    ),
    Term(
        "advice",
        gettext_noop("Advice"),
        gettext_noop(
            "What costs least from here on: works, tests and time below the limit together, at the price the firm set. "
            "Nothing is done by itself; somebody plans, puts off or declines it."
        ),
    ),
    Term(
        "agreement",
        gettext_noop("Agreement"),
        gettext_noop(
            "What an owner has ordered for a site by the year: cleanings, tests, inspections, a price, and perhaps a "
            "rate."
        ),
    ),
    Term(
        "arithmetic_mean",
        gettext_noop("Arithmetic mean"),
        gettext_noop(
            "The sum of the rates over their number, as the test standards report it. Acceptance is judged by it. It "
            "is never below the geometric mean, and the further above it the more the spots differ."
        ),
        gettext_noop("The rates of the valid spots, added up and divided by their number."),
    ),
    Term(
        "band",
        gettext_noop("Grading band"),
        gettext_noop(
            "The range of percent passing that a size of stone allows at each sieve. A sample outside it is not that "
            "size."
        ),
    ),
    Term(
        "bound",
        gettext_noop("Bound (< or >)"),
        gettext_noop(
            "A test that was stopped early or drained too fast tells only that the rate is below or above a figure. It "
            "counts as that and no more."
        ),
    ),
    Term(
        "build_up",
        gettext_noop("Build-up"),
        gettext_noop(
            "The layers from the top down: surface course, joint fill, bedding, base, subbase, geotextile, subgrade."
        ),
    ),
    Term(
        "cbr",
        gettext_noop("CBR"),
        gettext_noop(
            "California bearing ratio, how well soil carries, in percent of crushed stone. Softer soil wants a wider "
            "overlap of the geotextile."
        ),
    ),
    Term(
        "chance_below",
        gettext_noop("Chance below the limit"),
        gettext_noop(
            "How likely the rate of the whole surface is below its limit on a day, from its own tests and those of "
            "similar surfaces of the firm."
        ),
        gettext_noop(
            "The share of possible declines, drawn from what is known, that lie below the limit on that day."
        ),
    ),
    Term(
        "chance_lasts",
        gettext_noop("Chance it lasts a year"),
        gettext_noop("How likely the rate stays above the limit through the whole year after a cleaning."),
        gettext_noop("The share of possible courses after it that never fall below the limit in that year."),
    ),
    Term(
        "conductivity",
        gettext_noop("Conductivity"),
        gettext_noop("How fast water goes through a layer that is full of it, as depth in time."),
        gettext_noop(
            "Estimated from the sieve analysis by Hazen's rule, 3600 · d10² mm/h with d10 in mm; a figure of order "
            "only."
        ),
    ),
    Term(
        "cost_a_year",
        gettext_noop("Cost a year"),
        gettext_noop(
            "What works and tests of a programme cost in an average year of the next ten; time below is not in it."
        ),
        gettext_noop("The money of all futures over the ten years, divided by the futures and by the years."),
    ),
    Term(
        "cost_price",
        gettext_noop("Cost and price"),
        gettext_noop("A price is what an owner pays, a cost is what the work costs the firm."),
    ),
    Term(
        "cost_within",
        gettext_noop("Cost a year within the limit"),
        gettext_noop("What a cleaning costs for each year that it keeps the surface within its limit."),
        gettext_noop("Its price over the years until the limit, ten at most."),
    ),
    Term(
        "crew_hours",
        gettext_noop("Crew hours"),
        gettext_noop("Hours that the crew is on site for the work, without the way there."),
        gettext_noop(
            "Area times the share that is done over the output; a round of tests by the number of its spots."
        ),
    ),
    Term(
        "decline",
        gettext_noop("Decline"),
        gettext_noop(
            "How fast the rate falls while the surface is open, as sediment fills joints and pores."
        ),
        gettext_noop("Learnt from the tests of all surfaces of the firm, starting from published figures."),
    ),
    Term(
        "design_rain",
        gettext_noop("Design rain"),
        gettext_noop(
            "The rain that the surface must take, from the local rainfall table, with what drains onto it."
        ),
        gettext_noop("Intensity times one plus the run-on ratio."),
    ),
    Term(
        "deviation",
        gettext_noop("Deviation"),
        gettext_noop(
            "Where a test was not taken as its method asks. Each is named with its source; some make the result a "
            "bound, some void it."
        ),
    ),
    Term(
        "discount",
        gettext_noop("In money of today"),
        gettext_noop("Money of later years counts for a little less than money of today."),
        gettext_noop("Divided by 1.03 for each year it lies ahead."),
    ),
    Term(
        "drain_time",
        gettext_noop("Drain time"),
        gettext_noop(
            "Hours until a full store has soaked away into the soil. Rules set a longest one, so that the next rain "
            "finds room."
        ),
        gettext_noop("Water stored over the design rate of the soil, t = d · n / f for one layer of stone."),
    ),
    Term(
        "filter",
        gettext_noop("Filter criterion"),
        gettext_noop(
            "Whether stone of one layer stays out of the voids of the next one below, told from sizes of both."
        ),
        gettext_noop("D15 below over d85 above is less than 5, and D50 below over d50 above less than 25."),
    ),
    Term(
        "footprint",
        gettext_noop("Area needed at the depth built"),
        gettext_noop(
            "How large a store of this depth must be for the rain and for all the ground that drains to it."
        ),
        gettext_noop(
            "i · D · Ac / (d · n + f · D): rain over the whole catchment against voids and what soaks away meanwhile."
        ),
    ),
    Term(
        "forecast",
        gettext_noop("Forecast"),
        gettext_noop(
            "The rate from today on, as a range that widens with time. It is an estimate from tests, not a promise."
        ),
        gettext_noop(
            "A state-space model of the logarithm of the rate, averaged over what is known of its parameters."
        ),
    ),
    Term(
        "frontier",
        gettext_noop("Money against time within"),
        gettext_noop(
            "Ways of care set side by side, from the cheapest with the most time below the limit to the dearest with "
            "the least. Between two of them more time within costs more money."
        ),
    ),
    Term(
        "futures",
        gettext_noop("Futures"),
        gettext_noop(
            "Courses that a surface may truly take, drawn by chance from what its tests leave open. Every way of care "
            "is carried out on the same ones, so that luck favours none."
        ),
    ),
    Term(
        "gain",
        gettext_noop("Gain of a cleaning"),
        gettext_noop("How many times as fast water soaks in after the cleaning as before it."),
        gettext_noop(
            "Rate after over rate before, by the tests on both sides; without them by the model, with its range."
        ),
    ),
    Term(
        "geometric_mean",
        gettext_noop("Geometric mean"),
        gettext_noop(
            "The mean that a few very fast spots do not carry away. It stands for the whole surface, and the forecast "
            "is of it."
        ),
        gettext_noop(
            "The exponential of the mean of the logarithms; spots weigh by the area of their zone in the plan."
        ),
    ),
    Term(
        "gradation",
        gettext_noop("Gradation"),
        gettext_noop(
            "How much of a stone passes each sieve. It decides how much water the stone holds, how fast it drains, and "
            "whether it stays in its layer."
        ),
    ),
    Term(
        "headroom",
        gettext_noop("Headroom"),
        gettext_noop("How far a surface may fall from its rate as new until it reaches the limit."),
        gettext_noop("The natural logarithm of the rate as new over the limit."),
    ),
    Term(
        "hold_point",
        gettext_noop("Hold point"),
        gettext_noop(
            "A check during construction that must be answered before work goes on, since it covers what is looked at."
        ),
    ),
    Term(
        "in_all",
        gettext_noop("In all"),
        gettext_noop(
            "Works, tests, and time below the limit at what it counts, together. What is least by it is suggested."
        ),
        gettext_noop(
            "Money spent, plus area times time below times what a year within is worth, in today's money."
        ),
    ),
)
