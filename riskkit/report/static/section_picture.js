// The moving section, second part: labels, the two views of the home, rain, and the whole picture.

// ---- labels, views and the whole picture ----------------------------------------------------------

function textWidth(parent, text) {
  const trial = svg("text", { class: "label", text }, parent), width = trial.getComputedTextLength();
  trial.remove();
  return width;
}

// The cheapest way to hand out places: `one(i, y)` is what label i costs at a place, `two` what a pair does.
function cheapest(places, one, two) {
  let best = null, least = Infinity;
  const go = (given, left, cost) => {
    if (cost >= least - 1e-6) return;
    if (!left.length) { best = given; least = cost; return; }
    const i = given.length;
    left.forEach((y, k) => go([...given, y], left.toSpliced(k, 1),
      given.reduce((sum, other, j) => sum + two(j, other, i, y), cost + one(i, y))));
  };
  go([], places, 0);
  return best;
}

// Whether two lines of several stretches cross.
function crossing(one, other) {
  const turn = ([ax, ay], [bx, by], [cx, cy]) => Math.sign((bx - ax) * (cy - ay) - (by - ay) * (cx - ax));
  return one.slice(1).some((b, i) => other.slice(1).some((d, j) => {
    const a = one[i], c = other[j];
    return turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0;
  }));
}

// A column of labels beside a drawing, each with a line to its target: {text, x, y, key, dy}. With
// `dy` the label stands just off its target and gets a line only where it had to move; a target above or
// below its label gets an upright line. Of all ways to hand out the places one without crossing lines is
// taken, of these the one with the shortest. Where there is little room (`close`) each line bends by its own label.
function labels(parent, items, { x, side, low, high, gap, name, close }) {
  const g = svg("g", { class: `labels ${name}` }, parent);
  const texts = items.map((item) => svg("text", { class: "label", x, "data-key": item.key ?? "",
    "text-anchor": side === "right" ? "end" : "start", text: item.text }, g));
  const own = texts.map((text) => text.getComputedTextLength() + 4), long = Math.max(...own) + 6;
  const knees = own.map((w) => ({ left: x + (close ? w + 6 : long), right: x - (close ? w + 6 : long), gutter: x - 18 })[side]);
  const targets = items.map((item, i) => item.x(knees[i]));
  const upright = targets.map((t, i) => close && (side === "right" ? t > knees[i] - 4 : side === "left" && t < knees[i] + 4));
  const apart = clamp((high - low) / Math.max(items.length - 1, 1), 15, gap); // closer where there is little room
  const stays = (item, y) => item.dy && Math.abs(y - item.y - item.dy) < 6;
  let places = spread(items.map((item) => item.y + (item.dy ?? 0)), apart, low, high);
  const begins = items.map((_, i) => (side === "left" ? x + own[i] : side === "right" ? x - own[i] : x - 4));
  if (side !== "gutter") {
    const wayTo = (i, y) => (upright[i] ? [[targets[i], y], [targets[i], items[i].y]]
      : [[begins[i], y], [knees[i], y], [targets[i], items[i].y]]);
    const through = (i, y, j, other) => upright[i] && (other - y) * (other - items[i].y) < 0
      && (targets[i] - begins[j]) * (targets[i] - x) < 0; // the line of one through the words of the other
    places = cheapest(places, (i, y) => (stays(items[i], y) ? 0
      : Math.hypot(upright[i] ? 0 : targets[i] - knees[i], items[i].y - y) + (items[i].dy ? 99 : 0)),
    (j, other, i, y) => (!stays(items[j], other) && !stays(items[i], y) && crossing(wayTo(j, other), wayTo(i, y)) ? 1e4
      : through(i, y, j, other) || through(j, other, i, y) ? 1e3 : 0));
  }
  items.forEach((item, i) => {
    const y = places[i];
    texts[i].setAttribute("y", y + 4);
    if (stays(item, y)) return;
    svg("path", { class: "leader", d: side === "gutter" ? `M${begins[i]} ${y}L${knees[i]} ${item.y}H${targets[i]}`
      : upright[i] ? `M${targets[i]} ${y + 8 * Math.sign(item.y - y)}V${item.y}`
      : `M${begins[i]} ${y}H${knees[i]}L${targets[i]} ${item.y}` }, g);
    if (side !== "gutter") svg("circle", { class: "end", cx: targets[i], cy: item.y, r: 2.2 }, g);
  });
}

