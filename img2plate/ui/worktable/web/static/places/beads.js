// The beads: which palette, which of its colours, what a plate takes of them, what is owned and missing.
import { ask, at } from "/static/ask.js";
import { Card } from "/static/places/card.js";
import { Colours } from "/static/places/beads/colours.js";
import { Palettes } from "/static/places/beads/palettes.js";
import { Supply } from "/static/places/beads/supply.js";

export class Beads {
  constructor(desk) {
    this.desk = desk;
    this.isOpen = false;
    this.seen = "";  // what the place shows
    const steps = {
      change: (what, words, box) => this.#change(what, words, box),
      send: (field, file, box) => this.#send(field, file, box),
      settings: () => desk.state().settings,
      address: desk.address,
    };
    this.colours = new Colours(at("colours"), steps);
    this.palettes = new Palettes(at("shelf"), desk.palettes, steps);
    this.supply = new Supply(steps);
    this.card = new Card(desk);
  }

  open() {
    this.isOpen = true;
    this.show(this.desk.state());
  }

  close() {
    this.isOpen = false;
  }

  async show(state) {
    if (!this.isOpen || !state) return;
    const seen = `${state.version} ${state.hand.key} ${state.hand.state}`;
    if (seen === this.seen) return;
    this.seen = seen;
    let about;
    try {
      about = await ask(`${this.desk.address}/beads`);
    } catch (error) {
      this.seen = "";
      at("beads-said").textContent = error.message;
      return;
    }
    if (seen !== this.seen) return;  // something newer is on its way
    this.#draw(about, state.hand);
  }

  #draw(about, hand) {
    const isOpen = hand.state === "waiting" || hand.state === "working";
    at("beads-said").textContent = `${about.sentence}${isOpen ? "; the plate is being made" : ""}.`;
    at("beads-trouble").textContent = hand.state === "failed" ? hand.error.words
      : hand.state === "stopped" ? "The plate was stopped before it was ready; make it at “Your plate”." : "";
    if (hand.facts) {
      at("beads-plate").src = `${this.desk.address}/plates/${hand.key}/near.png`;
      at("beads-plate").alt = "The plate with these beads";
    }
    at("beads-plate").classList.toggle("older", !hand.facts);
    this.colours.show(about);
    this.palettes.show(about);
    this.supply.show(about, hand);
  }

  // Change something; what is wrong with it is said in `box`, beside what caused it.
  async #change(what, words, box) {
    box.textContent = "";
    let failed = false;
    await this.desk.change(what, words, (error) => {
      failed = true;
      box.textContent = error.message;
      return true;
    });
    if (!failed) return;
    this.seen = "";  // what was pressed shows again what is
    this.show(this.desk.state());
  }

  // Have a file kept; the word that settings name it by, or nothing when something is wrong with it.
  async #send(field, file, box) {
    box.textContent = "";
    if (!file) return "";
    try {
      const name = encodeURIComponent(file.name);
      return (await ask(`${this.desk.address}/files/${field}?name=${name}`, { method: "POST", body: file })).word;
    } catch (error) {
      box.textContent = error.message;
      return "";
    }
  }
}
