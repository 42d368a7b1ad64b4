"""Two small figure sheets of the tests' own: an uplift and a block fuel. Figures are invented."""

from fuelkit.figures.chain import Given, Sheet, Slip, Step
from fuelkit.physics.units import LITRE, POUND

OWN = "Invented for the tests."


def uplift_sheet(wanted=9200.0, there=3150.0, density=801.0, delivered=7.60):
    """Return an uplift check: fuel wanted, on board, density and what the bowser counted [m³]."""
    return Sheet(
        "uplift", "Uplift check", "The refueller hands you the receipt. Check it.",
        (
            Given("wanted", "Fuel wanted on board", wanted, "kg", "from the plan"),
            Given("there", "Fuel on board before", there, "kg", "gauges"),
            Given("density", "Density", density, "kg/m³", "hydrometer, at tank temperature"),
            Given("delivered", "Delivered by the receipt", delivered, "l"),
        ),
        (
            Step(
                "needed", "Fuel to be uplifted", ("wanted", "there"),
                "fuel wanted less fuel on board before", "kg", lambda w, t: w - t, 10.0,
                slips=(Slip("added", "the fuel on board was added.", lambda w, t: w + t),),
            ),
            Step(
                "volume", "Volume to ask for", ("needed", "density"),
                "fuel to be uplifted divided by density", "l", lambda n, d: n / d, 20.0,
                slips=(
                    Slip("density inverted", "it was multiplied by the density in kg/l.",
                         lambda n, d: n * d * LITRE * LITRE),
                    Slip("pounds", "pounds were taken for kilograms.",
                         lambda n, d: n / d / POUND),
                ),
                source=OWN,
            ),
            Step(
                "mass", "Mass delivered", ("delivered", "density"),
                "volume delivered times density", "kg", lambda v, d: v * d, 20.0,
                slips=(Slip("litres as kilograms", "litres were taken for kilograms.",
                            lambda v, d: v / LITRE),),
            ),
            Step(
                "on-board", "Fuel on board after", ("there", "mass"),
                "fuel on board before plus mass delivered", "kg", lambda t, m: t + m, 20.0,
                slips=(Slip("old fuel left out", "the fuel on board before was left out.",
                            lambda t, m: m),),
            ),
            Step(
                "decision", "Is it enough?", ("on-board", "wanted"),
                "enough if fuel on board after is not less than fuel wanted", "",
                lambda b, w: "enough" if b >= w else "too little",
                options=("enough", "too little"), marks=2.0,
            ),
        ),
        cautions=("Stop refuelling at once if fuel runs out at a vent.",), sources=(OWN,),
    )  # fmt: skip


def block_sheet(trip=8000.0, hourly=2400.0 / 3600.0, alternate=1500.0, taxi=200.0):
    """Return a block fuel: trip, alternate, taxi [kg] and holding consumption [kg/s]."""
    return Sheet(
        "block", "Block fuel", "Work the block fuel.",
        (
            Given("trip", "Trip fuel", trip, "kg"),
            Given("holding", "Consumption in holding", hourly, "kg/h"),
            Given("alternate", "Destination alternate fuel", alternate, "kg"),
            Given("taxi", "Taxi fuel", taxi, "kg"),
        ),
        (
            Step("least", "Least contingency", ("holding",), "5 min of holding", "kg",
                 lambda h: 300.0 * h, 5.0),
            Step("share", "Contingency by share", ("trip",), "5 % of trip fuel", "kg",
                 lambda t: 0.05 * t, 5.0,
                 slips=(Slip("ten per cent", "10 % was taken.", lambda t: 0.1 * t),)),
            Step("contingency", "Contingency fuel", ("least", "share"), "the greater of the two",
                 "kg", max, 5.0, slips=(Slip("the lesser", "the lesser was taken.", min),)),
            Step("reserve", "Final reserve fuel", ("holding",), "30 min of holding", "kg",
                 lambda h: 1800.0 * h, 5.0,
                 slips=(Slip("45 minutes", "45 min were taken.", lambda h: 2700.0 * h),)),
            Step("block", "Block fuel", ("taxi", "trip", "contingency", "alternate", "reserve"),
                 "taxi, trip, contingency, alternate and reserve, added", "kg",
                 lambda *parts: sum(parts), 5.0,
                 slips=(
                     Slip("taxi left out", "the taxi fuel was left out.",
                          lambda x, *parts: sum(parts)),
                     Slip("reserve twice", "the final reserve was counted twice.",
                          lambda *parts: sum(parts) + parts[-1]),
                 )),
            Step("time", "Endurance in holding", ("block", "taxi", "holding"),
                 "block fuel less taxi fuel, divided by consumption in holding", "h:mm",
                 lambda b, x, h: (b - x) / h, 2.0),
        ),
    )  # fmt: skip


def written_right(sheet):
    """Return every right figure as a person would write it, by step."""
    values = sheet.worked()
    return {step.name: step.written(values[step.name]) for step in sheet.steps if step.marks}
