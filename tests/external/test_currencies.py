"""Codes and smallest units of currencies against ICU, the library of international data that Node carries.

ICU takes its digits from the CLDR, which counts coins in use: for some currencies it has none although ISO 4217 names
a minor unit. These are named here. A code of ours that ICU does not list is a unit of account, or young.
"""

import json
import subprocess

import pytest

from core.calc.currency import CURRENCIES, minor_units
from tests.needs import need

ASK = """
const digits = (code) => new Intl.NumberFormat("en", {style: "currency", currency: code})
  .resolvedOptions().maximumFractionDigits
console.log(JSON.stringify(Object.fromEntries(Intl.supportedValuesOf("currency").map((c) => [c, digits(c)]))))
"""
CODES = "LAK SOS YER IDR LBP AFN HUF MMK PKR KPW COP IRR ALL MGA SYP IQD RSD TZS UZS GYD"
COINS_OUT_OF_USE = set(CODES.split())
UNITS_OF_ACCOUNT = {"BOV", "CHE", "CHW", "CLF", "COU", "MXV", "USN", "UYI", "UYW"}
YOUNG = {"VED", "XCG", "ZWG", "SLE"}
GONE = {"ANG", "BGN", "CUC", "HRK", "SLL", "ZWL"}


@pytest.fixture(scope="module")
def icu():
    done = subprocess.run([need("node", "nodejs"), "-e", ASK], capture_output=True, check=True)
    return json.loads(done.stdout)


def test_every_code_is_one_that_icu_knows(icu):
    assert CURRENCIES - set(icu) <= UNITS_OF_ACCOUNT | YOUNG


def test_no_currency_in_use_is_left_out(icu):
    in_use = {code for code in icu if not code.startswith("X") or code in ("XAF", "XCD", "XOF", "XPF")}

    assert in_use - CURRENCIES <= GONE


def test_the_smallest_units_are_those_of_icu_but_for_coins_out_of_use(icu):
    other = {code for code in CURRENCIES & set(icu) if minor_units(code) != icu[code]}

    assert other <= COINS_OUT_OF_USE
    assert {"JPY", "KRW", "BHD", "KWD", "TND", "EUR", "USD"} <= CURRENCIES & set(icu) - other
