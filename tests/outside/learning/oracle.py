"""What other programs make of the same counts: statsmodels, scikit-learn and scipy, for tests/outside/learning.

    python oracle.py REPOSITORY > oracle.json      writes it anew
    python oracle.py REPOSITORY --check oracle.json   compares, and ends with status 1 where a number differs

The posterior of the whole model is written here a second time, on scipy's densities: slopes by a complex step, the top by
Newton steps on differences of these. It shares no code with the program, and reads the same species file.
"""

import json
import sys
import tomllib
from pathlib import Path

import numpy as np
import statsmodels.api as sm
from scipy import stats
from scipy.special import gammaln, loggamma, polygamma
from sklearn.linear_model import PoissonRegressor

# Table T1 of the check rows: effort, arm, pulse, suit, catch (synthetic).
T1 = np.array([
    [6, 0, 0.0, 0.9, 5], [5, 0, 0.0, 0.9, 2], [8, 0, 0.2, 0.8, 4], [4, 1, 0.2, 0.3, 0],
    [6, 1, 0.8, 0.6, 3], [5, 0, 0.8, 0.7, 1], [7, 1, 0.9, 0.7, 6], [6, 0, 0.0, 0.6, 3],
    [4, 1, 0.0, 0.4, 0], [8, 0, 0.1, 0.8, 7], [5, 1, 0.6, 0.5, 1], [6, 0, 0.5, 0.5, 0],
    [7, 0, 0.0, 0.7, 2], [6, 1, 1.0, 0.8, 5], [3, 1, 0.1, 0.2, 0], [8, 0, 0.3, 0.9, 4],
])  # fmt: skip


def design(table):
    return np.column_stack([np.ones(len(table)), table[:, 1], table[:, 1] * table[:, 2], table[:, 3]])


def linear():
    """Regressions of table T1 and of 200 synthetic trips, without a prior."""
    x, effort, catch = design(T1), T1[:, 0], T1[:, 4]
    offset = np.log(effort)
    poisson = sm.GLM(catch, x, family=sm.families.Poisson(), offset=offset).fit(tol=1e-14, maxiter=300)
    binomial = sm.families.NegativeBinomial(alpha=1 / 1.5)
    nb = sm.GLM(catch, x, family=binomial, offset=offset).fit(tol=1e-14, maxiter=300)
    # (g): a rate weighted by effort is the count with the effort as offset.
    rate = PoissonRegressor(alpha=0, tol=1e-12, max_iter=100000, solver="newton-cholesky")
    rate.fit(x[:, 1:], catch / effort, sample_weight=effort)
    # (a): a wide prior changes nothing.
    rng = np.random.default_rng(20260101)
    n = 200
    table = np.column_stack([
        rng.uniform(3, 8, n), rng.integers(0, 2, n), rng.uniform(0, 1, n), rng.uniform(0.2, 1, n)
    ]).round(3)
    mu = table[:, 0] * np.exp(design(table) @ [-1.2, -0.5, 0.8, 1.0])
    many = rng.negative_binomial(1.5, 1.5 / (1.5 + mu))
    family = sm.families.NegativeBinomial(alpha=1 / 1.5)
    large = sm.GLM(many, design(table), family=family, offset=np.log(table[:, 0])).fit(tol=1e-14, maxiter=300)
    return {
        "t1_poisson": list(poisson.params),
        "t1_poisson_se": list(poisson.bse),
        "t1_poisson_ln_likelihood": float(poisson.llf),
        "t1_nb": list(nb.params),
        "t1_rate": [float(rate.intercept_), *map(float, rate.coef_)],
        "trips": [[*map(float, row), int(y)] for row, y in zip(table, many)],
        "trips_nb": list(large.params),
    }


def functions():
    """Functions of counts."""
    cases = [(0, 1.2, 1.5), (3, 1.2, 1.5), (5, 4, 2), (40, 55.0, 0.3), (90, 60.0, 7.0), (2, 0.01, 1.5)]
    interval = [(0, 5.0, 1.0), (3, 10.0, 1.0), (17, 42.5, 2.4), (1, 0.5, 1.3)]
    return {
        "nb_ln_prob": [[y, mu, k, float(stats.nbinom.logpmf(y, k, k / (k + mu)))] for y, mu, k in cases],
        "poisson_ln_prob": [[y, mu, float(stats.poisson.logpmf(y, mu))] for y, mu, _ in cases],
        "trigamma": [[x, float(polygamma(1, x))] for x in (0.05, 0.5, 1.5, 4.0, 11.9, 12.0, 80.5)],
        "rate_interval": [
            [y, e, d, 0.0 if y == 0 else float(stats.gamma.ppf(0.1, y / d + 0.5, scale=d / e)),
             float(stats.gamma.ppf(0.9, y / d + 0.5, scale=d / e))]
            for y, e, d in interval
        ],
        "mixed": mixed([(0.4, 1.5), (1.7, 1.5), (3.0, 0.8), (0.05, 2.0)]),
    }


