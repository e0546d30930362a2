// The colours of the plate: rare ones merged, another palette, few of them, others.
import { ask, at, make, swatch } from "/static/ask.js";
import { Rare } from "/static/places/colours/rare.js";
import { Rebuild } from "/static/places/colours/rebuild.js";

const OPEN = ["waiting", "working"];

export class Colours {
  constructor(desk) {
    this.desk = desk;
    this.isOpen = false;
    this.seen = "";  // the plate whose colours are shown
    this.more = 0;  // a number of colours that was asked for with the slider
    this.isWaiting = false;
    this.rare = new Rare(desk, (what, words) => this.#change(what, words));
    this.rebuild = new Rebuild(desk, (what, words) => this.#change(what, words));
    at("few-number").addEventListener("input", () => { at("few-words").textContent = at("few-number").value; });
    at("few-number").addEventListener("change", () => { this.more = Number(at("few-number").value); this.#few(); });
  }

  open() {
    this.isOpen = true;
    this.show(this.desk.state());
  }

  close() {
    this.isOpen = false;
  }

  show(state) {
    if (!this.isOpen || !state) return;
    const { hand } = state;
    at("colours-said").textContent = hand.facts ? `${hand.facts.colours.length} colours, ${hand.facts.beads.toLocaleString("en")} beads`
      : OPEN.includes(hand.state) ? "The plate is being made …" : "";
    at("colours-wrong").textContent = hand.state === "failed" ? hand.error.words
      : hand.state === "stopped" ? "The plate was stopped before it was ready; make it at “Your plate”." : "";
    if (!hand.facts) return;
    const isNew = hand.key !== this.seen;
    this.seen = hand.key;
    if (isNew) this.rare.show();
    if (isNew || this.rebuild.isWaiting) this.rebuild.show();
    if (isNew || this.isWaiting) this.#sheets();
  }

  async #sheets() {
    if (this.asking) { this.again = true; return; }
    this.asking = true;
    const [few, ways] = [await this.#few(), await this.#ways()];
    this.isWaiting = few || ways;
    this.asking = false;
    if (this.again) { this.again = false; this.#sheets(); }
  }

  // Plates of few colours; true while some are being made.
  async #few() {
    const found = await this.#ask(`few${this.more ? `?more=${this.more}` : ""}`);
    if (!found) return false;
    at("few-number").max = found.most - 1;
    const now = Number(this.desk.state().settings.colours ?? 0);
    draw(at("few"), found.few.map(({ most, key, state, about, error }) => {
      const words = most ? `At most ${most} colours` : "Any number of colours";
      return {
        seen: `${key} ${state} ${now === most}`, words, pressed: now === most, error,
        src: about && `${this.desk.address}/colours/${key}/0.png`,
        parts: about ? [make("span", {}, make("b", {}, most || "any"), ` · uses ${about.colours}`), make("span", {}, `look error ${about.look_error.toFixed(1)}`), make("span", { className: "quiet" }, `from ${about.metres} m`)] : [make("span", {}, words)],
        take: () => {
          const { colours: _, ...settings } = this.desk.state().settings;
          this.#change("settings", { settings: most ? { ...settings, colours: String(most) } : settings });
        },
      };
    }));
    const isOpen = found.few.some(({ state }) => OPEN.includes(state));
    this.isWaiting ||= isOpen;
    return isOpen;
  }

  // The plate in other colours; true while they are being made.
  async #ways() {
    const found = await this.#ask("colourways");
    if (!found) return false;
    const { key, state, about, error } = found;
    at("ways-said").textContent = error ? error.words : about ? `${about.length} colourways: what the plate is mostly of in each other colour, its light and shade kept. Press one to have the plate in it.` : "Colouring the plate …";
    draw(at("colourways"), (about ?? []).map(({ code, name, dots, notes }, number) => ({
      seen: `${key} ${code}`, words: `${code} ${name}`, src: `${this.desk.address}/colours/${key}/${number}.png`,
      parts: [make("span", {}, make("b", {}, code), ` ${name}`), swatches(dots), ...notes.map((note) => make("span", { className: "quiet" }, note.replace(`${code}: `, "")))],
      take: () => this.#change("recolour", { code }),
    })));
    return OPEN.includes(state);
  }

  async #ask(what) {
    try { return await ask(`${this.desk.address}/${what}`); } catch (error) {  // nothing: the plate is another by now
      at("colours-wrong").textContent = error.message;
      return null;
    }
  }

  #change(what, words) {
    at("colours-wrong").textContent = "";
    return this.desk.change(what, words, (error) => { at("colours-wrong").textContent = error.message; return true; });
  }
}

// A sheet of small plates to take: those that changed are drawn anew.
function draw(list, cards) {
  cards.forEach((card, place) => {
    const old = list.children[place];
    if (old?.dataset.seen === card.seen) return;
    const item = make("li", {}, button(card));
    item.dataset.seen = card.seen;
    if (!old) { list.append(item); return; }
    const focused = old.contains(document.activeElement);
    old.replaceWith(item);
    if (focused) item.firstChild.focus();
  });
  while (list.children.length > cards.length) list.lastChild.remove();
}

function button({ src, words, parts, pressed, error, take }) {
  const sight = src ? make("img", { src, alt: "", loading: "lazy" }) : make("span", { className: "empty" }, error ? error.words : "being made …");
  const found = make("button", { type: "button", disabled: !src, title: `Take it: ${words}` }, sight, ...parts);
  if (pressed !== undefined) found.setAttribute("aria-pressed", pressed);
  found.addEventListener("click", take);
  return found;
}

function swatches(colours) {
  const dots = make("span", { className: "dots" }, ...colours.map((colour) => swatch(colour, "dot")));
  dots.setAttribute("aria-hidden", "true");
  return dots;
}
