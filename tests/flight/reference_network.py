"""Flows of an aircraft's lines and pumps by another method than the kit's, for the reference.

Balanced flows minimise the total of each link's pressure fall integrated over its flow (the
"content" of the network: W. Millar, 1951, from memory), subject to continuity and to one-way
links not flowing back. SLSQP finds which one-way links are shut; scipy's `root` then solves the
laws of the others to the last digits.
"""

import numpy as np
from scipy.optimize import minimize, root

GRAVITY = 9.80665
PRESSURE = 1e5  # Pa; scale of the unknowns
SHUT_BELOW = 1e-6  # kg/s in the first, rough solution


class Branch:
    """One pump or line: its ends, its law and whether it lets fuel back."""

    def __init__(self, part, tanks):
        pump = not hasattr(part, "one_way")
        self.name, self.start, self.end = part.name, part.start, part.end
        self.inlet = part.inlet[2] if part.start in tanks else None
        self.outlet = part.outlet[2] if not pump and part.end in tanks else None
        self.resistance = part.resistance
        self.power = part.exponent if pump else 2.0
        self.friction = max(1.0, 0.002 * part.resistance)
        self.push = part.rise if pump else -part.opening
        self.one_way = not pump and part.one_way

    def loss(self, q):
        """Return the pressure that is lost at a flow [kg/s], without push or opening [Pa]."""
        return self.friction * q + self.resistance * q * abs(q) ** (self.power - 1.0)

    def content(self, q):
        """Return the loss integrated over the flow from none to `q`."""
        return 0.5 * self.friction * q * q + self.resistance * abs(q) ** (self.power + 1.0) / (
            self.power + 1.0
        )


