// Small sketches of what is asked, drawn for these pages: line for what is built, wash for soil, blue for water.

const sketch = (inner, wide = 72) => `<svg viewBox="0 0 ${wide} 44" width="${wide}" height="44" aria-hidden="true" focusable="false">${inner}</svg>`;
const LINE = 'fill="none" stroke="#1d2b33" stroke-width="2" stroke-linecap="round" stroke-linejoin="round"';
const WATER = 'fill="none" stroke="#0072b2" stroke-width="2.5" stroke-linecap="round"';
const POOL = 'fill="#56b4e9" stroke="none"';
const SOIL = 'fill="#d9c9a8" stroke="#8a7748" stroke-width="1"';
const arrow = (x, y, dx, dy) => `<path ${WATER} d="M${x} ${y} l${dx} ${dy}"/><path ${WATER} d="M${x + dx} ${y + dy} l${-dx * 0.3 - dy * 0.25} ${-dy * 0.3 + dx * 0.25} M${x + dx} ${y + dy} l${-dx * 0.3 + dy * 0.25} ${-dy * 0.3 - dx * 0.25}"/>`;
const wall = `<path ${LINE} d="M14 2 v40 M6 2 v40"/><path d="M6 8 l8 -6 M6 18 l8 -8 M6 28 l8 -8 M6 38 l8 -8" stroke="#1d2b33" stroke-width="1"/>`;
const gutter = `<path ${LINE} d="M4 6 l30 10"/><path ${LINE} d="M34 14 v12 q0 4 4 4 h14 q4 0 4 -4 v-12"/>`;
const riser = `<path ${LINE} d="M30 42 v-38 M42 42 v-38"/>`;
const pump = `<path ${LINE} d="M22 40 v-14 q0 -4 4 -4 h20 q4 0 4 4 v14 z M36 22 v-18 h10"/>`;
const tape = (low) => `<path ${LINE} d="M4 10 h22 v30 h26 v-30 h16"/><path d="M39 10 v${low - 10}" stroke="#a03c00" stroke-width="2"/><path d="M36 10 h6 M36 ${low} h6" stroke="#a03c00" stroke-width="2"/>`;
const ribbon = (long) => `<ellipse ${SOIL} cx="14" cy="24" rx="11" ry="9"/>${long ? `<path d="M24 24 h${long}" stroke="#8a7748" stroke-width="7" stroke-linecap="round"/>` : ""}`;
const drop = (x, y) => `<circle cx="${x}" cy="${y}" r="2" ${POOL}/>`;

