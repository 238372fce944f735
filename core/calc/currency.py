"""Currencies and their smallest units: which codes there are, and the one place where money is rounded.

Source: the currency codes of ISO 4217 with their minor units, looked up in two tables made from the list of the
standard's maintenance agency (editions of 2018 and 2021); without precious metals, bond units and codes for testing.
What changed since is from memory: HRK, CUC, SLL, ZWL, ANG and BGN have gone; SLE, VED, ZWG and XCG have come. Verify
against the current list.
"""

from decimal import ROUND_HALF_UP, Decimal

_CODES = """
AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BHD BIF BMD BND BOB BOV BRL BSD BTN BWP BYN BZD CAD CDF CHE CHF
CHW CLF CLP CNY COP COU CRC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GNF GTQ GYD
HKD HNL HTG HUF IDR ILS INR IQD IRR ISK JMD JOD JPY KES KGS KHR KMF KPW KRW KWD KYD KZT LAK LBP LKR LRD LSL LYD
MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MXV MYR MZN NAD NGN NIO NOK NPR NZD OMR PAB PEN PGK PHP PKR PLN
PYG QAR RON RSD RUB RWF SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TND TOP TRY TTD
TWD TZS UAH UGX USD USN UYI UYU UYW UZS VED VES VND VUV WST XAF XCD XCG XOF XPF YER ZAR ZMW ZWG
"""
CURRENCIES = frozenset(_CODES.split())
USUAL_MINOR_UNITS = 2
_MINOR_UNITS = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
    3: "BHD IQD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}
MINOR_UNITS = {code: digits for digits, codes in _MINOR_UNITS.items() for code in codes.split()}
MOST_MINOR_UNITS = max(MINOR_UNITS.values())  # decimals that a column for prices and amounts needs


def minor_units(currency: str) -> int:
    """How many decimals an amount of the currency has."""
    return MINOR_UNITS.get(currency, USUAL_MINOR_UNITS)


def rounded(amount: Decimal, currency: str) -> Decimal:
    """The amount to the currency's smallest unit, halves away from zero: 0.125 EUR is 0.13 EUR, 2.5 JPY is 3 JPY."""
    return amount.quantize(Decimal(1).scaleb(-minor_units(currency)), ROUND_HALF_UP)