class ReferenceNetwork:
    """The lines and pumps of an aircraft filled with fuel of one density."""

    def __init__(self, aircraft, density):
        self.weight = density * GRAVITY
        self.tanks = [tank.name for tank in aircraft.tanks]
        self.given = {aircraft.coupling: aircraft.coupling_pressure}
        self.junctions = [j.name for j in aircraft.junctions]
        self.branches = [Branch(p, self.tanks) for p in (*aircraft.pumps, *aircraft.lines)]
        self._last = {}  # by configuration: links that flow, and their last solution

    def flows(self, passing, drawn, heights):
        """Yield (start, end, flow) of every branch; tanks and junctions by their names."""
        between = [b for b in self.branches if b.inlet is not None and b.outlet is not None]
        for branch in between:
            drop = self._end(branch, 0, heights) - self._end(branch, 1, heights) + branch.push
            if branch.name in passing and not (branch.one_way and drop <= 0.0):
                f, r = branch.friction, branch.resistance
                flow = (np.sqrt(f * f + 4.0 * r * abs(drop)) - f) / (2.0 * r)
                yield branch.start, branch.end, float(np.sign(drop) * flow)
        rest = [b for b in self.branches if b not in between and b.name in passing]
        yield from zip(
            (b.start for b in rest),
            (b.end for b in rest),
            self._balanced(rest, drawn, heights),
            strict=True,
        )

    def _end(self, branch, which, heights):
        """Pressure potential at an end in a tank: of the surface, or of a bare opening."""
        node, z = ((branch.start, branch.inlet), (branch.end, branch.outlet))[which]
        return self.given[node] if z is None else self.weight * max(heights[node], z)

    def _drive(self, branch, heights):
        """Pressure that a branch has from its ends of known pressure and its pump or spring."""
        drive = branch.push
        drive += 0.0 if branch.start in self.junctions else self._end(branch, 0, heights)
        return drive - (0.0 if branch.end in self.junctions else self._end(branch, 1, heights))

    def _balanced(self, branches, drawn, heights):
        demand = np.array([drawn.get(name, 0.0) for name in self.junctions])
        drive = np.array([self._drive(b, heights) for b in branches])
        leave = np.zeros((len(self.junctions), len(branches)))
        for i, b in enumerate(branches):
            for node, sign in ((b.start, 1.0), (b.end, -1.0)):
                if node in self.junctions:
                    leave[self.junctions.index(node), i] += sign
        key = (tuple(b.name for b in branches), demand.tobytes())
        if key not in self._last:
            rough = self._rough(branches, demand, drive, leave)
            open_ones = [
                not b.one_way or q > SHUT_BELOW for b, q in zip(branches, rough, strict=True)
            ]
            self._last[key] = (np.array(open_ones), rough)
        flowing, flows = self._last[key]
        for _ in range(50):
            flows, pressure = self._polished(branches, demand, drive, leave, flowing, flows)
            wrong = self._wrong(branches, flowing, flows, drive, pressure)
            if not wrong.any():
                self._last[key] = (flowing, flows)
                return flows
            flowing = flowing ^ wrong
        raise AssertionError(f"the reference network finds no valves that agree: {key}")

    def _rough(self, branches, demand, drive, leave):
        def content(q):
            total = sum(b.content(x) for b, x in zip(branches, q, strict=True)) - drive @ q
            slope = np.array([b.loss(x) for b, x in zip(branches, q, strict=True)]) - drive
            return total / PRESSURE, slope / PRESSURE

        bounds = [(0.0, None) if b.one_way else (None, None) for b in branches]
        used = np.abs(leave).sum(axis=1) > 0.0
        assert not demand[~used].any(), "a demand at a junction that nothing leads to"
        for start in (0.1, 0.0, 1.0):  # its own sub-problem fails now and then
            found = minimize(
                content, np.full(len(branches), start), jac=True, method="SLSQP", bounds=bounds,
                constraints={
                    "type": "eq",
                    "fun": lambda q: leave[used] @ q + demand[used],
                    "jac": lambda q: leave[used],
                },
                options={"ftol": 1e-13, "maxiter": 1000},
            )  # fmt: skip
            if np.abs(leave @ found.x + demand).max() < 1e-4:
                return found.x
        raise AssertionError(f"the reference network: {found.message}")

    def _polished(self, branches, demand, drive, leave, flowing, start):
        """Flows, and pressures by junction, with some one-way links shut."""
        fed = self._fed(branches, flowing)
        rows = [i for i, name in enumerate(self.junctions) if name in fed]
        used = [
            i
            for i, b in enumerate(branches)
            if flowing[i] and all(n in fed or n not in self.junctions for n in (b.start, b.end))
        ]
        matrix, count = leave[np.ix_(rows, used)], len(used)

        def unbalanced(x):
            q, p = x[:count], x[count:]
            loss = np.array([branches[i].loss(a) for i, a in zip(used, q, strict=True)])
            law = (loss - drive[used]) / PRESSURE - p @ matrix
            return np.concatenate([law, matrix @ q + demand[rows]])

        def slopes(x):
            q = x[:count]
            steep = [
                branches[i].friction
                + branches[i].power * branches[i].resistance * abs(a) ** (branches[i].power - 1.0)
                for i, a in zip(used, q, strict=True)
            ]
            n = len(rows)
            return np.block([[np.diag(steep) / PRESSURE, -matrix.T], [matrix, np.zeros((n, n))]])

        guess = np.concatenate([start[used], np.full(len(rows), 2.0)])
        found = root(unbalanced, guess, jac=slopes, method="hybr", tol=1e-14)
        assert np.abs(found.fun).max() < 1e-10, f"the reference network: {found.message}"
        flows = np.zeros(len(branches))
        flows[used] = found.x[:count]
        return flows, dict(zip((self.junctions[i] for i in rows), found.x[count:], strict=True))

    def _fed(self, branches, flowing):
        """Junctions that the flowing links join to a source of known pressure."""
        fed, before = set(), -1
        while len(fed) > before:
            before = len(fed)
            for b in (b for b, on in zip(branches, flowing, strict=True) if on):
                ends = {b.start, b.end}
                if ends & fed or ends - set(self.junctions):
                    fed |= ends & set(self.junctions)
        return fed

    def _wrong(self, branches, flowing, flows, drive, pressure):
        """One-way links that flow back, or are shut and ought to be open."""
        wrong = np.zeros(len(branches), bool)
        for i, (b, on, q, push) in enumerate(zip(branches, flowing, flows, drive, strict=True)):
            ends = [n for n in (b.start, b.end) if n in self.junctions]
            if b.one_way and on:
                wrong[i] = q < 0.0
            elif b.one_way and all(n in pressure for n in ends):
                pull = push / PRESSURE + pressure.get(b.start, 0.0) - pressure.get(b.end, 0.0)
                wrong[i] = pull > 1e-9
        return wrong
