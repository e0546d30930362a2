// What is taken to the craft table: sheets as they will print, files, the page to follow.
import { ask, at, make } from "/static/ask.js";
import { Phone } from "/static/places/share.js";
import { Setting } from "/static/places/setting.js";

export class Sheets {
  constructor(desk) {
    Object.assign(this, { desk, isOpen: false, asked: "", drawn: "", pages: [] });
    this.phone = new Phone(desk);
    at("make-pack").addEventListener("click", () => desk.change("pack"));
    this.settings = ["paper", "front", "printer_measured"].map((name) => new Setting(desk, name, LABELS[name]));
    at("sheet-settings").append(...this.settings.map((setting) => setting.element));
    at("leaf-close").addEventListener("click", () => at("leaf").close());
    at("leaf-before").addEventListener("click", () => this.#turn(-1));
    at("leaf-after").addEventListener("click", () => this.#turn(1));
    at("leaf").addEventListener("keydown", ({ key }) => { if (key in TURNS) this.#turn(TURNS[key]); });
  }

  open() {
    this.isOpen = true;
    if (this.desk.state()) this.show(this.desk.state());
  }

  close() {
    this.isOpen = false;
    at("leaf").close();
  }

  show({ pack, hand, settings }) {
    this.phone.with(pack);
    const busy = pack.state === "waiting" || pack.state === "working";
    for (const setting of this.settings) setting.show(settings);
    if (pack.key !== this.asked) for (const setting of this.settings) setting.blame("");
    at("make-pack").hidden = pack.state !== "failed" && pack.state !== "stopped";
    at("pack-said").textContent = hand.error ? hand.error.words : pack.state === "failed" ? pack.error.words
      : !hand.facts ? "The plate has to be ready first." : pack.state === "done" ? "" : `${(busy && pack.stage) || "getting the sheets ready"} …`;
    at("pack-said").className = pack.state === "failed" || hand.error ? "said" : "";
    at("sheet-ways").hidden = at("sheet-files").hidden = pack.state !== "done";
    at("sheet-pages").classList.toggle("older", pack.state !== "done");
    if (!this.isOpen) return;
    if (pack.state === "done") this.#draw(pack);
    else if (pack.state === "none" && hand.facts && !hand.error && this.asked !== pack.key) {
      this.asked = pack.key;  // it takes a second: nobody should have to ask for it
      this.desk.change("pack");
    }
  }

  // Say beside a setting what is wrong with it; false when it is none of this place.
  blame(name, words) {
    const setting = this.settings.find((each) => each.name === name);
    setting?.blame(words);
    return Boolean(setting);
  }

  async #draw({ key, files }) {
    if (this.drawn === key) return;  // a link is not to be taken from under a hand
    this.drawn = key;
    this.pack = `${this.desk.address}/packs/${key}`;
    at("print").href = `/p/${this.desk.project}/print/${key}`;
    at("follow").href = `/p/${this.desk.project}/follow/${key}`;
    const link = (name) => ({ href: `${this.pack}/${encodeURIComponent(name)}`, download: name });
    const zip = files.find((name) => name.endsWith(".zip"));
    Object.assign(at("all-of-it"), link(zip));
    at("pack-files").replaceChildren(...files.filter((name) => name !== zip).map((name) => make("li", {}, make("a", { className: "button", ...link(name) }, name))));
    try {
      const pages = await ask(`${this.pack}/pages`);
      if (this.drawn === key) this.#lay(pages);
    } catch (error) {
      this.drawn = "";
      at("pack-said").textContent = error.message;
    }
  }

  #lay(pages) {
    this.pages = pages;
    at("sheet-pages").replaceChildren(...pages.map(({ mm, words }, place) => {
      const image = make("img", { src: this.#source(place, "small"), alt: "", loading: "lazy" });
      image.style.aspectRatio = mm.join(" / ");
      const button = make("button", { type: "button" }, image, make("span", {}, `${place + 1} ${words}`));
      button.setAttribute("aria-label", `Page ${place + 1}, ${words}: look at it large`);
      button.addEventListener("click", () => { this.#look(place); at("leaf").showModal(); });
      return make("li", {}, button);
    }));
  }

  #source(place, size) {
    return `${this.pack}/pages/${place + 1}/${size}.png`;
  }

  #look(place) {
    this.place = place;
    const { words } = this.pages[place];
    at("leaf-words").textContent = `Page ${place + 1} of ${this.pages.length}: ${words}`;
    at("leaf-picture").src = this.#source(place, "large");
    at("leaf-picture").alt = `Page ${place + 1}, ${words}, as it will print`;
    at("leaf-before").disabled = place === 0;
    at("leaf-after").disabled = place === this.pages.length - 1;
  }

  #turn(step) {
    if (this.pages[this.place + step]) this.#look(this.place + step);
  }
}

const LABELS = { paper: "paper", front: "the front of the plate", printer_measured: "what the 100 mm rulers measure" };
const TURNS = { ArrowLeft: -1, ArrowRight: 1 };
