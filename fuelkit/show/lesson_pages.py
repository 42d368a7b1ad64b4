"""What there is to look at in a lesson: drawings, charts and reasons, closed until predicted."""

from html import escape

from fuelkit.assess.choice import course_file
from fuelkit.assess.moments import moment
from fuelkit.assess.sheet import write_atomically
from fuelkit.assess.stages import stages
from fuelkit.assess.stand import sheet_of
from fuelkit.physics.writing import clock
from fuelkit.show.charts import balance_page, quantities_page, temperatures_page
from fuelkit.show.figure_page import givens_page, paper_sheet
from fuelkit.show.page import Page, joined
from fuelkit.show.plan import plan_table_html, plan_view
from fuelkit.show.planner import planning_page
from fuelkit.show.relief import relief_page
from fuelkit.show.reveal import Reveal
from fuelkit.show.section import section_page
from fuelkit.show.stand_views import cautions_page
from fuelkit.show.summary_sheet import summary_sheet, write_sheet_file
from fuelkit.show.tilt import tank_explorer
from fuelkit.show.underside import underside, underside_table_html
from fuelkit.show.vent_page import vent_page
from fuelkit.show.viewer import Viewer
from fuelkit.show.workbook import Workbook
from fuelkit.survey.bending import BendingError


class LessonPages(Workbook):
    """The pages of a lesson. Each method is one short call of a notebook cell.

    What lies beyond the first prediction that is not committed stays closed, also when all
    cells are run at once; it opens by itself when that prediction is committed. For the
    projector nothing is closed: the instructor reveals.
    """

    def __init__(self, identifier, aircraft="", *, projector=False):
        super().__init__(identifier, aircraft)
        self.projector = projector

    @property
    def viewer(self):
        """The flight to look at, nothing of it closed: for the one who projects the lesson."""
        return Viewer(self.flight)

    def drawing_at(self, words):
        """Return the drawing of a moment in words, such as "0:21:00", with its table."""
        return self._reveal(lambda: self.viewer.drawing_at(words), words)

    def picture(self):
        """Return the drawing of the moment at which this stage of the flight begins."""
        return self.drawing_at(clock(self.span()[0]))

    def figures(self, which=1):
        """Return the figures that go with a board, as a page."""
        board = self.named(which)
        return self.figures_of(board) if board else self.left_out(which)

    def why(self, name, words):
        """Return why a part is in its state at a moment, or where an engine is fed from."""
        return self._reveal(lambda: self.viewer.why(name, words), words)

    def rules(self, *names):
        """Return the automatic functions on some parts, or those of this stage, as sentences."""
        names = names or self.stage_parts()
        if not names:
            words = f"No automatic function of the {self.flight.aircraft.name} acts here."
            return Page(f"<p>{escape(words)}</p>", words)
        return self.viewer.rules(*names)

    def ribbon(self):
        """Return the whole flight on one page, with its table."""
        return self._reveal(self.viewer.ribbon, clock(self.flight.sector.end))

    def quantities(self):
        """Return the quantity in each tank over the flight, drawn and as a table."""
        return self._at_end(lambda: quantities_page(self.flight))

    def temperatures(self):
        """Return the fuel's and the air's temperature over the flight, drawn and as a table."""
        return self._at_end(lambda: temperatures_page(self.flight))

    def balance(self):
        """Return lateral imbalance and centre of gravity over the flight."""
        return self._at_end(lambda: balance_page(self.flight))

    def explorer(self):
        """Return the tanks to tilt, fill and warm."""
        return tank_explorer(self.flight.aircraft)

    def plan(self):
        """Return the tanks from above, to scale, with what opens into them."""
        aircraft = self.flight.aircraft
        return self._pictured(plan_view(aircraft), plan_table_html(aircraft))

    def section(self):
        """Return the tanks from behind and one from the side, to scale, with the lesson's load."""
        return section_page(self.flight.aircraft, self._loaded())

    def planner(self):
        """Return the fuel plan to play with: payload, distance, wind and the rules, at once."""
        return planning_page(self.flight.aircraft)

    def vents(self):
        """Return where each tank breathes, and what a vent that is blocked leads to."""
        return vent_page(self.flight.aircraft)

    def bending(self):
        """Return what the fuel in the wings takes off the bending of their roots, with a number."""
        try:
            return relief_page(self.flight)
        except BendingError as none:
            return Page(f"<p><em>{escape(str(none))}</em></p>", str(none))

    def underside(self):
        """Return the aircraft from below, with what is looked at on the way round it."""
        aircraft = self.flight.aircraft
        return self._pictured(underside(aircraft), underside_table_html(aircraft))

    def cautions(self):
        """Return what to mind before walking around."""
        return cautions_page()

    @staticmethod
    def _pictured(drawing, table):
        words = "<details><summary>The same as a table</summary>"
        return Page(f"{drawing}{words}{table}</details>", "A drawing, with its table.")

    def _loaded(self):
        tanks = [tank.name for tank in self.flight.aircraft.tanks if tank.holds_fuel]
        return {name: self.flight.quantity(name, 0.0) for name in tanks}

    def summary(self):
        """Return what happened in the stretch that the lesson covers, each with its reason."""
        start, end = (clock(time) for time in self.span())
        return self._reveal(lambda: self.viewer.events(start, end), end)

    def paper(self, which):
        """Return a figure sheet to print and fill in with a pencil; its file is in `answers`."""
        board = self.named(which)
        if board is None:
            return self.left_out(which)
        sheet = sheet_of(self.flight_of(board).aircraft, board)
        path = self.folder / f"sheet-{self.unit.identifier}-{board.name}.html"
        self.folder.mkdir(parents=True, exist_ok=True)
        write_atomically(path, paper_sheet(sheet, school=course_file().school))
        words = f"The sheet to print is the file {path.name} in the folder answers."
        return joined(Page(f"<p>{escape(words)}</p>", words), givens_page(sheet))

    def print_summary(self):
        """Return the lesson on one page to print; its file stands among the answers."""
        return self._reveal(self._printed, clock(self.span()[1]))

    def _printed(self):
        lines = self.unit.summary or self.unit.goals
        drawing = self.viewer.drawing_at(clock(self.span()[0]))
        sheet = summary_sheet(
            self.unit.title, self.unit.goals, lines, (drawing,), self.unit.cautions, (),
            school=course_file().school,
        )  # fmt: skip
        path = self.folder / f"summary-{self.unit.identifier}.html"
        self.folder.mkdir(parents=True, exist_ok=True)
        write_sheet_file(path, sheet)
        return sheet

    def span(self):
        """The stretch of the flight that the lesson covers; all of it if it has none of its own."""
        return stages(self.flight).get(self.unit.stage, (0.0, self.flight.sector.end))

    def stage_parts(self):
        """Return the parts that the lesson is about: those that move in it, or are asked about."""
        if self.unit.stage not in stages(self.flight):
            asked = {ask.about for board in self.unit.boards for ask in board.asks}
            return [name for name in self.flight.aircraft.rules_for if name in asked]
        start, end = self.span()
        moved = {c.name for c in self.flight.changes if start <= c.time <= end}
        moved |= {ask.about for board in self.unit.boards for ask in board.asks}
        return [name for name in self.flight.aircraft.rules_for if name in moved]

    # ------------------------------------------------------------------------------ what is closed
    def _at_end(self, page):
        return self._reveal(page, clock(self.flight.sector.end))

    def _reveal(self, page, words):
        time = moment(self.flight, words)
        return self.reveal_when(page, lambda: self._closed(time))

    def reveal_when(self, page, closed):
        """Return a page that shows once `closed` returns no sentence any more."""
        reveal = Reveal(page, closed)
        self._waiting.append(reveal)
        return reveal

    def _closed(self, time):
        """Why a moment may not be seen yet: a prediction about what comes before it is open."""
        if self.projector:
            return ""
        committed = self.answer_file.sheet.answers
        for board in self.unit.boards:
            is_open = board.name not in committed and self._is_about_this_flight(board)
            if is_open and self.shown(board) < time:
                return f"This opens when you have committed your prediction “{board.title}”."
        return ""

    @staticmethod
    def _is_about_this_flight(board):
        own = not (board.aircraft or board.sector or board.draw)
        predicted = board.is_committed_by_learner and board.scene == "flight"
        return board.drawing and own and predicted
