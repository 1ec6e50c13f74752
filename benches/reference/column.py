"""One hourly step of a column with the scheme of src/column/layered, in numpy and scipy, vectorised over members.

Prints the time of a step and of a step a member; see README.md beside it.
"""

import sys
import time

import numpy as np
from scipy.linalg import solve_banded

G, RHO_CP, KARMAN, CP_AIR = 9.80665, 999.1 * 4188.5, 0.40, 1005.0
LAYERS, STEP_S, DEEP_M = 60, 3600.0, 50.0


def density(t):
    return 999.842594 + t * (6.793952e-2 + t * (-9.095290e-3 + t * (1.001685e-4 + t * (-1.120083e-6 + t * 6.536332e-9))))


def saturation_pa(t):
    return 610.8 * np.exp(17.27 * t / (t + 237.3))


def humidity(e, p):
    return 0.622 * e / (p - 0.378 * e)


def saturated_oxygen(t, p):
    k, atm = t + 273.15, p / 101325.0
    c = np.exp(-139.34411 + 1.575701e5 / k - 6.642308e7 / k**2 + 1.243800e10 / k**3 - 8.621949e11 / k**4)
    u = np.exp(11.8571 - 3840.70 / k - 216961.0 / k**2)
    theta = 0.000975 - 1.426e-5 * t + 6.436e-8 * t * t
    return c * atm * (1 - u / atm) * (1 - theta * atm) / ((1 - u) * (1 - theta))


def psi(zeta):
    """psi_m and psi_h."""
    root = np.sqrt(1 - 16 * np.minimum(zeta, 0.0))
    x = np.sqrt(root)
    stable = np.maximum(zeta, 0.0)
    steady = np.where(stable <= 1.0, -5.0 * stable, -(4.0 * np.log(np.maximum(stable, 1.0)) + stable + 4.0))
    half = np.log(0.5 * (1 + root))
    momentum = 2 * np.log(0.5 * (1 + x)) + half - 2 * np.arctan(x) + np.pi / 2
    return np.where(zeta < 0.0, momentum, steady), np.where(zeta < 0.0, 2 * half, steady)


