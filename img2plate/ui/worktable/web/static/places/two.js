// Two plates of one picture under one slider, from near or from afar.
import { make } from "/static/ask.js";

export class Two {
  constructor(element, address) {
    Object.assign(this, { element, address, sight: "near", share: 50 });
    this.under = make("img", {});
    this.over = make("img", { className: "over" });
    this.slider = make("input", { type: "range", min: 0, max: 100, value: this.share, id: "two-slider" });
    this.slider.addEventListener("input", () => this.#cut());
    this.words = make("p", { className: "two-words" });
    this.ways = make("span", { className: "ways" }, ...["near", "far"].map((sight) => this.#way(sight)));
    const label = make("label", { htmlFor: "two-slider", className: "quiet" }, "Slide to uncover one or the other");
    element.append(make("div", { className: "pile" }, this.under, this.over), this.slider, label, this.words, this.ways);
  }

  // left, right: proofs with facts, or fewer than two to put it away.
  show(left, right) {
    this.element.hidden = !right;
    if (!right) return;
    Object.assign(this, { left, right });
    for (const [image, proof] of [[this.under, right], [this.over, left]]) {
      const src = `${this.address}/plates/${proof.key}/${this.sight}.png`;
      if (image.getAttribute("src") !== src) image.src = src;
      image.alt = `${proof.words}, from ${this.sight === "near" ? "near" : `${proof.facts.metres} m`}`;
    }
    this.words.replaceChildren(make("span", {}, `left: ${left.words}`), make("span", {}, `right: ${right.words}`));
    this.slider.setAttribute("aria-valuetext", "");
    this.#cut();
  }

  #way(sight) {
    const radio = make("input", { type: "radio", name: "two-sight", checked: sight === this.sight });
    radio.addEventListener("change", () => { this.sight = sight; this.show(this.left, this.right); });
    return make("label", {}, radio, make("span", {}, sight === "near" ? "from near" : "from across the room"));
  }

  #cut() {
    this.share = Number(this.slider.value);
    this.over.style.clipPath = `inset(0 ${100 - this.share}% 0 0)`;
    this.slider.setAttribute("aria-valuetext", `${this.share} % of ${this.left?.words ?? "the left one"}`);
  }
}
