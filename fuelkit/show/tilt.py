"""The tank explorer: tilt, fill and warm an aircraft's tanks and see what the fuel does.

Python computes and draws; the page only has the controls. Nothing here is a flight.
"""

import math
from pathlib import Path

from fuelkit.aircraft.reading import nearest
from fuelkit.physics.fuel import ZERO_CELSIUS
from fuelkit.physics.writing import mass_text
from fuelkit.show.explorer import Explorer, ExplorerError, slider
from fuelkit.show.page import PAGE_CSS
from fuelkit.show.section import first_tank, section_drawing, usual_cut
from fuelkit.show.section_shapes import span_of
from fuelkit.show.section_table import conditions_words, spill_sentences, tables_html, wet_words
from fuelkit.survey.tank_state import fuel_at_rest

ALL = "all tanks"
_HERE = Path(__file__).parent
_MARGIN = math.radians(3.0)  # beyond normal flight, to see what happens there
_WIDTH = 960  # px; narrow, so that letters are large enough beside the panels of a notebook
_START = {"fill": 70.0, "pitch": 0.0, "roll": 0.0, "temperature": 15.0, "density": 800.0}


def tank_explorer(aircraft):
    """Return the explorer of an aircraft's tanks, to show in a notebook.

    Parameters
    ----------
    aircraft : Aircraft

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> explorer = tank_explorer(load_aircraft("halbrook-40"))
    >>> explorer.set(tank="left wing", fill=100, temperature=40)
    >>> explorer.rest.states["left wing"].ran_over > 0.0, "overboard" in explorer.said
    (True, True)
    """
    return TankExplorer(aircraft)


