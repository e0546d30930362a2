// The beads of the plate in hand, to be laid out.
import { make } from "/static/ask.js";

export class Beads {
  constructor(desk) {
    this.desk = desk;
  }

  open() {}
  close() {}

  show() {
    const made = this.desk.made();
    if (made) document.getElementById("colours").replaceChildren(...made.facts.colours.map(colour));
  }
}

function colour({ code, name, hex, beads }) {
  const bead = make("span", { className: "bead" });
  bead.style.backgroundColor = hex;
  bead.setAttribute("aria-hidden", "true");
  return make("li", {}, bead, `${code} ${name}`, make("span", { className: "count" }, beads.toLocaleString("en")));
}
