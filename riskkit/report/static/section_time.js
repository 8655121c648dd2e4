// The moving section, third part: what a animation says of a moment, how fast it plays, and the time line.

// ---- reading the animation --------------------------------------------------------------------------

function indexAt(times, moment) {
  let low = 0, high = times.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (times[middle] <= moment) low = middle; else high = middle - 1;
  }
  return low;
}

function levelAt(animation, moment, row = animation.level_m) {
  const i = indexAt(animation.time_s, moment), j = Math.min(i + 1, animation.time_s.length - 1);
  if (i === j) return row[i];
  const share = (moment - animation.time_s[i]) / (animation.time_s[j] - animation.time_s[i]);
  return row[i] + clamp(share, 0, 1) * (row[j] - row[i]);
}

// What is seen at a moment. When time runs so fast that the pump would flicker, `window_s` is the
// stretch of the storm that the eye takes in at once: then the mean level and its range are shown.
function readAt(animation, section, moment, window_s) {
  const i = indexAt(animation.time_s, moment);
  const dead = animation.stopped_at_s !== null && moment >= animation.stopped_at_s;
  let level = levelAt(animation, moment), low = level, high = level, pump;
  const on = animation.pump_on, beside = animation.beside_m ? levelAt(animation, moment, animation.beside_m) : null;
  if (section.parts.pump === "none") pump = "none";
  else if (dead) pump = "stopped";
  else if (on) pump = on[i] ? "running" : "waiting";
  else pump = level >= section.switch.on_m ? "running" : "order";
  if (on && !dead && window_s > 0) {
    const first = indexAt(animation.time_s, moment - window_s / 2);
    const end = Math.min(moment + window_s / 2, animation.stopped_at_s ?? Infinity);
    const last = indexAt(animation.time_s, end);
    let changes = 0, volume = 0;
    for (let k = first; k <= last; k++) {
      low = Math.min(low, animation.level_m[k]);
      high = Math.max(high, animation.level_m[k]);
      if (k === first) continue;
      if (on[k] !== on[k - 1]) changes++;
      volume += (animation.level_m[k] + animation.level_m[k - 1]) / 2
        * (animation.time_s[k] - animation.time_s[k - 1]);
    }
    if (changes >= 3) {
      pump = "cycling";
      level = volume / (animation.time_s[last] - animation.time_s[first]);
    } else low = high = level;
  }
  const raining = animation.rain_mm_h[i] > 0;
  return {
    soaked: animation.soaked[i], comes: raining || (beside ?? -Infinity) > section.drain_m + 0.01,
    beside, joint: beside !== null && section.joint_opens !== false && beside > Math.max(level, 0) + 1e-3,
    time: moment, rain: animation.rain_mm_h[i], level, low, high, pump,
    // levels come to a tenth of a millimetre: where it sounds, one may stand a hair below
    alarm: !(section.parts.alarm in QUIET) && level >= section.switch.alarm_m - 1e-4, wet: level > 1e-6,
  };
}

// How much of the rain of the storm has fallen by each moment, from 0 to 1: soil darkens with it.
function soakedOf({ time_s: time, rain_mm_h: rain }) {
  const sums = [0];
  for (let i = 1; i < time.length; i++) sums[i] = sums[i - 1] + rain[i - 1] * (time[i] - time[i - 1]);
  return sums.map((sum) => sum / (sums.at(-1) || 1));
}

// How fast to play: slower from when the pump stops until the floor is wet, and never faster there than
// elsewhere. [from, to, seconds]
function paceOf(animation) {
  const end = animation.time_s.at(-1), begin = animation.time_s[0], stop = animation.stopped_at_s;
  if (stop === null) return [[begin, end, 45]];
  const calm = Math.min(end, (animation.flood_s ?? animation.alarm_s ?? stop) + 1800);
  const from = Math.max(begin, stop - 900), whole = 54, share = (calm - from) / (end - begin);
  if (share >= 30 / whole) return [[begin, end, whole]];
  const rest = (whole - 30) / (end - begin - (calm - from));
  return [[begin, from, rest * (from - begin)], [from, calm, 30], [calm, end, rest * (end - calm)]].filter(([a, b]) => b > a);
}

// ---- time line ----------------------------------------------------------------------------------

