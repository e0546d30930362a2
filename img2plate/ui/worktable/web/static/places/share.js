// A phone beside the board: its link, and how far each board is that is ticked on it.
import { ask, at, make } from "/static/ask.js";

const many = (number) => number.toLocaleString("en");

export class Phone {
  constructor(desk) {
    Object.assign(this, { desk, address: `${desk.address}/phone`, pack: null, about: null });
    at("phone-begin").addEventListener("click", () => this.#ask({ method: "POST", words: { key: this.pack.key } }));
    at("phone-end").addEventListener("click", () => this.#ask({ method: "DELETE" }));
  }

  look() {
    return this.#ask();
  }

  // The pack in hand: only one that is made can be followed.
  with(pack) {
    this.pack = pack;
    if (this.about) this.#draw();
  }

  // What the server tells, whenever something was ticked.
  show(about) {
    this.about = about;
    this.#draw();
  }

  async #ask(how) {
    at("phone-said").textContent = "";
    try { this.show(await ask(this.address, how)); } catch (error) { at("phone-said").textContent = error.message; }
  }

  #draw() {
    const { can, link, key, boards } = this.about, ready = this.pack?.state === "done";
    at("phone").hidden = false;
    at("phone-not").hidden = can;
    at("phone-begin").hidden = !can || Boolean(link);
    at("phone-begin").disabled = !ready;
    at("phone-on").hidden = !link;
    at("phone-older").hidden = !link || !ready || this.pack.key === key;
    if (!link) { at("phone-code").removeAttribute("src"); return; }
    if (at("phone-link").textContent !== link) {
      at("phone-link").textContent = at("phone-link").href = link;
      at("phone-code").src = `${this.address}/code.svg?${Date.now()}`;  // another link, another picture
    }
    const sum = (what) => boards.reduce((all, board) => all + board[what], 0);
    at("phone-far").textContent = `${many(sum("placed"))} of ${many(sum("beads"))} beads placed`;
    at("phone-boards").replaceChildren(...boards.map(line));
  }
}

function line({ name, beads, placed, rows, rows_placed }) {
  const bar = make("progress", { max: beads, value: placed });
  bar.setAttribute("aria-label", `How far board ${name} is`);
  const words = placed === beads ? "all placed" : `${rows_placed} of ${rows} rows, ${many(placed)} of ${many(beads)} beads`;
  return make("li", {}, make("strong", {}, name), bar, make("span", {}, words));
}