function scaleBar(parent, section, x, y, scale, fromRight) {
  const perLarge = section.show.distance[1];
  const choices = section.units === "us"
    ? [[0.5 / perLarge, "6 in"], [1 / perLarge, "1 ft"], [3 / perLarge, "3 ft"]]
    : [[0.1, "10 cm"], [0.5, "50 cm"], [1, "1 m"]];
  const [m, text] = choices.find(([length]) => length * scale >= 26) ?? choices.at(-1);
  const g = svg("g", { class: "scale-bar" }, parent);
  const label = svg("text", { class: "label", y: y + 4, text }, g);
  const from = fromRight ? x - m * scale - 6 - label.getComputedTextLength() : x;
  label.setAttribute("x", from + m * scale + 6);
  svg("path", { d: `M${from} ${y - 4}v8m0 -4h${m * scale}m0 -4v8`, stroke: INK, fill: "none" }, g);
}

function viewOf(frame, scale, cx, fy, patternsId) {
  return { ...frame, scale, X: (m) => cx + m * scale, Y: (m) => fy - m * scale,
    patterns: patternsId };
}

function houseView(section, frame, id, close) {
  const { depth_m: depth, width_m: width } = section.pit, half = width / 2;
  const up = section.geometry.house.eave_m + 0.75;
  const down = Math.max(depth, -section.drain_m) + 0.22;
  const wide = frame.right - frame.left;
  const scale = Math.min((frame.bottom - frame.top) / (up + down), wide / (width + 4.1));
  const cx = Math.min(frame.left + (close ? 0.4 : wide < 400 ? 0.48 : 0.44) * wide - section.geometry.outer_m * scale,
    frame.right - (half + 0.9) * scale);
  return viewOf(frame, scale, cx, frame.bottom - down * scale, id);
}

function pitView(section, frame, highest, id) {
  const { depth_m: depth, width_m: width } = section.pit, beside = 118;
  const down = 0.08 * depth, up = clamp(highest + 0.05, 0.2 * depth, 1);
  const scale = Math.min((frame.bottom - frame.top) / (depth + down + up),
    (frame.right - frame.left - beside - 14) / width);
  const spare = frame.bottom - frame.top - (depth + down + up) * scale;
  return viewOf(frame, scale, frame.left + beside + width / 2 * scale,
    frame.bottom - down * scale - depth * scale - spare * 0.35, id);
}

// Whether the pit would stand below the house; a second pump has the longest words. Where there is no height
// for both, as in the owner's view on an upright tablet, they stand side by side all the same, with short words.
const isNarrow = (width, section) => width < (section.parts.second_on === "none" ? 720 : 900);
const isStacked = (width, height, section) => isNarrow(width, section) && (height >= 560 || width < 600);