class TankExplorer(Explorer):
    """Sections of the tanks with controls.

    Parameters
    ----------
    aircraft : Aircraft

    Attributes
    ----------
    rest : FuelAtRest
        What is shown.
    """

    _esm = _HERE / "tilt.js"
    _css = PAGE_CSS + "\n" + (_HERE / "tilt.css").read_text(encoding="utf-8")

    def __init__(self, aircraft):
        self.aircraft = aircraft
        self._begin()
        super().__init__(title=f"{aircraft.name}: tilt, fill and warm the tanks")
        self._draw()
        self.on_msg(self._heard)

    def _begin(self):
        self._values = dict(_START, tank=first_tank(self.aircraft))
        self._values["cut"] = usual_cut(self.aircraft, self.side)
        self._fills = {t.name: _START["fill"] for t in self.aircraft.tanks if t.holds_fuel}

    @property
    def side(self):
        """The tank that is shown from the side."""
        tank = self._values["tank"]
        return first_tank(self.aircraft) if tank == ALL else tank

    def set(self, **values):
        """Set some controls and draw again.

        Parameters
        ----------
        tank : str
            The name of a tank, or "all tanks".
        fill : float
            What is put into it at 15 °C, in percent of its highest fill.
        pitch, roll : float
            [°]
        temperature : float
            Of all fuel. [°C]
        density : float
            At 15 °C. [kg/m³]
        cut : float
            Where the side view cuts the tank, right of the middle. [m]

        Raises
        ------
        ExplorerError
            If there is no such control, or a value is outside its range; nothing is changed.
        """
        before = self._values, self._fills
        self._values, self._fills = dict(self._values), dict(self._fills)
        try:
            for name in sorted(values, key=lambda n: n != "tank"):  # the tank sets ranges
                self._set_one(name, values[name])
            self._draw()
        except Exception:
            self._values, self._fills = before
            raise

    def _set_one(self, name, value):
        if name not in self._values:
            raise ExplorerError(
                f"explorer: there is no control '{name}'.{_like(name, self._values)}"
            )
        if name == "tank":
            self._choose(value)
            return
        low, high, unit = self._ranges()[name]
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ExplorerError(f"explorer: {name} is {value!r}; it must be a number [{unit}].")
        if not low - 1e-9 <= value <= high + 1e-9:
            raise ExplorerError(
                f"explorer: {name} is {value:g} {unit}; it must lie between {low:g} and "
                f"{high:g} {unit}. Set it again."
            )
        self._values[name] = min(max(float(value), low), high)
        if name == "fill":
            self._fills |= dict.fromkeys(self._filled(), float(value))

    def _choose(self, tank):
        known = [ALL, *self._fills]
        if tank not in known:
            raise ExplorerError(
                f"explorer: tank is '{tank}'; it must be one of {', '.join(known)}."
                f"{_like(tank, known)}"
            )
        if tank == self._values["tank"]:
            return
        self._values["tank"] = tank
        self._values["cut"] = usual_cut(self.aircraft, self.side)
        shares = [self._fills[name] for name in self._filled()]
        self._values["fill"] = sum(shares) / len(shares)

    def _filled(self):
        """The tanks that the fill control sets."""
        tank = self._values["tank"]
        return list(self._fills) if tank == ALL else [tank]

    def _ranges(self):
        """Lowest, highest and unit of each control that is a number."""
        limits = self.aircraft.attitudes
        low, high = span_of(self.aircraft.tank(self.side))
        return {
            "fill": (0.0, 100.0, "%"),
            "pitch": (*_in_degrees(limits.pitch), "°"),
            "roll": (*_in_degrees(limits.roll), "°"),
            "temperature": (-45.0, 55.0, "°C"),
            "density": (775.0, 840.0, "kg/m³"),
            "cut": (low, high, "m"),
        }

    # ------------------------------------------------------------------------------- drawing
    def _masses(self):
        """What is put into each tank, at 15 °C [kg]."""
        density = self._values["density"]
        return {
            name: 0.01 * fill * self.aircraft.tank(name).highest_volume * density
            for name, fill in self._fills.items()
        }

    def _draw(self):
        v, ranges, masses = self._values, self._ranges(), self._masses()
        rest = fuel_at_rest(
            self.aircraft, masses, pitch=math.radians(v["pitch"]), roll=math.radians(v["roll"]),
            temperature=v["temperature"] + ZERO_CELSIUS, density_15=v["density"],
        )  # fmt: skip
        drawn = section_drawing(
            rest, tank=self.side, cut=v["cut"], width=_WIDTH,
            heading=False,
        )  # fmt: skip
        names = [t.name for t in self.aircraft.tanks] if v["tank"] == ALL else self._with_ends(rest)
        with self.hold_sync():
            self.rest = rest
            self.controls = self._controls(ranges, masses)
            self.drawing, self.table = drawn, tables_html(rest, names)
            self.said = self._in_words(rest)
            self.error = ""

    def _with_ends(self, rest):
        """The chosen tank, and every tank into which fuel of it runs over."""
        names = [self.side]
        for spill in rest.spills:
            if spill.start in names and spill.end in rest.states:
                names.append(spill.end)
        return names

    def _in_words(self, rest):
        held = [rest.states[name] for name in self._filled()]
        masses = "; ".join(f"{s.tank.title} {mass_text(s.mass)}" for s in held)
        wet = wet_words(rest, [self.side])
        return " ".join([f"{conditions_words(rest)}. {masses}.", *spill_sentences(rest), *wet])

    def _controls(self, ranges, masses):
        """What the page shows: each control with its range, value and that value in words."""
        v, limits = self._values, self.aircraft.attitudes
        put_in = mass_text(sum(masses[name] for name in self._filled()))
        words = {
            "fill": f"{v['fill']:.0f} % of the highest fill: {put_in}",
            "pitch": f"{_tilt(v['pitch'], 'nose up', 'nose down')}; {_usual(limits.pitch)}",
            "roll": f"{_tilt(v['roll'], 'right wing down', 'left wing down')}; "
            f"{_usual(limits.roll)}",
            "temperature": f"{v['temperature']:.0f} °C",
            "density": f"{v['density']:.0f} kg/m³",
            "cut": f"{abs(v['cut']):.2f} m {'right' if v['cut'] > 0 else 'left'} of the middle",
        }
        choices = [{"value": ALL, "text": "All tanks"}]
        choices += [{"value": n, "text": self.aircraft.tank(n).title} for n in self._fills]
        found = [{"id": "tank", "label": "Tank", "value": v["tank"], "options": choices}]
        for name, (label, step) in _SLIDERS.items():
            low, high, _ = ranges[name]
            found.append(slider(name, label, (low, high), step, v[name], words[name]))
        return found

    # ------------------------------------------------------------------------ from the page
    def begin_again(self):
        """Put every control where it began and draw."""
        self._begin()
        self._draw()


_SLIDERS = {
    "fill": ("Fuel put in at 15 °C", 1.0), "pitch": ("Pitch", 0.5), "roll": ("Roll", 0.25),
    "temperature": ("Temperature of the fuel", 1.0), "density": ("Density at 15 °C", 1.0),
    "cut": ("Side view cuts at", 0.05),
}  # fmt: skip


def _in_degrees(limits):
    """A range of attitudes, with some margin, in whole degrees."""
    low, high = limits
    return math.floor(math.degrees(low - _MARGIN) + 1e-6), math.ceil(
        math.degrees(high + _MARGIN) - 1e-6
    )


def _tilt(angle, positive, negative):
    if not angle:
        return "level"
    return f"{abs(angle):g}° {positive if angle > 0 else negative}"


def _usual(limits):
    low, high = (round(math.degrees(a), 3) for a in limits)
    return f"normal flight {low:g} to {high:g}°"


def _like(name, known):
    return nearest(str(name), known)
