"use strict";
// State is small and flat: which tile, row and colour are looked at, and for each tile the set of
// "row:colour" pairs that are placed. A row of a tile is done when all its colours are.
const plate = JSON.parse(document.getElementById("plate").textContent);
const [WIDTH] = plate.size;
const bytes = Uint8Array.from(atob(plate.cells), (c) => c.charCodeAt(0));
const cells = new Uint16Array(bytes.buffer); // 0: no bead, else 1 + index into plate.colours
const STORE = "img2plate:" + plate.key;
// A figure's page has several plates, one below the other in `cells` (plates.js); rows count from each one's first.
const plates = plate.plates || [{ top: 0, width: WIDTH, height: plate.size[1], map: plate.map }];
const $ = (id) => document.getElementById(id);
const tiles = plate.tiles.map(([name, x, y, w, h, mapColumn, mapRow, round, of = 0]) => {
  const tile = { name, x, y, w, h, mapColumn, mapRow, round, plate: plates[of], beads: 0, counts: new Map(), rows: [] };
  for (let r = 0; r < h; r++) {
    const row = new Map();
    for (let c = 0; c < w; c++) {
      const bead = cells[(y + r) * WIDTH + x + c];
      if (!bead) continue;
      row.set(bead, (row.get(bead) || 0) + 1);
      tile.counts.set(bead, (tile.counts.get(bead) || 0) + 1);
      tile.beads++;
    }
    tile.rows.push(row);
  }
  return tile;
});
const total = tiles.reduce((sum, tile) => sum + tile.beads, 0);
let at = { tile: 0, row: 0, colour: 0 };
let done = tiles.map(() => new Set());

const pair = (row, colour) => row + ":" + colour;
// Beads placed of each tile and of each of its colours, kept up with every tick: a large plate has
// tens of thousands of pairs, and a tap must not count them all again.
let placedOf = tiles.map(() => new Map());
let placedIn = tiles.map(() => 0);
function mark(number, row, colour, on) {
  const beads = tiles[number].rows[row]?.get(colour), key = pair(row, colour);
  if (!beads || done[number].has(key) === on) return;
  if (on) done[number].add(key); else done[number].delete(key);
  const change = on ? beads : -beads;
  placedIn[number] += change;
  placedOf[number].set(colour, (placedOf[number].get(colour) || 0) + change);
}
function forget(number) {
  done[number].clear();
  placedOf[number].clear();
  placedIn[number] = 0;
}
const placed = (number, colour) => (colour ? placedOf[number].get(colour) || 0 : placedIn[number]);
// Columns run leftwards when the front lies on the board: what is shown is what the board shows.
const column = (tile, place) => tile.x + (plate.mirrored ? tile.w - 1 - place : place);
const rowNumber = (tile, row) => tile.y - tile.plate.top + row + 1;
function rowDone(row) {
  const wanted = at.colour ? [at.colour] : [...tiles[at.tile].rows[row].keys()];
  return wanted.every((colour) => done[at.tile].has(pair(row, colour)) || !tiles[at.tile].rows[row].has(colour));
}

function asText() {
  return JSON.stringify({ plate: plate.key, at, done: Object.fromEntries(done.map((set, i) => [tiles[i].name, [...set]])) });
}
function take(text) {
  const saved = JSON.parse(text);
  if (saved.plate !== plate.key) throw new Error(`That file belongs to another ${plate.plates ? "figure" : "plate"}.`);
  tiles.forEach((tile, number) => {
    forget(number);
    for (const key of saved.done[tile.name] || []) {
      if (/^\d+:\d+$/.test(key)) mark(number, ...key.split(":").map(Number), true);
    }
  });
  goBackTo(saved.at);
}
function goBackTo(place) {
  if (tiles[place?.tile]) at = { tile: place.tile, row: place.row | 0, colour: place.colour | 0 };
  if (!tiles[at.tile].counts.has(at.colour)) at.colour = 0;
  at.row = Math.max(0, Math.min(at.row, tiles[at.tile].h - 1));
}
// Each tile has an item of its own, so that a tick writes one tile, not the whole plate.
function keep(...numbers) {
  try {
    localStorage.setItem(STORE, JSON.stringify(at));
    for (const number of numbers) localStorage.setItem(`${STORE}:${tiles[number].name}`, [...done[number]].join(" "));
  } catch { say("This browser does not remember anything for local files: save your progress to a file."); }
}
function recall() {
  const saved = localStorage.getItem(STORE);
  if (!saved) { toFirstOpenRow(); return; }
  tiles.forEach((tile, number) => {
    for (const key of (localStorage.getItem(`${STORE}:${tile.name}`) || "").split(" ")) {
      if (/^\d+:\d+$/.test(key)) mark(number, ...key.split(":").map(Number), true);
    }
  });
  goBackTo(JSON.parse(saved));
}
const say = (text) => { $("said").textContent = text; };