class Lake:
    """Fields have shape [layer, member], bed first; the surface layer is the last of all members (level held)."""

    def __init__(self, members):
        self.face = np.linspace(0.0, DEEP_M, LAYERS + 1)
        self.area = np.interp(self.face, [0, 20, 50], [2e5, 1.5e6, 6e6])
        below = np.concatenate([[0.0], np.cumsum(0.5 * (self.area[1:] + self.area[:-1]) * np.diff(self.face))])
        self.full = np.diff(below)[:, None] * np.ones(members)
        self.volume = self.full.copy()
        self.middle = 0.5 * (self.face[1:] + self.face[:-1])
        self.temp = 4.0 + 0.05 * self.middle[:, None] + 0.01 * np.arange(members)
        self.oxygen = np.full_like(self.temp, 11.0)
        self.river = np.zeros_like(self.temp)
        self.speed = np.zeros(members)
        self.members = members

    def fluxes(self, air, wind, vapour, pressure):
        water = self.temp[-1]
        wind = np.maximum(wind, 0.1)
        kelvin = air + 273.15
        q_air, q_water = humidity(vapour, pressure), humidity(saturation_pa(water), pressure)
        rho = pressure / (287.05 * kelvin * (1 + 0.61 * q_air))
        warmer, moister = air + G / CP_AIR * 2.0 - water, q_air - q_water
        virtual = kelvin * (1 + 0.61 * q_air)
        u, heat = 0.035 * wind, np.zeros_like(wind)
        for _ in range(100):
            scale = heat * (warmer * (1 + 0.61 * q_air) + 0.61 * kelvin * moister)
            per_m = KARMAN * G * scale / (virtual * u * u)
            gust = np.cbrt(np.maximum(-G / virtual * u * scale * 1000.0, 0.0))
            rough = 0.013 * u * u / G + 0.11 * 1.5e-5 / u
            rough_heat = rough * np.exp(2.57 - 2.67 * (u * rough / 1.5e-5) ** 0.25)
            new_u = KARMAN * np.hypot(wind, gust) / (np.log(10.0 / rough) - psi(np.clip(10 * per_m, -50, 5))[0])
            new_heat = KARMAN / (np.log(2.0 / rough_heat) - psi(np.clip(2 * per_m, -50, 5))[1])
            settled = np.all(np.abs(new_u - u) <= 2e-6 * u) and np.all(np.abs(new_heat - heat) <= 2e-6 * new_heat)
            u, heat = 0.5 * (u + new_u), 0.5 * (heat + new_heat)
            if settled:
                break
        vaporisation = 2.501e6 - 2361.0 * water
        return -rho * u * CP_AIR * heat * warmer, -rho * u * vaporisation * heat * moister, u * np.sqrt(rho / density(water))

    def convect(self):
        """Mixes pools that are denser than what is below until none is; members together."""
        rho = density(self.temp)
        while True:
            denser = rho[1:] > rho[:-1] + 1e-9
            if not denser.any():
                return
            # Runs of layers that turn over, mixed whole.
            group = np.zeros(self.temp.shape, dtype=np.intp)
            group[1:] = np.cumsum(~denser, axis=0)
            group += np.arange(self.members) * LAYERS
            flat, volume = group.ravel(), self.volume.ravel()
            whole = np.bincount(flat, volume, LAYERS * self.members)
            for field in (self.temp, self.oxygen, self.river):
                total = np.bincount(flat, volume * field.ravel(), LAYERS * self.members)
                field[:] = (total[flat] / whole[flat]).reshape(field.shape)
            rho = density(self.temp)

    def stir(self, friction, loss):
        """Deepens the surface pool by the energy of wind and cooling; members that are done are masked."""
        volume, moment = self.volume[-1].copy(), self.volume[-1] * self.middle[-1]
        pool = [f[-1].copy() for f in (self.temp, self.oxygen, self.river)]
        rho = density(pool[0])
        energy = STEP_S * rho * self.area[-1] * (0.1 * loss + 0.3 * friction**3)
        self.speed += friction**2 / (0.5 * DEEP_M / LAYERS) * STEP_S * np.exp(-1.0)
        lowest = np.full(self.members, LAYERS - 1)
        active = np.ones(self.members, dtype=bool)
        for layer in range(LAYERS - 2, -1, -1):
            below = self.volume[layer]
            whole = volume + below
            mixed = [(p * volume + f[layer] * below) / whole for p, f in zip(pool, (self.temp, self.oxygen, self.river))]
            after, of_pool, of_next = density(mixed[0]), density(pool[0]), density(self.temp[layer])
            gained = after * whole - of_pool * volume - of_next * below
            new_moment = moment + below * self.middle[layer]
            work = G * ((after - of_pool) * moment + (after - of_next) * below * self.middle[layer] - gained * new_moment / whole)
            shear = 0.3 * rho * self.speed**2 * volume * below / whole
            active &= work <= shear + energy
            if not active.any():
                break
            energy += np.where(active, np.minimum(shear - work, 0.0), 0.0)
            self.speed = np.where(active, self.speed * volume / whole, self.speed)
            volume, moment = np.where(active, whole, volume), np.where(active, new_moment, moment)
            pool = [np.where(active, m, p) for m, p in zip(mixed, pool)]
            lowest = np.where(active, layer, lowest)
        in_pool = np.arange(LAYERS)[:, None] >= lowest
        for field, value in zip((self.temp, self.oxygen, self.river), pool):
            np.copyto(field, value, where=in_pool)

    def diffuse(self):
        rho = density(self.temp)
        apart = np.diff(self.middle)[:, None]
        n2 = G / rho[:-1] * (rho[:-1] - rho[1:]) / apart
        k = np.clip(8.17e-8 * 6.0**0.56 * np.maximum(n2, 7.5e-5) ** -0.43, 1.4e-7, 2.5e-6)
        a = np.zeros((LAYERS + 1, self.members))
        a[1:-1] = STEP_S * self.area[1:-1, None] * k / apart
        # All members as one banded system, member after member; no conductance joins them.
        bands = np.zeros((3, LAYERS * self.members))
        bands[0, 1:] = -a[1:].T.ravel()[:-1]
        bands[1] = (self.volume + a[:-1] + a[1:]).T.ravel()
        bands[2, :-1] = -a[:-1].T.ravel()[1:]
        right = np.stack([(self.volume * f).T.ravel() for f in (self.temp, self.oxygen, self.river)], axis=1)
        found = solve_banded((1, 1), bands, right, overwrite_ab=True, overwrite_b=True, check_finite=False)
        for i, field in enumerate((self.temp, self.oxygen, self.river)):
            field[:] = found[:, i].reshape(self.members, LAYERS).T

    def flow(self, river_m3, river_temp, river_oxygen, release_m3, outlet_m):
        rho = density(self.temp)
        # Withdrawal: limits where drho y^5 reaches what the flow asks for, weights within.
        at = int(np.searchsorted(self.face, outlet_m)) - 1
        away = np.abs(self.middle - outlet_m)[:, None]
        step = np.abs(rho - rho[at])
        least = (release_m3 / STEP_S) ** 2 * 1000.0 / G
        beyond = (step > 1e-9) & (step * away**5 >= least)
        weight = np.ones_like(rho)
        for side in (slice(at + 1, None), slice(None, at)):
            reach = np.where(beyond[side], (away * step)[side], np.inf).min(axis=0)
            weight[side] = np.maximum(1.0 - (away * step)[side] / reach, 0.0) ** 2
        taken = weight * self.volume
        taken *= release_m3 / taken.sum(axis=0)
        # The river plunges, takes surface water and layers along, and rests where it is no longer denser.
        gained = np.zeros((3, LAYERS, self.members))
        inflow = np.full(self.members, river_m3)
        own = [np.full(self.members, x) for x in (river_temp, river_oxygen, 1.0)]
        rest = np.full(self.members, LAYERS - 1)
        sinking = density(own[0]) > rho[-1] + 0.05
        before = self.volume.copy()
        for layer in range(LAYERS - 1, 0, -1):
            share = 0.15 if layer == LAYERS - 1 else 0.02
            drawn = np.where(sinking, np.minimum(share * inflow, 0.2 * self.volume[layer]), 0.0)
            self.volume[layer] -= drawn
            own = [(o * inflow + f[layer] * drawn) / (inflow + drawn) for o, f in zip(own, (self.temp, self.oxygen, self.river))]
            inflow = inflow + drawn
            rest = np.where(sinking, layer, rest)
            sinking = sinking & (rho[layer - 1] < density(own[0]))
            if not sinking.any():
                break
        members = np.arange(self.members)
        volume_in = np.zeros_like(rho)
        volume_in[rest, members] = inflow
        for i, o in enumerate(own):
            gained[i][rest, members] = inflow * o
        # Transport: what is over at a layer goes up through the faces with the water of its donor; the surface is held.
        net = volume_in - taken + self.volume - before
        up = np.zeros((LAYERS + 1, self.members))
        up[1:-1] = np.cumsum(net, axis=0)[:-1]
        for i, field in enumerate((self.temp, self.oxygen, self.river)):
            through = np.zeros_like(up)
            through[1:-1] = up[1:-1] * np.where(up[1:-1] >= 0.0, field[:-1], field[1:])
            content = self.volume * field + gained[i] - taken * field + through[:-1] - through[1:]
            # The surface layer keeps its volume: what is over leaves it.
            after = self.volume + volume_in - taken + up[:-1] - up[1:]
            field[:] = content / after
        self.volume[:] = self.full

    def step(self, hour):
        year, day = np.sin(hour / 8766 * 2 * np.pi), np.cos(hour / 24 * 2 * np.pi)
        front = np.sin(hour / 41.0) + np.sin(hour / 13.7 + np.arange(self.members))
        air = 11.0 + 10.0 * year + 4.0 * day + 2.0 * front
        wind = np.maximum(3.0 + 1.5 * front + day, 0.3)
        pressure = 99000.0
        sensible, latent, friction = self.fluxes(air, wind, 0.7 * saturation_pa(air), pressure)
        heat = 0.97 * (300.0 + 50.0 * year) - 0.97 * 5.670374419e-8 * (self.temp[-1] + 273.15) ** 4 - sensible - latent
        self.temp[-1] += heat * self.area[-1] * STEP_S / (RHO_CP * self.volume[-1])
        schmidt = 1800.6 + self.temp[-1] * (-120.10 + self.temp[-1] * (3.7818 - self.temp[-1] * 0.047608))
        rate = (2.07 + 0.215 * wind**1.7) * (schmidt / 600.0) ** -0.5 * 0.01 / 3600.0 * self.area[-1] * STEP_S / self.volume[-1]
        self.oxygen[-1] = (self.oxygen[-1] + rate * saturated_oxygen(self.temp[-1], pressure)) / (1 + rate)
        sun = 900.0 * max(0.35 + 0.2 * year + 0.5 * day, 0.0) * 0.93 * np.ones(self.members)
        passing = sun * 0.6 * np.exp(-0.5 * (DEEP_M - self.face))[:, None] * self.area[:, None]
        passing[0], passing[-1] = 0.0, sun * self.area[-1]
        self.temp += np.diff(passing, axis=0) * STEP_S / (RHO_CP * self.volume)
        self.convect()
        loss = np.maximum(-heat, 0.0) * G * 1.5e-4 / RHO_CP
        self.stir(friction, loss)
        self.diffuse()
        bed = 0.4 * 1.065 ** (self.temp - 20.0) * np.diff(self.area, prepend=0.0)[1:, None]
        taken = (bed / self.volume + 0.02 * 1.047 ** (self.temp - 20.0)) * STEP_S / 86400.0
        self.oxygen /= 1.0 + taken / (self.oxygen + 0.5)
        temp = 9.0 + 7.0 * year
        self.flow(10.0 * STEP_S, temp, float(saturated_oxygen(np.float64(temp), pressure)), 10.0 * STEP_S, 18.0)


def main():
    for members in [int(word) for word in sys.argv[1:]] or [1, 8, 64]:
        lake = Lake(members)
        for hour in range(2000):
            lake.step(hour)
        rounds = []
        for r in range(9):
            began = time.perf_counter()
            for hour in range(240):
                lake.step(2000 + 240 * r + hour)
            rounds.append((time.perf_counter() - began) / 240)
        median = sorted(rounds)[len(rounds) // 2]
        assert np.isfinite(lake.temp).all() and -1 < lake.temp.min() and lake.temp.max() < 45, (lake.temp.min(), lake.temp.max())
        print(f"{members:4d} members: {1e6 * median:9.1f} us a step, {1e6 * median / members:8.2f} us a member")


if __name__ == "__main__":
    main()
