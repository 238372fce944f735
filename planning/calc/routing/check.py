"""Whether a plan holds, worked out apart from the code that made it: nobody sees a plan that this has not passed."""

from collections import Counter, defaultdict

from planning.calc.routing.problem import Plan, Problem, Route


def faults(problem: Problem, plan: Plan) -> list[str]:
    """Everything in a plan that cannot be so, in words for the log; empty for a plan that holds."""
    found = [fault for route in plan.routes for fault in _of_route(problem, route)]
    found += _of_crew_days(plan) + _of_orders(problem, plan)
    return found


def _of_route(problem: Problem, route: Route) -> list[str]:
    where = f"Crew {route.crew} on day {route.day}"
    crew = problem.crews[route.crew]
    shift = crew.shifts.get(route.day)
    if shift is None:
        return [f"{where}: it does not work then."]
    found = []
    clock, at, drive, money = route.leaves, crew.depot, 0, 0.0
    for stop in route.stops:
        order = problem.by_key[stop.key]
        drive += int(problem.travel_min[at, order.place])
        money += float(problem.travel_cost[at, order.place])
        if clock + int(problem.travel_min[at, order.place]) > stop.begins:
            found.append(f"{where}: {stop.key} begins at {stop.begins}, before the crew is there.")
        if route.crew not in order.minutes:
            found.append(f"{where}: it cannot do {stop.key}.")
        elif stop.ends - stop.begins != order.minutes[route.crew]:
            found.append(f"{where}: {stop.key} does not take {order.minutes[route.crew]} min.")
        if stop.begins < order.opens or stop.ends > order.closes:
            found.append(f"{where}: {stop.key} lies outside {order.opens} to {order.closes}.")
        clock, at = stop.ends, order.place
    drive += int(problem.travel_min[at, crew.depot])
    money += float(problem.travel_cost[at, crew.depot])
    back = clock + int(problem.travel_min[at, crew.depot])
    if route.leaves < shift.start or back > shift.end or back != route.returns:
        found.append(
            f"{where}: out from {route.leaves} to {back}, the shift is {shift.start} to {shift.end}."
        )
    if drive != route.travel_min or abs(money - route.travel_cost) > 0.005:
        found.append(f"{where}: the driving is {drive} min and {money:.2f}, not what is said.")
    return found


def _of_crew_days(plan: Plan) -> list[str]:
    seen = Counter((route.crew, route.day) for route in plan.routes)
    return [f"Crew {crew} has {n} routes on day {day}." for (crew, day), n in seen.items() if n > 1]


def _of_orders(problem: Problem, plan: Plan) -> list[str]:
    """Each once, on a day that is open to it; work of several days whole, by one crew, on its working days in a row."""
    done: dict[str, list[tuple[int, int]]] = defaultdict(list)
    for route in plan.routes:
        for stop in route.stops:
            done[stop.key].append((route.day, route.crew))
    found = []
    for key, places in done.items():
        order = problem.by_key[key]
        first, crew = min(places)
        if len(places) != max(1, order.whole_days):
            found.append(f"{key} is done on {len(places)} days.")
        if order.fixed is not None and order.fixed != (crew, first):
            found.append(f"{key} is settled for {order.fixed}, not crew {crew} on day {first}.")
        if order.fixed is None and first not in order.days:
            found.append(f"{key} is begun on day {first}, which is not open to it.")
        works = sorted(day for day in problem.crews[crew].shifts if day >= first)
        if order.whole_days and sorted(places) != [(day, crew) for day in works[: order.whole_days]]:
            found.append(f"{key} is not done by one crew on days in a row.")
    both = set(done) & set(plan.left)
    missing = {order.key for order in problem.orders} - set(done) - set(plan.left)
    found += [f"{key} is both done and left." for key in sorted(both)]
    found += [f"{key} is neither done nor left." for key in sorted(missing)]
    return found
