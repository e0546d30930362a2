// Palettes by their swatches, those that were added to the project too.
import { at, make, swatch } from "/static/ask.js";

export class Palettes {
  // box: where they go; bundled: as the form tells them.
  constructor(box, bundled, steps) {
    Object.assign(this, { box, bundled, steps, seen: "" });
    at("add-palette").addEventListener("change", async ({ target }) => {
      const word = await steps.send("palette", target.files[0], at("palette-wrong"));
      target.value = "";
      if (word) steps.change("palette", { palette: word }, at("palette-wrong"));
    });
  }

  show({ palette, own }) {
    const all = [...this.bundled.map((each) => ({ word: each.name, ...each })), ...own];
    const seen = all.map(({ word }) => word).join();
    if (seen !== this.seen) {
      this.seen = seen;
      this.box.replaceChildren(...all.map((each) => this.#swatches(each)));
    }
    for (const radio of this.box.querySelectorAll("input")) radio.checked = radio.value === palette;
  }

  #swatches({ word, name, beads }) {
    const radio = make("input", { type: "radio", name: "palette-in-hand", value: word });
    radio.addEventListener("change", () => this.steps.change("palette", { palette: word }, at("palette-wrong")));
    const dots = make("span", { className: "dots" }, ...beads.map(({ hex }) => swatch(hex, "bead small-bead")));
    dots.setAttribute("aria-hidden", "true");
    const many = `${beads.length} ${beads.length === 1 ? "colour" : "colours"}`;
    return make("label", {}, radio, make("span", {}, make("b", {}, name), ` ${many}`), dots);
  }
}
