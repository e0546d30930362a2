// The strip: a small true picture of each place on the table, to go there.
import { make, swatch } from "/static/ask.js";

const MOST_DOTS = 28;
const MOST_THICK = 6;  // seams

export class Strip {
  // element: where the links go; desk; names: of the places, in order.
  constructor(element, desk, names) {
    this.desk = desk;
    this.links = new Map(names.map((name) => [name, this.#link(name)]));
    element.append(make("ul", {}, ...[...this.links.values()].map((link) => make("li", {}, link))));
  }

  // Mark the place that is worked at, and have it in view.
  mark(name) {
    for (const [each, link] of this.links) {
      if (each === name) link.setAttribute("aria-current", "true");
      else link.removeAttribute("aria-current");
    }
    const list = this.links.get(name).closest("ul");
    const { left, right } = this.links.get(name).getBoundingClientRect();
    if (left < 0 || right > innerWidth) list.scrollLeft += left - (innerWidth - right + left) / 2;
  }

  // made: the plate that is in view, with its facts; nothing before there is one.
  show(state, made) {
    const at = this.desk.address;
    const ready = state.proofs.filter((proof) => proof.facts).slice(0, 4);
    this.#put("picture", at, () => [picture(`${at}/picture.png`)]);
    this.#put("proofs", ready.map((proof) => proof.key).join(), () => ready.map((proof) => picture(`${at}/plates/${proof.key}/far.png`)));
    if (!made) return;
    this.#put("plate", made.key, () => [picture(`${at}/plates/${made.key}/near.png`)]);
    this.#put("hand", made.key, () => [make("span", { className: "close" }, picture(`${at}/plates/${made.key}/near.png`))]);
    this.#put("colours", made.key, () => [0, 1, 2].map((turn) => make("span", { className: `turn turn-${turn}` }, picture(`${at}/plates/${made.key}/far.png`))));
    this.#put("beads", made.key, () => made.facts.colours.slice(0, MOST_DOTS).map(({ hex }) => swatch(hex, "dot")));
    this.#put("boards", made.key + JSON.stringify(made.facts.seams), () => [boards(`${at}/plates/${made.key}/far.png`, made.facts)]);
    this.#put("sheets", made.key, () => [make("span", { className: "leaf" }, picture(`${at}/plates/${made.key}/far.png`))]);
  }

  #link(name) {
    const sight = make("span", { className: "small" });
    sight.setAttribute("aria-hidden", "true");
    return make("a", { href: `#${name}`, className: `to-${name}` }, sight, make("span", {}, WORDS[name]));
  }

  // Draw a small picture anew when what it shows has changed.
  #put(name, seen, draw) {
    const sight = this.links.get(name)?.querySelector(".small");
    if (!sight || sight.dataset.seen === seen) return;
    sight.dataset.seen = seen;
    sight.replaceChildren(...draw());
  }
}

const WORDS = { picture: "Picture", proofs: "Proofs", plate: "Your plate", hand: "By hand", colours: "Colours", beads: "Beads", boards: "Boards", sheets: "Sheets" };

function picture(src) {
  return make("img", { src, alt: "" });
}

// Seams where they lie; a large plate's are drawn thin.
function boards(src, { size, seams = [[], []] }) {
  const lines = seams.flatMap((pegs, axis) => pegs.map((peg) => {
    const line = make("span", { className: axis ? "row" : "column" });
    line.style[axis ? "top" : "left"] = `${(100 * peg) / size[axis]}%`;
    return line;
  }));
  const cut = make("span", { className: "cut" }, picture(src), ...lines);
  cut.style.setProperty("--line", lines.length > MOST_THICK ? "1px" : "2px");
  return cut;
}
