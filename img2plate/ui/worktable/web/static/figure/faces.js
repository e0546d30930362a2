// A face of the figure under one's hands: the place of plates, on the cells of a face.
import { at, make } from "/static/ask.js";
import { Hand } from "/static/places/hand.js";

export class Faces {
  constructor(desk) {
    this.desk = desk;
    this.face = null;  // [part, face]
    const faces = this;
    this.hand = new Hand({
      project: desk.project,
      get address() { return faces.#address(); },
      change: (what, words) => desk.change(what, words, faces.#address()),
      state: () => faces.#state(),
      made: () => faces.#state().hand,
      fields: {},
    });
    at("face-of").addEventListener("change", () => this.#take(at("face-of").value.split(".")));
  }

  open() {
    const plate = this.desk.facts()?.plates[Number(at("chosen").value)];
    if (plate?.face) this.#take(plate.face);
    else if (!this.face && at("face-of").options.length) this.#take(at("face-of").value.split("."));
    this.isOpen = true;
    this.hand.open();
  }

  close() {
    this.isOpen = false;
    this.hand.close();
  }

  show(state, facts) {
    if (!facts) return;
    const faces = facts.plates.filter((plate) => plate.face);
    const told = JSON.stringify(faces.map(({ name, face }) => [name, face]));
    if (told !== this.told) {
      this.told = told;
      at("face-of").replaceChildren(...faces.map(({ name, face }) => make("option", { value: face.join(".") }, name)));
      if (!faces.some(({ face }) => face.join() === this.face?.join())) this.face = null;
      if (this.face) at("face-of").value = this.face.join(".");
      else if (this.isOpen && faces.length) this.#take(faces[0].face);
    }
    at("face-wrong").hidden = state.made.state !== "failed";
    if (this.isOpen && this.face) this.hand.show(this.#state());
  }

  #take([part, face]) {
    this.face = [Number(part), face];
    at("face-of").value = this.face.join(".");
    this.hand.key = "";
    if (this.isOpen) this.hand.show(this.#state());
  }

  #address() {
    return `${this.desk.address}/faces/${this.face?.join("/")}`;
  }

  // As a plate's page knows what is in hand.
  #state() {
    const { made } = this.desk.state();
    const facts = made.state === "done" && this.face ? { lost: "", colours: [] } : null;
    return { settings: {}, hand: { key: made.key, state: made.state, facts } };
  }
}
