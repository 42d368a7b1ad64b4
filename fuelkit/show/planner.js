// The planning page in the browser: the tank explorer's controls around a fuel plan.

class Planner extends Explorer {
  build() {
    super.build();
    this.root.classList.add("fuelkit-planner");
    this.bar.setAttribute("aria-label", "Set the flight");
    this.bar.insertBefore(this.bar.lastChild, this.bar.children[1]); // the button, by the rules
  }
}

export default {
  render({ model, el }) {
    const planner = new Planner(model, el);
    return () => planner.close();
  },
};
