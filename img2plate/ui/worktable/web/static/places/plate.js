// The plate in hand: from near and afar, what it takes, its settings, the command line that says the same.
import { at, make } from "/static/ask.js";

export class Plate {
  constructor(desk) {
    this.desk = desk;
    this.shown = null;  // the plate whose pictures are on the page
    at("making-stop").addEventListener("click", () => desk.change("stop", { key: desk.state().hand.key }));
    at("copy").addEventListener("click", () => this.#copy());
  }

  open() {}
  close() {}

  show(state) {
    at("command").textContent = state.command;
    this.#sayKind(state);
    const made = this.desk.made();
    const isOld = made?.key !== state.hand.key;
    at("place-plate").querySelector(".sights").classList.toggle("older", isOld);
    this.making(state.hand);
    if (made) this.#draw(made, isOld);
  }

  // How far the plate in hand is.
  making(hand) {
    const isOpen = hand.state === "waiting" || hand.state === "working";
    at("making").hidden = !isOpen;
    if (isOpen) {
      at("making-share").value = hand.share ?? 0;
      at("making-words").textContent = hand.stage || "your plate waits its turn";
    }
    this.#soFar(isOpen && hand.seen ? `${this.desk.address}/plates/${hand.key}/so-far.png?${hand.seen}` : "", hand.words);
    const seen = `${hand.key} ${hand.state}`;
    if (at("hand-said").dataset.seen === seen) return;
    at("hand-said").dataset.seen = seen;
    at("hand-said").replaceChildren();
    if (hand.state === "failed") {
      const { ask, field, words } = hand.error;
      const answers = ask ? [" ", this.#anyway(hand)] : [];
      if (!this.desk.form.blame(field, words, ...answers)) at("hand-said").append(words, ...answers);
    }
    if (hand.state === "stopped") {
      const again = make("button", { type: "button" }, "Make it");
      again.addEventListener("click", () => this.desk.change("again", { settings: hand.settings }));
      at("hand-said").append("Stopped before it was ready. ", again);
    }
  }

  // A plate that is a lot of work is made when somebody says so.
  #anyway(hand) {
    const button = make("button", { type: "button" }, "Make it anyway");
    button.addEventListener("click", () => this.desk.change("again", { settings: hand.settings, yes: true }));
    return button;
  }

  // The best so far of a plate that is searched for, in the place of the one before.
  #soFar(src, words) {
    if (src === (this.soFar ?? "")) return;
    this.soFar = src;
    if (src) {
      at("near").src = src;
      at("near").alt = at("near-words").textContent = `best so far: ${words}`;
    } else if (this.shown) {
      at("near").src = `${this.desk.address}/plates/${this.shown.key}/near.png`;
    }
    at("near").closest("figure").classList.toggle("so-far", Boolean(src));
  }

  #sayKind({ kind, settings }) {
    const source = this.desk.form.fields.get("source");
    if (!source?.element || !kind) return;
    const { words, reason, sure } = kind;
    source.element.querySelector(".hint").textContent = `Taken for ${words}${sure ? "" : ", not sure"}: ${reason}.`;
    this.desk.form.name("source", "auto", settings.source ? "as it looks" : `as it looks: ${words}`);
  }

  #draw(made, isOld) {
    const { facts, key, words } = made;
    if (key !== this.shown?.key) {
      if (!this.soFar) at("near").src = `${this.desk.address}/plates/${key}/near.png`;
      at("far").src = `${this.desk.address}/plates/${key}/far.png`;
      at("change-said").textContent = this.shown ? differences(this.shown.facts, facts) : "";
      this.shown = made;
    }
    if (!this.soFar) {
      at("near").alt = `The pressed plate: ${words}, ${facts.size[0]} by ${facts.size[1]} beads`;
      at("near-words").textContent = isOld ? `so far: ${words}` : words;
    }
    at("far").alt = `The plate as it looks from ${facts.metres} m`;
    at("far-words").textContent = `from ${facts.metres} m`;
    at("numbers").replaceChildren(...figures(facts).map(([value, name]) => make("li", {}, make("b", {}, value), name)));
    at("notes").replaceChildren(...facts.notes.map((note) => make("li", {}, note)));
  }

  async #copy() {
    try {
      await navigator.clipboard.writeText(at("command").textContent);
      at("copy").textContent = "Copied";
    } catch {
      getSelection().selectAllChildren(at("command"));
      at("copy").textContent = "Selected: copy it with Ctrl+C";
    }
    setTimeout(() => { at("copy").textContent = "Copy"; }, 2500);
  }
}

function figures({ beads, size, colours, boards: [across, down], hours, cm, price }) {
  const found = [
    [beads.toLocaleString("en"), beads === 1 ? "bead" : "beads"],
    [`${size[0]} x ${size[1]}`, "beads wide and high"],
    [String(colours.length), colours.length === 1 ? "colour" : "colours"],
    [`${across} x ${down}`, across * down === 1 ? "board" : "boards"],
    [`${hours}`, "hours, about"],
    [`${cm[0]} x ${cm[1]}`, "cm"],
  ];
  return price ? [...found, [price, "for the bags"]] : found;
}

// What a change costs or saves, in plain words.
function differences(old, now) {
  const steps = [
    [old.boards[0] * old.boards[1], now.boards[0] * now.boards[1], "board", "boards"],
    [old.beads, now.beads, "bead", "beads"],
    [old.colours.length, now.colours.length, "colour", "colours"],
    [old.hours, now.hours, "hour", "hours"],
  ];
  const said = steps.filter(([was, is]) => was !== is).map(([was, is, one, many]) => {
    const by = Math.round(Math.abs(is - was) * 10) / 10;
    return `${by.toLocaleString("en")} ${by === 1 ? one : many} ${is > was ? "more" : "fewer"}`;
  });
  return said.length ? `Than before: ${said.join(", ")}.` : "";
}
