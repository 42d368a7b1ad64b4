"""Flows of an aircraft's lines and pumps by another method than the kit's, for the reference.

The pressures at the junctions make a convex function least (the co-content of the network:
W. Millar, 1951, from memory): the sum over all links of their flow integrated over the pressure
that drives it, and of what is drawn times the pressure there. Its slope is what is left over at
each junction. A one-way link simply passes nothing under a pressure that is against it, so no
search among valves is needed. A damped Newton descent on it finds which links pass fuel; the
laws of these are then solved to the last digits, and every solution is checked: each link's law,
each junction's sum, no one-way link that flows back or ought to be open. All this is done afresh
at every level of the fuel; nothing is taken for steady.
"""

import numpy as np

GRAVITY = 9.80665
LEFT_OVER = 1e-10  # kg/s at a junction
SOFT = 1e-11  # kg/s/Pa; holds a junction that nothing flows to
HALF_OPEN = 16.0
SHUT_BELOW = 1e-6  # kg/s in the first, rough solution


class Branch:
    """One pump or line: its ends, its law and whether it lets fuel back."""

    def __init__(self, part, tanks):
        pump = not hasattr(part, "one_way")
        self.name, self.start, self.end = part.name, part.start, part.end
        self.kind = "pump" if pump else part.kind
        self.inlet = part.inlet if part.start in tanks else None
        self.outlet = part.outlet if not pump and part.end in tanks else None
        self.resistance = part.resistance
        self.power = part.exponent if pump else 2.0
        wall = getattr(part, "outlet", None) is not None and part.inlet is not None
        share = 0.05 if wall and part.kind in ("valve", "check valve") else 0.002
        self.friction = max(1.0, share * part.resistance)
        self.push = part.rise if pump else -part.opening
        self.one_way = not pump and part.one_way
        self.suction = getattr(part, "suction", "")
        self.flow_ratio = getattr(part, "flow_ratio", 0.0)
        self.lone = self.inlet is not None and self.outlet is not None


class Laws:
    """The laws of some branches; `how`: "HALF OPEN", "BOTH WAYS", "INTO THE TANK", or none."""

    def __init__(self, branches, how, junctions):
        column = {
            name: np.array([getattr(b, name) for b in branches], float)
            for name in ("resistance", "power", "friction", "push", "one_way")
        }
        self.resistance, self.power, self.friction, self.push, one_way = column.values()
        self.one_way = one_way.astype(bool)
        for i, word in enumerate(how):
            if "HALF OPEN" in word:
                self.resistance[i] *= HALF_OPEN
            if "BOTH WAYS" in word:
                self.one_way[i], self.push[i] = False, 0.0
            if "INTO THE TANK" in word:
                self.one_way[i] = True
        self.leaving = np.zeros((len(junctions), len(branches)))
        for i, b in enumerate(branches):
            for node, sign in ((b.start, 1.0), (b.end, -1.0)):
                if node in junctions:
                    self.leaving[junctions.index(node), i] += sign
        self.odd = np.flatnonzero(self.power != 2.0)
        self.steepness = self.power - 1.0
        self.fed = {}

    def flows(self, drop):
        """Return flow [kg/s], its slope over the drop, and its integral, of every branch."""
        drop = np.where(self.one_way & (drop < 0.0), 0.0, drop)
        size = np.abs(drop)
        f, r = self.friction, self.resistance
        q = 2.0 * size / (f + np.sqrt(f * f + 4.0 * r * size))
        if len(self.odd):
            q[self.odd] = self._odd_flows(size[self.odd])
        loss = r * q**self.steepness
        slope = 1.0 / (f + self.power * loss)
        content = size * q - q * q * (0.5 * f + loss / (self.power + 1.0))
        shut = self.one_way & (drop <= 0.0)
        slope[shut] = 0.0
        return np.copysign(q, drop), slope, content

    def _odd_flows(self, size):
        """Where the power is not 2: Newton from above, where the law is convex."""
        f, r, n = self.friction[self.odd], self.resistance[self.odd], self.power[self.odd]
        q = np.minimum(size / f, (size / r) ** (1.0 / n))
        for _ in range(40):
            term = r * q ** (n - 1.0)
            step = ((f + term) * q - size) / (f + n * term)
            q = np.maximum(q - step, 0.0)
            if not (np.abs(step) > 1e-15 * q + 1e-300).any():
                break
        return q


