"""Links in a row as one: they carry one flow, so that their laws add up."""

from dataclasses import dataclass
from functools import cached_property


@dataclass(frozen=True)
class Chain:
    """Links in a row between two nodes of the core, and their laws added up. Frozen.

    start, end : str
    steps : tuple of (Link, int, str)
        Each link, 1 if the chain runs along it or -1 if against it, and the node after it.
    offset, friction, quadratic : float
        Parts of the pressure fall: constant, and coefficients of q and q·|q|.
    others : tuple of (float, float)
        Resistance and power of the terms q·|q|^power that are neither.
    one_way : bool
    """

    start: str
    end: str
    steps: tuple
    offset: float
    friction: float
    quadratic: float
    others: tuple
    one_way: bool

    @classmethod
    def of(cls, link):
        """Return the chain of one link."""
        quadratic, others = 0.0, ()
        if link.exponent == 2.0:
            quadratic = link.resistance
        elif link.resistance:
            others = ((link.resistance, link.exponent - 1.0),)
        return cls(
            link.start, link.end, ((link, 1, link.end),), link.opening - link.rise,
            link.friction, quadratic, others, link.one_way,
        )  # fmt: skip

    def reversed(self):
        """Return the same two-way chain seen from its other end."""
        steps = zip(reversed(self.steps), reversed(self._befores), strict=True)
        return Chain(
            self.end, self.start, tuple((link, -sign, node) for (link, sign, _), node in steps),
            -self.offset, self.friction, self.quadratic, self.others, False,
        )  # fmt: skip

    def joined(self, after):
        """Return this chain with another behind it."""
        return Chain(
            self.start, after.end, self.steps + after.steps, self.offset + after.offset,
            self.friction + after.friction, self.quadratic + after.quadratic,
            self.others + after.others, self.one_way or after.one_way,
        )  # fmt: skip

    def fold_out(self, flow, flows, pressures, holding):
        """Add flow and pressures along the row, and what its last one-way link holds back.

        If nothing flows, each line before that link has the pressure that the start imposes, and
        each line after it that of the end.
        """
        ahead, holder, behind = self._halves
        pressure = pressures[self.start]
        for link, sign, node in ahead:
            flows[link.name] = sign * flow
            pressure -= sign * link.fall(sign * flow)
            pressures.setdefault(node, pressure)
        if holder is None:
            return
        back = pressures[self.end]
        for link, sign, node in behind:
            flows[link.name] = sign * flow
            back += sign * link.fall(sign * flow)
            pressures.setdefault(node, back)
        flows[holder.name] = flow
        holding[holder.name] = 0.0 if flow else max(back - pressure + holder.fall(0.0), 0.0)

    @cached_property
    def _halves(self):
        """Steps before the last one-way link, that link, and steps back to it from the end."""
        one_way = [k for k, (link, *_) in enumerate(self.steps) if link.one_way]
        if not one_way:
            return self.steps, None, ()
        holder = one_way[-1]
        back = [
            (link, sign, node)
            for (link, sign, _), node in zip(self.steps, self._befores, strict=True)
        ][holder + 1 :]
        return self.steps[:holder], self.steps[holder][0], tuple(reversed(back))

    @cached_property
    def _befores(self):
        """Node before each step."""
        return (self.start, *(node for *_, node in self.steps[:-1]))
