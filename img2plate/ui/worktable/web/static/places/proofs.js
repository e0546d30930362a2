// The proof sheet: a card for each plate that is proposed, kept as it changes; two of them compared.
import { at, make } from "/static/ask.js";
import { Two } from "/static/places/two.js";

export class Proofs {
  constructor(desk) {
    this.desk = desk;
    this.list = at("proofs");
    this.two = new Two(at("two"), desk.address);
    this.cards = new Map();
    this.compared = [];  // keys, the newest last
    at("stop-all").addEventListener("click", () => desk.change("stop"));
  }

  open() {}
  close() {}

  show(state) {
    const { proofs, hand, proposing } = state;
    const keys = new Set(proofs.map((proof) => proof.key));
    for (const [key, card] of this.cards) {
      if (!keys.has(key)) { card.remove(); this.cards.delete(key); }
    }
    this.compared = this.compared.filter((key) => keys.has(key));
    proofs.forEach((proof, place) => {
      let card = this.cards.get(proof.key);
      if (!card) {
        card = make("li");
        this.cards.set(proof.key, card);
      }
      if (this.list.children[place] !== card) this.list.insertBefore(card, this.list.children[place] ?? null);
      this.#draw(card, proof, proof.key === hand.key);
    });
    this.two.show(...this.compared.map((key) => proofs.find((proof) => proof.key === key)));
    this.#say(proofs, proposing);
  }

  #say(proofs, proposing) {
    const open = proofs.filter((proof) => proof.state === "waiting" || proof.state === "working").length;
    at("stop-all").hidden = !open && !proposing;
    at("choice-said").textContent = proposing ? "Looking at the picture …"
      : open ? `${proofs.length - open} of ${proofs.length} are ready` : `${proofs.length} plates of this picture; take the one you like best`;
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
    if (bar && proof.seen) this.#soFar(bar.parentElement, proof);
    const compare = card.querySelector(".compare");
    if (compare) compare.setAttribute("aria-pressed", this.compared.includes(proof.key));
  }

  #parts(proof, taken) {
    const title = make("h3", {}, proof.words);
    if (proof.facts) {
      return [this.#sight(proof), title, make("p", { className: "quiet" }, said(proof.facts)),
        make("div", { className: "row" }, this.#taking(proof, taken), this.#comparing(proof))];
    }
    if (proof.state === "waiting" || proof.state === "working") {
      const bar = make("progress", { max: 1 });
      if (proof.state === "waiting") bar.value = 0;
      bar.setAttribute("aria-label", `How far ${proof.words} is`);
      return [make("div", { className: "sight empty" }, bar), title, make("p", { className: "quiet" }, proof.state === "waiting" ? "waits its turn" : "being made"),
        this.#button("Stop", proof, () => this.desk.change("stop", { key: proof.key }))];
    }
    const why = proof.state === "failed" ? proof.error.words : "stopped";
    return [make("div", { className: "sight empty" }), title, make("p", { className: proof.state === "failed" ? "said" : "quiet" }, why),
      this.#button("Make it", proof, () => this.desk.change("again", { settings: proof.settings, yes: Boolean(proof.error?.ask) }))];
  }

  #sight(proof) {
    const place = `${this.desk.address}/plates/${proof.key}`;
    return make("div", { className: "sight" },
      make("img", { src: `${place}/near.png`, alt: `${proof.words}, from near` }),
      make("img", { src: `${place}/far.png`, alt: `${proof.words}, from ${proof.facts.metres} m`, title: `from ${proof.facts.metres} m` }));
  }

  // The best so far of a plate that is searched for, above how far it is.
  #soFar(sight, proof) {
    const src = `${this.desk.address}/plates/${proof.key}/so-far.png?${proof.seen}`;
    const image = sight.querySelector("img") ?? sight.insertBefore(make("img", { alt: `${proof.words}, best so far` }), sight.firstChild);
    if (image.getAttribute("src") !== src) image.src = src;
  }

  #taking(proof, taken) {
    return this.#button(taken ? "In your hand" : "Take this one", proof, () => {
      if (!taken) this.desk.change("take", { settings: proof.settings });
      location.hash = "plate";
    });
  }

  #comparing(proof) {
    const button = this.#button("Compare", proof, () => {
      const others = this.compared.filter((key) => key !== proof.key);
      this.compared = others.length < this.compared.length ? others : [...others.slice(-1), proof.key];
      this.show(this.desk.state());
      if (this.compared.length === 2) at("two").scrollIntoView({ block: "start" });
    });
    button.className = "compare";
    return button;
  }

  #button(words, proof, action) {
    const button = make("button", { type: "button" }, words);
    button.setAttribute("aria-label", `${words}: ${proof.words}`);
    button.addEventListener("click", action);
    return button;
  }
}

function said(facts) {
  const [across, down] = facts.boards;
  const boards = `${across} x ${down} ${across * down === 1 ? "board" : "boards"}`;
  return `${facts.size[0]} x ${facts.size[1]}, ${facts.beads.toLocaleString("en")} beads in ${facts.colours.length} colours, ${boards}, ${facts.hours} hours`;
}