class ReferenceNetwork:
    """The lines and pumps of an aircraft filled with fuel of one density."""

    def __init__(self, aircraft, density):
        self.weight = density * GRAVITY
        tanks = [tank.name for tank in aircraft.tanks]
        self.branches = [Branch(p, tanks) for p in (*aircraft.pumps, *aircraft.lines)]
        self.lone = [b for b in self.branches if b.lone]
        self.joined = [b for b in self.branches if not b.lone]
        self.junctions = [j.name for j in aircraft.junctions]
        self._laws, self._last = {}, {}
        self._lone_laws = {}

    def solved(self, how, drawn, potential):
        """Return (branch, flow) of every branch that passes, and the pressure by junction.

        how : dict of str to str
            What each branch that may pass fuel is like: "" as it is.
        drawn : dict of str to float
            What is drawn at each junction. [kg/s]
        potential : callable
            From a branch and 0 (start) or 1 (end), the given pressure there. [Pa]
        """
        key = tuple((b.name, how[b.name]) for b in self.joined if b.name in how)
        if key not in self._laws:
            chosen = [b for b in self.joined if b.name in how]
            self._laws[key] = chosen, Laws(chosen, [w for _, w in key], self.junctions)
        chosen, laws = self._laws[key]
        drive = laws.push.copy()
        for i, b in enumerate(chosen):
            if b.start not in self.junctions:
                drive[i] += potential(b, 0)
            if b.end not in self.junctions:
                drive[i] -= potential(b, 1)
        demand = np.array([drawn.get(name, 0.0) for name in self.junctions])
        flows, pressures = self._balanced(key, laws, drive, demand)
        found = list(zip(chosen, flows.tolist(), strict=True))
        return found, dict(zip(self.junctions, pressures.tolist(), strict=True))

    def _balanced(self, key, laws, drive, demand):
        """Flows, and pressures, whose laws and sums are checked however they were found."""
        memory = (key, demand.tobytes())
        if memory not in self._last:
            self._last[memory] = self._least(laws, drive, demand)
        flowing, q = self._last[memory]
        for attempt in range(60):
            if attempt == 30:
                flowing, q = self._least(laws, drive, demand)
            found = self._polished(laws, drive, demand, flowing, q)
            if found is None:
                flowing, q = self._least(laws, drive, demand)
                continue
            q, pressure, fed = found
            wrong = _wrong(laws, drive, flowing, q, pressure, fed)
            if not wrong.any():
                self._last[memory] = flowing, q
                return q, pressure
            flowing = flowing ^ wrong
        raise AssertionError(f"the reference network finds no valves that agree: {key}")

    def _least(self, laws, drive, demand):
        """Roughly, by Newton's descent on the co-content: which links pass fuel, and how much."""
        pressure = np.full(len(self.junctions), 1e5)

        def at(p):
            q, slope, content = laws.flows(drive + laws.leaving.T @ p)
            return q, slope, content.sum() + demand @ p, laws.leaving @ q + demand

        q, slope, total, left = at(pressure)
        for _ in range(300):
            worst = np.abs(left).max(initial=0.0)
            if worst < LEFT_OVER:
                break
            matrix = (laws.leaving * slope) @ laws.leaving.T
            matrix[np.diag_indices_from(matrix)] += SOFT
            step = -np.linalg.solve(matrix, left)
            share, gain = 1.0, float(left @ step)
            while share > 1e-12:
                trial = at(pressure + share * step)
                if trial[2] <= total + 1e-4 * share * gain or np.abs(trial[3]).max() < 0.5 * worst:
                    break
                share *= 0.5
            if share <= 1e-12:
                break
            pressure = pressure + share * step
            q, slope, total, left = trial
        return ~laws.one_way | (q > SHUT_BELOW), q

    def _polished(self, laws, drive, demand, flowing, start):
        """Newton on the laws of the links that pass and the sums at the junctions they feed."""
        rows, used, leaving = self._fed(laws, flowing)
        if np.delete(demand, rows).any():
            return None
        f, r, n, m = (x[used] for x in (laws.friction, laws.resistance, laws.power, laws.steepness))
        push, drawn, q = drive[used], demand[rows], start[used]
        for _ in range(80):
            loss = r * np.abs(q) ** m
            steep = f + n * loss
            over = (push - (f + loss) * q) / steep + q
            matrix = (leaving / steep) @ leaving.T
            pressure = np.linalg.solve(matrix, -drawn - leaving @ over)
            after = over + (leaving.T @ pressure) / steep
            change = np.abs(after - q).max(initial=0.0)
            q = after
            if change < 1e-12:
                break
        if not change < 1e-9:
            return None
        law = push + leaving.T @ pressure - (f + r * np.abs(q) ** m) * q
        assert np.abs(law).max(initial=0.0) < 1e-4, f"the reference network: {law} Pa"
        assert np.abs(leaving @ q + drawn).max(initial=0.0) < 1e-9, "the reference network: sums"
        flows, pressures = np.zeros(len(drive)), np.full(len(self.junctions), np.nan)
        flows[used], pressures[rows] = q, pressure
        return flows, pressures, rows

    def _fed(self, laws, flowing):
        """Junctions that passing links join to a given pressure; these links; who leaves whom."""
        known = laws.fed.get(flowing.tobytes())
        if known is None:
            touches = laws.leaving != 0.0
            fed = np.zeros(len(self.junctions), bool)
            outer = touches.sum(axis=0) < 2  # an end of given pressure
            for _ in self.junctions:
                sound = flowing & (outer | touches[fed].any(axis=0))
                fed |= touches[:, sound].any(axis=1)
            rows = np.flatnonzero(fed)
            used = np.flatnonzero(flowing & ~touches[~fed].any(axis=0))
            known = laws.fed[flowing.tobytes()] = rows, used, laws.leaving[np.ix_(rows, used)]
        return known

    def between(self, branch, word, start, end):
        """Return the flow of a line from tank to tank, each a (surface, opening, air) [m, m, Pa].

        It follows the difference of the surfaces, or of an opening above one; but no more drives
        it than the fuel that still stands over the opening through which it is drawn off, so that
        the flow ends when that is bare.
        """
        law = self._lone_laws.setdefault((branch.name, word), Laws([branch], [word], []))
        potentials = [self.weight * max(s, o) + air for s, o, air in (start, end)]
        drop = potentials[0] - potentials[1] + float(law.push[0])
        surface, opening, _ = start if drop > 0.0 else end
        limit = self.weight * max(surface - opening, 0.0)
        drop = min(max(drop, -limit), limit)
        return float(law.flows(np.array([drop]))[0][0])


def _wrong(laws, drive, flowing, q, pressure, fed):
    """One-way links that flow back, or are shut and ought to be open."""
    back = laws.one_way & flowing & (q < -1e-10)
    known = np.where(np.isnan(pressure), 0.0, pressure)
    blind = (laws.leaving[np.isnan(pressure)] != 0.0).any(axis=0)
    pull = drive + laws.leaving.T @ known
    return back | (laws.one_way & ~flowing & ~blind & (pull > 1e-6))
