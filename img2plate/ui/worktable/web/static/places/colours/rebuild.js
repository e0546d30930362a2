// The plate in another palette: both side by side, what each colour becomes, and how far that is.
import { ask, at, make, many, swatch } from "/static/ask.js";

const OPEN = ["waiting", "working"];

export class Rebuild {
  // change: has something done about it.
  constructor(desk, change) {
    Object.assign(this, { desk, change, isWaiting: false, asked: 0 });
    for (const id of ["rebuild-palette", "rebuild-owned", "rebuild-apart"]) at(id).addEventListener("change", () => this.show());
    at("rebuild-do").addEventListener("click", () => this.#take());
  }

  #wish() {
    return { palette: at("rebuild-palette").value, owned: at("rebuild-owned").checked, apart: at("rebuild-apart").checked };
  }

  // What there is to choose from, and what would become of the plate; only the newest answer counts.
  async show() {
    const turn = this.asked += 1, { palette, owned, apart } = this.#wish();
    const words = palette ? new URLSearchParams({ palette, ...owned && { owned }, ...apart && { apart } }) : "";
    try {
      const found = await ask(`${this.desk.address}/rebuild?${words}`);
      if (turn === this.asked && found) this.#draw(found);
    } catch (error) {
      if (turn !== this.asked) return;
      at("rebuild-said").textContent = error.message;
      at("rebuild-found").hidden = true;
    }
  }

  #draw({ palettes, now, owned, rebuilt }) {
    this.#palettes(palettes, now);
    at("rebuild-owned-part").hidden = !owned;
    if (!owned) at("rebuild-owned").checked = false;
    const { state = "none", error, about, key } = rebuilt ?? {};
    this.isWaiting = OPEN.includes(state);
    at("rebuild-found").hidden = !about;
    at("rebuild-said").textContent = error ? error.words : this.isWaiting ? "Choosing beads …"
      : about ? sentence(about.changed) : "It is in this palette. Choose another.";
    if (!about || this.drawn === key) return;
    this.drawn = key;
    at("rebuild-before").src = `${this.desk.address}/colours/${key}/0.png`;
    at("rebuild-after").src = `${this.desk.address}/colours/${key}/1.png`;
    at("rebuild-before-words").textContent = `Now: ${many(about.before, "colour")}`;
    at("rebuild-after-words").textContent = `Then: ${many(about.colours, "colour")}`;
    at("rebuild-list").replaceChildren(...about.changed.map(line));
    at("rebuild-notes").replaceChildren(...about.notes.map((note) => make("li", {}, note)));
  }

  #palettes(palettes, now) {
    const list = at("rebuild-palette"), seen = JSON.stringify([palettes, now]);
    if (seen === this.listed) return;
    this.listed = seen;
    const chosen = list.value || now;
    list.replaceChildren(...palettes.map(({ word, name }) => make("option", { value: word, selected: word === chosen }, word === now ? `${name} (as it is)` : name)));
  }

  #take() {
    this.change("rebuild", this.#wish());
  }
}

function sentence(changed) {
  const others = changed.filter((each) => !stays(each));
  const beads = (some) => some.reduce((sum, each) => sum + each.beads, 0);
  return others.length ? `${many(beads(others), "bead")} of ${beads(changed).toLocaleString("en")} would be of another colour; the farthest is named first.`
    : "Every colour of the plate is in this palette too.";
}

function stays({ old, new: next }) {
  return old.hex === next.hex;
}

function line({ old, new: next, beads, words }) {
  const said = stays({ old, new: next }) ? `${many(beads, "bead")} of ${old.name} stay${beads === 1 ? "s" : ""}`
    : `${many(beads, "bead")} of ${old.name} become${beads === 1 ? "s" : ""} ${next.name} (${next.code}): ${words}`;
  return make("li", {}, swatch(old.hex), make("span", {}, said), swatch(next.hex));
}
