// Fingers, mouse, wheel and keys on the table. Every gesture ends in `settle`, which judges the placement.

const WHEEL_SETTLES_MS = 160;

export function hands(svg, handle, act) {
  const fingers = new Map();
  let held = null;

  svg.addEventListener("pointerdown", (event) => {
    svg.setPointerCapture(event.pointerId);
    svg.focus({ preventScroll: true });
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    held = { ...grip(), sizing: event.target === handle };
    event.preventDefault();
  });
  svg.addEventListener("pointermove", (event) => {
    if (!fingers.has(event.pointerId) || !held) return;
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    if (fingers.size === 1 && held.sizing) {
      const from = apart(held.last ?? held.place);
      const next = act.toSlat(event.clientX, event.clientY);
      if (from > 1 && apart(next) > 1) act.resize(apart(next) / from, false);
      held.last = next;
    } else if (fingers.size === 1) {
      const place = act.toSlat(event.clientX, event.clientY);
      act.move({ x: held.at.x + place.x - held.place.x, y: held.at.y + place.y - held.place.y }, false);
    } else {
      const next = pair();
      act.resize(next.apart / held.pair.apart, false);
      act.turn(held.pair.turn - next.turn, false);
      held.pair = next;
    }
  });
  for (const end of ["pointerup", "pointercancel"]) {
    svg.addEventListener(end, (event) => {
      if (!fingers.delete(event.pointerId)) return;
      if (fingers.size === 0) {
        held = null;
        act.settle();
      } else held = grip();
    });
  }

  function grip() {
    const [first] = fingers.values();
    const { x, y } = act.now();
    return { place: act.toSlat(first.x, first.y), at: { x, y }, pair: fingers.size > 1 ? pair() : null };
  }
  function apart(place) {
    const { x, y } = act.now();
    return Math.hypot(place.x - x, place.y - y);
  }
  function pair() {
    const [a, b] = fingers.values();
    return { apart: Math.hypot(b.x - a.x, b.y - a.y) || 1, turn: (Math.atan2(b.y - a.y, b.x - a.x) * 180) / Math.PI };
  }

  let wheel = 0;
  svg.addEventListener("wheel", (event) => {
    event.preventDefault();
    act.resize(Math.exp(-event.deltaY * (event.deltaMode ? 0.03 : 0.001)), false);
    clearTimeout(wheel);
    wheel = setTimeout(act.settle, WHEEL_SETTLES_MS);
  }, { passive: false });

  svg.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey) {
      if (event.key === "z" && !event.shiftKey) act.undo();
      else if (event.key === "y" || (event.key === "Z" || event.key === "z")) act.redo();
      else return;
      event.preventDefault();
      return;
    }
    const far = event.shiftKey ? 10 : event.altKey ? 0.1 : 1;
    const { x, y } = act.now();
    const keys = {
      ArrowLeft: () => act.move({ x: x - far, y }, true),
      ArrowRight: () => act.move({ x: x + far, y }, true),
      ArrowUp: () => act.move({ x, y: y + far }, true),
      ArrowDown: () => act.move({ x, y: y - far }, true),
      "+": () => act.resize(1.02, true),
      "=": () => act.resize(1.02, true),
      "-": () => act.resize(1 / 1.02, true),
      "[": () => act.turn(far, true),
      "]": () => act.turn(-far, true),
      Home: () => act.centre(),
      l: () => act.largest(),
    };
    if (!(event.key in keys)) return;
    event.preventDefault();
    keys[event.key]();
  });
}
