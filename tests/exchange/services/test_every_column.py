"""Every column of every sheet: what is right is stored, what is wrong is told once by row, column, value and remedy."""

from datetime import date, time, timedelta

import pytest

from exchange.calc.columns import LONGEST_TEXT, Cell
from exchange.calc.kinds import KINDS, SheetKind
from exchange.calc.rows import LOOKED_UP, Sheet
from exchange.calc.ways import shown
from qa.calc.field_tests import FIELD_TESTS, Measures
from tests.clock import TODAY
from tests.exchange.sheets import taken_in

K = SheetKind
OF_METHOD = {
    entry.key: method.value
    for method, test in reversed(FIELD_TESTS.items())
    for entry in (*test.fixed, *test.repeated)
}
READ = {
    "standpipe_diameter": 60.0, "contact_diameter": 100.0, "layer_thickness": 80.0, "head_start": 500.0,
    "head_end": 300.0, "elapsed_s": 120.0, "inner_side": 1000.0, "drop": 20.0, "outer_level": "yes",
    "section_area": 4.0, "dam_tight": "yes", "level_start": 60.0, "level_end": 40.0, "length": 500.0,
    "width": 500.0, "volume": 5.0, "wetted_area": 1.2, "outlet_only_s": 3.0, "frozen": "no", "outflow_s": 15.0,
}  # fmt: skip


def entry_of(key):
    """The method and the entry that a column of readings belongs to."""
    bare = key.partition("_")[2] if key.startswith("run") and key[3].isdecimal() else key
    return ("flooding" if key[:4] in ("run4", "run5", "run6") else OF_METHOD.get(bare, "")), bare


def readings_for(method, run):
    """What a test of a method needs. run: such as run2, which is read beside the first."""
    test = next(test for each, test in FIELD_TESTS.items() if each.value == method)
    found = {e.key: READ[e.key] for e in test.fixed if e.measures is not Measures.LOOKED_UP}
    runs = {"run1", run} if run.startswith("run") else {"run1"}
    return found | {f"{n}_{e.key}": READ[e.key] for e in test.repeated for n in runs} | {"method": method}


RING = {"test_mass": 18.0, "ring_diameter": 300.0, "elapsed_s": 320.0}


def row_of(firm, kind, n, key=""):
    """The smallest row of a kind, another for each n. key: the column that the test is about."""
    where = {"site": firm.site.name, "surface": firm.surface.name}
    method = entry_of(key)[0] if key not in RING else ""
    day = date(2024, 6, 3) + timedelta(days=n if key in KINDS[K.ROUNDS].by_key else 0)
    return {
        K.OWNERS: {"name": f"Owner {n}", "note": "x"},
        K.SITES: {"owner": firm.owner.name, "name": f"New site {n}"},
        K.SURFACES: {
            "site": firm.site.name, "name": f"Area {n}", "surface_type": "Porous asphalt", "area_m2": 500.0,
            "opened_on": date(2021, 5, 12), "agreed_limit_mm_h": 250.0, "agreed_source": "Contract",
        },
        K.LAYERS: {**where, "kind": "Base", "thickness_mm": 100.0},
        K.LOCATIONS: {**where, "label": f"L{n}"},
        K.ROUNDS: {**where, "tested_on": date(2024, 6, 3) + timedelta(days=n)},
        K.TESTS: {
            **where, "tested_on": day, "location": f"A{n}",
            **(readings_for(method, key.partition("_")[0]) if method else RING),
        },
        K.CLEANINGS: {**where, "cleaned_on": date(2024, 4, 1) + timedelta(days=n), "method": "Vacuum sweeping"},
    }[kind]  # fmt: skip


def sheet_of(firm, kind, key, values, **more):
    """Rows that differ from good ones in one column alone."""
    rows = [{**row_of(firm, kind, n, key), **more, key: value} for n, value in enumerate(values)]
    columns = tuple(dict.fromkeys(name for row in rows for name in row))
    headers = tuple(KINDS[kind].by_key[name].label for name in columns)
    return Sheet(kind.label, kind, headers, columns, [[row.get(name) for name in columns] for row in rows])


COLUMNS = [(kind, column.key) for kind in SheetKind for column in KINDS[kind].columns]
NAMES = [f"{kind.value}-{key}" for kind, key in COLUMNS]


def column_of(kind, key):
    return KINDS[kind].by_key[key]


# ---- right ---------------------------------------------------------------------------------------------

