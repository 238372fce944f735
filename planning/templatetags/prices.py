"""Amounts of money in templates."""

from decimal import Decimal

from django import template

from core.calc.format import fixed

register = template.Library()


@register.filter
def to_cents(amount: Decimal) -> str:
    """An amount with two decimals and a mark between thousands, as the reader's language writes them."""
    return fixed(amount, 2, parted=True)
