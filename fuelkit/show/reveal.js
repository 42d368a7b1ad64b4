// Shows a sentence until Python sends the page.

export default {
  render({ model, el }) {
    const place = document.createElement("div");
    place.setAttribute("aria-live", "polite");
    place.className = "fuelkit-page";
    el.append(place);
    const draw = () => {
      place.replaceChildren();
      if (model.get("closed")) {
        const words = document.createElement("p");
        words.textContent = model.get("closed");
        words.className = "closed";
        place.append(words);
        return;
      }
      place.innerHTML = model.get("html");
      for (const part of place.querySelectorAll("summary")) {
        part.setAttribute("data-lm-suppress-shortcuts", "true");
      }
    };
    model.on("change:html", draw);
    model.on("change:closed", draw);
    draw();
    return () => {
      model.off("change:html", draw);
      model.off("change:closed", draw);
    };
  },
};