// The picture of a section: returns show(state, turn, speak), which moves it and, if it
// may speak, renews its words.
function drawPicture(parent, section, words, highest, width, height, id) {
  parent.replaceChildren();
  parent.setAttribute("width", width);
  parent.setAttribute("height", height);
  const stacked = isStacked(width, height, section), close = !stacked && isNarrow(width, section);
  const tight = close || width < 480;
  patterns(svg("defs", {}, parent), id);
  const split = stacked ? width : Math.round(width * (close ? 0.45 : 0.46)), half = Math.round(height * 0.46);
  const house = { left: 1, right: split - 1, top: 1, bottom: (stacked ? half - 6 : height) - 1 };
  const { geometry: at, parts } = section, names = close ? section.short : section.words;
  // where there is little room the level of a second pump names it too, and dashes alone say what is assumed
  const marks = at.marks.map((mark) => (tight ? { ...mark, text: mark.short } : mark));
  const inPit = tight ? section.short : names;
  const gutter = 36 + Math.max(124, ...marks.map(({ text }) => textWidth(parent, text)),
    textWidth(parent, inPit.pump), at.second_float && !tight ? textWidth(parent, names.second_pump) : 0);
  const frame = stacked ? { left: 1, right: width - 1, top: half + 6, bottom: height - 1 }
    : { left: split + 14, right: width - 1, top: 1, bottom: height - 1 };
  const pitFrame = { ...frame, right: frame.right - gutter };

  const far = houseView(section, house, id, close), near = pitView(section, pitFrame, highest, id);
  const first = drawSection(parent, section, far, `${id}-house`);
  const drops = svg("path", { stroke: RAIN, "stroke-width": 1.6, "stroke-linecap": "round",
    class: "rain" }, first.g);
  const { X, Y } = far;

  // what is enlarged
  const a = { x: X(-at.half_m) - 6, y: Y(0) - 10 }, b = { x: X(at.half_m) + 6, y: house.bottom - 2 };
  svg("rect", { x: a.x, y: a.y, width: b.x - a.x, height: b.y - a.y, class: "lens", rx: 4 }, parent);
  if (b.x + 80 < house.right) svg("text", { class: "label soft", x: b.x + 6, y: b.y - 6, text: "enlarged" }, parent);

  const before = (x) => (knee) => (close ? x : Math.min(x, knee - 5)); // never under the words
  const spot = (part, dx, dy = 0) => ({ text: names[part], x: before(X(at.named[part][0]) + dx), y: Y(at.named[part][1]) + dy });
  const room = [];
  if (at.named.floor_drain) room.push(spot("floor_drain", 0, -1));
  if (at.named.battery) room.push(spot("battery", 0));
  if (at.named.second_pump && (!at.second_float || (tight && parts.second_pump === "failed"))) room.push(spot("second_pump", 0));
  if (at.pipe) room.push({ text: names.pipe, x: before(X(at.pump.x_m) + 4),
    y: Y(section.outlet_m * 0.82) });
  if (at.valve) room.push({ text: names.check_valve, x: before(X(at.valve[0]) - 5),
    y: Y(at.valve[1]) });
  if (at.alarm) room.push({ text: names.alarm, x: before(X(at.alarm.bell[0]) + 18), y: Y(at.alarm.bell[1]) });
  labels(parent, room, { x: house.right - 10, side: "right", low: Math.max(house.top + 38, Y(at.house.ceiling_m) + 12), high: Math.max(Y(Math.max(0, highest)) - 24,
    house.top + 130),
    gap: 20, name: "room", close });
  const yardX = (knee) => Math.max(knee + 6, house.left + (close ? 0 : 146));
  const buried = at.pipe && !at.pipe.spout; // the pipe runs where the name of the ground would stand
  const yard = [{ text: names.ground, x: yardX, y: Y(section.ground_m), dy: buried ? -13 : 13 },
    { text: names.drain, x: () => X(at.drain_x_m) - (at.drain_m[1] - at.drain_m[0]) / 2 * far.scale,
      y: Y((at.drain_m[0] + at.drain_m[1]) / 2) }];
  const spout = at.house.downspout.at(-1);
  yard.push({ text: names.downspout, x: () => X(spout[0]), y: Y(Math.max(spout[1], section.ground_m)), dy: -44 });
  if (at.pipe) {
    yard.push({ text: names.outlet, x: () => X(at.pipe.end[0]), y: Y(at.pipe.end[1]),
      dy: !at.pipe.spout ? 18 : at.named.generator ? -32 : -18 });
  }
  if (at.named.floor_joint) { // past the labels, through the wall
    yard.push({ text: names.floor_joint, x: () => X(at.inner_m) + 1, y: Y(0) - 2 });
  }
  if (at.named.generator) {
    yard.push({ text: names.generator, x: () => X(at.named.generator[0]), y: Y(at.named.generator[1]) });
  }
  const table = at.water_table?.findLast(([x]) => X(x) <= house.left + 60)[1];
  if (at.water_table && Y(table) < house.bottom - 16) {
    yard.push({ text: names.water_table, x: yardX, y: Y(table), dy: -12 });
  }
  const person = at.house.person, chest = Y(person.low_m + 0.62 * person.high_m);
  svg("text", { class: "label soft", x: X(person.x_m + 0.3), y: chest, text: names.person }, parent);
  labels(parent, yard, { x: house.left + 8, side: "left", gap: 20, name: "yard",
    low: house.top + 20, high: house.bottom - 14, close });
  scaleBar(parent, section, house.right - 10, house.top + 18, far.scale, true);
  svg("rect", { x: house.left, y: house.top, width: house.right - house.left,
    height: house.bottom - house.top, class: "frame", rx: 6 }, parent);

  // the pit, enlarged
  svg("rect", { x: frame.left, y: frame.top, width: frame.right - frame.left,
    height: frame.bottom - frame.top, fill: "#fff", rx: 6 }, parent);
  const second = drawSection(parent, section, near, `${id}-pit`);
  for (const { key, level_m: m, half_m: reach, state } of marks) {
    if (key === "floor" || key === "bottom") continue;
    svg("line", { class: `mark ${key} ${state}`, x1: near.X(-reach), x2: near.X(reach), y1: near.Y(m),
      y2: near.Y(m) }, second.g);
  }
  const levels = marks.map(({ key, level_m: m, half_m: reach, text }) => ({ text, key, y: near.Y(m),
    x: () => near.X(reach) }));
  if (parts.gravel !== "none") {
    levels.push({ text: inPit.gravel.toLowerCase(), key: "gravel", y: near.Y(at.gravel_m),
      x: () => near.X(at.half_m) + 7 });
  }
  if (at.pump && parts.pump !== "known" && !(tight && parts.pump === "assumed")) {
    levels.push({ text: inPit.pump.toLowerCase(), key: "pump", y: near.Y(at.pump.low_m + 0.02),
      x: () => near.X(at.pump.x_m + at.pump.width_m / 2) });
  }
  if (at.second_float && !tight) {
    levels.push({ text: names.second_pump.toLowerCase(), key: "second_pump", y: near.Y(at.named.second_pump[1]),
      x: () => near.X(at.named.second_pump[0]) });
  }
  if (parts.pit === "assumed" && !tight) {
    const low = -0.97 * section.pit.depth_m;
    levels.push({ text: names.pit.toLowerCase(), key: "pit", y: near.Y(low), x: () => near.X(halfAt(section.pit, low)) });
  }
  labels(parent, levels, { x: pitFrame.right + 22, side: "gutter", low: frame.top + 44, high: frame.bottom - 14, gap: 21,
      name: "levels" });
  svg("text", { class: "label strong", x: pitFrame.right + 22, y: frame.top + 20,
    text: "The pit, enlarged" }, parent);
  svg("text", { class: "label soft", x: pitFrame.right + 22, y: frame.top + 37,
    text: "down from the floor" }, parent);
  scaleBar(parent, section, pitFrame.left + 12, pitFrame.bottom - 14, near.scale);
  svg("rect", { x: frame.left, y: frame.top, width: frame.right - frame.left,
    height: frame.bottom - frame.top, class: "frame", rx: 6 }, parent);
  const tag = svg("g", { class: "tag" }, parent);
  svg("rect", { x: 0, y: -19, width: 102, height: 38, rx: 5 }, tag);
  const pointer = svg("path", {}, tag);
  const deep = svg("text", { class: "label strong", x: 51, y: -3, "text-anchor": "middle" }, tag);
  const place = svg("text", { class: "label soft", x: 51, y: 13, "text-anchor": "middle" }, tag);

  const [[farX, farY], [edgeX, edgeY]] = at.house.roof_way;
  const low = (x) => (x < X(edgeX) ? Y(section.ground_m)
    : Y(edgeY + (farY - edgeY) * (x - X(edgeX)) / (X(farX) - X(edgeX))));
  const rainOver = { left: house.left, right: house.right, top: house.top, deep: Y(section.ground_m), low };
  return (state, turn, speak) => {
    first.show(state, turn);
    second.show(state, turn);
    drops.setAttribute("d", rainPath(rainOver, state.rain, turn));
    const y = near.Y(state.level), ty = clamp(y, frame.top + 24, frame.bottom - 44);
    const edge = near.X(-halfAt(section.pit, Math.min(state.level, 0)));
    tag.setAttribute("transform", `translate(${frame.left + 6} ${ty})`);
    pointer.setAttribute("d", `M102 -6L${edge - frame.left - 7} ${y - ty}L102 6`);
    if (!speak) return;
    const { value, where } = words.place(state.level);
    deep.textContent = value || "water";
    place.textContent = where;
  };
}

// A number from 0 to 1 that looks random and is the same for the same drop.
function scatter(k) {
  const value = Math.sin(k * 12.9898 + 4.1) * 43758.5453;
  return value - Math.floor(value);
}

// Drops of rain: more, longer and faster as it rains harder.
function rainPath({ left, right, top, deep, low }, mmh, turn) {
  if (mmh <= 0) return "";
  const count = Math.round(clamp(24 + 3.6 * mmh, 24, 300)), long = clamp(7 + 0.22 * mmh, 7, 26);
  const speed = 170 + 5 * Math.min(mmh, 80), tall = deep - top + long;
  let path = "";
  for (let k = 0; k < count; k++) {
    const x = left + scatter(k) * (right - left - 4);
    const pace = speed * (0.85 + 0.3 * scatter(k + 0.3)); // no two fall alike
    const y = top - long + ((scatter(k + 0.6) + turn * pace / tall) % 1) * tall, rest = Math.min(long, low(x) - y);
    if (rest > 0) path += `M${x.toFixed(1)} ${y.toFixed(1)}l-1.5 ${rest.toFixed(1)}`;
  }
  return path;
}