def mixed(parts):
    """A mixture of negative binomials: mean, chance of one, quantiles."""
    cdf = lambda y: np.mean([stats.nbinom.cdf(y, k, k / (k + mu)) for mu, k in parts])
    quantile = lambda p: next(y for y in range(500) if cdf(y) >= p)
    return {
        "parts": parts,
        "mean_fish": float(np.mean([mu for mu, _ in parts])),
        "at_least_one_prob": float(1 - cdf(0)),
        "low_fish": quantile(0.1),
        "high_fish": quantile(0.9),
    }


ZONES = ["main", "north", "south", "river"]
MARKS = ["bait", "single"]


class Whole:
    """The whole model on made-up trips of one species."""

    def __init__(self, species, trips, with_k, mature):
        self.rules, self.terms = species["rules"], species["catchability"]
        self.trips, self.with_k, self.mature = trips, with_k, mature
        self.zones = sorted({e["zone"] for t in trips for e in t["efforts"]})
        pairs = {(e["zone"], e["stretch"]) for t in trips for e in t["efforts"] if e["stretch"]}
        self.stretches = sorted(pairs)
        self.kinds = sorted({m["kind"] for t in trips for m in t["marks"]})
        prior = [(r["mean"], r["sd"]) for r in self.rules] + [(c["mean"], c["sd"]) for c in self.terms]
        prior += [(np.log(0.3), 1.0)] + [(0.0, 0.5)] * (len(self.zones) + len(self.stretches))
        prior += [(np.log(2.0), 1.5)] * len(self.kinds) + ([(np.log(1.5), 0.5)] if with_k else [])
        self.mean, self.scale = np.array(prior).T
        self.only = np.array([r.get("mature_only", False) for r in self.rules])
        self.rate = len(self.rules) + len(self.terms)

    def shares(self, morning, beta):
        def part(follows):
            eta = {"main": 0.0}
            for z in morning:
                if not z["closed"]:
                    value = np.sum(np.array(z["response"]) * beta * follows)
                    assert abs(np.real(value)) < 4, "this check is made where the bound does not bite"
                    eta[z["zone"]] = value
            total = sum(np.exp(v) for v in eta.values())
            return {z: np.exp(v) / total for z, v in eta.items()}

        whole, rest = part(np.ones(len(beta))), part(np.where(self.only, 0.0, 1.0))
        return {z: self.mature * whole[z] + (1 - self.mature) * rest[z] for z in whole}

    def ln_posterior(self, z):
        theta = self.mean + self.scale * z
        beta, gamma = theta[: len(self.rules)], theta[len(self.rules) : self.rate]
        at = self.rate + 1
        of_zone = {zone: theta[at + i] for i, zone in enumerate(self.zones)}
        at += len(self.zones)
        of_stretch = {pair: theta[at + i] for i, pair in enumerate(self.stretches)}
        at += len(self.stretches)
        of_kind = {kind: theta[at + i] for i, kind in enumerate(self.kinds)}
        k = np.exp(theta[-1]) if self.with_k else 1.5
        total = -0.5 * np.sum(z * z)
        for trip in self.trips:
            share = self.shares(trip["zones"], beta)
            for e in trip["efforts"]:
                ln_mu = np.log(e["effort_h"]) + theta[self.rate] + np.sum(np.array(e["catch_response"]) * gamma)
                ln_mu += np.log(share[e["zone"]]) + of_zone[e["zone"]]
                ln_mu += of_stretch.get((e["zone"], e["stretch"]), 0.0)
                total += ln_nb(e["catch"], np.exp(ln_mu), k)
            for m in trip["marks"]:
                ln_mu = np.log(m["watched_h"]) + of_kind[m["kind"]] + np.log(share[m["zone"]])
                total += ln_nb(m["count"], np.exp(ln_mu), 0.5)
        return total

    def gradient(self, z):
        step = 1e-30
        moved = [z + 1j * step * np.eye(len(z))[i] for i in range(len(z))]
        return np.array([np.imag(self.ln_posterior(m)) / step for m in moved])

    def curvature(self, z):
        step = 1e-5
        columns = [
            (self.gradient(z - step * e) - self.gradient(z + step * e)) / (2 * step) for e in np.eye(len(z))
        ]
        found = np.array(columns)
        return 0.5 * (found + found.T)

    def top(self):
        z = np.zeros(len(self.mean))
        for turn in range(60):
            # A curvature is dear: after four of them the last one serves.
            curvature = self.curvature(z) if turn < 4 else curvature
            step = np.linalg.solve(curvature, self.gradient(z))
            step *= min(1.0, 1.0 / max(np.max(np.abs(step)), 1e-300))
            while np.real(self.ln_posterior(z + step)) < np.real(self.ln_posterior(z)) - 1e-9:
                step *= 0.5
            z = z + step
            if np.max(np.abs(step)) < 1e-11:
                return z
        raise SystemExit("no top found")


