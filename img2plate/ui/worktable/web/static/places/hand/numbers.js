// What the plate under the hand takes and how it looks, after every stroke: beads, colours, lone beads, the look
// error, what is missing of the beads that one owns, pieces that would fall apart.
import { ask, at, make, many } from "/static/ask.js";
import { Look } from "/static/places/hand/look.js";
import { loose, pieces } from "/static/places/hand/pieces.js";

const LARGE = 20_000;  // cells from which on numbers wait until the hand rests
const REST_MS = 120;
const SAVED_MS = 1200;  // after which the pipeline is asked for the look error of what was saved

export class Numbers {
  // hand: the place; it has `desk`, `cells`, `drawn`, `colours`, `key`, `unsaved`.
  constructor(hand) {
    this.hand = hand;
    this.look = null;
    this.soonest = 0;
    at("hand-loose-show").addEventListener("click", () => this.#show(!this.shown));
  }

  // Another plate lies there, or the same one saved.
  take() {
    this.say();
    this.get().then(() => this.saved());
  }

  // Beads were laid: say so at the next frame, of a large plate when the hand rests.
  soon() {
    if (this.hand.cells.at.length > LARGE) {
      clearTimeout(this.soonest);
      this.soonest = setTimeout(() => this.say(), REST_MS);
    } else if (!this.soonest) {
      this.soonest = requestAnimationFrame(() => this.say());
    }
  }

  say() {
    this.soonest = 0;
    const { cells } = this.hand, counts = cells.counts();
    const beads = [...counts.values()].reduce((sum, each) => sum + each, 0);
    const list = [[beads, "beads"], [counts.size, "colours"], [cells.specks(), "beads without a neighbour of their colour"]];
    if (this.look) {
      this.look.follow(cells.at);
      list.push([this.look.error().toFixed(2), `look error from ${this.look.about.metres} m, less is nearer to the picture`]);
    }
    this.#list(list);
    this.#apart();
    const short = cells.short(counts);
    write(at("hand-short"), shortWords(short));
    this.hand.colours.count(counts, short);
  }

  // Write the numbers; the words under them stay the same from stroke to stroke.
  #list(list) {
    const home = at("hand-numbers");
    if (home.children.length !== list.length) home.replaceChildren(...list.map(() => make("li", {}, make("b"), "")));
    list.forEach(([value, words], i) => {
      write(home.children[i].firstChild, value.toLocaleString("en"));
      write(home.children[i].lastChild, words);
    });
  }

  // Pieces that are joined to nothing.
  #apart() {
    const found = pieces(this.hand.cells), apart = found.sizes.length - 1;
    at("hand-loose").hidden = apart < 1;
    write(at("hand-loose-words"), `${apart === 1 ? "1 piece is" : `${apart} pieces are`} joined to the rest by no side of a bead.`);
    this.loose = loose(found);
    if (this.shown) this.#show(apart > 0);
  }

  #show(shown) {
    this.shown = shown;
    this.hand.drawn.marks.loose = shown ? this.loose : [];
    this.hand.drawn.soon();
    at("hand-loose-show").setAttribute("aria-pressed", shown);
  }

  // Get what the look error is made of; what is wrong with that is wrong elsewhere too.
  async get() {
    const { desk, cells } = this.hand;
    try {
      const about = await ask(`${desk.address}/look`);
      if (about && about.key === this.look?.about.key) return;
      this.look = null;
      if (!about) return;
      const answer = await fetch(`${desk.address}/look/${about.key}`);
      if (!answer.ok || cells !== this.hand.cells) return;
      this.look = new Look(about, new Float32Array(await answer.arrayBuffer()), [cells.width, cells.height]);
      this.say();
    } catch { this.look = null; }
  }

  // When the hand rests, take the look error that the pipeline finds for what is saved.
  saved() {
    clearTimeout(this.asking);
    if (!this.look) return;
    const { key } = this.hand;
    this.asking = setTimeout(async () => {
      try {
        const found = await ask(`${this.hand.desk.address}/look/now`);
        const { hand, look } = this;
        if (!found || hand.key !== key || hand.desk.state().hand.key !== found.key || hand.unsaved || hand.strew.area) return;
        look.follow(hand.cells.at);
        look.know(found.exact);
        this.say();
      } catch { /* what the page worked out stays */ }
    }, SAVED_MS);
  }
}

// Text that is there already costs a browser as much as any other.
function write(place, words) {
  if (place.textContent !== words) place.textContent = words;
}

// "2 colours are short by 41 beads: prt 30, klp 11."
function shortWords(short) {
  if (!short) return "";
  if (!short.length) return "You own enough of all of them.";
  const missing = short.reduce((sum, [, each]) => sum + each, 0);
  const list = short.slice(0, 6).map(([code, each]) => `${code} ${each.toLocaleString("en")}`).join(", ");
  return `${many(short.length, "colour")} ${short.length === 1 ? "is" : "are"} short by ${many(missing, "bead")}, spare ones too: ${list}${short.length > 6 ? " and more" : ""}.`;
}
