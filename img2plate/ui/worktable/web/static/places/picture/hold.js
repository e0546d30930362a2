// Something that is taken by hand or by keys, moved, and let go or given up.
const KEYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const QUIET = 800;  // milliseconds without a key after which what was moved by keys is let go

// hand: begin(), drag(across, down) in pixels of the screen since then, nudge([across, down], far)
// for an arrow key, end() when it is let go, leave() when it is given up (Escape).
export function hold(element, hand) {
  let from = null;
  let keyed = 0;

  const end = () => { from = null; clearTimeout(keyed); keyed = 0; hand.end(); };
  const leave = () => { from = null; clearTimeout(keyed); keyed = 0; hand.leave(); };

  element.addEventListener("pointerdown", (event) => {
    if (event.button || from) return;
    if (keyed) end();
    element.setPointerCapture(event.pointerId);
    from = [event.clientX, event.clientY, event.pointerId];
    hand.begin();
  });
  element.addEventListener("pointermove", (event) => {
    if (from?.[2] === event.pointerId) hand.drag(event.clientX - from[0], event.clientY - from[1]);
  });
  element.addEventListener("pointerup", (event) => { if (from?.[2] === event.pointerId) end(); });
  element.addEventListener("pointercancel", () => { if (from) leave(); });
  element.addEventListener("keydown", (event) => {
    const way = KEYS[event.key];
    if (way && !from && !event.ctrlKey && !event.metaKey && !event.altKey) {
      event.preventDefault();
      if (!keyed) hand.begin();
      clearTimeout(keyed);
      hand.nudge(way, event.shiftKey);
      keyed = setTimeout(end, QUIET);
    } else if (event.key === "Escape" && (from || keyed)) {
      leave();
    } else if (event.key === "Enter" && keyed) {
      event.preventDefault();
      end();
    }
  });
  element.addEventListener("blur", () => { if (keyed) end(); });
}
