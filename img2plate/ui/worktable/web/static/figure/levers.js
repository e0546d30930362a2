// What is below the drawing: pull apart, put together, colours, thickness, a plate to look at.
import { at, make, many } from "/static/ask.js";

const ONE_COLOUR = "It is of one colour, which the text says.", LOOK = "The text says how it looks: a colour or a picture.";
// Of plates that are no face of a part, where they are changed.
const CHANGED = { fin: "Its picture says what it is.", shelf: ONE_COLOUR, strip: ONE_COLOUR, divider: ONE_COLOUR, collar: ONE_COLOUR, roof: LOOK, door: LOOK, lug: "It takes the colour of its door." };

export class Levers {
  constructor(desk, drawing) {
    Object.assign(this, { desk, drawing, pull: 0, step: -1, chosen: -1, fit: null, facts: null });
    at("pull").addEventListener("input", () => this.#pull(Number(at("pull").value)));
    at("step-next").addEventListener("click", () => this.go(this.step + 1));
    at("step-back").addEventListener("click", () => this.go(this.step - 1));
    at("step-all").addEventListener("click", () => this.go(-1));
    at("colourway").addEventListener("change", () => desk.change("choose", { colourway: at("colourway").value }));
    at("press").addEventListener("input", () => this.#press(Number(at("press").value)));
    at("press-keep").addEventListener("click", () => desk.change("press", { mm: this.fit.mm }));
    at("chosen").addEventListener("change", () => this.choose(Number(at("chosen").value)));
    at("chosen-hand").addEventListener("click", () => { location.hash = "hand"; });
  }

  show(state, facts) {
    if (facts && facts !== this.facts) this.#take(facts);
    const ways = [...new Set([...(facts?.colourways ?? []), ...(state.colourway ? [state.colourway] : [])])];
    const told = JSON.stringify(ways);
    if (told !== this.ways) {
      this.ways = told;
      at("colourway").replaceChildren(...["", ...ways].map((way) => make("option", { value: way }, way || "as its text says")));
    }
    at("colourway").value = state.colourway;
    at("colourway").disabled = !ways.length;
  }

  // A figure that was built anew: what can stay as it was stays.
  #take(facts) {
    const before = this.facts;
    this.facts = facts;
    const name = before?.plates[this.chosen]?.name;
    this.chosen = facts.plates.findIndex((plate) => plate.name === name);
    if (this.step >= facts.steps.length) this.step = -1;
    const said = facts.fits.findIndex(({ mm }) => mm === facts.thickness_mm);
    const wished = before && this.fit.mm !== before.thickness_mm ? facts.fits.findIndex(({ mm }) => mm === this.fit.mm) : said;
    Object.assign(at("press"), { min: 0, max: facts.fits.length - 1, step: 1 });
    this.#press(wished < 0 ? said : wished);
    at("chosen").replaceChildren(make("option", { value: -1 }, "none chosen"), ...facts.plates.map((plate, number) => make("option", { value: number }, `${number + 1}  ${plate.name}`)));
    this.choose(this.chosen);
    this.#steps();
  }

  #pull(share) {
    this.pull = share;
    at("pull").value = share;
    at("pull").setAttribute("aria-valuetext", share ? `pulled apart by ${share} %` : "together");
    if (share && this.step >= 0) { this.step = -1; this.#steps(); }
    this.drawing.turned();
  }

  // To a step; -1 is all of it.
  go(step) {
    if (!this.facts || step >= this.facts.steps.length) step = -1;
    this.step = Math.max(-1, step);
    if (this.pull) this.#pull(0);
    this.#steps();
    this.drawing.slideTo(this.step);
  }

  #steps() {
    const { step, facts } = this;
    const is = step >= 0;
    at("step-words").textContent = is ? `Step ${step + 1} of ${facts.steps.length}: ${facts.steps[step].words}` : "";
    at("step-back").disabled = !is;
    at("step-all").hidden = !is;
    at("step-next").textContent = is ? "Next step" : "First step";
    if (is && step === facts.steps.length - 1) at("step-next").textContent = "Done";
  }

  #press(place) {
    this.fit = this.facts.fits[place];
    const { mm, verdict, words } = this.fit;
    at("press").value = place;
    at("press").setAttribute("aria-valuetext", `${mm} mm: ${verdict}`);
    at("press-mm").textContent = `${mm} mm`;
    at("press-verdict").textContent = `${mm} mm: ${verdict}`;
    at("press-words").replaceChildren(...words.map((line) => make("li", {}, line)));
    at("press-keep").hidden = mm === this.facts.thickness_mm;
    this.drawing.turned();
  }

  // A plate to look at; -1 is none.
  choose(number) {
    this.chosen = number;
    at("chosen").value = number;
    const plate = this.facts.plates[number];
    at("chosen-hand").hidden = !plate?.face;
    at("chosen-words").replaceChildren();
    if (plate) {
      const meets = plate.meets.map(({ letter, plate: other }) => `${letter} ${other + 1}`).join(", ");
      const hand = plate.face ? "" : ` ${CHANGED[plate.role] ?? "Its part is one of several that the text says once, so it is changed there."}`;
      at("chosen-words").textContent = `${plate.size.join(" x ")} cells, ${many(plate.beads, "bead")}.${meets ? ` Its joints, with the plates that it meets: ${meets}.` : ""}${hand}`;
    }
    this.drawing.turned();
  }
}
