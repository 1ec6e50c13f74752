"""Monthly shares of tagged rainbow trout by main lake, arms and rivers: the same figures as `examples/telemetry`, by another program.

    python3 tests/outside/telemetry/shares.py DATA/fish/kootenay-trout > tests/outside/telemetry/shares.json

Written apart from the Rust code, with pandas and numpy. What it writes are aggregates that this script computed from the data of
Thorley & Andrusak (2017), PeerJ 5:e2874, licence CC BY 4.0. The tables themselves are not in this repository.
"""

import json
import re
import sys
from pathlib import Path

import numpy as np
import pandas as pd

FOLDER = Path(sys.argv[1])
ORIGIN = pd.Timestamp("2008-01-01")
AREAS = ["main", "north", "south", "west", "river"]
AREA_OF = {f"S{i:02d}": "north" for i in range(7, 18)}
AREA_OF |= {s: "main" for s in ["S18", "S21", "S22", "S23", "S24", "S25"]}
AREA_OF |= {f"S{i:02d}": "south" for i in range(26, 33)}
AREA_OF |= {"S20": "west"} | {s: "river" for s in ["S01", "S02", "S05", "S06", "S19", "S33"]}
STILL_DAYS, STILL_FRAC = 90, 0.9


def table(name, times):
    frame = pd.read_csv(FOLDER / name)
    for column in times:
        frame[column] = pd.to_datetime(frame[column], utc=True).dt.tz_localize(None)
    return frame


def day_of(times):
    """Standard days at UTC-8, counted from ORIGIN."""
    return ((times - pd.Timedelta(hours=8)).dt.floor("D") - ORIGIN).dt.days


def most_heard(rows):
    """Area with the most receiver-hours; of equals the one heard last, then the later in the list."""
    by_area = rows.groupby("area").DateTimeDetection.agg(["size", "max"])
    by_area["place"] = [AREAS.index(a) for a in by_area.index]
    return by_area.sort_values(["size", "max", "place"]).index[-1]


capture = table("capture.csv", ["DateTimeCapture", "DateTimeTagExpire"])
recapture = table("recapture.csv", ["DateTimeRecapture"])
deployment = table("deployment.csv", ["DateTimeReceiverIn", "DateTimeReceiverOut"])
station = table("station.csv", [])
section = table("section.csv", [])
detection = table("detection_to_2011.csv.gz", ["DateTimeDetection"])

rainbows = capture[capture.Species == "Rainbow Trout"].copy()
end_day = int(day_of(detection.DateTimeDetection).max())
rainbows["cap_day"] = day_of(rainbows.DateTimeCapture)
rainbows["exp_day"] = day_of(rainbows.DateTimeTagExpire)
tagged = rainbows[(rainbows.DateTimeTagExpire > rainbows.DateTimeCapture) & (rainbows.cap_day <= end_day)].copy()
removed = recapture[~recapture.Released].assign(day=lambda r: day_of(r.DateTimeRecapture)).groupby("Capture").day.min()
tagged["last_day"] = np.minimum(tagged.exp_day, end_day)
gone = tagged.Capture.map(removed)
tagged["last_day"] = np.where(gone.notna() & (gone < tagged.last_day), gone, tagged.last_day).astype(int)

hours = detection[detection.Capture.isin(tagged.Capture)].reset_index()
joined = hours.merge(deployment, on="Receiver")
half_hour = pd.Timedelta(minutes=30)
joined = joined[
    (joined.DateTimeReceiverIn <= joined.DateTimeDetection + half_hour)
    & (joined.DateTimeDetection + half_hour < joined.DateTimeReceiverOut)
]
assert not joined["index"].duplicated().any()
unplaced = len(hours) - len(joined)
joined = joined.merge(station, on="Station")
joined["area"] = joined.Section.map(AREA_OF)
assert joined.area.notna().all()
joined["day"] = day_of(joined.DateTimeDetection)

heard = {}  # fish -> {day: area}
span = {}
still = []  # tags that one section alone hears, 90 days or more at the end: they may lie on the bed
heard_fish = 0
for fish in tagged.itertuples():
    own = joined[(joined.Capture == fish.Capture) & (joined.day >= fish.cap_day) & (joined.day <= fish.last_day)]
    last_day = fish.last_day
    heard_fish += len(own) > 0
    days = sorted(own.day.unique())
    if days:
        by_day = own.groupby("day").Section.agg(lambda s: set(s))
        only = by_day.loc[days[-1]]
        if len(only) == 1:
            start = days[-1]
            run = 0
            for d in reversed(days):
                if by_day.loc[d] != only:
                    break
                start, run = d, run + 1
            length = days[-1] - start + 1
            if length >= STILL_DAYS and run >= STILL_FRAC * length:
                still.append(fish.Capture)
                last_day = start - 1
                own = own[own.day <= last_day]
    place = {}
    for day, rows in own.groupby("day"):
        place[int(day)] = most_heard(rows)
    heard[fish.Capture] = (place, own)
    span[fish.Capture] = (int(fish.cap_day), int(last_day), AREA_OF[fish.SectionCapture])

