"""From the masses on the sieves to percent passing.

Sources: procedure and the 0.3 % rule of ASTM C136/C136M, loss by washing of ASTM C117 (both from
memory).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from typing import ClassVar

from core.calc.choices import TextChoice
from core.calc.payload import Payload
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.errors import ImpossibleRecordError, IncompleteRecordError
from qa.calc.deviations import require_not_negative, require_positive
from qa.calc.gradation import FINES_MAX_PERCENT
from qa.calc.numbers import short, to_digits
from qa.calc.sieves import sieve_label
from qa.calc.sources import Source, SourceStatus

FINES_SIEVE_MM = 0.075
UNACCOUNTED_MAX_PERCENT = 0.3
_A_HAIR = 1e-9  # 1003 g of 1000 g is 0.3 % more, and in binary a hair over it
C136 = Source(
    gettext_noop("ASTM C136/C136M, sieve analysis; ASTM C117, loss by washing"), SourceStatus.FROM_MEMORY
)
STEP_WASH_LOSS = Source(
    gettext_noop("Ontario guide, reservoir aggregate: wash loss at most 0.5 %"), SourceStatus.LOOKED_UP
)
STEP_WASH_LOSS_PERCENT = 0.5


class SieveEntry(TextChoice):
    """What is entered for each sieve."""

    PASSING = "passing", "Percent passing, as on a laboratory's sheet"
    RETAINED = "retained", "Mass retained on each sieve"


@dataclass(frozen=True, slots=True)
class SieveReadings(Payload):
    """What was entered of one sample: sieve in mm with percent passing or mass in g, coarse first."""

    SCHEMA: ClassVar[int] = 1

    rows: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class SieveAnalysis:
    """Percent passing by sieve in mm, and what to say about the sample.

    unaccounted_percent: mass that went missing (positive) or was gained between the dry mass and the
    sum on the sieves, of the mass sieved; None where no dry mass was weighed.
    """

    passing: dict[float, float]
    unaccounted_percent: float | None
    warnings: tuple[str, ...]


def passing_from_retained(
    retained_g: Mapping[float, float],
    pan_g: float,
    wash_loss_percent: float = 0.0,
    dry_mass_g: float | None = None,
) -> SieveAnalysis:
    """Percent passing from the mass retained on each sieve: 100·(1 - Σ of this and coarser sieves / dry mass).

    retained_g: mass on each sieve alone, g, by opening in mm. pan_g: what fell through the finest.
    wash_loss_percent: of the dry mass, washed out before sieving. dry_mass_g: before washing; where it
    was not weighed, the sum on the sieves stands for what washing left.

    Source: ASTM C136/C136M (from memory); a sum more than 0.3 % off is not for acceptance.
    """
    _refuse_bad_masses(retained_g, pan_g, wash_loss_percent)
    summed = sum(retained_g.values()) + pan_g
    left_share = 1 - wash_loss_percent / 100
    dry = dry_mass_g if dry_mass_g is not None else summed / left_share
    require_positive(
        gettext_noop("Dry mass"),
        dry,
        "g",
        gettext_noop("Weigh the sample, or enter the masses on the sieves."),
    )
    if 100 * (summed - dry) / dry > UNACCOUNTED_MAX_PERCENT + _A_HAIR:
        raise ImpossibleRecordError(
            _(
                "The masses on the sieves add up to {sum} g, more than the dry mass of {dry} g. Check the entries."
            ).format(sum=short(summed), dry=short(dry))
        )
    unaccounted = None if dry_mass_g is None else 100 * (dry * left_share - summed) / (dry * left_share)
    passing, held = {}, 0.0
    for sieve in sorted(retained_g, reverse=True):
        held += retained_g[sieve]
        passing[sieve] = max(0.0, 100 * (1 - held / dry))
    return SieveAnalysis(passing, unaccounted, _mass_warnings(unaccounted))


def _refuse_bad_masses(retained_g: Mapping[float, float], pan_g: float, wash_loss_percent: float) -> None:
    if not retained_g:
        raise IncompleteRecordError(
            _("No mass on any sieve was entered. Enter what each sieve retained, 0 for nothing.")
        )
    for sieve, mass in retained_g.items():
        require_positive(
            gettext_noop("Sieve size"), sieve, "mm", gettext_noop("Enter the opening of the sieve.")
        )
        require_not_negative(_("Mass on the {sieve} sieve").format(sieve=sieve_label(sieve)), mass, "g")
    require_not_negative(gettext_noop("Mass in the pan"), pan_g, "g")
    if not (isfinite(wash_loss_percent) and 0 <= wash_loss_percent < 100):
        raise ImpossibleRecordError(
            _("The wash loss is {percent} %. Enter 0 to less than 100.").format(
                percent=short(wash_loss_percent)
            )
        )


def _mass_warnings(unaccounted_percent: float | None) -> tuple[str, ...]:
    if unaccounted_percent is None or abs(unaccounted_percent) <= UNACCOUNTED_MAX_PERCENT + _A_HAIR:
        return ()
    missing = _(
        "{percent} % of the mass went missing in sieving; at most {most} % is allowed for acceptance "
        "(ASTM C136/C136M). Weigh and sieve again."
    )
    gained = _(
        "{percent} % of the mass was gained in sieving; at most {most} % is allowed for acceptance "
        "(ASTM C136/C136M). Weigh and sieve again."
    )
    said = missing if unaccounted_percent > 0 else gained
    percent, most = to_digits(abs(unaccounted_percent), 2), short(UNACCOUNTED_MAX_PERCENT)
    return (said.format(percent=percent, most=most),)


def fines_warnings(passing: Mapping[float, float], wash_loss_percent: float | None) -> tuple[str, ...]:
    """What to say about what is finer than 0.075 mm (No. 200): stone that stores water must be washed."""
    fines = passing.get(FINES_SIEVE_MM, wash_loss_percent)
    if fines is None:
        return (
            _(
                "The share finer than 0.075 mm (No. 200) is not known. Have the wash loss determined (ASTM C117)."
            ),
        )
    found = []
    if fines > FINES_MAX_PERCENT:
        said = _(
            "{percent} % is finer than 0.075 mm (No. 200); at most {most} % is asked of washed stone "
            "(common practice). Fines clog the soil and the geotextile."
        )
        found.append(said.format(percent=to_digits(fines, 3), most=short(FINES_MAX_PERCENT)))
    if wash_loss_percent is not None and wash_loss_percent > STEP_WASH_LOSS_PERCENT:
        said = _("The wash loss is {percent} %; {source}. Have it washed again.")
        found.append(said.format(percent=to_digits(wash_loss_percent, 3), source=STEP_WASH_LOSS.said))
    return tuple(found)