// Time runs along the line as it does while it plays: the hours that matter are drawn wider.
function axisOf(animation, low, high) {
  const pace = paceOf(animation), all = pace.reduce((sum, [, , seconds]) => sum + seconds, 0);
  let x = low;
  const parts = pace.map(([from, to, seconds]) => {
    const part = { from, to, left: x, right: x += (high - low) * seconds / all };
    return { ...part, px: (part.right - part.left) / (to - from) };
  });
  const wide = Math.max(...parts.map(({ px }) => px));
  return {
    parts: parts.map((part) => ({ ...part, wide: parts.length > 1 && part.px === wide })),
    X: (t) => { const { from, left, px } = parts.find(({ to }) => t <= to) ?? parts.at(-1); return left + (t - from) * px; },
    timeAt: (at) => { const { from, left, px } = parts.find(({ right }) => at <= right) ?? parts.at(-1);
      return from + (at - left) / px; },
  };
}

function evenAxis(from, to, left, right) {
  const px = (right - left) / (to - from);
  return { parts: [{ from, to, left, right, px, wide: true }], X: (t) => left + (t - from) * px,
    timeAt: (at) => from + (at - left) / px };
}

function drawTicks(parent, { from, to, px, left, right }, X, low) {
  const every = [0.25, 0.5, 1, 2, 3, 6, 12, 24].find((h) => h * 3600 * px >= 54) ?? 48;
  for (let h = Math.ceil(from / 3600 / every) * every; h * 3600 <= to + 1; h += every) {
    const x = X(h * 3600);
    svg("line", { x1: x, x2: x, y1: low, y2: low + 5, stroke: INK }, parent);
    if (x - left < 24 && left > 20 || right - x < 24 && to * px > 0 && right < parent.clientWidth - 20) continue;
    const minutes = Math.round(h * 60), text = minutes % 60 ? `${Math.floor(minutes / 60)}:${String(minutes % 60).padStart(2, "0")} h` : `${h} h`;
    svg("text", { x, y: low + 18, class: "label soft", "text-anchor": "middle", text }, parent);
  }
}

// The hours that matter: from the alarm (or the stop) to the floor, or as far as the animation goes, with
// a sixth on either side; null where they are most of the storm. [from, to]
export function closeOf(animation) {
  const begin = animation.time_s[0], end = animation.time_s.at(-1);
  const from = animation.alarm_s ?? animation.stopped_at_s, to = animation.flood_s ?? end;
  if (from === null || from === undefined || to <= from) return null;
  const more = Math.max(600, (to - from) / 6), span = [Math.max(begin, from - more), Math.min(end, to + more)];
  return span[1] - span[0] < 0.75 * (end - begin) ? span : null;
}

// The stretch of a animation between two moments, with the level at both.
function stretchOf(animation, [from, to]) {
  const within = animation.time_s.map((_, i) => i).filter((i) => animation.time_s[i] > from && animation.time_s[i] < to);
  const rain = (t) => animation.rain_mm_h[indexAt(animation.time_s, t)];
  return { ...animation, time_s: [from, ...within.map((i) => animation.time_s[i]), to],
    level_m: [levelAt(animation, from), ...within.map((i) => animation.level_m[i]), levelAt(animation, to)],
    rain_mm_h: [rain(from), ...within.map((i) => animation.rain_mm_h[i]), rain(to)] };
}

const WATER_NAME_PX = 104; // of "water in the pit", with room to spare