month_of = lambda day: (ORIGIN + pd.Timedelta(days=int(day))).month - 1


def held(gap_days, leave_out_days=0):
    """Fish-days by month and area, and days between two positions that nothing places."""
    days, unknown = np.zeros((12, 5)), np.zeros(12)
    for fish, (place, _) in heard.items():
        cap, last, cap_area = span[fish]
        anchors = dict(place)
        anchors.setdefault(cap, cap_area)
        known = sorted(anchors)
        for a, b in zip(known, known[1:] + [None]):
            stretch = [a] if b is None else range(a, b)
            for d in stretch:
                if d == cap or d < cap + leave_out_days or d > last:
                    continue
                if d == a:
                    area = anchors[a]
                elif b - a <= gap_days:
                    area = anchors[a] if d - a <= b - d else anchors[b]
                else:
                    unknown[month_of(d)] += 1
                    continue
                days[month_of(d), AREAS.index(area)] += 1
    return days, unknown


# Receivers that were in the water at noon (UTC-8) of each day, by area.
noon = lambda d: ORIGIN + pd.Timedelta(days=int(d), hours=20)
placed = deployment.merge(station, on="Station")
placed["area"] = placed.Section.map(AREA_OF)
receivers = np.zeros((end_day + 1, 5))
for row in placed.itertuples():
    for d in range(end_day + 1):
        if row.DateTimeReceiverIn <= noon(d) < row.DateTimeReceiverOut:
            receivers[d, AREAS.index(row.area)] += 1
first_day = min(c for c, _, _ in span.values())
receiver_days = np.zeros((12, 5))
for d in range(first_day, end_day + 1):
    receiver_days[month_of(d)] += receivers[d]

# ---- Hidden states by week: in hearing and out of hearing in each area, and gone. ---------------------------------------
# State 2a is area a where receivers may hear, 2a + 1 the same area out of their hearing.
RIVER, GONE, STATES = 4, 10, 11
OPEN_MONTHS = range(3, 8)  # April to August: receivers stood in the river; entries into it are modelled in these months
PRIOR_STAY, PRIOR_MOVE = 1.0, 0.1
SETTLED_WEEKS = 9
allowed = np.zeros((12, STATES, STATES), bool)
for m in range(12):
    for a in range(5):
        for k in (2 * a, 2 * a + 1):
            allowed[m, k, [2 * a, 2 * a + 1, GONE]] = True
    for a in range(4):
        for b in range(4):
            allowed[m, 2 * a, 2 * b] = True
    for r in (2 * RIVER, 2 * RIVER + 1):
        for a in range(4):  # a week is long enough to come from any part of the lake
            allowed[m, r, 2 * a] = True
            allowed[m, 2 * a, r] = m in OPEN_MONTHS
    allowed[m, GONE, GONE] = True
