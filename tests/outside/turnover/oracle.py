"""Scores of dates by scoringrules, properscoring and scipy, for tests/outside/turnover.

    python oracle.py > oracle.json          writes it anew
    python oracle.py --check oracle.json    compares, and ends with status 1 where a number differs

Versions in requirements.txt. It shares no code with the program. A forecast of whole days goes to the libraries as members, each day as
often as its weight says: the CRPS of whole days is then that of an ensemble. Of an interval the days inside do not count: all
dates inside it are moved together by scoringrules' own way of cutting, a chaining function, under which the CRPS is threshold-weighted.
"""

import json
import sys

import numpy as np
import properscoring
import scipy.stats
import scoringrules


def cases():
    rng = np.random.default_rng(20251127)
    rows = []
    for k in range(24):
        first = int(rng.integers(250, 320))
        weight = rng.integers(0, 9, int(rng.integers(1, 30)))
        weight[0] += 1
        day = int(rng.integers(first - 12, first + len(weight) + 12))
        members = np.repeat(np.arange(first, first + len(weight)), weight).astype(float)
        crps = float(scoringrules.crps_ensemble(float(day), members, estimator="nrg"))
        other = float(properscoring.crps_ensemble(float(day), members))
        assert abs(crps - other) < 1e-9, (crps, other)
        # It happened after the end of `after` and by the end of `by`: F counts on days up to `after`, 1 - F from `by` on. F is a
        # step on whole days, so dates are moved together within [after + 1, by].
        after = day - int(rng.integers(1, 25))
        by = after + int(rng.integers(1, 25))

        def chain(x):
            return np.where(x <= after + 1, x, np.where(x <= by, after + 1.0, x - (by - after - 1)))

        moved = float(scoringrules.twcrps_ensemble(float(by), members, v_func=chain, estimator="nrg"))
        inside = float(np.mean((members > after) & (members <= by)))
        rows.append(
            {
                "first_day": first,
                "weight": [int(w) for w in weight],
                "day": day,
                "crps_days": crps,
                "after_day": after,
                "by_day": by,
                "interval_crps_days": moved,
                "interval_log_score": float(-np.log(max(inside, 0.001))),
            }
        )
    # Jeffreys' interval of 80 % of a coverage.
    coverage = [
        {"hits": h, "trials": n, "low": float(low), "high": float(high)}
        for h, n in ((12, 15), (3, 4), (9, 14))
        for low, high in [scipy.stats.beta.ppf([0.1, 0.9], h + 0.5, n - h + 0.5)]
    ]
    return {"dates": rows, "coverage": coverage}


def same(a, b):
    if isinstance(a, dict):
        return a.keys() == b.keys() and all(same(a[k], b[k]) for k in a)
    if isinstance(a, list):
        return len(a) == len(b) and all(same(x, y) for x, y in zip(a, b))
    return bool(np.isclose(a, b, rtol=1e-9, atol=1e-9))


def main():
    found = cases()
    if "--check" in sys.argv:
        with open(sys.argv[-1]) as stored:
            sys.exit(0 if same(json.load(stored), found) else 1)
    print('{"dates": [')
    print(",\n".join(json.dumps(row) for row in found["dates"]))
    print('], "coverage": [')
    print(",\n".join(json.dumps(row) for row in found["coverage"]))
    print("]}")


main()
