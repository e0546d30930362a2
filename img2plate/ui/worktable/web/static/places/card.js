// Your own beads: a photo of the printed card, what was found on it, names, and the palette that is kept.
import { ask, at, make, swatch } from "/static/ask.js";

export class Card {
  constructor(desk) {
    this.desk = desk;
    this.key = "";
    this.turn = 0;  // a photo dropped later counts
    const part = at("card-part");
    at("card-photo").addEventListener("change", ({ target }) => {
      this.#read(target.files[0]);
      target.value = "";
    });
    part.addEventListener("dragover", (event) => { event.preventDefault(); part.classList.add("over"); });
    part.addEventListener("dragleave", () => part.classList.remove("over"));
    part.addEventListener("drop", (event) => {
      event.preventDefault();
      part.classList.remove("over");
      this.#read(event.dataTransfer.files[0]);
    });
    at("card-found").addEventListener("submit", (event) => {
      event.preventDefault();
      this.#save();
    });
  }

  async #read(photo) {
    if (!photo) return;
    const turn = this.turn += 1;
    at("card-wrong").textContent = "";
    at("card-said").textContent = "Looking for the card …";
    at("card-found").hidden = true;
    try {
      const name = encodeURIComponent(photo.name);
      const found = await ask(`${this.desk.address}/card?name=${name}`, { method: "POST", body: photo });
      if (turn === this.turn) this.#show(found);
    } catch (error) {
      if (turn !== this.turn) return;
      at("card-said").textContent = "";
      at("card-wrong").textContent = error.message;
    }
  }

  #show({ key, title, beads, notes }) {
    this.key = key;
    at("card-said").textContent = `${beads.length} ${beads.length === 1 ? "colour" : "colours"} measured.`;
    at("card-looked").src = `${this.desk.address}/card/${key}/looked.png`;
    at("card-notes").replaceChildren(...notes.map((note) => make("li", {}, note)));
    at("card-title").value = title;
    at("card-beads").replaceChildren(...beads.map((bead) => this.#row(bead)));
    for (const id of ["card-save-wrong", "card-saved"]) at(id).replaceChildren();
    at("card-found").hidden = false;
  }

  #row({ cell, code, name, hex, spread }) {
    const dot = swatch(hex);
    const field = (what, value, most) => {
      const input = make("input", { type: "text", value, className: what, maxLength: most, autocomplete: "off" });
      input.setAttribute("aria-label", `Cell ${cell}: ${what}`);
      return input;
    };
    const row = make("li", {}, make("span", { className: "cell" }, `${cell}`), dot,
      field("code", code, 20), field("name", name, 80), make("span", { className: "quiet" }, `${hex}, spread ${spread}`));
    row.dataset.cell = cell;
    return row;
  }

  async #save() {
    const wrong = at("card-save-wrong");
    wrong.textContent = "";
    at("card-saved").replaceChildren();
    const names = [...at("card-beads").children].map((row) => ({
      cell: row.dataset.cell, code: row.querySelector(".code").value, name: row.querySelector(".name").value,
    }));
    const key = this.key;
    let failed = false;
    await this.desk.change("card/save", { key, title: at("card-title").value, names }, (error) => {
      failed = true;
      wrong.textContent = error.message;
      return true;
    });
    const word = this.desk.state().settings.palette ?? "";
    if (failed || !word.includes("/")) return;
    const [digest, name] = word.split("/");
    const link = make("a", { className: "button", href: `${this.desk.address}/files/${digest}/${encodeURIComponent(name)}` }, `Download ${name}`);
    at("card-saved").replaceChildren("The palette is kept in this project, and the plate is made of it. ", link);
  }
}