TEXTS = ["Ä b", " around ", "non\u00a0breaking", "=1+1", "+49 30 1", "a\u0308 joined", "x" * 20]
RIGHT = {
    Cell.TEXT: TEXTS,
    Cell.NUMBER: [1.0, "1", "1.0", " 1 ", "1,0", "\u00a01\u00a0"],
    Cell.WHOLE: [3.0, "3", "3.0", "3,0"],
    Cell.MONEY: [12.5, "12.50", "12,50 €", "EUR 12.5", "$12.50", "12.50 kr"],
    Cell.DAY: [date(2022, 3, 4), "2022-03-04", "04/03/2022", "4.3.2022", "4 Mar 2022", "March 4th, 2022", 44624.0],
    Cell.CLOCK: [time(7, 30), "07:30", "7.30", "7:30 am", "07:30:00", 0.3125, timedelta(hours=7, minutes=30)],
    Cell.YES: ["yes", "no", True, False, "x", 1.0, "nein"],
    Cell.MONTHS: ["12, 1, 2", "Oct; Nov", 3.0, "January, February, March, April, May, June, July, August, September"],
    Cell.WEEKDAYS: ["Sat, Sun", "6", "Monday, Tuesday, Wednesday, Thursday, Friday, Saturday, Sunday"],
}  # fmt: skip
# Of columns whose values must fit what else is known of the row.
FITTING = {
    "email": ["a@firm.example", " a@firm.example "],
    "phone": ["+49 30 1", "'+49 30 1", 4930123.0],
    "time_zone": ["UTC", "Europe/Berlin", " UTC "],
    "latitude_deg": [52.5, "52,5", "-33.9", "52.5°"],
    "longitude_deg": [13.4, "-179.5"],
    "area_m2": [850.0, "850", "1 200,5", "850 m²", "0.1 ha"],
    "works_until": ["17:00"],
    "removed_on": [date(2023, 1, 2), "02/01/2023"],
    "design_intensity_mm_h": [100.0],
    "clogging_share": [0.5, "50 %"],
    "joint_width_mm": [8.0, "8 mm", "0.8 cm"],
    "soil_safety_factor": [2.0, "2"],
    "subgrade_slope_percent": [2.0, "2 %"],
    "porosity": [0.4, "40 %", "0,4"],
    "share_of_area": [1.0, "50 %", 0.25],
    "stone_min_mm": [2.0],
    "stone_max_mm": [40.0],
    "thickness_mm": [50.0, "5 cm"],
    "cleaned_on": RIGHT[Cell.DAY],
    "location": ["A1", "#B", 7.0, "x" * 80],
    "hours_since_rain": [72.0],
    "round": [],
    "rule": [],
    "tested_on": [],
    "overflow_diameter_mm": [100.0, "10 cm"],
    "position": [1.0, "2", "2,5"],
    "ended": ["Drained"],
    "unit_system": ["si", "metric"],
}
# What only fits together with more: by column.
ALONGSIDE = {
    "works_from": {"works_until": "17:00"},
    "works_until": {"works_from": "07:00"},
    "stone_min_mm": {"stone_max_mm": 40.0},
    "stone_max_mm": {"stone_min_mm": 2.0},
    "soil_safety_factor": {"soil_measured_mm_h": 20.0},
    "overflow_diameter_mm": {"overflow_invert_mm": 100.0},
    "soil_measured_mm_h": {"soil_safety_factor": 2.0},
    "x_m": {"y_m": 1.0},
    "y_m": {"x_m": 1.0},
    "pressure_bar": {"method": "wash_vacuum"},
    "guarantee_months": {"guarantee_from": date(2021, 5, 12)},
    "guarantee_from": {"guarantee_months": 60.0},
    "latitude_deg": {"longitude_deg": 13.4},
    "longitude_deg": {"latitude_deg": 52.5},
    "subgrade_slope_percent": {"subgrade_fall_length_m": 10.0},
    "subgrade_fall_length_m": {"subgrade_slope_percent": 2.0},
    "clogging_share": {"design_intensity_mm_h": 100.0},
}


def right_for(kind, key):
    column = column_of(kind, key)
    if key in FITTING:
        return FITTING[key]
    if key in RING and kind is K.TESTS:
        return [RING[key], f"{RING[key]:.0f}", f"{RING[key]:.1f}".replace(".", ",")]
    if kind is K.TESTS and entry_of(key)[0]:
        return [READ[entry_of(key)[1]]]
    if column.choices:
        return list(column.choices.values())[:3] if key != "method" else []
    return RIGHT[column.cell]


