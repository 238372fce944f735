"""The clogging model's front door: everything the rest of the program may use.

Plain numbers in and out; times are years since the surface was opened, rates mm/h. The caller converts
dates, keeps one organisation's surfaces apart from another's, and stores `PortfolioFit.to_dict()`.

    history = SurfaceHistory("picp", Conditions(run_on_ratio=0.5), events)
    fit = fit_portfolio(histories)                      # nightly; a small portfolio takes well under a second
    seen = forecast_surface(history, fit, now_yr=3.2, limit_mm_h=250.0)
    even_yr = seen.first_reach_yr(0.5)                  # None: not within the horizon
    board = forecast_portfolio(histories, fit, now_yr=ages, limit_mm_h=limits)   # every surface at once
    trust = calibration(check for seen in forecasts for check in seen.rounds)
    ways = after_cleanings(history, fit, at_yr=3.3, methods=("vacuum", "mill"), limit_mm_h=250.0)
    kept_off = after_source_change(history, fit, at_yr=3.3, kind="stopped", limit_mm_h=250.0)
    known, drawn = known_and_drawn(histories, fit, now_yr=ages, n_draws=16, rng=rng)   # to compare ways of care
    shapes = shape_support(fit)                         # which shape of decline the records support

A fit counts the tests it was made from; a forecast with a stored fit and one new test is exact for the
surface's own state and a test behind for the portfolio. Portfolios of fewer than some fifty surfaces are worth a new
fit after every round, which takes a fraction of a second.

A forecast of a surface with some ten events takes a few milliseconds. A fit uses all cores by itself; start
the process with OPENBLAS_NUM_THREADS=1, or the linear algebra's own threads contend over matrices too small
to share and a small fit takes several times as long.

What the ranges do not hold: a surface that goes from draining to sealed within a year, as under a spill of
soil. On invented portfolios that all end so, ranges named 90 % held about three in four
(benchmarks/model_calibration.py); `calibration` shows it when a portfolio's own records do.

Every function raises ImpossibleRecordError, with the surface, the event and the value, for a history that cannot
be: events out of order, dates before opening, rates of 0 or less, unknown keys; ValueError for a call that cannot
be, such as a forecast that starts before the last event. `PortfolioFit.from_dict` raises OutdatedFitError for what
another edition of the model stored.
"""

from __future__ import annotations

from .cleaning import CleaningOutlook, CleaningShare, after_cleaning, after_cleanings, cleaning_shares
from .decline import Pace, passage
from .fitting import Beliefs, PortfolioFit, fit_portfolio, prior_fit
from .forecast import Curve, RecordedCause, SurfaceForecast, forecast_surface, rounds_in_forecasts
from .futures import (
    Drawn,
    Known,
    Traits,
    cleaned,
    cleaned_truly,
    known_and_drawn,
    let_pass,
    let_pass_truly,
    read_truly,
    source_stopped,
    source_stopped_truly,
    tested,
)
from .hindcast import CleaningGain, RoundCheck
from .portfolio import PortfolioOutlook, forecast_portfolio
from .posterior_summary import ShapeSupport, shape_support
from .priors import SEALED_MM_H
from .scores import Calibration, calibration
from .sources import Course, SourceOutlook, after_source_change
from .types import (
    CLEANING_METHODS,
    RENEWING_METHODS,
    SOURCE_CHANGES,
    SURFACE_TYPES,
    TEST_METHODS,
    CleaningEvent,
    Conditions,
    Estimate,
    Event,
    RoundEvent,
    SourceEvent,
    SpotTest,
    SurfaceHistory,
)

__all__ = [
    "CLEANING_METHODS",
    "RENEWING_METHODS",
    "SEALED_MM_H",
    "SOURCE_CHANGES",
    "SURFACE_TYPES",
    "TEST_METHODS",
    "Beliefs",
    "Calibration",
    "CleaningEvent",
    "CleaningGain",
    "CleaningOutlook",
    "CleaningShare",
    "Conditions",
    "Course",
    "Curve",
    "Drawn",
    "Estimate",
    "Event",
    "Known",
    "Pace",
    "PortfolioFit",
    "PortfolioOutlook",
    "RecordedCause",
    "RoundCheck",
    "RoundEvent",
    "ShapeSupport",
    "SourceEvent",
    "SourceOutlook",
    "SpotTest",
    "SurfaceForecast",
    "SurfaceHistory",
    "Traits",
    "after_cleaning",
    "after_cleanings",
    "after_source_change",
    "calibration",
    "cleaned",
    "cleaned_truly",
    "cleaning_shares",
    "fit_portfolio",
    "forecast_portfolio",
    "forecast_surface",
    "known_and_drawn",
    "let_pass",
    "let_pass_truly",
    "passage",
    "prior_fit",
    "read_truly",
    "rounds_in_forecasts",
    "shape_support",
    "source_stopped",
    "source_stopped_truly",
    "tested",
]
