// Shows a sentence until Python sends the page.

export default {
  render({ model, el }) {
    const place = document.createElement("div");
    place.setAttribute("aria-live", "polite");
    Object.assign(place.style, { background: "#fff", color: "#111", overflowX: "auto" });
    el.append(place);
    const draw = () => {
      place.replaceChildren();
      if (model.get("closed")) {
        const words = document.createElement("p");
        words.textContent = model.get("closed");
        Object.assign(words.style, {
          margin: "0", padding: "10px 14px", borderLeft: "4px solid #4b5563", fontSize: "15px",
        });
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