const SKETCHES = {
  "roof.gutters=clean": sketch(`${gutter}<path ${POOL} d="M35 24 h20 v2 q0 3 -3 3 h-14 q-3 0 -3 -3 z"/>${arrow(48, 31, 0, 11)}`),
  "roof.gutters=leaves": sketch(`${gutter}<path d="M36 20 q4 -7 9 -1 q5 -6 10 1" fill="#8a7748"/>${arrow(48, 31, 0, 9)}`),
  "roof.gutters=clogged": sketch(`${gutter}<path d="M35 16 h20 v10 q0 3 -3 3 h-14 q-3 0 -3 -3 z" fill="#8a7748"/>${arrow(58, 14, 4, 26)}`),
  "roof.gutters=none": sketch(`<path ${LINE} d="M4 6 l34 12"/>${drop(42, 20)}${drop(46, 28)}${drop(41, 34)}${drop(48, 40)}`),
  "ground.slope=away": sketch(`${wall}<path ${SOIL} d="M14 18 L70 36 V43 H14 z"/>${arrow(24, 16, 28, 9)}`),
  "ground.slope=flat": sketch(`${wall}<path ${SOIL} d="M14 26 H70 V43 H14 z"/><path ${POOL} d="M22 26 h30 v3 h-30 z"/>`),
  "ground.slope=towards": sketch(`${wall}<path ${SOIL} d="M14 34 L70 16 V43 H14 z"/>${arrow(62, 12, -34, 11)}`),
  "ground.gap=none": sketch(`${wall}<path ${SOIL} d="M14 14 H70 V43 H14 z"/>`),
  "ground.gap=some": sketch(`${wall}<path ${SOIL} d="M16 20 q8 -6 18 -6 H70 V43 H14 z"/><path ${LINE} d="M16 20 l2 6 l-2 6"/>`),
  "ground.gap=open": sketch(`${wall}<path ${SOIL} d="M24 14 H70 V43 H20 z"/>${arrow(18, 8, 0, 30)}`),
  "house.use=empty": sketch(`<path ${LINE} d="M8 4 v34 h56 v-34"/>`),
  "house.use=stored things": sketch(`<path ${LINE} d="M8 4 v34 h56 v-34 M16 38 v-14 h14 v14 M30 38 v-22 h16 v22"/>`),
  "house.use=finished": sketch(`<path ${LINE} d="M8 4 v34 h56 v-34 M16 38 v-12 h26 v12 M16 32 h26 M50 38 v-24 h8 v24"/><path d="M9 41 h54" stroke="#a03c00" stroke-width="3"/>`),
  "pit.shape=round": sketch(`<circle ${LINE} cx="36" cy="22" r="18"/><path d="M18 22 h36" stroke="#a03c00" stroke-width="2"/>`),
  "pit.shape=rectangular": sketch(`<path ${LINE} d="M12 6 h48 v32 h-48 z"/><path d="M12 22 h48 M24 6 v32" stroke="#a03c00" stroke-width="2"/>`),
  "pipe.size=1-1/4 in": sketch(`<circle ${LINE} cx="36" cy="22" r="10"/>`),
  "pipe.size=1-1/2 in": sketch(`<circle ${LINE} cx="36" cy="22" r="14"/>`),
  "pipe.size=2 in": sketch(`<circle ${LINE} cx="36" cy="22" r="19"/>`),
  "pipe.check_valve=works": sketch(`${riser}<path ${LINE} d="M26 20 h20 M30 20 l6 8 l6 -8"/>${arrow(36, 14, 0, -11)}`),
  "pipe.check_valve=stuck open": sketch(`${riser}<path ${LINE} d="M26 20 h4 M42 20 h4 M42 20 l-4 12"/>${arrow(34, 14, 0, 26)}`),
  "pipe.check_valve=none": sketch(`${riser}${arrow(36, 10, 0, 28)}`),
  "pipe.outlet=far": sketch(`${wall}<path ${SOIL} d="M14 22 L70 34 V43 H14 z"/><path ${LINE} d="M14 14 h36"/>${arrow(52, 15, 8, 12)}`),
  "pipe.outlet=near": sketch(`${wall}<path ${SOIL} d="M14 30 H70 V43 H14 z"/><path ${LINE} d="M14 14 h10"/>${arrow(26, 15, 4, 13)}`),
  "pipe.outlet=piped away": sketch(`${wall}<path ${SOIL} d="M14 18 H70 V43 H14 z"/><path ${LINE} d="M14 28 h52"/>${arrow(50, 34, 16, 0)}`),
  "ribbon=no ball": sketch(`<path ${SOIL} d="M10 34 l6 -10 l4 8 l6 -12 l6 12 l5 -7 l8 9 z"/>${drop(0, 0)}`),
  "ribbon=ball but no ribbon": sketch(ribbon(0)),
  "ribbon=short": sketch(ribbon(8)),
  "ribbon=medium": sketch(ribbon(22)),
  "ribbon=long": sketch(ribbon(42)),
  "pit.depth": sketch(tape(39)),
  "switch.on": sketch(`${tape(26)}<path ${POOL} d="M27 27 h24 v12 h-24 z" opacity=".7"/>`),
  "switch.alarm": sketch(`${tape(17)}<path ${POOL} d="M27 18 h24 v21 h-24 z" opacity=".7"/><path ${LINE} d="M58 4 a5 5 0 0 1 0 8 M62 1 a9 9 0 0 1 0 14"/>`),
  "pump.horsepower": sketch(`${pump}<path d="M28 28 h14 v7 h-14 z" fill="#fff" stroke="#a03c00" stroke-width="2"/>`),
  "roof.downspouts": sketch(`<path ${LINE} d="M4 10 l28 -8 l28 8 M10 10 v32 M54 10 v32"/><path ${LINE} d="M14 14 v26 M50 14 v20 h14"/>${arrow(14, 38, 5, 4)}${arrow(60, 34, 9, 6)}`),
  "ground.wells": sketch(`${wall}<path ${SOIL} d="M40 12 H70 V43 H14 V34 H40 z"/><path ${LINE} d="M14 34 h26 v-26"/>${drop(24, 8)}${drop(30, 16)}${drop(22, 24)}`),
  "house.paced": sketch(`<path ${LINE} d="M14 8 h44 v26 h-44 z"/><path d="M14 40 h44 M64 8 v26" stroke="#a03c00" stroke-width="2"/>`),
  "house.depth_below_ground": sketch(`<path ${SOIL} d="M2 14 h18 v28 h-18 z M54 14 h16 v28 h-16 z"/><path ${LINE} d="M20 4 v36 h34 v-36"/><path d="M37 14 v25 M33 14 h8" stroke="#a03c00" stroke-width="2"/>`),
};

// A node for a sketch, or null where there is none.
function drawn(key) {
  if (!SKETCHES[key]) return null;
  const node = make("span", { class: "sketch" });
  node.innerHTML = SKETCHES[key];
  return node;
}
