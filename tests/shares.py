"""Which tests each of several processes begins with."""

from itertools import islice, zip_longest


def in_shares(starting, others, workers):
    """All tests in the order in which that many processes are given them: as many parts of it, alike in length.

    starting: those that start servers or a browser. The first half of the processes begins with them, since at the end
    of a run the others would idle. They mostly wait, and need a core for less than half their time; the other half of
    the processes keeps the cores busy meanwhile. What is left at its end, a process takes from another one's part.
    """
    total, rest = len(starting) + len(others), iter(others)
    lengths = [(total + more) // workers for more in range(workers)]  # as the processes take the list in
    order = []
    for length, first in zip_longest(lengths, _spread(starting, -(-workers // 2)), fillvalue=()):
        order += [*first, *islice(rest, max(0, length - len(first)))]
    return [*order, *rest]


def _spread(items, workers):
    """The tests of so many processes, those of a module together."""
    modules = list(dict.fromkeys(item.path for item in items))
    number = {path: place % workers for place, path in enumerate(modules)}
    return [[item for item in items if number[item.path] == worker] for worker in range(workers)]
