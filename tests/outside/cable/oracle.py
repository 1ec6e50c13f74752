"""Depth of a towed weight by scipy's solve_ivp, for tests/outside/cable: the balance of a piece of cable, integrated.

    python oracle.py > oracle.json          writes it anew
    python oracle.py --check oracle.json    compares, and ends with status 1 where a number differs

It shares no code with the program: the balance is written in force components, not in angle and tension, so that a slip in
the closed form or in the program's own equations shows. numpy and scipy as in ../learning/requirements.txt.
"""

import json
import sys

import numpy as np
from scipy.integrate import solve_ivp

G = 9.80665
RHO = 998.2
LEAD = 11340.0
STEEL = 7900.0
LB = 0.45359237
MPH = 0.44704
INCH = 0.0254


def place(pounds, mph, out_m, diameter_m, cn, ct, heavy, plate_m2=0.0):
    """Depth, setback, angle at the boat in degrees; a plate of so many m2 across the flow drags at the ball."""
    mass, speed = pounds * LB, mph * MPH
    ball = (6 * mass / (LEAD * np.pi)) ** (1 / 3)
    weight = mass * G * (1 - RHO / LEAD)
    drag = 0.5 * RHO * 0.47 * np.pi * ball**2 / 4 * speed**2
    drag += 0.5 * RHO * 1.2 * plate_m2 * speed**2
    across = 0.5 * RHO * cn * diameter_m * speed**2
    along = 0.5 * RHO * ct * np.pi * diameter_m * speed**2 if heavy else 0.0
    own = (STEEL - RHO) * G * np.pi * diameter_m**2 / 4 if heavy else 0.0

    def slope(_, y):
        forward, up = y[:2] / np.hypot(y[0], y[1])
        # Flow is backward; its part across the cable points backward and up, its part along it down the cable.
        normal = np.array([-up, forward]) * across * up**2
        skin = -np.array([forward, up]) * along * forward**2
        load = normal + skin + np.array([0.0, -own])
        return [-load[0], -load[1], up, forward]

    found = solve_ivp(slope, (0, out_m), [drag, weight, 0, 0], method="DOP853", rtol=1e-12, atol=1e-12).y[:, -1]
    return [float(found[2]), float(found[3]), float(np.degrees(np.arctan2(found[0], found[1])))]


def cases():
    rows = []
    for pounds in (6, 10, 15):
        for mph in (1.5, 2.5, 3.5):
            for out_m in (5.0, 30.0, 75.0):
                for heavy in (False, True):
                    row = {"pounds": pounds, "mph": mph, "out_m": out_m, "heavy": heavy}
                    row["place"] = place(pounds, mph, out_m, 0.76e-3, 1.2, 0.02, heavy)
                    rows.append(row)
    # Stranded wire, and wire that strums; bare, with a spoon of 3.5 x 1 in, and with a blade of 6 x 1.5 in.
    for mph in (2.0, 3.5):
        for out_m in (10.0, 35.0):
            for cn in (1.5, 2.0):
                for plate in (0.0, 3.5 * INCH * INCH, 6.0 * INCH * 1.5 * INCH):
                    row = {"pounds": 10, "mph": mph, "out_m": out_m, "heavy": False, "cn": cn, "plate_m2": plate}
                    row["place"] = place(10, mph, out_m, 0.76e-3, cn, 0.02, False, plate)
                    rows.append(row)
    return rows


def main():
    found = cases()
    if "--check" in sys.argv:
        stored = json.load(open(sys.argv[-1]))
        same = len(stored) == len(found) and all(
            np.allclose(a["place"], b["place"], rtol=1e-9, atol=1e-9) for a, b in zip(stored, found)
        )
        sys.exit(0 if same else 1)
    print("[")
    print(",\n".join(json.dumps(row) for row in found))
    print("]")


main()