function draw() {
  const tile = tiles[at.tile], canvas = $("board"), css = getComputedStyle(document.documentElement);
  const cell = Math.max(16, Math.min(44, Math.floor((canvas.clientWidth * devicePixelRatio) / (tile.w + 2))));
  canvas.width = cell * (tile.w + 2);
  canvas.height = cell * (tile.h + 2);
  const pen = canvas.getContext("2d"), ink = css.getPropertyValue("--ink"), quiet = css.getPropertyValue("--quiet");
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  pen.font = `${Math.round(cell * 0.5)}px Hyperlegible, sans-serif`;
  pen.fillStyle = quiet;
  for (let c = 0; c < tile.w; c++) {
    const number = column(tile, c) + 1;
    if (number % 5 === 0 || tile.w < 5) {
      pen.fillText(number, cell * (c + 1.5), cell * 0.5);
      pen.fillText(number, cell * (c + 1.5), cell * (tile.h + 1.5));
    }
  }
  for (let r = 0; r < tile.h; r++) {
    if (rowNumber(tile, r) % 5 === 0 || r === at.row || tile.h < 5) {
      pen.fillStyle = r === at.row ? ink : quiet;
      pen.fillText(rowNumber(tile, r), cell * 0.5, cell * (r + 1.5));
      pen.fillText(rowNumber(tile, r), cell * (tile.w + 1.5), cell * (r + 1.5));
    }
    for (let c = 0; c < tile.w; c++) {
      const bead = cells[(tile.y + r) * WIDTH + column(tile, c)];
      const lit = !at.colour || at.colour === bead, ticked = done[at.tile].has(pair(r, bead));
      pen.drawImage(stampOf(bead, lit, ticked, cell), cell * (c + 1), cell * (r + 1));
    }
  }
  pen.strokeStyle = css.getPropertyValue("--accent");
  pen.lineWidth = Math.max(2, cell / 9);
  pen.strokeRect(cell, cell * (at.row + 1), cell * tile.w, cell);
}
// Each look of a bead is drawn once and then stamped: a tile has hundreds of beads, few looks.
let stamps = new Map();
function stampOf(bead, lit, ticked, cell) {
  const key = [bead, lit, ticked, cell].join();
  if (!stamps.has(key)) {
    const canvas = document.createElement("canvas");
    canvas.width = canvas.height = cell;
    drawBead(canvas.getContext("2d"), bead, lit, ticked, cell);
    stamps.set(key, canvas);
  }
  return stamps.get(key);
}
// A plate with so many pixels a bead.
function drawSmall(canvas, { top, width, height }, step) {
  canvas.width = width * step;
  canvas.height = height * step;
  const pen = canvas.getContext("2d");
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const bead = cells[(top + y) * WIDTH + x];
      if (!bead) continue;
      pen.fillStyle = plate.colours[bead - 1][0];
      pen.fillRect((plate.mirrored ? width - 1 - x : x) * step, y * step, step, step);
    }
  }
}
// All of the plate, small, with the board that is built on outlined; drawn anew only with the board.
let shownWhole = "";
function drawWhole() {
  const canvas = $("whole"), css = getComputedStyle(document.documentElement), tile = tiles[at.tile];
  const { top, width: wide, height: high } = tile.plate, step = Math.max(1, Math.min(12, Math.floor(560 / Math.max(wide, high))));
  const accent = css.getPropertyValue("--accent"), key = at.tile + accent;
  if (shownWhole === key) return;
  shownWhole = key;
  drawSmall(canvas, tile.plate, step);
  const pen = canvas.getContext("2d"), side = (x, w) => (plate.mirrored ? wide - x - w : x);
  if (tile.plate.map[0] * tile.plate.map[1] < 2) return;
  pen.strokeStyle = accent;
  pen.lineWidth = Math.max(canvas.width, canvas.height) / 60;
  const inset = pen.lineWidth / 2;
  pen.strokeRect(side(tile.x, tile.w) * step + inset, (tile.y - top) * step + inset, tile.w * step - 2 * inset, tile.h * step - 2 * inset);
}
// The row that is built, large enough to be read at arm's length: as many beads on a line as there
// is room for, in fives, each line with the number of its first peg.
const ROW_CELL = 33, ROW_MARGIN = 28; // CSS pixels
let rowLines = { each: 10, cell: ROW_CELL, left: ROW_MARGIN };
function drawRow() {
  const tile = tiles[at.tile], canvas = $("row"), css = getComputedStyle(document.documentElement);
  const wide = canvas.clientWidth || 358, room = wide - ROW_MARGIN;
  const each = Math.min(tile.w, Math.max(5, Math.floor(room / (ROW_CELL - 1) / 5) * 5));
  const size = Math.min(44, room / each), count = Math.ceil(tile.w / each);
  const cell = Math.floor(size * devicePixelRatio), left = Math.round(ROW_MARGIN * devicePixelRatio);
  rowLines = { each, cell, left };
  canvas.width = Math.round(wide * devicePixelRatio);
  canvas.height = cell * count;
  const pen = canvas.getContext("2d");
  pen.textAlign = "right";
  pen.textBaseline = "middle";
  pen.font = `${Math.round(13 * devicePixelRatio)}px Hyperlegible, sans-serif`;
  pen.fillStyle = css.getPropertyValue("--quiet");
  for (let c = 0; c < tile.w; c++) {
    const line = Math.floor(c / each), place = c % each, bead = cells[(tile.y + at.row) * WIDTH + column(tile, c)];
    if (!place) pen.fillText(column(tile, c) + 1, left - cell * 0.12, cell * (line + 0.5));
    const lit = !at.colour || at.colour === bead, ticked = done[at.tile].has(pair(at.row, bead));
    pen.drawImage(stampOf(bead, lit, ticked, cell), left + cell * place, cell * line);
  }
}
function drawBead(pen, bead, lit, ticked, cell) {
  const x = cell / 2, y = cell / 2;
  if (!bead) {
    pen.fillStyle = "#8a979d";
    pen.beginPath(); pen.arc(x, y, cell * 0.07, 0, 7); pen.fill();
    return;
  }
  const [hex, , , symbol, ink] = plate.colours[bead - 1];
  pen.globalAlpha = lit ? 1 : 0.13;
  pen.fillStyle = hex;
  pen.beginPath(); pen.arc(x, y, cell * 0.46, 0, 7); pen.fill();
  // A thin rim: a black bead must not sink into a dark ground, nor a white one into a light one.
  pen.strokeStyle = "#8a979d";
  pen.lineWidth = Math.max(1, cell / 30);
  pen.stroke();
  if (ticked) {
    pen.strokeStyle = ink;
    pen.lineWidth = cell / 10;
    pen.beginPath(); pen.moveTo(x - cell * 0.2, y); pen.lineTo(x - cell * 0.04, y + cell * 0.17); pen.lineTo(x + cell * 0.22, y - cell * 0.17); pen.stroke();
  } else if (lit) {
    pen.textAlign = "center";
    pen.textBaseline = "middle";
    pen.fillStyle = ink;
    pen.font = `700 ${Math.round(cell * (symbol.length > 1 ? 0.44 : 0.6))}px Hyperlegible, sans-serif`;
    pen.fillText(symbol, x, y + cell * 0.03);
  }
}

