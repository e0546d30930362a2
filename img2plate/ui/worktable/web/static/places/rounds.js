// In which rounds boards are built: a board can be dragged to another round, or moved there by keys.
import { make } from "/static/ask.js";

const KEYS = { ArrowUp: -1, ArrowLeft: -1, ArrowDown: 1, ArrowRight: 1 };

export class Rounds {
  // list: an element; chosen: told the rounds, each a list of names, when a board was moved;
  // pick: told the number of a round to be shown on the plate, 0 for all; say: told words.
  constructor(list, { chosen, pick, say }) {
    Object.assign(this, { list, chosen, pick, say, rounds: [] });
  }

  // rounds: lists of names, in the order of building; most: boards that one may take.
  draw(rounds, most = Infinity) {
    const seen = JSON.stringify([rounds, most]);
    if (this.seen === seen) return;  // a board is not to be taken from under a hand
    this.seen = seen;
    const held = this.list.contains(document.activeElement) ? document.activeElement.dataset.board : "";
    Object.assign(this, { rounds, most });
    const items = rounds.map((names, number) => this.#round(names, number));
    if (rounds.length) items.push(make("li", { className: "one-more" }, "Drop a board here for a round more"));
    this.list.replaceChildren(...items);
    if (held) this.list.querySelector(`[data-board="${held}"]`)?.focus();
  }

  #round(names, number) {
    const show = make("button", { type: "button", className: "show" }, `Round ${number + 1}`);
    show.setAttribute("aria-pressed", "false");
    show.addEventListener("click", () => this.#show(show, number + 1));
    return make("li", {}, show, make("span", { className: "of-round" }, ...names.map((name) => this.#board(name, number))));
  }

  #show(button, number) {
    const on = button.getAttribute("aria-pressed") !== "true";
    for (const each of this.list.querySelectorAll(".show")) each.setAttribute("aria-pressed", String(on && each === button));
    this.pick(on ? number : 0);
  }

  #board(name, round) {
    const board = make("button", { type: "button", className: "of-board" }, name);
    board.dataset.board = name;
    board.setAttribute("aria-label", `Board ${name}, in round ${round + 1}; arrow keys move it to the round before or after`);
    board.addEventListener("keydown", (event) => {
      if (!(event.key in KEYS)) return;
      event.preventDefault();
      this.#move(name, round, this.#next(round, KEYS[event.key]));
    });
    board.addEventListener("pointerdown", (event) => this.#hold(event, board, name, round));
    return board;
  }

  #hold(event, board, name, round) {
    if (event.button !== 0) return;
    board.setPointerCapture(event.pointerId);
    const items = [...this.list.children];
    const under = ({ clientX, clientY }) => items.findIndex((item) => {
      const { left, right, top, bottom } = item.getBoundingClientRect();
      return clientX >= left && clientX <= right && clientY >= top && clientY <= bottom;
    });
    const moved = (at) => {
      board.style.transform = `translate(${at.clientX - event.clientX}px, ${at.clientY - event.clientY}px)`;
      const target = under(at);
      items.forEach((item, number) => item.classList.toggle("target", number === target && number !== round));
    };
    const end = (at) => {
      for (const name of ["pointermove", "pointerup", "pointercancel"]) board.removeEventListener(name, name === "pointermove" ? moved : end);
      board.style.transform = "";
      for (const item of items) item.classList.remove("target");
      const target = at.type === "pointerup" ? under(at) : -1;
      if (target >= 0) this.#move(name, round, target);
    };
    board.addEventListener("pointermove", moved);
    board.addEventListener("pointerup", end);
    board.addEventListener("pointercancel", end);
  }

  // The round before or after that has room for one more; keys cannot rest in a full one.
  #next(round, step) {
    let next = round + step;
    while (this.rounds[next]?.length >= this.most) next += step;
    return next;
  }

  // Move a board; the place after the last is a round more.
  #move(name, from, to) {
    const isAlone = this.rounds[from].length === 1;
    if (to < 0 || to === from || to > this.rounds.length || (to === this.rounds.length && isAlone)) return;
    const rounds = [...this.rounds.map((names) => names.filter((each) => each !== name)), []];
    rounds[to].push(name);
    const kept = rounds.filter((names) => names.length);
    this.say(`${name} is built in round ${kept.findIndex((names) => names.includes(name)) + 1} of ${kept.length} now.`);
    this.draw(kept, this.most);
    this.chosen(kept);
  }
}
