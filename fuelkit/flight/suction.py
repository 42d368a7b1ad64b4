"""Whether the pressure at an engine's inlet suffices: for fuel to stay liquid, and for its pump."""

from fuelkit.flight.watches import Watch
from fuelkit.physics.volatility import vapour_pressure

_NEAR = 60_000.0  # Pa; pressures remembered with a flow are nearer than this to those of now
_COLDEST, _HOTTEST = 213.15, 423.15  # K; the range of the vapour pressure's law


class Suction:
    """Looks at the inlets of the consumers of one flight."""

    def __init__(self, run):
        self.run, self.hydraulics, self.aircraft = run, run.hydraulics, run.aircraft

    def watches(self, state, movement):
        """Return a watch for each consumer that runs and has not much more than it needs."""
        return [
            Watch(self._gap(consumer, movement), consumer.name, "STARVED", "")
            for consumer in self.aircraft.consumers
            if state.positions[consumer.name] == "RUN"
            and self.margin(consumer, movement) is not None
        ]

    def margin(self, consumer, movement):
        """Return what a consumer has above its need at the start of a movement [Pa].

        None where it has so much more that no level can make a difference.
        """
        quantities = movement.state.quantities
        number = self.hydraulics.plumbing.part_of[consumer.start]
        about = self._pressure(consumer, movement, movement.flows[number])
        if about > self._needed(consumer, quantities) + _NEAR:
            return None
        return self._gap(consumer, movement)(quantities)

    def told(self, consumer, movement):
        """Return why a consumer is starved, with its pressure and its need."""
        quantities = movement.state.quantities
        needed = self._needed(consumer, quantities)
        pressure = self._gap(consumer, movement)(quantities) + needed
        return (
            f"the pressure at its inlet is {pressure / 1000:.1f} kPa, and it needs "
            f"{needed / 1000:.1f} kPa"
        )

    def _gap(self, consumer, movement):
        setting = movement.settings[self.hydraulics.plumbing.part_of[consumer.start]]
        tanks = self.hydraulics.parts[setting.part].tanks | movement.state.trapped.keys()

        def gap(quantities):
            heads = movement.heads(quantities, only=tanks)
            flow = self.hydraulics.flow_afresh(setting, heads)
            return self._pressure(consumer, movement, flow) - self._needed(consumer, quantities)

        return gap

    def _pressure(self, consumer, movement, flow):
        """Absolute pressure at the inlet of a consumer [Pa]."""
        place = self.aircraft.by_name[consumer.start].position
        static = self.hydraulics.weight * movement.stance.height(place)
        return flow.pressures[consumer.start] - static + movement.air.pressure

    def _needed(self, consumer, quantities):
        warmest = float(quantities[-self.run.quantities.count :].max())
        boils = vapour_pressure(min(max(warmest, _COLDEST), _HOTTEST))
        return max(consumer.least_pressure, boils)
