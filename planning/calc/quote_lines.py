"""Lines of a quote as they follow from chosen advice and a price list."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop
from core.calc.units import UnitSystem
from maintenance.calc.price_list import MethodPrices
from maintenance.calc.vocabulary import Action
from planning.calc.quotes import BY_AREA, BY_MASS, Asked, QuoteUnit, up_to_minimum

CALL_OUT = gettext_noop("Travel and call-out, {site}")
MINIMUM = gettext_noop("Minimum charge for {what}, {site}")
MINIMUM_WHY = gettext_noop("The areas at this site come to less than the minimum for one call-out.")
MATERIAL = gettext_noop("Joint material, {place}")
MATERIAL_WHY = gettext_noop("As much by area as the last refill took.")
ONE = Decimal(1)


@dataclass(frozen=True, slots=True)
class Prices:
    """What a list asks, None where it has no price; by m² and kg. system: the units that its lines count in."""

    currency: str
    methods: MethodPrices
    test: Decimal | None
    inspection: Decimal | None
    call_out: Decimal | None
    material_kg: Decimal | None
    system: UnitSystem = UnitSystem.SI


@dataclass(frozen=True, slots=True)
class Work:
    """One piece of advice. what: with its way of cleaning; advised_price: of the advice, None for none.

    material_kg: that a refill took before, for all of it.
    """

    advice: UUID
    surface: UUID
    site: UUID
    site_name: str
    place: str
    action: Action
    method: str
    what: str
    why: str
    area_m2: float
    advised_price: Decimal | None = None
    material_kg: float | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """One line. advice, surface: None where it is of a site as a whole; unit_price: None where the list has none."""

    what: str
    why: str
    quantity: Decimal
    unit: QuoteUnit
    unit_price: Decimal | None
    site: UUID
    surface: UUID | None = None
    advice: UUID | None = None
    method: str = ""
    advised_price: Decimal | None = None


def lines_of(work: Sequence[Work], prices: Prices) -> list[Line]:
    """Work by work, then what brings a site up to a minimum, material, and one call-out for each site.

    Their words are stored, so this is asked for in the language of the owner who reads them.
    """
    found = [_line(each, prices) for each in work]
    return [*found, *_minimums(work, prices), *_material(work, prices), *_call_outs(work, prices)]


def _line(work: Work, prices: Prices) -> Line:
    quantity, unit, price = _counted(work, prices)
    return Line(
        f"{work.what}, {work.place}",
        work.why,
        quantity,
        unit,
        price,
        work.site,
        work.surface,
        work.advice,
        work.method,
        work.advised_price,
    )


def _counted(work: Work, prices: Prices) -> tuple[Decimal, QuoteUnit, Decimal | None]:
    if work.action.cleans:
        price, system = prices.methods.of(work.method), prices.system
        each = BY_AREA.price_of(price.per_m2, system) if price else None
        return BY_AREA.number(work.area_m2, system), BY_AREA.unit(system), each
    if work.action is Action.TEST:
        return ONE, QuoteUnit.ROUND, prices.test
    if work.action is Action.INSPECT:
        return ONE, QuoteUnit.INSPECTION, prices.inspection
    return ONE, QuoteUnit.LUMP_SUM, None


def _minimums(work: Sequence[Work], prices: Prices) -> Iterable[Line]:
    """Surfaces of one site that are cleaned in one way share the minimum."""
    asked, shown = [], {}
    for each in work:
        price = prices.methods.of(each.method) if each.action.cleans else None
        if price:
            key = (str(each.site), each.method)
            area = BY_AREA.number(each.area_m2, prices.system)
            by_area = BY_AREA.price_of(price.per_m2, prices.system)
            asked.append(Asked(key, area, by_area, price.minimum))
            shown[key] = each
    for key, missing in up_to_minimum(asked, prices.currency).items():
        first = shown[key]
        what = _(MINIMUM).format(what=first.what[:1].lower() + first.what[1:], site=first.site_name)
        yield Line(what, _(MINIMUM_WHY), ONE, QuoteUnit.LUMP_SUM, missing, first.site)


def _material(work: Sequence[Work], prices: Prices) -> Iterable[Line]:
    for each in work:
        if each.material_kg and prices.material_kg is not None:
            quantity = BY_MASS.number(each.material_kg, prices.system)
            what, unit = _(MATERIAL).format(place=each.place), BY_MASS.unit(prices.system)
            price = BY_MASS.price_of(prices.material_kg, prices.system)
            yield Line(what, _(MATERIAL_WHY), quantity, unit, price, each.site, each.surface)


def _call_outs(work: Sequence[Work], prices: Prices) -> Iterable[Line]:
    if prices.call_out:
        for site, name in {each.site: each.site_name for each in work}.items():
            yield Line(_(CALL_OUT).format(site=name), "", ONE, QuoteUnit.CALL_OUT, prices.call_out, site)
