// The plate over its boards: seams that can be moved, and in which rounds it is built.
import { ask, at, make } from "/static/ask.js";
import { BoardMap } from "/static/places/board-map.js";
import { Rounds } from "/static/places/rounds.js";
import { Setting, withSetting } from "/static/places/setting.js";

const WAYS = { full: "full boards", even: "even", quiet: "quiet" };
const BY_HAND = "by hand";
const HINTS = {
  full: "Full boards first: what is left over lies right and below.",
  even: "All boards of about one size.",
  quiet: "Where the fewest changes of colour meet a seam.",
  [BY_HAND]: "Where you put them: drag a seam, or move it with the arrow keys.",
};
const HOW = "Drag a seam, or pick it with Tab and move it with the arrow keys.";

export class Boards {
  constructor(desk) {
    Object.assign(this, { desk, isOpen: false, seen: "", laid: null });
    this.map = new BoardMap(at("board-map"), {
      moved: (seams) => this.#choose(asText(seams)),
      say: (words) => { at("seam-said").textContent = words; },
      free: () => this.show(desk.state()),
    });
    this.rounds = new Rounds(at("rounds"), {
      chosen: (rounds) => this.#change({ rounds: rounds.map((names) => names.join(",")).join("/") }),
      pick: (number) => this.map.pick(number),
      say: (words) => { at("rounds-moved").textContent = words; },
    });
    at("rounds-again").addEventListener("click", () => this.#change({ rounds: "" }));
    this.owned = new Setting(desk, "boards_owned", "boards you own", ["rounds"]);
    at("boards-owned").append(this.owned.element);
    this.ways = [...Object.keys(WAYS), BY_HAND].map((way) => this.#way(way));
    at("seam-ways").append(...this.ways.map((radio) => radio.parentElement));
  }

  open() {
    this.isOpen = true;
    if (this.desk.state()) this.show(this.desk.state());
  }

  close() {
    this.isOpen = false;
  }

  show(state) {
    const way = wayOf(state.settings);
    for (const radio of this.ways) radio.checked = radio.value === way;
    at("seams-hint").textContent = HINTS[way];
    this.owned.show(state.settings);
    if (this.isOpen) this.#lay(state);
  }

  // Say beside a setting what is wrong with it; false when it is none of this place.
  blame(name, words) {
    if (name === "boards_owned") this.owned.blame(words);
    else if (name === "rounds") this.#blameRounds(words);
    else if (name === "seams" || name === "smallest_tile") at("seams-wrong").textContent = words;
    else return false;
    return true;
  }

  // What cannot be is put back as it was.
  #blameRounds(words) {
    at("rounds-wrong").textContent = words;
    at("rounds-moved").textContent = "";
    if (this.laid) this.#drawRounds(this.laid);
  }

  #way(way) {
    const radio = make("input", { type: "radio", name: "seams-way", value: way });
    radio.addEventListener("change", () => this.#choose(way === BY_HAND ? asText(this.laid.seams) : way));
    make("label", {}, radio, make("span", {}, WAYS[way] ?? way));
    return radio;
  }

  // Other seams: rounds by hand were of other boards.
  #choose(seams) {
    this.#change({ seams: seams === "full" ? "" : seams, rounds: "" });
  }

  #change(patch) {
    const settings = Object.entries(patch).reduce((all, [name, value]) => withSetting(all, name, value), this.desk.state().settings);
    this.desk.change("settings", { settings });
  }

  // Ask where everything lies, when something has changed.
  async #lay({ hand, settings }) {
    at("boards-wait").hidden = Boolean(hand.facts);
    at("boards-work").hidden = !hand.facts;
    const seen = JSON.stringify([hand.key, settings]);
    if (!hand.facts || this.seen === seen || this.map.isHeld) return;
    this.seen = seen;
    this.owned.blame("");
    at("seams-wrong").textContent = at("rounds-wrong").textContent = "";
    at("rounds-again").hidden = !settings.rounds;
    const wrong = hand.error;
    if (wrong && !this.blame(wrong.field, wrong.words)) at("seams-wrong").textContent = wrong.words;
    // What the plate cannot have is left out, so that there is something to mend it with.
    const possible = wrong ? withSetting(settings, wrong.field, "") : settings;
    try {
      const laid = await ask(`${this.desk.address}/boards`, { method: "POST", words: { settings: possible } });
      if (this.seen !== seen) return;
      if (this.map.isHeld) this.seen = "";  // drawn when the hand is gone
      else this.#draw(hand, laid);
    } catch (error) {
      this.seen = "";
      at("seams-wrong").textContent = error.message;
    }
  }

  #draw(hand, laid) {
    this.laid = laid;
    if (!at("board-map").contains(document.activeElement)) at("seam-said").textContent = laid.tiles.length > 1 && laid.is_grid ? HOW : "";
    this.map.draw(`${this.desk.address}/plates/${hand.key}/near.png`, laid);
    const count = laid.tiles.filter((tile) => tile.beads).length;
    const [across, down] = laid.board;
    const sizes = laid.cover ? `${laid.cover}.` : `${count} ${count === 1 ? "board" : "boards"} of ${across} x ${down} pegs.`;
    at("boards-said").textContent = sizes
      + (laid.tiles.length === 1 ? " There is no seam." : ` ${laid.cut.toLocaleString("en")} changes of colour meet the seams`
        + (laid.cut === laid.cut_full ? "." : `; with full boards first, ${laid.cut_full.toLocaleString("en")}.`))
      + (laid.mirrored ? " Sheets and boards are mirrored, as the front faces down; here you see the front." : "");
    this.#drawRounds(laid);
  }

  #drawRounds({ rounds, tiles }) {
    const needed = tiles.filter((tile) => tile.beads).length;
    at("rounds-said").textContent = rounds.length ? `${rounds.length} rounds, one after the other. Press one to see it on the plate; drag a board to another round, or move it with the arrow keys.`
      : needed === 1 ? "It takes one board." : `All ${needed} boards are laid at once. Own fewer? Say how many, and see in which rounds to build.`;
    this.rounds.draw(rounds, Number(this.desk.state().settings.boards_owned) || undefined);
  }
}

function wayOf({ seams = "full" }) {
  return seams in WAYS ? seams : BY_HAND;
}

// As the option takes them: pegs before each seam.
function asText(seams) {
  return seams.map((pegs) => pegs.join(",")).join("/");
}