function drawTimeLine(parent, whole, section, words, width, close) {
  parent.replaceChildren();
  const height = 112, low = 90, middle = 34;
  const animation = close ? stretchOf(whole, close) : whole;
  parent.setAttribute("width", width);
  parent.setAttribute("height", height);
  const begin = animation.time_s[0], end = animation.time_s.at(-1), edge = 14;
  const { parts, X, timeAt } = close ? evenAxis(begin, end, edge, width - edge) : axisOf(animation, edge, width - edge);
  svg("rect", { x: edge, y: 1, width: width - 2 * edge, height: low, class: "strip" }, parent);
  for (const { left, right, wide } of parts) {
    if (wide) svg("rect", { x: left, y: 1, width: right - left, height: low, class: "strip wide" }, parent);
  }

  const most = Math.max(...animation.rain_mm_h, 1);
  let bars = `M${X(begin)} 2`;
  animation.time_s.forEach((t, i) => {
    bars += `H${X(t).toFixed(1)}V${(2 + 26 * animation.rain_mm_h[i] / most).toFixed(1)}`;
  });
  svg("path", { d: `${bars}H${X(end)}V2Z`, fill: "#56B4E9" }, parent);

  const bottom = close ? Math.min(...animation.level_m, section.switch.alarm_m) - 0.02 : -section.pit.depth_m;
  const top = Math.max(0.04, ...animation.level_m);
  const Y = (m) => low - (clamp(m, bottom, top) - bottom) / (top - bottom) * (low - middle);
  const curve = animation.time_s.map((t, i) => `${X(t).toFixed(1)},${Y(animation.level_m[i]).toFixed(1)}`);
  svg("polygon", { points: [`${X(begin)},${low}`, ...curve, `${X(end)},${low}`].join(" "), fill: WATER,
    "fill-opacity": 0.55 }, parent);
  // a line ends where its name begins, and bends to it where two names would meet
  const marks = section.geometry.marks.filter(({ key }) => key === "floor" || key === "alarm");
  const places = spread(marks.map(({ level_m: m }) => Y(m)), 14, 26, low - 18), names = width - edge - 38;
  marks.forEach(({ key, level_m: m, state }, i) => svg("path", { fill: "none", class: `mark ${key} ${state}`,
    d: `M${edge} ${Y(m).toFixed(1)}H${names - 12}L${names - 3} ${places[i].toFixed(1)}` }, parent));
  const name = (y, text, x = edge + 5, anchor = "start") => svg("text", { x, y, class: "label soft", text, "text-anchor": anchor }, parent);
  const hardest = Math.max(...animation.rain_mm_h);
  name(15, hardest > 0 ? `rain, up to ${words.rain(hardest)}` : "no rain", width - edge - 4, "end");
  const events = eventsOf(animation).filter(({ at, sign }) => sign && at >= begin);
  let clear = edge + 5; // no line of an event runs through the name
  for (const x of events.map(({ at }) => X(at)).sort((a, b) => a - b)) if (x > clear - 4 && x < clear + WATER_NAME_PX) clear = x + 6;
  name(low - 6, "water in the pit", clear);
  marks.forEach(({ key }, i) => name(places[i] + 4, key, names));
  for (const { at, sign, short } of events) {
    svg("line", { x1: X(at), x2: X(at), y1: 2, y2: low, class: "event" }, parent);
    const y = { "✕": 14, "▲": 28, "●": 42 }[sign], before = X(at) > width - 200;
    svg("text", { x: X(at), y, class: "sign", "text-anchor": "middle", text: sign }, parent);
    svg("text", { x: before ? Math.min(X(at) - 9, names - 16) : X(at) + 9, y, class: "label soft", "text-anchor": before ? "end" : "start", text: short }, parent);
  }
  for (const part of parts) {
    drawTicks(parent, part, X, low);
    if (part.left > edge) svg("path", { d: `M${part.left} 1V${low + 6}`, class: "fold" }, parent);
  }
  const head = svg("g", { class: "head" }, parent);
  svg("path", { d: `M0 0V${low}` }, head);
  svg("circle", { cy: low, r: 8 }, head);
  return {
    show: (t) => head.setAttribute("transform", `translate(${X(t).toFixed(1)} 0)`),
    timeAt: (x) => clamp(timeAt(x), begin, end), begin, end,
  };
}

function eventsOf(animation) {
  const now = animation.stopped_at_s > animation.time_s[0];
  const [words, short] = animation.two_pumps ? (now ? ["Both pumps stop", "both pumps stop"] : ["Both pumps had stopped", "both pumps had stopped"])
    : now ? ["Pump stops working", "pump stops"] : ["Pump had stopped", "pump had stopped"];
  const all = [{ at: animation.stopped_at_s, sign: "✕", words, short },
    { at: animation.alarm_s, sign: "▲", words: "Alarm sounds", short: "alarm sounds" },
    { at: animation.flood_s, sign: "●", words: "Water on the floor", short: "water on the floor" }];
  return all.filter(({ at }) => at !== null && at !== undefined && at <= animation.time_s.at(-1));
}
