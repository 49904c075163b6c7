"""Linear programmes: least cost . x where A x <= most, x free.

Primal-dual interior point with predictor and corrector (Mehrotra 1992, SIAM J. Optimization 2, 575-601); normal equations by a dense
solve, as there are some hundred columns at most.
"""
import numpy as np

ROUNDS = 100    # far more than the 15 to 30 that are needed
# Relative errors at which a solution is taken: of rows; of the two costs against each other; of prices, which lose more digits
# to the normal equations and do no harm to the solution.
EXACT, COSTED, PRICED = 1e-9, 1e-7, 1e-6
NEARLY = 100.0  # where rounding keeps it from that: so many times as far off will do
DEEP = 0.1      # slack * price is not driven below this share of what COSTED asks: beyond it only rounding grows
STEP = 0.995    # of the way to the nearest bound


def room(value, step):
    """The largest share of a step, 1 at most, that leaves every value above 0."""
    down = step < 0
    return min(1.0, STEP * float(np.min(-value[down] / step[down]))) if down.any() else 1.0


def start(cost, a, most):
    """Slacks and prices well inside, as of least squares."""
    x = np.linalg.lstsq(a, most, rcond=None)[0]
    slack, price = most - a @ x, -np.linalg.lstsq(a.T, cost, rcond=None)[0]
    slack += 1e-3 + max(0.0, -1.5 * float(slack.min()))
    price += 1e-3 + max(0.0, -1.5 * float(price.min()))
    both = float(slack @ price)
    return x, slack + 0.5 * both / price.sum(), price + 0.5 * both / slack.sum()


@np.errstate(over="ignore", invalid="ignore")  # where there is no solution, prices grow without end
def solve(cost, a, most):
    """The best x; ValueError where there is none, or it could not be found."""
    cost, a, most = (np.asarray(v, float) for v in (cost, a, most))
    x, slack, price = start(cost, a, most)
    best, least = x, float("inf")
    for _ in range(ROUNDS):
        rows, prices = a @ x + slack - most, cost + a.T @ price
        value, other = float(cost @ x), -float(most @ price)
        off = max(np.abs(rows).max() / (1 + np.abs(most).max()) / EXACT, np.abs(prices).max() / (1 + np.abs(cost).max()) / PRICED,
                  abs(value - other) / (1 + abs(value)) / COSTED)
        if off < least:
            best, least = x, off
        if off <= 1 or not np.isfinite(off):
            break
        weight = price / slack
        normal = a.T @ (weight[:, None] * a)
        normal[np.diag_indices_from(normal)] *= 1 + 1e-14

        def steps(target):
            """How x, slack and price change so that rows and prices come right and slack * price goes to the target."""
            dx = np.linalg.solve(normal, -prices - a.T @ (target / slack + weight * rows))
            ds = -rows - a @ dx
            return dx, ds, target / slack - weight * ds
        _, ds, dy = steps(-slack * price)
        mean = float(slack @ price) / len(most)
        ahead = float((slack + room(slack, ds) * ds) @ (price + room(price, dy) * dy)) / len(most)
        centre = max((ahead / mean) ** 3 * mean, DEEP * COSTED * (1 + abs(value)) / len(most))
        dx, ds, dy = steps(centre - slack * price - ds * dy)
        part, part_y = room(slack, ds), room(price, dy)
        x, slack, price = x + part * dx, slack + part * ds, price + part_y * dy
    if not least <= NEARLY:
        raise ValueError("no solution found")
    return best