@pytest.mark.parametrize(("kind", "key"), COLUMNS, ids=NAMES)
def test_what_is_right_is_taken_without_a_word_against_it(firm, kind, key):
    values = right_for(kind, key)
    if key in ("site", "surface", "owner"):
        values = [f" {getattr(firm, key).name.upper()}\u00a0"] if key != "owner" or kind is K.SITES else []

    making = taken_in(firm, sheet_of(firm, kind, key, values, **ALONGSIDE.get(key, {})))

    assert [(p.row, p.column, p.value, p.what) for p in making.problems] == []
    if kind is not K.LAYERS:
        assert len(making.new.get(kind, ())) == len(values)
    assert all(not new.made._state.adding for new in making.new.get(kind, ()) if kind is not K.LAYERS)


# ---- wrong ---------------------------------------------------------------------------------------------

ERRORS = ["#N/A", "#DIV/0!", "#NAME?", "Err:502", " #REF! "]
WRONG = {
    Cell.TEXT: ["x" * (LONGEST_TEXT + 1)],
    Cell.NUMBER: [
        "many", True, "12.3.4", "5 apples", "12 5", "5'6\"", "1e99", "< 5", "~5", "--", date(2024, 1, 2),
        1e13, "-1e13", -1e13, "> 5 apples", "5 - 10", "(5)",
    ],
    Cell.WHOLE: ["some", 2.5, "2,5", True, 1e12, -3.0, "3 apples"],
    Cell.MONEY: ["much", "(420.00)", "-420", -1.0, 1e15, "420 kg", "12 50", True, "420 %"],
    Cell.DAY: [
        "soon", "31/02/2022", "12/31/2022", "2022-13-01", "2022-02-30", 7.0, 20220304.0, True, "4/3/2022 or so",
        "3 Foo 2022", "03-2022", "0/0/2022", "29/02/2023",
    ],
    Cell.CLOCK: ["morning", "25:00", "7:60", "7", 7.5, 1.25, True, "25:30 pm", date(2024, 1, 2)],
    Cell.YES: ["maybe", 2.0, "yes and no", date(2024, 1, 2)],
    Cell.CHOICE: ["tarmac and more", 99.0, date(2024, 1, 2), "x" * 500],
    Cell.MONTHS: ["13", "0", "Foo", "10-12", ";", 1.5, "Oct and Nov"],
    Cell.WEEKDAYS: ["8", "Noday", "Sat-Sun", ","],
}  # fmt: skip
LATE = [TODAY + timedelta(days=400), "2999-12-31", "30/12/2999"]
DONE_ON = {"tested_on", "cleaned_on"}
HUGE = (1e13, "-1e13", -1e13)


def wrong_for(kind, key):
    column = column_of(kind, key)
    values = [*ERRORS, *WRONG[column.cell]]
    if column.may_be_over:
        values = [value for value in values if value != date(2024, 1, 2)]
    if key in DONE_ON:
        values += LATE
    if key == "position" or (kind is K.TESTS and key not in KINDS[K.ROUNDS].by_key):
        values = [value for value in values if value not in HUGE]  # any place; and readings are judged by row
    if column.required and key not in LOOKED_UP:
        values += [None, "", "  ", "\u00a0", "\u200b"]
    return values


@pytest.mark.parametrize(("kind", "key"), COLUMNS, ids=NAMES)
def test_what_is_wrong_is_told_once_by_row_column_value_and_remedy(firm, kind, key):
    values = wrong_for(kind, key)
    sheet = sheet_of(firm, kind, key, values, **ALONGSIDE.get(key, {}))
    if kind is K.LAYERS:  # a build-up is refused as a whole, and each of its rows is told of
        sheet = sheet_of(firm, kind, key, values)

    making = taken_in(firm, sheet)

    label = column_of(kind, key).label
    told = [(p.row, p.column, p.value) for p in making.problems]
    wanted = [(n, label, shown(value)) for n, value in enumerate(values, start=2)]
    assert sorted(told) == sorted(wanted)
    assert [p for p in making.problems if not p.remedy or p.remedy[-1] not in ".?)"] == []
    assert [new for new in making.new.get(kind, ()) if not new.made._state.adding] == []


@pytest.mark.parametrize("key", ["prewet_mass", "prewet_time_s", "start_delay_s", *RING])
def test_a_reading_that_cannot_be_is_told_by_its_row(firm, key):
    making = taken_in(firm, sheet_of(firm, K.TESTS, key, [-1.0]))

    (problem,) = making.problems
    assert (problem.row, "got -1" in problem.what, bool(problem.remedy)) == (2, True, True)