def ln_nb(y, mu, k):
    """ln NB2, in a form that a complex step can pass through; the same as scipy's (see `functions`)."""
    return (
        loggamma(y + k) - loggamma(k) - gammaln(y + 1) + k * np.log(k / (k + mu)) + y * np.log(mu / (k + mu))
    )


def made_up_trips(species, count, rng):
    """Trips of an invented angler on an invented lake of four zones."""
    trips = []
    for t in range(count):
        zones = []
        for zone in ZONES[1:]:
            speaks = rng.random(len(species["rules"])) < 0.4
            response = (speaks * rng.uniform(-0.4, 0.8, len(species["rules"]))).round(3)
            zones.append({"zone": zone, "closed": bool(zone == "south" and t % 7 == 3), "response": list(response)})
        open_zones = ["main"] + [z["zone"] for z in zones if not z["closed"] and z["zone"] != "river"]
        fished = rng.choice(open_zones, size=min(len(open_zones), 1 + t % 2), replace=False)
        efforts = [
            {
                "zone": str(zone),
                "stretch": str(zone)[0] + "-wall" if t % 3 == 0 and zone != "main" else None,
                "effort_h": round(float(rng.uniform(1, 6)), 2),
                "catch": int(rng.negative_binomial(1.5, 0.45)),
                "catch_response": list(rng.uniform(-0.5, 1.0, len(species["catchability"])).round(3)),
            }
            for zone in fished
        ]
        marks = [
            {"zone": str(zone), "kind": MARKS[t % 2], "watched_h": round(float(rng.uniform(0.5, 3)), 2),
             "count": int(rng.poisson(3))}
            for zone in fished if t % 4 == 1
        ]  # fmt: skip
        trips.append({"zones": zones, "efforts": efforts, "marks": marks})
    return trips


def whole(repository):
    cases = []
    for name, count, mature in [("rainbow-trout", 24, None), ("landlocked-chinook", 42, 0.4)]:
        species = tomllib.loads((repository / f"config/species/{name}.toml").read_text())
        trips = made_up_trips(species, count, np.random.default_rng(count))
        model = Whole(species, trips, with_k=count >= 40, mature=1.0 if mature is None else mature)
        z = model.top()
        sd = np.sqrt(np.diag(np.linalg.inv(model.curvature(z))))
        cases.append({
            "species": name,
            "mature_frac": mature,
            "trips": trips,
            "moved_sd": list(z),
            "sd": list(sd),
        })
    return cases


def differences(found, wanted, path=""):
    if isinstance(wanted, dict):
        return [d for k in wanted.keys() | found.keys() for d in differences(found.get(k), wanted.get(k), f"{path}/{k}")]
    if isinstance(wanted, list) and isinstance(found, list) and len(wanted) == len(found):
        return [d for i, (f, w) in enumerate(zip(found, wanted)) for d in differences(f, w, f"{path}/{i}")]
    number = isinstance(wanted, (int, float)) and isinstance(found, (int, float))
    # Other processors and library builds round otherwise; the tests of the program ask for 1e-6 at the best.
    same = abs(found - wanted) <= 2e-7 * (1 + abs(wanted)) if number else found == wanted
    return [] if same else [f"{path}: {found} is not {wanted}"]


def main():
    repository = Path(sys.argv[1])
    found = {"linear": linear(), "functions": functions(), "whole": whole(repository)}
    found = json.loads(json.dumps(found))
    if "--check" in sys.argv:
        wanted = json.loads(Path(sys.argv[sys.argv.index("--check") + 1]).read_text())
        faults = differences(found, wanted)
        print("\n".join(faults) or "the same as stored")
        sys.exit(1 if faults else 0)
    print(json.dumps(found))


main()
