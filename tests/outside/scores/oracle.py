"""Scores of made-up forecasts by scoringrules and properscoring, and a correction by scipy, for tests/outside/scores.rs.

    python oracle.py > oracle.json          writes it anew
    python oracle.py --check oracle.json    compares, and ends with status 1 where a number differs

Every score is asked of both libraries where both have it, and the run fails where these two differ. properscoring has no fair score.
"""

import json
import sys

import numpy as np
import properscoring as ps
import scoringrules as sr
from scipy.optimize import minimize
from scipy.stats import binomtest, norm


def agreed(one, other):
    """The value that both libraries give."""
    if not np.allclose(one, other, rtol=1e-10, atol=1e-10):
        raise SystemExit(f"the libraries differ: {one} {other}")
    return float(one)


def ensembles(numbers):
    rows = []
    for size in (2, 5, 20, 32):
        for kind in ("smooth", "ties", "far", "equal"):
            members = numbers.normal(15, 2, size)
            observed = numbers.normal(15, 2)
            if kind == "ties":
                members, observed = np.round(members), float(np.round(observed))
            if kind == "far":
                observed += 40.0
            if kind == "equal":
                members[:] = members[0]
            members, observed = np.round(members, 3), round(float(observed), 3)
            standard = agreed(sr.crps_ensemble(observed, members, estimator="nrg"), ps.crps_ensemble(observed, members))
            fair = float(sr.crps_ensemble(observed, members, estimator="fair"))
            rows.append({"members": members.tolist(), "observed": observed, "crps": standard, "fair": fair})
    return rows


def normals(numbers):
    rows = []
    for _ in range(12):
        mean, sd, observed = (round(float(x), 3) for x in (numbers.normal(12, 4), numbers.uniform(0.05, 3), numbers.normal(12, 5)))
        crps = agreed(sr.crps_normal(observed, mean, sd), ps.crps_gaussian(observed, mean, sd))
        rows.append({"mean": mean, "sd": sd, "observed": observed, "crps": crps, "log": float(-norm.logpdf(observed, mean, sd))})
    return rows


def events(numbers):
    prob = np.round(numbers.uniform(0, 1, 60), 3)
    happened = numbers.uniform(0, 1, 60) < prob
    brier = agreed(np.mean(sr.brier_score(happened.astype(float), prob)), np.mean(ps.brier_score(happened.astype(float), prob)))
    return {"prob": prob.tolist(), "happened": happened.tolist(), "brier": brier}


def correction(numbers):
    """Forecasts too warm by 0.8 and too sure, and the correction of least CRPS."""
    truth = numbers.normal(14, 5, 80)
    mean = np.round(truth + 0.8 + numbers.normal(0, 0.9, 80), 3)
    variance = np.round(numbers.uniform(0.1, 0.5, 80), 3)
    observed = np.round(truth, 3)

    def cost(p):
        return float(np.mean(sr.crps_normal(observed, p[0] + p[1] * mean, np.sqrt(p[2] ** 2 + p[3] ** 2 * variance))))

    found = min(
        (minimize(cost, [0.0, 1.0, c, d], method="Nelder-Mead", options={"xatol": 1e-10, "fatol": 1e-14, "maxiter": 40000, "maxfev": 40000})
         for c in (0.3, 1.0) for d in (0.3, 1.0)),
        key=lambda r: r.fun,
    )
    rows = [{"mean": m, "variance": v, "observed": o} for m, v, o in zip(mean.tolist(), variance.tolist(), observed.tolist())]
    raw = float(np.mean(ps.crps_gaussian(observed, mean, np.sqrt(variance))))
    return {"cases": rows, "raw": raw, "corrected": float(found.fun), "slope": float(found.x[1])}


def shares():
    rows = []
    for hits, of in ((0, 12), (3, 12), (27, 40), (160, 200), (40, 40)):
        interval = binomtest(hits, of).proportion_ci(confidence_level=0.9, method="wilson")
        rows.append({"hits": hits, "of": of, "low": float(interval.low), "high": float(interval.high)})
    return rows


def found():
    numbers = np.random.default_rng(20251009)
    return {
        "ensembles": ensembles(numbers),
        "normals": normals(numbers),
        "events": events(numbers),
        "correction": correction(numbers),
        "shares": shares(),
    }


def same(a, b, where=""):
    if isinstance(a, dict):
        return a.keys() == b.keys() and all(same(a[k], b[k], f"{where}/{k}") for k in a)
    if isinstance(a, list):
        return len(a) == len(b) and all(same(x, y, f"{where}/{i}") for i, (x, y) in enumerate(zip(a, b)))
    # A search stops a little beside the minimum, where the score is flat: its slope is known to six digits, all else to ten.
    near = 1e-6 if where.endswith("/slope") else 1e-10
    if not np.isclose(a, b, rtol=near, atol=near):
        print(f"{where}: stored {a}, found {b}", file=sys.stderr)
        return False
    return True


if "--check" in sys.argv:
    sys.exit(0 if same(json.load(open(sys.argv[-1])), found()) else 1)
print(json.dumps(found(), indent=1))
