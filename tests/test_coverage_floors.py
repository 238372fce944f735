"""The table of what the tests run, and the folders that must not fall below the least share."""

import json

import pytest

from tests.coverage_floors import LEAST_PERCENT, Share, folder_of, is_held, main, shares_by_folder


def summary(lines, lines_run, branches=0, branches_run=0):
    return {
        "summary": {
            "num_statements": lines,
            "covered_lines": lines_run,
            "num_branches": branches,
            "covered_branches": branches_run,
        }
    }


@pytest.fixture
def report(tmp_path):
    """Writes a report of the given files and gives its path."""

    def write(files):
        path = tmp_path / "coverage.json"
        path.write_text(json.dumps({"files": files}))
        return path

    return write


def test_a_share_counts_branches_beside_lines():
    assert Share(lines=6, lines_run=6, branches=4, branches_run=2).percent == 80.0


def test_a_folder_without_code_lacks_nothing():
    assert Share().percent == 100.0


def test_files_of_one_floor_are_taken_together():
    shares = shares_by_folder({"files": {"qa/calc/a.py": summary(3, 1), "qa/calc/b.py": summary(5, 5)}})

    assert shares == {"qa/calc": Share(lines=8, lines_run=6)}


@pytest.mark.parametrize(
    ("name", "folder"),
    [
        ("qa/urls.py", "qa"),
        ("qa/calc/ring.py", "qa/calc"),
        ("qa/presentation/drawing/plan.py", "qa/presentation"),
    ],
)
def test_a_file_belongs_to_its_app_and_floor(name, folder):
    assert folder_of(name) == folder


@pytest.mark.parametrize(
    ("folder", "held"),
    [
        ("qa/calc", True),
        ("core/services", True),
        ("clogging", True),
        ("clogging/x", True),
        ("qa/views", False),
    ],
)
def test_formulas_the_model_and_services_are_held_to_the_least_share(folder, held):
    assert is_held(folder) is held


def test_a_folder_below_the_least_share_is_named(report, capsys):
    path = report({"qa/calc/a.py": summary(100, 94), "qa/views/b.py": summary(100, 1)})

    said = main(path)

    assert said == f"Less than {LEAST_PERCENT:.0f} % is run by the tests: qa/calc."
    assert "94.0 %" in capsys.readouterr().out


def test_folders_on_the_least_share_pass(report):
    assert main(report({"qa/calc/a.py": summary(100, 95), "clogging/b.py": summary(40, 39, 2, 2)})) is None
