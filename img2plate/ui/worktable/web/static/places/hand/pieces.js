// Pieces of a plate: beads that are joined at their sides, as ironing joins them.
import { NONE } from "/static/places/hand/cells.js";

// For each cell the number of its piece, -1 without a bead; and how many beads each piece has.
export function pieces({ at, width }) {
  const piece = new Int32Array(at.length).fill(-1), open = new Int32Array(at.length), sizes = [];
  for (let first = 0; first < at.length; first += 1) {
    if (at[first] === NONE || piece[first] >= 0) continue;
    const number = sizes.length;
    let done = 0, found = 1;
    open[0] = first;
    piece[first] = number;
    const reach = (next) => {
      if (at[next] === NONE || piece[next] >= 0) return;
      piece[next] = number;
      open[found] = next;
      found += 1;
    };
    while (done < found) {
      const cell = open[done], column = cell % width;
      done += 1;
      if (column > 0) reach(cell - 1);
      if (column < width - 1) reach(cell + 1);
      if (cell >= width) reach(cell - width);
      if (cell + width < at.length) reach(cell + width);
    }
    sizes.push(found);
  }
  return { piece, sizes };
}

// The cells of all pieces but the largest.
export function loose({ piece, sizes }) {
  const largest = sizes.indexOf(sizes.reduce((most, size) => Math.max(most, size), 0));
  const found = [];
  if (sizes.length > 1) piece.forEach((number, cell) => { if (number >= 0 && number !== largest) found.push(cell); });
  return found;
}