weeks = (end_day + 1) // 7
coverage = receivers[: weeks * 7].reshape(weeks, 7, 5).mean(axis=1)
month_of_week = np.array([month_of(7 * w + 3) for w in range(weeks)])
histories = []
for fish, (_, own) in heard.items():
    cap, last, cap_area = span[fish]
    first_week, last_week = cap // 7, min((last + 1) // 7, weeks) - 1
    if last_week <= first_week:
        continue
    seen = np.full(last_week - first_week + 1, -1)
    for week, rows in own.groupby(own.day // 7):
        if first_week < week <= last_week:
            seen[week - first_week] = AREAS.index(most_heard(rows))
    histories.append((first_week, AREAS.index(cap_area), seen))


def emission(week, seen, rate):
    miss = np.exp(-rate[[0, 1, 2, 0, 4]] * coverage[week])  # the west arm's receiver hears as those of the main lake
    out = np.zeros(STATES)
    if seen < 0:
        out[:] = 1.0
        out[0:10:2] = miss
    else:
        out[2 * seen] = 1.0 - miss[seen]
    return out


def smooth(history, step, rate):
    first, start, seen = history
    n = len(seen)
    forward, scale = np.zeros((n, STATES)), np.ones(n)
    forward[0, [2 * start, 2 * start + 1]] = 0.5
    e = [None] + [emission(first + t, seen[t], rate) for t in range(1, n)]
    for t in range(1, n):
        f = (forward[t - 1] @ step[month_of_week[first + t]]) * e[t]
        scale[t] = f.sum()
        forward[t] = f / scale[t]
    backward = np.ones((n, STATES))
    pair = np.zeros((12, STATES, STATES))
    for t in range(n - 1, 0, -1):
        p = step[month_of_week[first + t]]
        tail = e[t] * backward[t] / scale[t]
        pair[month_of_week[first + t]] += forward[t - 1][:, None] * p * tail[None, :]
        backward[t - 1] = p @ tail
    return forward * backward, np.log(scale).sum(), pair


def fit(histories, iterations=500, tol=1e-8):
    step = np.where(allowed, 0.03, 0.0)
    for s in range(STATES):
        step[:, s, s] = 0.7
    step /= step.sum(axis=2, keepdims=True)
    rate = np.ones(5)
    was = -np.inf
    prior = np.where(allowed, PRIOR_MOVE, 0.0)
    prior[:, range(STATES), range(STATES)] = PRIOR_STAY
    for _ in range(iterations):
        pairs, total = np.zeros((12, STATES, STATES)), 0.0
        cells = {}
        for h in histories:
            gamma, ll, pair = smooth(h, step, rate)
            pairs += pair
            total += ll
            first, _, seen = h
            for t in range(1, len(seen)):
                for a in range(5):
                    c = coverage[first + t, a]
                    if c > 0:
                        got = cells.setdefault((0 if a == 3 else a, round(c * 7)), [0.0, 0.0])
                        got[0 if seen[t] == a else 1] += gamma[t, 2 * a]
        objective = total + (prior * np.log(np.where(step > 0, step, 1.0))).sum()
        new = pairs + prior
        step = new / new.sum(axis=2, keepdims=True)
        for a in (0, 1, 2, 4):
            mine = [(days / 7, k, m) for (b, days), (k, m) in cells.items() if b == a]
            # d/dh sum k ln(1 - e^(-h c)) - m h c = 0, by bisection.
            slope = lambda h: sum(k * c / np.expm1(h * c) - m * c for c, k, m in mine)
            low, high = 1e-6, 20.0
            for _ in range(80):
                middle = 0.5 * (low + high)
                low, high = (middle, high) if slope(middle) > 0 else (low, middle)
            rate[a] = 0.5 * (low + high)
        if abs(objective - was) < tol * abs(was):
            break
        was = objective
    return step, rate


def shares(histories, step, rate, after_weeks):
    by_month, gone, ll = np.zeros((12, 5)), np.zeros(12), 0.0
    for h in histories:
        gamma, l, _ = smooth(h, step, rate)
        ll += l
        for t in range(max(1, after_weeks), len(h[2])):
            by_month[month_of_week[h[0] + t]] += gamma[t, 0:10:2] + gamma[t, 1:10:2]
            gone[month_of_week[h[0] + t]] += gamma[t, GONE]
    return by_month, gone, ll


if __name__ == "__main__":
    step, rate = fit(histories)
    alive, gone, ll = shares(histories, step, rate, SETTLED_WEEKS)
    out = {
        "licence": "aggregates computed from Thorley & Andrusak (2017), PeerJ 5:e2874, CC BY 4.0",
        "rainbows": len(rainbows),
        "bull_trout": int((capture.Species == "Bull Trout").sum()),
        "stations": len(station),
        "sections": len(section),
        "detection_hours": len(detection),
        "tagged": len(tagged),
        "heard_fish": heard_fish,
        "rainbow_hours": len(hours),
        "unplaced_hours": int(unplaced),
        "still": still,
        "receiver_days": receiver_days.astype(int).tolist(),
        "histories": len(histories),
        "fish_weeks": int(sum(len(h[2]) - 1 for h in histories)),
        "heard_weeks": int(sum((h[2] >= 0).sum() for h in histories)),
    }
    for name, gap, leave in [("heard", 1, 0), ("held_7", 7, 0), ("held_28", 28, 0), ("held_28_settled", 28, 60)]:
        days, unknown = held(gap, leave)
        out[name] = {"fish_days": days.astype(int).tolist(), "unplaced_days": unknown.astype(int).tolist()}
    out["hidden"] = {
        "log_likelihood": ll,
        "rate_per_receiver_week": rate.tolist(),
        "fish_weeks": alive.tolist(),
        "gone_weeks": gone.tolist(),
    }
    # One row of numbers a line.
    text = json.dumps(out, indent=1)
    print(re.sub(r"\[\s+([^\[\]]*?)\s+\]", lambda m: "[" + re.sub(r"\s+", " ", m[1]) + "]", text))