function hours(beads) {
  const minutes = Math.round((beads * plate.secondsPerBead) / 60);
  return minutes < 60 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${minutes % 60} min`;
}
function show() {
  const tile = tiles[at.tile], here = placed(at.tile);
  const all = placedIn.reduce((sum, beads) => sum + beads, 0), part = total ? (100 * all) / total : 0;
  $("far").textContent = `${all.toLocaleString("en")} of ${total.toLocaleString("en")} beads, ${hours(total - all)} left`;
  $("bar").style.width = part + "%";
  $("bar").parentNode.setAttribute("aria-valuenow", Math.round(part));
  $("tile-name").textContent = tile.name;
  const round = tile.round ? `round ${tile.round}: ` : "";
  $("tile-far").textContent = `${round}${here} of ${tile.beads} beads, ${hours(tile.beads - here)} left`;
  $("tile-far").title = `columns ${tile.x + 1} to ${tile.x + tile.w}, rows ${rowNumber(tile, 0)} to ${rowNumber(tile, tile.h - 1)}`;
  const row = tile.rows[at.row], bead = at.colour;
  const some = bead ? row.get(bead) || 0 : [...row.values()].reduce((a, b) => a + b, 0);
  const what = bead ? plate.colours[bead - 1][2] : "all colours";
  $("row-text").textContent = `Row ${rowNumber(tile, at.row)}: ${some} ${some === 1 ? "bead" : "beads"}, ${what}`;
  $("tick").textContent = rowDone(at.row) && some ? "Row is placed: untick it" : "Tick this row";
  $("undo").disabled = !acts.length;
  $("runs").textContent = runs();
  showColours(tile);
  showMap();
  draw();
  drawRow();
  drawWhole();
  shown(tile);
}
// The row in words, from the left as it lies on the board: "12 kelp, 3 foam".
function runs() {
  const tile = tiles[at.tile], words = [];
  let last = -1, length = 0;
  const close = () => {
    if (length) words.push(`${length} ${last ? plate.colours[last - 1][2] : "empty"}`);
  };
  for (let c = 0; c < tile.w; c++) {
    const bead = cells[(tile.y + at.row) * WIDTH + column(tile, c)];
    if (bead === last) { length++; continue; }
    close();
    [last, length] = [bead, 1];
  }
  if (last) close();
  return words.join(", ") || "no beads in this row";
}
function showMap() {
  const own = tiles[at.tile].plate, across = `repeat(${own.map[0]}, minmax(56px, 96px))`;
  if ($("map").style.gridTemplateColumns !== across) $("map").style.gridTemplateColumns = across;
  for (const button of mapButtons) {
    const number = Number(button.dataset.tile), here = number === at.tile;
    button.hidden = tiles[number].plate !== own;
    const share = tiles[number].beads ? Math.floor((100 * placed(number)) / tiles[number].beads) + "%" : "empty";
    if (button.lastChild.textContent !== share) button.lastChild.textContent = share;
    if ((button.getAttribute("aria-pressed") === "true") !== here) button.setAttribute("aria-pressed", here);
  }
}
function colourButton(bead, title, symbol, hex, ink, name, left) {
  const button = document.createElement("button");
  button.dataset.colour = bead;
  button.setAttribute("aria-pressed", at.colour === bead);
  const dot = document.createElement("span");
  dot.className = "bead";
  dot.textContent = symbol;
  if (hex) {
    dot.style.background = hex;
    dot.style.color = ink;
  }
  const label = document.createElement("span");
  label.className = "name";
  label.textContent = name;
  const count = document.createElement("span");
  count.className = "left";
  count.textContent = left;
  button.title = title;
  button.append(dot, label, count);
  button.onclick = () => { at.colour = at.colour === bead ? 0 : bead; toFirstOpenRow(); change(); };
  return button;
}
function showColours(tile) {
  const focused = document.activeElement?.dataset?.colour;
  const buttons = [colourButton(0, "Show all colours", "", "", "", "all colours", tile.beads - placed(at.tile) + " left")];
  for (const bead of order(tile)) {
    const [hex, code, name, symbol, ink] = plate.colours[bead - 1], left = tile.counts.get(bead) - placed(at.tile, bead);
    const button = colourButton(bead, code, symbol, hex, ink, name, left ? left + " left" : "done");
    button.classList.toggle("done", !left);
    buttons.push(button);
  }
  $("colours").replaceChildren(...buttons);
  if (focused !== undefined) $("colours").querySelector(`[data-colour="${focused}"]`)?.focus();
}
const order = (tile) => [...tile.counts.keys()].sort((a, b) => tile.counts.get(b) - tile.counts.get(a) || a - b);
function toFirstOpenRow() {
  const tile = tiles[at.tile];
  for (let r = 0; r < tile.h; r++) {
    const has = at.colour ? tile.rows[r].has(at.colour) : tile.rows[r].size;
    if (has && !rowDone(r)) { at.row = r; return; }
  }
}
// A script that stands after this one may listen to ticks (shared.js), or add to what is shown (plates.js).
let ticked = () => {}, shown = () => {};
function change(...numbers) {
  keep(...numbers);
  show();
  if (numbers.length) ticked();
}

// What was ticked and cleared here, the last one last: each a list of [tile, row, colour, on]. Only
// what changed is kept, so that undoing does not undo what came from another device meanwhile.
const acts = [], MOST_ACTS = 200;
function act(steps) {
  const changes = steps.filter(([number, row, colour, on]) => done[number].has(pair(row, colour)) !== on);
  for (const each of changes) mark(...each);
  if (changes.length) acts.push({ changes, at: { ...at } });
  if (acts.length > MOST_ACTS) acts.shift();
}
function undo() {
  const last = acts.pop();
  if (!last) return;
  for (const [number, row, colour, on] of last.changes) mark(number, row, colour, !on);
  at = last.at;
  change(...new Set(last.changes.map(([number]) => number)));
}
function clear(numbers) {
  const steps = numbers.flatMap((number) => [...done[number]].map((key) => [number, ...key.split(":").map(Number), false]));
  act(steps);
  toFirstOpenRow();
  change(...numbers);
}
function tick() {
  const row = tiles[at.tile].rows[at.row], wanted = at.colour ? [at.colour] : [...row.keys()], back = rowDone(at.row);
  act(wanted.filter((colour) => row.has(colour)).map((colour) => [at.tile, at.row, colour, !back]));
  if (!back) {
    const here = at.row;
    while (at.row < tiles[at.tile].h - 1 && rowDone(at.row)) at.row++;
    if (rowDone(at.row)) at.row = here;
  }
  change(at.tile);
}
function walk(step) { at.row = Math.max(0, Math.min(tiles[at.tile].h - 1, at.row + step)); change(); }
function walkColours(step) {
  const list = [0, ...order(tiles[at.tile])], place = list.indexOf(at.colour);
  at.colour = list[(place + step + list.length) % list.length];
  toFirstOpenRow();
  change();
}
function goTo(number) {
  at = { tile: number, row: 0, colour: tiles[number].counts.has(at.colour) ? at.colour : 0 };
  toFirstOpenRow();
  change();
}

const mapButtons = tiles.map((tile, number) => {
  const button = document.createElement("button");
  button.dataset.tile = number;
  button.append(tile.name, document.createElement("small"));
  button.style.gridArea = `${tile.mapRow + 1} / ${plate.mirrored ? tile.plate.map[0] - tile.mapColumn : tile.mapColumn + 1}`;
  button.disabled = !tile.beads;
  button.onclick = () => goTo(number);
  $("map").append(button);
  return button;
});
$("way").textContent = plate.mirrored ? "Mirrored: the front faces down on the board." : "";
$("up").onclick = () => walk(-1);
$("down").onclick = () => walk(1);
$("tick").onclick = tick;
$("board").onclick = (event) => {
  const box = $("board").getBoundingClientRect(), tile = tiles[at.tile];
  // The picture may be letterboxed by object-fit: measure it as it is shown.
  const scale = Math.min(box.width / $("board").width, box.height / $("board").height);
  const cell = ($("board").width / (tile.w + 2)) * scale;
  const left = box.left + (box.width - $("board").width * scale) / 2, top = box.top + (box.height - $("board").height * scale) / 2;
  const c = Math.floor((event.clientX - left) / cell) - 1, r = Math.floor((event.clientY - top) / cell) - 1;
  if (r < 0 || r >= tile.h) return;
  at.row = r;
  const bead = c >= 0 && c < tile.w ? cells[(tile.y + r) * WIDTH + column(tile, c)] : 0;
  if (bead) at.colour = at.colour === bead ? 0 : bead;
  change();
};
$("restart").onclick = () => {
  if (confirm(`Clear all ticks of board ${tiles[at.tile].name}?`)) clear([at.tile]);
};
$("clear").onclick = () => {
  if (confirm("Clear the ticks of all boards?")) clear([...tiles.keys()]);
};
$("undo").onclick = undo;
$("whole").onclick = (event) => {
  const own = tiles[at.tile].plate, box = $("whole").getBoundingClientRect();
  const scale = Math.min(box.width / own.width, box.height / own.height);
  const seen = Math.floor((event.clientX - box.left) / scale), y = own.top + Math.floor((event.clientY - box.top - (box.height - own.height * scale) / 2) / scale);
  const x = plate.mirrored ? own.width - 1 - seen : seen;
  const number = tiles.findIndex((tile) => tile.plate === own && x >= tile.x && x < tile.x + tile.w && y >= tile.y && y < tile.y + tile.h);
  if (number >= 0 && tiles[number].beads) goTo(number);
};
$("row").onclick = (event) => {
  const box = $("row").getBoundingClientRect(), tile = tiles[at.tile], { each, cell, left } = rowLines;
  const place = Math.floor(((event.clientX - box.left) * devicePixelRatio - left) / cell);
  const c = Math.floor(((event.clientY - box.top) * devicePixelRatio) / cell) * each + place;
  const bead = place >= 0 && place < each && c < tile.w ? cells[(tile.y + at.row) * WIDTH + column(tile, c)] : 0;
  if (bead) { at.colour = at.colour === bead ? 0 : bead; change(); }
};
$("save").onclick = () => {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([asText()], { type: "application/json" }));
  link.download = plate.name.replace(/[^\w.-]+/g, "-") + "-progress.json";
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
};
$("load").onchange = async (event) => {
  try { take(await event.target.files[0].text()); change(...tiles.keys()); say("Progress loaded."); }
  catch (error) { say("Not loaded: " + error.message); }
  event.target.value = "";
};
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const onButton = event.target.matches?.("button, input");
  const keys = {
    ArrowUp: () => walk(-1), ArrowDown: () => walk(1),
    ArrowLeft: () => walkColours(-1), ArrowRight: () => walkColours(1),
    Escape: () => { at.colour = 0; change(); },
    z: undo,
    ...(onButton ? {} : { " ": tick }),
  };
  if (keys[event.key]) { event.preventDefault(); keys[event.key](); }
});
let lock = null;
if ("wakeLock" in navigator) {
  $("awake").hidden = false;
  const wake = async () => {
    try { lock = await navigator.wakeLock.request("screen"); $("awake").setAttribute("aria-pressed", "true"); }
    catch { lock = null; say("This device does not let a page keep the screen on."); }
  };
  $("awake").onclick = async () => {
    if (lock) { await lock.release(); lock = null; $("awake").setAttribute("aria-pressed", "false"); }
    else await wake();
  };
  document.addEventListener("visibilitychange", () => { if (lock && document.visibilityState === "visible") wake(); });
}
const drawAll = () => { draw(); drawRow(); drawWhole(); };
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", drawAll);
addEventListener("resize", drawAll);
// Only voices that are on the device: a voice from the network would be an outside request.
if ("speechSynthesis" in window) {
  const local = () => speechSynthesis.getVoices().filter((voice) => voice.localService);
  const offer = () => { $("aloud").hidden = !local().length; };
  $("aloud").onclick = () => {
    const said = new SpeechSynthesisUtterance(`Row ${rowNumber(tiles[at.tile], at.row)}: ${runs()}`);
    said.voice = local().find((voice) => voice.lang.startsWith("en")) || local()[0];
    speechSynthesis.cancel();
    speechSynthesis.speak(said);
  };
  speechSynthesis.addEventListener?.("voiceschanged", offer);
  offer();
}
try { recall(); } catch { toFirstOpenRow(); }
document.fonts?.ready.then(() => { stamps = new Map(); drawAll(); });
show();
