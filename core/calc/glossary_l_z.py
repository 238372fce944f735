"""The words of the glossary from l to z, in English; looked up where they are shown."""

from core.calc.term import Term
from core.calc.translation import gettext_noop

L_TO_Z: tuple[Term, ...] = (
    Term(
        "limit",
        gettext_noop("Limit"),
        gettext_noop("The rate below which the surface must be cleaned. A rate equal to it meets it."),
        gettext_noop(
            "The highest of what a rule, the design rain and the agreement ask for; the page says which one governs."
        ),
    ),
    Term(
        "log_score",
        gettext_noop("Mean log score"),
        gettext_noop(
            "How well a forecast with its range met what was found; higher is better. A narrow range that misses costs."
        ),
        gettext_noop("The mean of the logarithm of the density that the forecast gave to what was found."),
    ),
    Term(
        "median",
        gettext_noop("Median"),
        gettext_noop("The value in the middle: half are below it, half above."),
    ),
    Term(
        "minimum_charge",
        gettext_noop("Minimum charge"),
        gettext_noop("What a call-out costs at least, however small the area."),
        gettext_noop("The price is the larger of it and the area times its price by area."),
    ),
    Term(
        "months_below",
        gettext_noop("Months below a year"),
        gettext_noop("For how long in an average year the rate is expected below the limit."),
        gettext_noop("Over all futures, the time below the limit, in months for each year."),
    ),
    Term(
        "output",
        gettext_noop("Output"),
        gettext_noop(
            "The area that a crew does in an hour by one way of cleaning, as entered at first, then learnt from the "
            "hours that were told."
        ),
    ),
    Term(
        "overflow",
        gettext_noop("Overflow"),
        gettext_noop(
            "The pipe that takes what rises above its invert. Water below it is stored and soaks away."
        ),
    ),
    Term(
        "percent_passing",
        gettext_noop("Percent passing"),
        gettext_noop("The share of a dry sample, by mass, that falls through a sieve."),
        gettext_noop("100 less what this sieve and all coarser ones keep, in percent of the whole."),
    ),
    Term(
        "percentile",
        gettext_noop("Percentile, nine in ten"),
        gettext_noop(
            "The place in a row: faster than nine in ten means that of ten similar surfaces nine decline more slowly."
        ),
    ),
    Term(
        "porosity",
        gettext_noop("Porosity"),
        gettext_noop(
            "The share of voids in the volume of a layer, such as 0.40; not the void ratio of soil mechanics."
        ),
        gettext_noop("Voids over total volume."),
    ),
    Term(
        "prewet",
        gettext_noop("Prewetting"),
        gettext_noop(
            "Water poured before the test so that the spot is as wet as in rain. Its time decides how much water the "
            "test takes."
        ),
    ),
    Term(
        "prior",
        gettext_noop("Before any record"),
        gettext_noop(
            "What is believed before a firm has tests of its own, from published figures, each with its source."
        ),
    ),
    Term(
        "programme",
        gettext_noop("Programme of care"),
        gettext_noop("A rule of what is done when: nothing, as advised, by the calendar, or as agreed."),
    ),
    Term(
        "random_seed",
        gettext_noop("Random seed"),
        gettext_noop(
            "A number that decides which spots are drawn. The same number gives the same spots again."
        ),
    ),
    Term(
        "range_80",
        gettext_noop("80 % range"),
        gettext_noop(
            "Eight times out of ten the true value lies in it. The fewer tests there are, the wider it is."
        ),
        gettext_noop("From the 10th to the 90th percentile of what is possible by the model."),
    ),
    Term(
        "rate",
        gettext_noop("Rate"),
        gettext_noop(
            "How fast water soaks in, as depth in time. A ring test reads it at one spot, on one day."
        ),
        gettext_noop(
            "K times the mass of water over the ring's diameter squared and the time, by ASTM C1701 and C1781."
        ),
    ),
    Term(
        "rate_after",
        gettext_noop("Rate after"),
        gettext_noop("The rate expected just after a cleaning by this method on the day named."),
        gettext_noop(
            "The share that the method restores of the logarithm of what was lost, added to the rate of that day."
        ),
    ),
    Term(
        "reached_by",
        gettext_noop("Likely to reach the limit by"),
        gettext_noop(
            "The day from which the surface is as likely below its limit as above it, if nothing is done."
        ),
        gettext_noop("The first day on which the chance below the limit is 50 %."),
    ),
    Term(
        "ring_test",
        gettext_noop("Ring test"),
        gettext_noop(
            "A ring is sealed to the surface, a head of water is held in it, and the time is taken until it is gone."
        ),
    ),
    Term(
        "round",
        gettext_noop("Test round"),
        gettext_noop("The tests of one surface on one day, with its weather and its purpose."),
    ),
    Term(
        "run_on",
        gettext_noop("Run-on"),
        gettext_noop(
            "Water from other ground that drains onto the surface. It brings sediment and asks for a higher rate."
        ),
        gettext_noop("The run-on ratio is that area over the surface's own."),
    ),
    Term(
        "runoff",
        gettext_noop("Runoff"),
        gettext_noop(
            "Rain that flows off a surface instead of soaking in. How much of it reaches the paving is the runoff "
            "coefficient of that ground."
        ),
    ),
    Term(
        "safety_factor",
        gettext_noop("Safety factor"),
        gettext_noop(
            "By how much the rate that a soil test showed is divided to get the rate a design may count on, since soil "
            "clogs and varies; 2 to 3 is usual."
        ),
    ),
    Term(
        "screening",
        gettext_noop("Screening result"),
        gettext_noop("A quick look that gives no rate. A poor one calls for a ring test."),
    ),
    Term(
        "setting",
        gettext_noop("Setting time"),
        gettext_noop(
            "Hours from the end of the work until people, then vehicles, may go on what was put in. The product data "
            "sheet and the weather decide."
        ),
    ),
    Term(
        "shape",
        gettext_noop("Shape of the decline"),
        gettext_noop(
            "Whether a surface loses its rate evenly, faster at first, or faster the more it is clogged."
        ),
        gettext_noop("One parameter of the model (kappa), learnt from all surfaces of the firm."),
    ),
    Term(
        "share_left",
        gettext_noop("Share left when clogged"),
        gettext_noop(
            "How much of the rate as new is taken to be left when the surface is to be cleaned; by it a rule for "
            "service becomes a rate asked of the new surface."
        ),
    ),
    Term(
        "share_restored",
        gettext_noop("Share given back"),
        gettext_noop(
            "How much of what was lost since new a way of cleaning gives back: 0 % nothing, 100 % as new."
        ),
        gettext_noop(
            "ln(after over before) over ln(as new over before). Rates fall and rise by shares, hence logarithms."
        ),
    ),
    Term(
        "size_d",
        gettext_noop("D15, D50, D85"),
        gettext_noop(
            "The sieve size through which 15, 50 or 85 % of a stone passes. A large letter is the layer below, a small "
            "one that above."
        ),
        gettext_noop("Read between the two nearest sieves, along the logarithm of their openings."),
    ),
    Term(
        "soil_rate",
        gettext_noop("Design rate of the soil"),
        gettext_noop(
            "How fast the ground below takes water, as the design may count on it. Drain time and rain are worked out "
            "with it."
        ),
        gettext_noop("The slowest place's measured rate over the safety factor."),
    ),
    Term(
        "state",
        gettext_noop("State"),
        gettext_noop(
            "Where a surface stands, worst first: below limit, clean soon, watch, not tested yet, draining well."
        ),
        gettext_noop(
            "From the chance of being below the limit now, and the days on which it reaches 10 and 50 %."
        ),
    ),
    Term(
        "storage",
        gettext_noop("Storage"),
        gettext_noop(
            "The water that the voids of the stone hold, up to the overflow, as a depth over the surface."
        ),
        gettext_noop(
            "Depth times porosity, added up over the layers, times what the fall of the subgrade leaves of it."
        ),
    ),
    Term(
        "time_within",
        gettext_noop("Time within"),
        gettext_noop("The share of the ten years in which the rate is expected at the limit or above it."),
    ),
    Term(
        "told_by_records",
        gettext_noop("Told by records"),
        gettext_noop(
            "How much narrower your own records made the range of a figure; 0 % means the starting figure stands alone."
        ),
        gettext_noop("One less the standard deviation now over that before any record."),
    ),
    Term(
        "uniformity",
        gettext_noop("Cu, uniformity"),
        gettext_noop(
            "How alike the stones are in size: near 1 all of one size, with much void between them."
        ),
        gettext_noop("d60 over d10."),
    ),
    Term(
        "void",
        gettext_noop("Set aside"),
        gettext_noop(
            "Kept and readable for good with the reason, but no longer used by results and forecasts."
        ),
    ),
    Term(
        "waiting",
        gettext_noop("What waiting costs"),
        gettext_noop(
            "What is lost if the work is done a quarter of a year later. The first page is ordered by it."
        ),
        gettext_noop(
            "Of a cleaning what it saves in a quarter; of a test and of a source a quarter's share of what each saves."
        ),
    ),
    Term(
        "window",
        gettext_noop("Workable window"),
        gettext_noop(
            "The days on which a work can be done at a site: no frost, no leaves coming down, no winter grit after it."
        ),
    ),
    Term(
        "worth_within",
        gettext_noop("What a year within the limit is worth"),
        gettext_noop(
            "What the firm sets it is worth to avoid a year below the limit, by its area. Advice weighs it "
            "against what care costs."
        ),
    ),
    Term(
        "years_until",
        gettext_noop("Years until the limit"),
        gettext_noop("How long after a cleaning until the surface is as likely below its limit as above it."),
        gettext_noop("From the cleaning to the day on which the chance below is 50 %."),
    ),
    Term(
        "zone",
        gettext_noop("Zone"),
        gettext_noop(
            "A part of the surface that clogs in its own way: the edge next to what drains onto it, the interior, a "
            "low spot."
        ),
    ),
)
