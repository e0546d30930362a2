// The proof sheet: a card for each plate that is proposed, kept as it changes.
import { make } from "/static/ask.js";

export function figures(facts) {
  const [across, down] = facts.boards;
  return [
    [facts.beads.toLocaleString("en"), facts.beads === 1 ? "bead" : "beads"],
    [`${facts.size[0]} x ${facts.size[1]}`, "beads wide and high"],
    [String(facts.colours.length), facts.colours.length === 1 ? "colour" : "colours"],
    [`${across} x ${down}`, across * down === 1 ? "board" : "boards"],
    [`${facts.hours}`, "hours, about"],
    [`${facts.cm[0]} x ${facts.cm[1]}`, "cm"],
  ];
}

export class Proofs {
  // list: where cards go; address: of the project; take, stop, again: called with a proof.
  constructor(list, address, { take, stop, again }) {
    Object.assign(this, { list, address, take, stop, again });
    this.cards = new Map();
  }

  show(proofs, inHand) {
    const keys = new Set(proofs.map((proof) => proof.key));
    for (const [key, card] of this.cards) {
      if (!keys.has(key)) { card.remove(); this.cards.delete(key); }
    }
    proofs.forEach((proof, place) => {
      let card = this.cards.get(proof.key);
      if (!card) {
        card = make("li");
        this.cards.set(proof.key, card);
      }
      if (this.list.children[place] !== card) this.list.insertBefore(card, this.list.children[place] ?? null);
      this.#draw(card, proof, proof.key === inHand);
    });
  }

  #draw(card, proof, taken) {
    const seen = `${proof.state} ${proof.words} ${taken}`;
    if (card.dataset.seen !== seen) {
      const focused = card.contains(document.activeElement);
      card.dataset.seen = seen;
      card.className = taken ? "taken" : "";
      card.replaceChildren(...this.#parts(proof, taken));
      if (focused) card.querySelector("button")?.focus();
    }
    const bar = card.querySelector("progress");
    if (bar && proof.share !== undefined) bar.value = proof.share;
  }

  #parts(proof, taken) {
    const title = make("h3", {}, proof.words);
    if (proof.facts) return [this.#sight(proof), title, make("p", { className: "quiet" }, this.#said(proof.facts)), this.#taking(proof, taken)];
    if (proof.state === "waiting" || proof.state === "working") {
      const bar = make("progress", { max: 1 });
      if (proof.state === "waiting") bar.value = 0;
      bar.setAttribute("aria-label", `How far ${proof.words} is`);
      return [make("div", { className: "sight empty" }, bar), title, make("p", { className: "quiet" }, proof.state === "waiting" ? "waits its turn" : "being made"),
        this.#button("Stop", proof, this.stop)];
    }
    const why = proof.state === "failed" ? proof.error.words : "stopped";
    return [make("div", { className: "sight empty" }), title, make("p", { className: proof.state === "failed" ? "said" : "quiet" }, why), this.#button("Make it", proof, this.again)];
  }

  #sight(proof) {
    const at = `${this.address}/plates/${proof.key}`;
    return make("div", { className: "sight" },
      make("img", { src: `${at}/near.png`, alt: `${proof.words}, from near` }),
      make("img", { src: `${at}/far.png`, alt: `${proof.words}, from ${proof.facts.metres} m`, title: `from ${proof.facts.metres} m` }));
  }

  #said(facts) {
    const [across, down] = facts.boards;
    const boards = `${across} x ${down} ${across * down === 1 ? "board" : "boards"}`;
    return `${facts.size[0]} x ${facts.size[1]}, ${facts.beads.toLocaleString("en")} beads in ${facts.colours.length} colours, ${boards}, ${facts.hours} hours`;
  }

  #taking(proof, taken) {
    const button = this.#button(taken ? "This is your plate" : "Take this one", proof, this.take);
    button.disabled = taken;
    return button;
  }

  #button(words, proof, action) {
    const button = make("button", { type: "button" }, words);
    button.setAttribute("aria-label", `${words}: ${proof.words}`);
    button.addEventListener("click", () => action(proof));
    return button;
  }
}
