"""Whether a plan holds, worked out apart from the code that made it: nobody sees a plan that this has not passed."""

from collections import Counter, defaultdict
from itertools import groupby

from planning.calc.routing.problem import DAY_MIN, Plan, Problem, Route, Side, Tie, WorkOrder

Done = dict[str, list[tuple[int, int, int, int]]]  # by order: day, crew, minute it begins, minute it ends


def faults(problem: Problem, plan: Plan) -> list[str]:
    """Everything in a plan that cannot be so, in words for the log; empty for a plan that holds."""
    found = [fault for route in plan.routes for fault in _of_route(problem, route)]
    done: Done = defaultdict(list)
    for route in plan.routes:
        for stop in route.stops:
            done[stop.key].append((route.day, route.crew, stop.begins, stop.ends))
    found += _of_crew_days(plan) + _of_orders(problem, plan, done)
    return found + _of_ties(problem, plan, done) + _of_cure(problem, done)


def _of_route(problem: Problem, route: Route) -> list[str]:
    where = f"Crew {route.crew} on day {route.day}"
    crew = problem.crews[route.crew]
    shift = crew.shifts.get(route.day)
    if shift is None:
        return [f"{where}: it does not work then."]
    found = []
    clock, at, drive, km = route.leaves, crew.depot, 0, 0.0
    for stop in route.stops:
        order = problem.by_key[stop.key]
        drive += int(problem.travel_min[at, order.place])
        km += float(problem.travel_km[at, order.place])
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
    km += float(problem.travel_km[at, crew.depot])
    back = clock + int(problem.travel_min[at, crew.depot])
    if route.leaves < shift.start or back > shift.end or back != route.returns:
        found.append(
            f"{where}: out from {route.leaves} to {back}, the shift is {shift.start} to {shift.end}."
        )
    money = crew.km_cost * km + crew.hour_cost * drive / 60
    if drive != route.travel_min or abs(money - route.travel_cost) > 0.005:
        found.append(f"{where}: the driving is {drive} min and {money:.2f}, not what is said.")
    return found


def _of_crew_days(plan: Plan) -> list[str]:
    seen = Counter((route.crew, route.day) for route in plan.routes)
    return [f"Crew {crew} has {n} routes on day {day}." for (crew, day), n in seen.items() if n > 1]


def _of_orders(problem: Problem, plan: Plan, done: Done) -> list[str]:
    """Each once, on a day that is open to it; work of several days whole, by one crew, on its working days in a row."""
    found = []
    for key, times in done.items():
        order = problem.by_key[key]
        places = sorted((day, crew) for day, crew, _, _ in times)
        first, crew = places[0]
        if len(places) != max(1, order.whole_days):
            found.append(f"{key} is done on {len(places)} days.")
        if order.fixed is not None and order.fixed != (crew, first):
            found.append(f"{key} is settled for {order.fixed}, not crew {crew} on day {first}.")
        if order.fixed is None and first not in order.days:
            found.append(f"{key} is begun on day {first}, which is not open to it.")
        works = sorted(day for day in problem.crews[crew].shifts if day >= first)
        if order.whole_days and places != [(day, crew) for day in works[: order.whole_days]]:
            found.append(f"{key} is not done by one crew on days in a row.")
    both = set(done) & set(plan.left)
    missing = {order.key for order in problem.orders} - set(done) - set(plan.left)
    found += [f"{key} is both done and left." for key in sorted(both)]
    found += [f"{key} is neither done nor left." for key in sorted(missing)]
    return found


def _of_ties(problem: Problem, plan: Plan, done: Done) -> list[str]:
    """Work beside a cleaning stands on its side of it, near enough, and on one trip where they share a day."""
    found = []
    for order in problem.orders:
        tie = order.tie
        if tie is None or order.key not in done:
            continue
        if tie.cleaning in done:
            found += _beside(order, tie, problem.by_key[tie.cleaning], done)
        elif not tie.alone:
            found.append(f"{order.key} stands without its cleaning {tie.cleaning}.")
    for route in plan.routes:
        orders = [problem.by_key[stop.key] for stop in route.stops]
        trips = [list(trip) for _, trip in groupby(orders, lambda order: order.place)]
        found += [f"Crew {route.crew} on day {route.day}: {key} is not on one trip." for key in _torn(trips)]
    return found


def _torn(trips: list[list[WorkOrder]]) -> list[str]:
    """Keys of work on another trip of a route than the cleaning it stands beside."""
    trip_of = {order.key: i for i, trip in enumerate(trips) for order in trip}
    tied = [(order.key, order.tie.cleaning) for trip in trips for order in trip if order.tie is not None]
    return [key for key, cleaning in tied if trip_of.get(cleaning, trip_of[key]) != trip_of[key]]


def _beside(order: WorkOrder, tie: Tie, cleaning: WorkOrder, done: Done) -> list[str]:
    own, other = _span(done[order.key]), _span(done[cleaning.key])
    opens = other[1] + cleaning.cure_min
    if tie.side is Side.BEFORE:
        right, apart = own[1] <= other[0], other[0] // DAY_MIN - own[1] // DAY_MIN
    else:
        right, apart = own[0] >= opens, own[0] // DAY_MIN - opens // DAY_MIN
    if not right:
        return [f"{order.key} is not {tie.side.value} {cleaning.key}."]
    if apart > tie.within:
        return [f"{order.key} is {apart} days from {cleaning.key}, more than {tie.within}."]
    return []


def _span(times: list[tuple[int, int, int, int]]) -> tuple[int, int]:
    """From when to when, in minutes from the first midnight."""
    begins = min(DAY_MIN * day + begin for day, _, begin, _ in times)
    return begins, max(DAY_MIN * day + end for day, _, _, end in times)


def _of_cure(problem: Problem, done: Done) -> list[str]:
    """While a surface cures nobody works on it."""
    found = []
    for cured in problem.orders:
        if not (cured.cure_min and cured.ground and cured.key in done):
            continue
        begins, ends = _span(done[cured.key])
        for other in problem.orders:
            if other is cured or other.ground != cured.ground or other.key not in done:
                continue
            first, last = _span(done[other.key])
            if last > begins and first < ends + cured.cure_min:
                found.append(f"{other.key} is done while {cured.key} cures.")
    return found
