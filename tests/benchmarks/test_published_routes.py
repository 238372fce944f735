"""Published instances are read by their own convention, and a wrong one is told; on tiny ones written here."""

import pytest

from benchmarks.published_routes import CpuSeconds, cost_of, line, main, read

VRP = """NAME : tiny
TYPE : VRPTW
DIMENSION : 4
VEHICLES : 2
CAPACITY : 10
SERVICE_TIME : 1
EDGE_WEIGHT_TYPE : EUC_2D
NODE_COORD_SECTION
1 0 0
2 3 0
3 3 4
4 0 4
DEMAND_SECTION
1 0
2 5
3 5
4 {demand}
TIME_WINDOW_SECTION
1 0 100
2 0 100
3 0 100
4 0 100
{prizes}DEPOT_SECTION
1
-1
EOF
"""
PRIZES = "PRIZE_SECTION\n1 0\n2 50\n3 50\n4 1\n"


def write(folder, sol, demand=1, prizes=""):
    (folder / "tiny.vrp").write_text(VRP.format(demand=demand, prizes=prizes))
    (folder / "tiny.sol").write_text(sol)


def test_the_cost_is_the_distance_scaled_by_ten(tmp_path):
    write(tmp_path, "Route #1: 1 2\nRoute #2: 3\nCost 20.0\n")

    _, known = read(tmp_path, "tiny")

    assert cost_of(known) == 10 * (3 + 4 + 5 + 4 + 4)


def test_the_solver_finds_the_best_of_a_tiny_instance_and_says_seed_seconds_and_ratio(tmp_path):
    write(tmp_path, "Route #1: 1 2\nRoute #2: 3\nCost 20.0\n")

    name, seed, _, cost, best, ratio = line(tmp_path, "tiny", 0.2, 7).split()

    assert (name, seed, best) == ("tiny", "7", "200")
    assert float(ratio) == int(cost) / 200 <= 1.0


def test_prizes_that_are_not_collected_count(tmp_path):
    write(tmp_path, "Route #1: 1 2\nCost 13\n", prizes=PRIZES)

    _, known = read(tmp_path, "tiny")

    assert cost_of(known) == 10 * (3 + 4 + 5) + 10 * 1


def test_a_solution_that_breaks_a_limit_is_refused(tmp_path):
    write(tmp_path, "Route #1: 1 2 3\nCost 14\n", demand=5)

    with pytest.raises(ValueError, match="does not keep to the instance"):
        cost_of(read(tmp_path, "tiny")[1])


def test_a_missing_file_is_named(tmp_path):
    write(tmp_path, "Route #1: 1\n")
    (tmp_path / "tiny.sol").unlink()

    with pytest.raises(FileNotFoundError, match=r"tiny\.sol is missing"):
        read(tmp_path, "tiny")


def test_without_a_folder_it_says_so_and_ends(monkeypatch, capsys):
    monkeypatch.setattr("sys.argv", ["published_routes"])

    main()

    assert "name a folder" in capsys.readouterr().out


def test_the_limit_is_by_cpu_time():
    assert CpuSeconds(0.0)(1)
    assert not CpuSeconds(60.0)(1)
